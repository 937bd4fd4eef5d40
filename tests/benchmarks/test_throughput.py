"""The command runs and its stages really find something; how fast they are is not tested."""

from tests.benchmarks.throughput import RATES_HZ, table


def test_the_table_has_a_row_a_rate_and_holds_in_each() -> None:
    rows = table(minutes=0.4)
    assert len(rows) == 1 + len(RATES_HZ)
    assert all(int(row.split()[-1]) >= 1 for row in rows[1:])
