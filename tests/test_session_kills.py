"""A session that is killed goes on where it was; `python -m tests.session_kills` for more."""

from pathlib import Path

import pytest

from tests.session_kills import campaign


@pytest.mark.slow
@pytest.mark.timeout(300)
def test_a_killed_session_goes_on_at_the_right_rep(tmp_path: Path) -> None:
    end, met = campaign(tmp_path, 2, sets=1)
    assert met > 0
    assert end.next_turn is None
    assert sorted(end.kept) == list(range(1, end.turns + 1))
