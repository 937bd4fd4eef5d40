"""How reliable the club's own test is: everybody's newest tests of one exercise, repeated.

The protocol is the plan `test-day` on two days within two weeks, with no change of training in
between. Set-ups are never mixed: the one with the most athletes is reported on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.errors import SessionError
from strikebridge.progress.agreement import Agreement, agreement
from strikebridge.progress.retest import FEWEST_ATHLETES, Retest, retest
from strikebridge.progress.retest_table import RetestTable, retest_table

if TYPE_CHECKING:
    from strikebridge.club.selection import Like
    from strikebridge.progress.score import Score
    from strikebridge.records import Camp


@dataclass(frozen=True, slots=True)
class Retested:
    """What the club's repeats say about the test.

    Attributes:
        like: exercise, set-up and effort; its athlete and hand are those of one of them.
        unit: UCUM code of all values.
        table: whose tests count.
        report: what the test is worth.
        agreement: last test - first, athlete by athlete.
        cautions: what a reader has to know, each a sentence.
    """

    like: Like
    unit: str
    table: RetestTable
    report: Retest
    agreement: Agreement
    cautions: tuple[str, ...]


def retested(camp: Camp, tests: int = 2) -> Retested:
    """Report on the repeats of one exercise.

    Args:
        camp: one exercise of everybody.
        tests: how many tests of each athlete.

    Returns:
        The report.

    Raises:
        SessionError: too few athletes were tested again, or all tests are equal.
    """
    by_setup: dict[str | None, dict[str, tuple[Score, ...]]] = {}
    for one in camp.standings:
        runs = by_setup.setdefault(one.like.setup, {})
        runs[one.like.athlete] = one.overview.run.scores
    tables = {setup: retest_table(runs, tests) for setup, runs in by_setup.items()}
    setup = max(tables, key=lambda key: len(tables[key].athletes), default=None)
    table = tables.get(setup)
    if table is None or len(table.athletes) < FEWEST_ATHLETES:
        count = 0 if table is None else len(table.athletes)
        raise SessionError(
            f"{count} athletes have {tests} tests within two weeks at one set-up; it takes "
            f"{FEWEST_ATHLETES}, and ten to trust it. Lead `strikebridge session test-day` "
            "twice, some days apart."
        )
    try:
        report = retest(table.values)
    except ValueError as error:
        raise SessionError(f"Nothing can be said of these tests. {error}") from error
    shown = next(one for one in camp.standings if one.like.setup == setup)
    first, last = [row[0] for row in table.values], [row[-1] for row in table.values]
    return Retested(
        like=shown.like,
        unit=shown.overview.best.value.unit,
        table=table,
        report=report,
        agreement=agreement(last, first),
        cautions=(*report.cautions, *_cautions(camp, setup, table)),
    )


def _cautions(camp: Camp, setup: str | None, table: RetestTable) -> list[str]:
    here = [
        one
        for one in camp.standings
        if one.like.setup == setup and one.like.athlete in table.athletes
    ]
    said = []
    certificates = {
        part.certificate
        for one in here
        for score in one.overview.run.scores[-len(table.values[0]) :]
        for part in score.common
    }
    if len(certificates) > 1:
        said.append(
            f"{len(certificates)} calibrations lie behind these tests; what they differ by "
            "counts as if the athletes varied."
        )
    if any(one.cautions for one in here):
        said.append("Typed results are among these tests.")
    if len({one.like.setup for one in camp.standings}) > 1:
        said.append("Tests at other set-ups are left out.")
    return said
