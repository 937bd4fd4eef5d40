"""A data folder with a short session in it, made by the real command on a simulated board."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.cli import run

if TYPE_CHECKING:
    from pathlib import Path

PLAN = """\
name = "short"
mode = "rounds"
[[block]]
name = "Straights"
exercises = ["straight"]
seconds = 2
reps_per_side = 2
rest_s = 1
"""
WHO = "Wilhelmina Featherstonehaugh-Oyelaran"


def train(data: Path, seed: int = 2) -> Path:
    """Lead one athlete through four holds, recorded and written down.

    Args:
        data: the data folder; athlete and plan are made where they are missing.
        seed: of the simulated board.

    Returns:
        The data folder.
    """
    data.mkdir(parents=True, exist_ok=True)
    plan = data / "short.toml"
    if not plan.exists():
        plan.write_text(PLAN)
        adult = ["--stance", "southpaw", "--age-group", "adult", "--mass-kg", "104.5"]
        assert run(["athletes", "add", WHO, *adult, "--data", str(data)]) == 0
    board = f"simulated:?seed={seed}"
    options = ["--speed", "max", "--headless", "--json", "--data", str(data)]
    assert run(["session", str(plan), "--board", board, *options]) == 0
    return data
