"""The plans a coach can take, and the choice of the next session, kept in the data folder.

Own plans are TOML files in the folder `plans`; each is read anew whenever it is looked at, so
that one mended in an editor is good at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.errors import FaultyPlanError, PlanError, SessionError
from strikebridge.private_files import open_private, private_folder
from strikebridge.session.choice import read_choice, write_choice
from strikebridge.session.plan_file import BUILT_IN, built_in, read_plan

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from strikebridge.club.exercise import Exercise
    from strikebridge.session.choice import Choice
    from strikebridge.session.plan import Plan

FOLDER = "plans"
CHOICE_FILE = "next-session.json"
LARGEST_BYTES = 1_000_000  # a plan of sixty blocks has some twenty thousand


@dataclass(frozen=True, slots=True)
class Shelved:
    """One plan on the shelf.

    Attributes:
        key: name of a plan that comes with the program, or of a file of the coach's.
        plan: as it is written, None where its file has mistakes.
        faults: all mistakes, each with its line and its field.
    """

    key: str
    plan: Plan | None
    faults: tuple[str, ...] = ()

    @property
    def is_own(self) -> bool:
        """Say whether it is a file of the coach's own."""
        return self.key not in BUILT_IN


def shelf(data: Path, known: Mapping[str, Exercise]) -> tuple[Shelved, ...]:
    """List all plans: those that come with the program, then the coach's own by name.

    Args:
        data: data folder.
        known: key -> exercise.
    """
    own = sorted(path.name for path in (data / FOLDER).glob("*.toml") if path.is_file())
    return tuple(take_down(key, data, known) for key in (*BUILT_IN, *own))


def take_down(key: str, data: Path, known: Mapping[str, Exercise]) -> Shelved:
    """Read one plan of the shelf.

    Args:
        key: name of a plan that comes with the program, or of a file of the coach's.
        data: data folder.
        known: key -> exercise.

    Returns:
        The plan, or all that is wrong with it.
    """
    try:
        return Shelved(key, read_plan(_text(key, data), known))
    except FaultyPlanError as error:
        return Shelved(key, None, error.faults)
    except PlanError as error:
        return Shelved(key, None, (str(error),))


def copy_plan(name: str, data: Path) -> str:
    """Copy a plan that comes with the program, for the coach to change.

    Args:
        name: one of those that come with the program.
        data: data folder.

    Returns:
        Name of the new file; none that is there is written over.

    Raises:
        PlanError: it cannot be written, or the program brings no such plan.
    """
    folder = data / FOLDER
    text = built_in(name)
    number = 1
    while (folder / f"{_own_name(name, number)}.toml").exists():
        number += 1
    path = folder / f"{_own_name(name, number)}.toml"
    own = text.replace(f'name = "{name}"', f'name = "{path.stem}"', 1)
    try:
        private_folder(folder)
        with open_private(path, "w") as file:
            file.write(own)
    except OSError as error:
        raise PlanError(
            f"{path} cannot be written ({error.strerror}). Nothing was changed."
        ) from error
    return path.name


def _own_name(name: str, number: int) -> str:
    return f"my-{name}" if number == 1 else f"my-{name}-{number}"


def keep_choice(choice: Choice, data: Path) -> None:
    """Keep what is chosen for the next session in place of what was chosen before.

    Args:
        choice: the choice.
        data: data folder.

    Raises:
        SessionError: it cannot be written.
    """
    path = data / CHOICE_FILE
    fresh = path.with_suffix(".new")
    try:
        private_folder(data)
        with open_private(fresh, "wb") as file:
            file.write(write_choice(choice))
        fresh.replace(path)
    except OSError as error:
        raise SessionError(
            f"What you chose for the session cannot be kept: {path} cannot be written "
            f"({error.strerror}). The roster is safe. Free some space, then choose again."
        ) from error


def kept_choice(data: Path) -> Choice | None:
    """Give what was chosen for the next session.

    Args:
        data: data folder.

    Returns:
        The choice, None where there is none or it cannot be read.
    """
    try:
        return read_choice((data / CHOICE_FILE).read_bytes())
    except OSError:
        return None


def _text(key: str, data: Path) -> str:
    if key in BUILT_IN:
        return built_in(key)
    path = data / FOLDER / key
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise PlanError(f"{path} is too large for a plan.")
        return path.read_text("utf-8")
    except OSError as error:
        raise PlanError(f"{path} cannot be read ({error.strerror}).") from error
    except UnicodeDecodeError as error:
        raise PlanError(f"{path} is not text in UTF-8. Save it as UTF-8.") from error
