"""A roster as CSV against RFC 4180 (Shafranovich 2005), section 2; its rules by number.

Rule 1 and 2: lines end with CRLF, the last one need not. Rule 4: spaces belong to the field.
Rule 5 to 7: quoted fields may hold line breaks, commas, and quotes that are doubled.
"""

from datetime import date

import pytest

from strikebridge.club.roster_table import read_roster

HEADER = "name,stance,age_group,note\r\n"


@pytest.mark.parametrize(
    ("row", "name", "note"),
    [
        ("aaa,orthodox,adult,ccc\r\n", "aaa", "ccc"),  # rule 1
        ("aaa,orthodox,adult,ccc", "aaa", "ccc"),  # rule 2
        ('"aaa","orthodox","adult","ccc"\r\n', "aaa", "ccc"),  # rule 5
        ('aaa,orthodox,adult,"b\r\nbb"\r\n', "aaa", "b\r\nbb"),  # rule 6
        ('"aaa, junior",orthodox,adult,ccc\r\n', "aaa, junior", "ccc"),  # rule 6
        ('"a""aa",orthodox,adult,"b""bb"\r\n', 'a"aa', 'b"bb'),  # rule 7
    ],
)
def test_rows_of_rfc_4180(row: str, name: str, note: str) -> None:
    (found,) = read_roster(HEADER + row, "club.csv", (), date(2026, 3, 1))
    assert (found.name, found.note) == (name, note)
