"""A tenth of the campaign `python -m tests.progress.simulated_camps`.

Rates of a tenth scatter; a limit counts as broken when it is missed by four standard errors.
"""

from __future__ import annotations

import pytest

from tests.progress.simulated_camps import table

N = 50


@pytest.mark.slow
@pytest.mark.timeout(400)
def test_limits_hold() -> None:
    rows = table(N, seed=1)
    assert len(rows) == 59
    broken = [row.line() for row in rows if row.is_beyond_chance]
    assert broken == []
