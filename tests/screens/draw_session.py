"""Draw every page and scene of a session: python -m tests.screens.draw_session DIR.

Each at 1366x768 and 1920x1080; the scenes also in the light scheme at the smaller size.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from strikebridge.screens.keys import ON_THE_WALL, Own, session_footer

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

SIZES = ((1366, 768), (1920, 1080))
WALL_KEYS = session_footer(ON_THE_WALL | {Own.CHECK})
ALL_KEYS = session_footer({Own.CHECK})
REPORTED = (
    "Session report: /home/wilhelmina/.local/share/strikebridge/reports/"
    "session-2026-11-25-173012-taper-day.pdf, and as HTML. V opens it."
)


def main(folder: Path) -> int:
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtWidgets import QApplication  # noqa: PLC0415 - the platform is chosen first

    app = QApplication.instance() or QApplication(["draw"])
    folder.mkdir(parents=True, exist_ok=True)
    count = draw_walls(folder) + draw_coach(folder) + draw_review(folder)
    sys.stdout.write(f"{count} pictures in {folder}\n")
    del app
    return 0


def keep(widget: QWidget, folder: Path, name: str) -> int:
    size = f"{widget.width()}x{widget.height()}"
    path = folder / f"{name.replace(', ', '-').replace(' ', '-')}-{size}.png"
    if not widget.grab().save(str(path)):
        raise OSError(f"{path} cannot be written")
    return 1


def draw_walls(folder: Path) -> int:
    from strikebridge.screens.look import LIGHT  # noqa: PLC0415 - after Qt is there
    from strikebridge.screens.wall import Wall  # noqa: PLC0415 - after Qt is there
    from tests.screens.session_glances import (  # noqa: PLC0415 - after Qt is there
        QUESTIONS,
        SESSION_GLANCES,
        TURN,
    )

    count = 0
    for size in SIZES:
        for name, glance in SESSION_GLANCES.items():
            wall = Wall(keys=WALL_KEYS)
            wall.resize(*size)
            wall.show_glance(glance)
            count += keep(wall, folder, f"wall-{name}")
        for name, question in QUESTIONS.items():
            wall = Wall(keys=WALL_KEYS)
            wall.resize(*size)
            wall.model.question = question
            wall.show_glance(TURN)
            count += keep(wall, folder, f"wall-asked-{name}")
    for name in ("turn, resting", "drill", "stopped for pain"):
        wall = Wall(keys=WALL_KEYS)
        wall.set_scheme(LIGHT)
        wall.resize(*SIZES[0])
        wall.show_glance(SESSION_GLANCES[name])
        count += keep(wall, folder, f"wall-light-{name}")
    return count


def draw_coach(folder: Path) -> int:
    from strikebridge.screens.coach import CoachPage  # noqa: PLC0415 - after Qt is there
    from tests.screens.desks import DESKS, FULL  # noqa: PLC0415 - after Qt is there
    from tests.screens.session_glances import (  # noqa: PLC0415 - after Qt is there
        QUESTIONS,
        SESSION_GLANCES,
    )

    count = 0
    scenes = ("turn, long words", "hold, in pounds", "outcome", "drill", "stopped for pain")
    for size in SIZES:
        for desk_name, desk in DESKS.items():
            page = CoachPage()
            page.resize(*size)
            page.show_now(SESSION_GLANCES["turn, ready"], desk, ALL_KEYS, at_once=True)
            count += keep(page, folder, f"coach-desk-{desk_name}")
        for name in scenes:
            page = CoachPage()
            page.resize(*size)
            page.show_now(SESSION_GLANCES[name], FULL, ALL_KEYS, at_once=True)
            count += keep(page, folder, f"coach-{name}")
        for name, question in QUESTIONS.items():
            page = CoachPage()
            page.resize(*size)
            page.question = question
            page.show_now(SESSION_GLANCES["turn, ready"], FULL, ALL_KEYS, at_once=True)
            count += keep(page, folder, f"coach-asked-{name}")
    return count


def draw_review(folder: Path) -> int:
    from strikebridge.screens.page import PageWidget  # noqa: PLC0415 - after Qt is there
    from strikebridge.screens.session_review_model import (  # noqa: PLC0415 - after Qt is there
        SessionReview,
    )
    from strikebridge.units import ForceUnit  # noqa: PLC0415 - after Qt is there
    from tests.screens.sessions_done import DONE  # noqa: PLC0415 - after Qt is there

    count = 0
    for size, unit in zip(SIZES, (ForceUnit.LB, ForceUnit.KG), strict=True):
        for name, done in DONE.items():
            review = SessionReview(done, unit)
            for at in range(min(review.pages, 4)):
                review.at = at
                page = PageWidget()
                page.resize(*size)
                page.show_page(review.page(size))
                count += keep(page, folder, f"review-{name}-{at}")
            review.said = REPORTED
            page = PageWidget()
            page.resize(*size)
            page.show_page(review.page(size))
            count += keep(page, folder, f"review-{name}-reported")
    return count


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Say where to: python -m tests.screens.draw_session DIR")
    sys.exit(main(Path(sys.argv[1])))
