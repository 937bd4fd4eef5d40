"""A plan as a TOML file, read with every mistake named by line and field.

TOML says where its own grammar is broken; what a field means is checked here, one field after
the other, so that all mistakes are listed at once and not only the first.
"""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import msgspec

from strikebridge.club.exercise import Way
from strikebridge.errors import FaultyPlanError, PlanError
from strikebridge.samples import Effort
from strikebridge.session.exercises import find
from strikebridge.session.plan import MOST_BLOCKS, Block, Plan, Target, circuits

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.exercise import Exercise

BUILT_IN = ("warm-up", "speed-day", "taper-day", "fight-day", "test-day")

WANTED = {
    "name": "a name in quotation marks; that of a plan is lower-case words with hyphens",
    "block": "one [[block]] or more, 60 at most",
    "about": "a text in quotation marks",
    "care": "a text in quotation marks",
    "order": '"athlete by athlete" or "rotation"',
    "mode": '"coach", "rounds" or "athlete"',
    "get_set_s": "seconds from 0 to 60",
    "result_s": "seconds from 0 to 60",
    "change_s": "seconds from 0 to 300",
    "dose_sets": "a whole number from 1 to 10",
    "dose_sets_used_to_it": "a whole number from 1 to 10",
    "exercises": 'a list of exercises such as ["straight", "rear-hook"]',
    "seconds": "seconds from 1 to 900",
    "effort": '"maximal" or "submaximal"',
    "reps_per_side": "a whole number from 1 to 20",
    "sets": "a whole number from 1 to 10",
    "sets_used_to_it": "a whole number from 1 to 10",
    "rest_s": "seconds from 0 to 1800",
    "set_rest_s": "seconds from 0 to 1800",
    "target": '"best", "band of best", "fixed" or "none"',
    "band_percent": "two percentages such as [70, 80]",
    "fixed_N": "newtons",
    "fixed_band_N": "two forces in newtons such as [300, 350]",
    "circuit": "a word in quotation marks",
    "everyone": "true or false",
}
"""Field -> what is to be written there."""

_TABLE = re.compile(r"\s*\[\[\s*block\s*\]\]")
_FIELD = re.compile(r"""\s*["']?([\w-]+)["']?\s*=""")


class Lines:
    """Where the fields of a plan stand in its text."""

    def __init__(self, text: str) -> None:
        """Look for them.

        Args:
            text: the file, which TOML has already accepted.
        """
        self._at: dict[tuple[int | None, str], int] = {}
        block: int | None = None
        closing = ""  # what ends the text that runs over several lines
        for number, line in enumerate(text.splitlines(), start=1):
            if closing:
                closing = "" if closing in line else closing
            elif _TABLE.match(line):
                block = 0 if block is None else block + 1
                self._at[block, ""] = number
            elif found := _FIELD.match(line):
                self._at.setdefault((block, found[1]), number)
                closing = next((q for q in ('"""', "'''") if line.count(q) == 1), "")

    def of(self, block: int | None, field: str = "") -> int:
        """Say where something stands.

        Args:
            block: which block, None for the head of the plan.
            field: its field, empty for the block itself.

        Returns:
            Line, from 1; that of the block where the field is missing.
        """
        return self._at.get((block, field), self._at.get((block, ""), 1))


def read_plan(text: str, known: Mapping[str, Exercise]) -> Plan:
    """Read a plan.

    Args:
        text: TOML.
        known: key -> exercise.

    Returns:
        The plan.

    Raises:
        FaultyPlanError: something is wrong with it; every mistake is named.
    """
    try:
        written = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FaultyPlanError([_grammar(str(error))]) from error
    lines = Lines(text)
    faults: list[tuple[int, str]] = []
    blocks = written.pop("block", None)
    is_list = isinstance(blocks, list) and all(isinstance(one, dict) for one in blocks)
    read: list[Block | None] = []
    head = _fields(Plan, written, lines, None, faults)
    if blocks is None or not is_list or not 1 <= len(blocks) <= MOST_BLOCKS:
        faults.append((lines.of(0), f"block: {WANTED['block']} has to be there."))
    if is_list and blocks:
        for at, one in enumerate(blocks):
            read.append(_block(one, lines, at, known, faults))
        _names(blocks, lines, faults)
    good = [one for one in read if one is not None]
    if not faults:
        plan = msgspec.convert({**head, "block": tuple(good)}, Plan)
        _circuits(plan, lines, faults)
        if not faults:
            return plan
    raise FaultyPlanError([f"line {at}, {words}" for at, words in sorted(faults)])


def built_in(name: str) -> str:
    """Give the text of a plan that comes with the program.

    Args:
        name: one of `BUILT_IN`.

    Raises:
        PlanError: there is none of that name.
    """
    if name not in BUILT_IN:
        raise PlanError(
            f"There is no plan {name!r}. There are {', '.join(BUILT_IN)}; or name a file."
        )
    return files("strikebridge.session").joinpath("plans", f"{name}.toml").read_text("utf-8")


def _grammar(said: str) -> str:
    """Write TOML's own complaint as a fault of ours."""
    where = re.search(r"\(at line (\d+), column (\d+)\)", said)
    what = said.split(" (at ", maxsplit=1)[0]
    at = f"line {where[1]}, column {where[2]}" if where else "the end of the file"
    return f"{at}: this is no TOML ({what[:1].lower()}{what[1:]})."


def _fields(
    kind: type[msgspec.Struct],
    written: dict[str, Any],
    lines: Lines,
    block: int | None,
    faults: list[tuple[int, str]],
) -> dict[str, Any]:
    """Check each field by itself; give the good ones."""
    good: dict[str, Any] = {}
    fields = {one.name: one for one in msgspec.structs.fields(kind)}
    for name, value in written.items():
        at = lines.of(block, name)
        if name not in fields:
            faults.append((at, f"{name}: there is no such field."))
            continue
        try:
            good[name] = msgspec.convert(value, fields[name].type)
        except msgspec.ValidationError:
            said = repr(value) if len(repr(value)) < 60 else "this"
            faults.append((at, f"{name}: {said} will not do; write {WANTED[name]}."))
    for name, field in fields.items():
        if field.required and name not in written and name != "block":
            faults.append((lines.of(block), f"{name}: is missing; write {WANTED[name]}."))
    return good


def _block(
    written: dict[str, Any],
    lines: Lines,
    at: int,
    known: Mapping[str, Exercise],
    faults: list[tuple[int, str]],
) -> Block | None:
    before = len(faults)
    good = _fields(Block, written, lines, at, faults)
    _exercises(good, lines, at, known, faults)
    if len(faults) > before:
        return None
    block = msgspec.convert(good, Block)
    for field, words in _contradictions(block, known):
        faults.append((lines.of(at, field), f"{field}: {words}"))
    return block


def _exercises(
    good: dict[str, Any],
    lines: Lines,
    at: int,
    known: Mapping[str, Exercise],
    faults: list[tuple[int, str]],
) -> None:
    ways: set[Way] = set()
    for word in good.get("exercises", ()):
        found = find(word, known)
        ways |= {one.way for one in found}
        if not found:
            faults.append((lines.of(at, "exercises"), f"exercises: {word!r} is unknown."))
    if len(ways) > 1:
        words = "exercises: some are measured and some timed; give each kind a block."
        faults.append((lines.of(at, "exercises"), words))


def _contradictions(block: Block, known: Mapping[str, Exercise]) -> list[tuple[str, str]]:
    """Say where two fields of a block do not go together."""
    found = []
    timed = find(block.exercises[0], known)[0].way is Way.TIMED
    is_band = block.target is Target.BAND
    edges = block.band_percent or block.fixed_band_N
    if edges is not None and edges[0] >= edges[1]:
        field = "band_percent" if block.band_percent else "fixed_band_N"
        found.append((field, "the lower edge comes first, then the higher one."))
    if is_band and block.band_percent is None:
        found.append(("target", "a band of best needs band_percent."))
    if is_band != (block.band_percent is not None) and not is_band:
        found.append(("band_percent", 'goes with target = "band of best".'))
    if block.target is Target.FIXED and (block.fixed_N is None) == (block.fixed_band_N is None):
        found.append(("target", "a fixed target needs fixed_N or fixed_band_N, one of both."))
    has_band = is_band or block.fixed_band_N is not None
    if has_band != (block.effort is Effort.SUBMAXIMAL) and not timed:
        found.append(("effort", "a submaximal effort and a band go together."))
    if timed and (block.effort is not Effort.MAXIMAL or has_band or block.fixed_N):
        found.append(("target", "what is only timed has no target and no effort."))
    if block.everyone and not timed:
        found.append(("everyone", "there is one wall; only what is timed goes together."))
    if not timed and block.seconds > 60.0:
        found.append(("seconds", "a hold at the wall lasts 60 s at most."))
    return found


def _names(
    blocks: Sequence[dict[str, Any]], lines: Lines, faults: list[tuple[int, str]]
) -> None:
    seen: dict[str, int] = {}
    for at, block in enumerate(blocks):
        name = str(block.get("name", f"block {at}"))
        first = seen.setdefault(name.casefold(), at)
        if first != at:
            words = f"name: {name!r} stands in line {lines.of(first, 'name')} already."
            faults.append((lines.of(at, "name"), words))


def _circuits(plan: Plan, lines: Lines, faults: list[tuple[int, str]]) -> None:
    at = 0
    met: set[str] = set()
    for blocks in circuits(plan):
        first = blocks[0]
        for i, block in enumerate(blocks):
            same = (block.sets, block.sets_used_to_it)
            if same != (first.sets, first.sets_used_to_it):
                words = f"sets: all blocks of the circuit {first.circuit!r} have the same."
                faults.append((lines.of(at + i, "sets"), words))
        if first.circuit and first.circuit in met:
            words = f"circuit: blocks of {first.circuit!r} have to follow one another."
            faults.append((lines.of(at, "circuit"), words))
        met.add(first.circuit)
        at += len(blocks)
