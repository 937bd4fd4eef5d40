"""The start page: what is ready in the data folder and at the ports, where its rows lead."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import click

from strikebridge.cli.backup_row import back_up_again, backup_row
from strikebridge.cli.options import data_folder
from strikebridge.errors import CheckError, StrikebridgeError
from strikebridge.pages.caution import FIRST_RUN
from strikebridge.screens.start_app import run_backup, run_review, run_start
from strikebridge.screens.start_model import Lead, Row, Standing

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.cli.club_desk import ClubDesk
    from strikebridge.screens.app import WindowOptions
    from strikebridge.session.choice import Choice

SIMULATED = "simulated:"
SIMULATED_RIG = "simulated:?rig=plates"
PLATES = "plates.csv"
SESSION = "session-"  # what the name of a session's recording begins with
USUAL_PLATES_KG = (20.0, 15.0, 10.0)


@dataclass(slots=True)
class Start:
    """The start page and what it leads to.

    Attributes:
        data: data folder, None for the user's.
        options: how windows open.
        wall: opens the wall on a board.
        check: opens the check of a board.
        session: leads the session that was chosen, on a board; None takes up the last one.
        club: athletes and plan.
        is_simulated: True once the coach has taken the simulated board.
    """

    data: Path | None
    options: WindowOptions
    wall: Callable[[str], int]
    check: Callable[[str], None]
    session: Callable[[str, Choice | None], None]
    club: ClubDesk
    is_simulated: bool = False

    def run(self) -> int:
        """Lead from the start page to the next thing and back, until it is closed.

        Returns:
            Exit code.
        """
        said = ""
        self.club.caution(FIRST_RUN)
        while (lead := run_start(self.rows, self.options, said)) is not None:
            said = ""
            try:
                said = self.go(lead)
            except StrikebridgeError as error:
                said = str(error)
                click.echo(f"strikebridge: {error}", err=True)
        return 0

    def go(self, lead: Lead) -> str:
        """Go where a row leads, and come back.

        Args:
            lead: where.

        Returns:
            What to say on the page afterwards.

        Raises:
            StrikebridgeError: what went wrong there.
        """
        address = self.board()
        if lead is Lead.SIMULATED:
            self.is_simulated = True
        elif lead is Lead.REVIEW:
            self._review()
        elif lead is Lead.PROGRESS:
            self.club.progress()
        elif lead is Lead.BACKUP:
            folder = data_folder(self.data)
            return run_backup(lambda tell: back_up_again(folder, tell), self.options)
        elif lead is Lead.ATHLETES:
            self.club.athletes()
        elif lead is Lead.PLAN:
            self.club.plan()
        elif address is None:
            return "The board has gone. Plug it in again."
        elif lead is Lead.CALIBRATE:
            self._calibrate(self._laid_flat(address))
        elif lead is Lead.CHECK:
            self.check(self._laid_flat(address))
        else:
            self._push(lead, address)
        return ""

    def _push(self, lead: Lead, address: str) -> None:
        """Go where somebody pushes: free reps, or the session that was chosen."""
        choice = self.club.choice
        if lead is Lead.SESSION and (self.club.is_broken_off or choice is not None):
            self.session(address, None if self.club.is_broken_off else choice)
        else:
            self.wall(address)
        self.club.look_again()

    def _laid_flat(self, address: str) -> str:
        """Name the board as plates can be put on it and nobody pushes."""
        return SIMULATED_RIG if self.is_simulated else address

    def board(self) -> str | None:
        """Name the board: the simulated one, or the only one that is plugged in."""
        found = [SIMULATED] if self.is_simulated else _plugged_in()
        return found[0] if len(found) == 1 else None

    def rows(self) -> Sequence[Row]:
        """Find out what is ready."""
        address = self.board()
        certificate = self._newest(address)
        return (
            self._board_row(address),
            self._calibration_row(address, certificate),
            self._check_row(address, certificate),
            *self.club.rows(),
            self.club.session_row(address),
            self._wall_row(address),
            self._recording_row(),
            self.club.progress_row(),
            backup_row(data_folder(self.data), datetime.now().astimezone()),
        )

    def _board_row(self, address: str | None) -> Row:
        if address == SIMULATED:
            words = "An invented athlete on an invented board."
            return Row("Board", Standing.READY, words)
        if address is not None:
            return Row("Board", Standing.READY, f"Plugged in at {address.partition(':')[2]}.")
        if _plugged_in():
            words = "Several boards are plugged in. Leave one, or start with --board."
            return Row("Board", Standing.MISSING, words, Lead.SIMULATED)
        words = "None is plugged in. Plug one in, or look round with the simulated one."
        return Row("Board", Standing.MISSING, words, Lead.SIMULATED)

    def _calibration_row(self, address: str | None, newest: Certificate | None) -> Row:
        from strikebridge.calibration.shelf import age_words  # noqa: PLC0415 - the page is there first

        lead = None if address is None else Lead.CALIBRATE
        if newest is not None:
            said = age_words(newest, datetime.now().astimezone())
            words = f"{newest.board or 'This board'}, {said}. {self._plates_words()}"
            return Row("Calibration", Standing.READY, words, lead)
        if self.is_simulated:
            return Row(
                "Calibration", Standing.READY, "The simulated board brings its own.", lead
            )
        return Row("Calibration", Standing.MISSING, f"None yet. {self._plates_words()}", lead)

    def _check_row(self, address: str | None, certificate: Certificate | None) -> Row:
        from strikebridge.checks.history import (  # noqa: PLC0415 - the page is there first
            board_file,
            read_history,
            standing,
        )

        if self.is_simulated and certificate is None:
            certificate = _own_of_the_simulated()
        if address is None or certificate is None:
            words = "Zero and noise, before a session. It needs a board and its calibration."
            return Row("Check", Standing.LATER, words)
        folder = data_folder(self.data)
        try:
            history = read_history(board_file(folder, certificate.board, address))
        except CheckError as error:
            return Row("Check", Standing.MIND, str(error), Lead.CHECK)
        if self.is_simulated and not history.checks_against(certificate.id):
            words = "Zero and noise, before a session. Not done yet."
            return Row("Check", Standing.LATER, words, Lead.CHECK)
        now = datetime.now().astimezone()
        said = standing(history, certificate.id, certificate.made_at, now)
        if said:
            return Row("Check", Standing.MIND, said, Lead.CHECK)
        return Row("Check", Standing.READY, "Recent and good.", Lead.CHECK)

    def _wall_row(self, address: str | None) -> Row:
        if address is None:
            return Row("Wall", Standing.LATER, "It opens as soon as there is a board.")
        words = "Free reps: counted in, measured, no roster and no plan needed."
        return Row("Wall", Standing.READY, words, Lead.WALL)

    def _recording_row(self) -> Row:
        newest = self._last_recording()
        if newest is None:
            return Row("Review", Standing.LATER, "There is no recording yet.")
        made = datetime.fromtimestamp(newest.stat().st_mtime).astimezone()
        what = "session" if newest.name.startswith(SESSION) else "recording"
        words = f"Last {what}: {made:%d %B %Y, %H:%M}."
        return Row("Review", Standing.READY, words, Lead.REVIEW)

    def _newest(self, address: str | None) -> Certificate | None:
        """Find the certificate that the board will most likely be used with."""
        from strikebridge.calibration.shelf import Shelf, place_of  # noqa: PLC0415 - as above

        if address is None:
            return None
        shelved = Shelf(data_folder(self.data)).all()
        if self.is_simulated:
            shelved = [o for o in shelved if o.certificate.address.startswith(SIMULATED)]
        here = [o for o in shelved if place_of(o.certificate.address) == place_of(address)]
        found = here or shelved
        return found[0].certificate if found else None

    def _plates_words(self) -> str:
        if (data_folder(self.data) / PLATES).exists():
            return f"Plates: as in {PLATES}."
        kilograms = ", ".join(f"{mass_kg:g}" for mass_kg in USUAL_PLATES_KG)
        return f"Plates taken: {kilograms} kg; write your own into {PLATES}."

    def _calibrate(self, address: str) -> None:
        """Lead the plate walk in its window; the certificate goes onto the shelf."""
        from strikebridge.calibration.declared import (  # noqa: PLC0415 - as above
            parse_plate,
            parse_plates,
        )
        from strikebridge.calibration.gravity import STANDARD  # noqa: PLC0415 - as above
        from strikebridge.calibration.points_table import table_text  # noqa: PLC0415 - as above
        from strikebridge.calibration.walk_setup import WalkSetup  # noqa: PLC0415 - as above
        from strikebridge.cli.calibrating import Live, calibrate_live  # noqa: PLC0415 - as above
        from strikebridge.cli.keeping import Keep  # noqa: PLC0415 - as above
        from strikebridge.cli.point_tables import Asked  # noqa: PLC0415 - as above
        from strikebridge.samples import Quantity  # noqa: PLC0415 - as above

        table = data_folder(self.data) / PLATES
        if table.exists():
            plates = parse_plates(table_text(table))
        else:
            plates = tuple(parse_plate(f"{kg:g} kg={kg:g}") for kg in USUAL_PLATES_KG)
        setup = WalkSetup(plates, is_hands_free=self.is_simulated)
        asked = Asked(STANDARD, None, Quantity.COUNT, (), ())
        live = Live(address, setup, Keep(None, self.data, "", None), asked)
        calibrate_live(live, self.options.unit_now, as_json=False, window=self.options)

    def _review(self) -> None:
        """Show what was done last: a session, or the holds of a recording over each other."""
        from strikebridge.analysis import analyse_file  # noqa: PLC0415 - as above
        from strikebridge.screens.review_model import review_of  # noqa: PLC0415 - as above
        from strikebridge.stream_setup import Setup  # noqa: PLC0415 - as above

        newest = self._last_recording()
        if newest is not None and newest.name.startswith(SESSION):
            self._review_session()
        elif newest is not None:
            analysis = analyse_file(newest, Setup(None))
            run_review(review_of(analysis, self.options.unit_now), self.options)

    def _review_session(self) -> None:
        from strikebridge.cli.session_window import show_session  # noqa: PLC0415 - as above
        from strikebridge.looking_back import last_session  # noqa: PLC0415 - as above
        from strikebridge.store.database import open_store  # noqa: PLC0415 - as above

        folder = data_folder(self.data)
        with contextlib.closing(open_store(folder)) as store:
            last = last_session(store)
            if last is not None:
                show_session(store, last.id, folder, self.options)

    def _last_recording(self) -> Path | None:
        """Find the newest recording of a wall."""
        folder = data_folder(self.data) / "recordings"
        made = [
            path
            for path in folder.glob("*.jsonl")
            if not path.name.startswith(("calibrate-", "check-", "verify-"))
        ]
        return max(made, key=lambda path: path.stat().st_mtime, default=None)


def _own_of_the_simulated() -> Certificate | None:
    """Give the certificate that the simulated board brings."""
    from strikebridge.boards.address import parse_address  # noqa: PLC0415 - the page is there first
    from strikebridge.boards.simulated_link import SimulatedLink  # noqa: PLC0415 - as above

    return SimulatedLink(parse_address(SIMULATED_RIG)).certificate


def _plugged_in() -> list[str]:
    """List the addresses of the boards on USB."""
    from strikebridge.boards.serial_link import list_ports  # noqa: PLC0415 - as above

    return [port.address for port in list_ports() if port.is_usb]
