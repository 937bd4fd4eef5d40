"""Tables in, against RFC 4180 (Shafranovich, 2005), section 2, rule by rule.

Source: the rules of RFC 4180, section 2; the examples are ours, since its own hold no numbers
(the wording of the rules: value from memory). ISO 8601 or any other form of time is no part of
it: `time_s` is a decimal.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from strikebridge.boards.table_file import read_table

if TYPE_CHECKING:
    from pathlib import Path

RULES = {
    "1: each record on a line of its own, ended by CRLF": "time_s,count_1\r\n0,5\r\n1,6\r\n",
    "2: the last record may lack its line break": "time_s,count_1\r\n0,5\r\n1,6",
    "3: a header of the same form": '"time_s","count_1"\r\n0,5\r\n1,6\r\n',
    "5: cells may be quoted": 'time_s,count_1\r\n"0","5"\r\n1,"6"\r\n',
    "6: quoted cells may hold commas and line breaks": (
        'time_s,note,count_1\r\n0,"a,\r\nb",5\r\n1,"\r\n\r\n",6\r\n'
    ),
    "7: a quote inside a quoted cell is doubled": (
        'time_s,"the ""note""",count_1\r\n0,"say ""go""",5\r\n1,"""",6\r\n'
    ),
}


@pytest.mark.parametrize("text", RULES.values(), ids=RULES.keys())
def test_rule(tmp_path: Path, text: str) -> None:
    path = tmp_path / "table.csv"
    path.write_bytes(text.encode())
    (block,) = read_table(path).blocks
    assert block.counts.tolist() == [[5.0], [6.0]]
    assert block.arrived_us.tolist() == [0, 1_000_000]
