"""Draw every report in every state, to be looked at: `python -m tests.reports.draw DIR`.

HTML is printed by a Chromium, where one is installed, and the pages of all PDFs are drawn by
pdftoppm of poppler-utils, in colour and in grey. It fails where a report that is meant for one
side of A4 takes more.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pypdfium2

from strikebridge.club.athlete import AgeGroup, Athlete, Stance
from strikebridge.reports.athlete_page import athlete_page
from strikebridge.reports.language import language
from strikebridge.reports.session_report import Told, session_report
from strikebridge.reports.sheet_html import html
from strikebridge.reports.squad_page import squad_page
from strikebridge.reports.standing import Club
from strikebridge.reports.wording import Wording
from strikebridge.screens.app import open_for_pictures
from strikebridge.screens.paper import write_pdf
from strikebridge.units import ForceUnit
from tests.reports.scenes import (
    LONG_NAME,
    TODAY,
    Camp,
    camp_reps,
    invented_camp,
    invented_club,
    invented_session,
    large_squad,
    told_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from strikebridge.reports.sheet import Sheet


def sheets() -> Iterator[tuple[str, Sheet]]:
    """Make every report in every state."""
    club = invented_club()
    told = told_of(invented_camp(club), club)
    english = Wording(language("en"))
    for story in told:
        yield f"athlete {story.athlete.name}", athlete_page(story, club, english, TODAY)
    yield "squad", squad_page("Saltmarsh Quay", told, club, english, TODAY)
    session = invented_session(club)
    yield "session", session_report(session, club, english, TODAY)
    german = Wording(language("de"), ForceUnit.LB)
    yield "session de lb", session_report(session, club, german, TODAY)
    empty = Told(replace(session.session, group="", athletes=()), ())
    yield "session empty", session_report(empty, club, english, TODAY)
    for key, unit in (("en", ForceUnit.LB), ("en", ForceUnit.N), ("de", ForceUnit.KG)):
        wording = Wording(language(key), unit)
        yield f"athlete {key} {unit}", athlete_page(told[1], club, wording, TODAY)
        yield f"squad {key} {unit}", squad_page("Saltmarsh Quay", told, club, wording, TODAY)
    long = Athlete(
        "a9",
        LONG_NAME,
        Stance.SOUTHPAW,
        AgeGroup.ADULT,
        groups=("Saltmarsh Quay Tuesday juniors",),
    )
    alone = Club({long.id: long})
    one_rep = camp_reps(long, Camp("rear-uppercut-straight-arm", 1400.0, 0.0, 1, 1), 1)
    pounds = Wording(language("en"), ForceUnit.LB)
    for name, reps in (("one rep", one_rep), ("no data", [])):
        story = told_of(reps, alone)[0]
        yield f"athlete {name}", athlete_page(story, alone, pounds, TODAY)
        yield f"squad {name}", squad_page("", [story], alone, pounds, TODAY)
    for number in (12, 40):
        many, reps = large_squad(number)
        for key in ("en", "de"):
            wording = Wording(language(key), ForceUnit.LB)
            told_many = told_of(reps, many)
            yield f"squad of {number} {key}", squad_page("", told_many, many, wording, TODAY)
            yield f"athlete of {number} {key}", athlete_page(told_many[0], many, wording, TODAY)


def draw(folder: Path) -> list[str]:
    """Write every report and its pictures.

    Args:
        folder: where.

    Returns:
        Files that take more sides than they are meant for.
    """
    folder.mkdir(parents=True, exist_ok=True)
    open_for_pictures()
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    long = []
    for name, sheet in sheets():
        base = folder / name.replace(" ", "-")
        page, paper = base.with_suffix(".html"), base.with_suffix(".pdf")
        page.write_text(html(sheet), encoding="utf-8")
        pdfs = [paper]
        write_pdf(sheet, paper)
        if chromium:
            pdfs.append(base.with_suffix(".browser.pdf"))
            print_in_browser(chromium, page, pdfs[1])
        for pdf in pdfs:
            with pypdfium2.PdfDocument(pdf) as document:
                pages = len(document)
            print(f"{pdf.name}: {pages} page{'' if pages == 1 else 's'}")
            draw_pages(pdf)
            long += [pdf.name] if pages > 1 and sheet.is_one_page else []
    if not chromium:
        print("No Chromium here: nothing was drawn of the HTML.")
    return long


def print_in_browser(chromium: str, page: Path, pdf: Path) -> None:
    """Let the browser print a page."""
    words = ["--headless=new", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run(
        [chromium, *words, f"--print-to-pdf={pdf}", str(page)],
        check=True,
        capture_output=True,
        timeout=60,
    )


def draw_pages(pdf: Path) -> None:
    """Draw the pages of a PDF, in colour and in grey; without pdftoppm nothing is drawn."""
    if shutil.which("pdftoppm") is None:
        return
    for kind, option in (("colour", []), ("grey", ["-gray"])):
        words = ["pdftoppm", *option, "-png", "-r", "110", str(pdf)]
        subprocess.run([*words, str(pdf.with_suffix(f".{kind}"))], check=True, timeout=60)


if __name__ == "__main__":
    too_long = draw(Path(sys.argv[1]))
    if too_long:
        sys.exit(f"More than one side of A4: {', '.join(too_long)}.")
