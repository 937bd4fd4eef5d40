"""What stands beside the settings of a plan: its blocks in words, or what is wrong with it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from strikebridge.pages.plan_words import block_words, dose_words
from strikebridge.pages.sheet import SideWords

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.club.exercise import Exercise
    from strikebridge.plan_shelf import Shelved
    from strikebridge.session.plan import Plan

MOST_FAULTS = 6  # the rest stand on a page of their own
MOST_BLOCKS = 3  # the same
LONGEST_PATH = 28  # letters in a row; beyond it a path would shrink too far
BREATH = "Breathe out on the push. Stop at pain."


def plan_side(
    shelved: Shelved, plan: Plan | None, known: Mapping[str, Exercise], folder: Path
) -> tuple[SideWords, ...]:
    """Say what a plan is.

    Args:
        shelved: the plan as it is written.
        plan: as it would be run, None where its file has mistakes.
        known: key -> exercise.
        folder: where the coach's own plans lie.

    Returns:
        What stands beside the list.
    """
    if plan is None or shelved.plan is None:
        return _faults(shelved)
    said = [SideWords(plan.name, is_head=True), SideWords(plan.about)]
    for block in plan.block[:MOST_BLOCKS]:
        said.append(SideWords(block.name, is_head=True))
        said.append(SideWords(block_words(block, known)))
    if len(plan.block) > MOST_BLOCKS:
        said.append(SideWords(f"And {len(plan.block) - MOST_BLOCKS} blocks more: press W."))
    said += [
        SideWords(dose_words(shelved.plan)),
        SideWords(plan.care or BREATH),
        SideWords(f"Plans of your own are TOML files in {path_words(folder)}."),
    ]
    return tuple(one for one in said if one.words)


def path_words(folder: Path) -> str:
    """Write a folder so that it can be broken into lines.

    Args:
        folder: where something lies.

    Returns:
        The path, from the home where it is in there, with a space behind some separators.
    """
    home = Path.home()
    where = Path("~") / folder.relative_to(home) if folder.is_relative_to(home) else folder
    lines = [""]
    for part in re.findall(r"[^/\\]+[/\\]?|[/\\]", str(where)):
        if len(lines[-1]) + len(part) > LONGEST_PATH:
            lines.append("")
        lines[-1] += part
    return " ".join(line for line in lines if line)


def _faults(shelved: Shelved) -> tuple[SideWords, ...]:
    said = [SideWords(f"What is wrong with {shelved.key}", is_head=True)]
    said += [SideWords(fault) for fault in shelved.faults[:MOST_FAULTS]]
    if len(shelved.faults) > MOST_FAULTS:
        said.append(SideWords(f"And {len(shelved.faults) - MOST_FAULTS} more: press F."))
    said.append(SideWords("Mend the file in an editor and save it. It is read anew."))
    return tuple(said)
