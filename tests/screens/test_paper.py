"""PDFs of reports, read back by another library: one side, nothing clipped, grey readable."""

import os
import stat
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from strikebridge.errors import FormatError
from strikebridge.reports.drawing import BAND, INK, PAPER, QUIET, STRONG
from strikebridge.reports.sheet import Column, Item, Part, Sheet, Table, Words
from strikebridge.screens.look import contrast
from strikebridge.screens.paper import MARGIN_PT, write_pdf
from tests.reports.draw import sheets

SHEETS = dict(sheets())
A4_PT = (595.0, 842.0)
pytestmark = pytest.mark.usefixtures("qapp")


def pages_of(file: Path) -> list[tuple[str, list[tuple[float, float, float, float]]]]:
    """Read text and the boxes of its letters, page by page."""
    found = []
    with pypdfium2.PdfDocument(file) as document:
        for page in document:
            assert page.get_size() == pytest.approx(A4_PT, abs=1.0)
            text = page.get_textpage()
            boxes = [text.get_charbox(i) for i in range(text.count_chars())]
            found.append((text.get_text_bounded(), boxes))
            text.close()
            page.close()
    return found


def squeezed(text: str) -> str:
    return "".join(text.split()).replace("\u00ad", "").replace("\u0002", "")


@pytest.mark.parametrize("name", [name for name, one in SHEETS.items() if one.is_one_page])
def test_a_page_is_one_side_of_a4_with_everything_on_it(name: str, tmp_path: Path) -> None:
    sheet, file = SHEETS[name], tmp_path / "page.pdf"
    assert write_pdf(sheet, file) == 1
    ((text, boxes),) = pages_of(file)
    assert squeezed(sheet.title) in squeezed(text)
    assert squeezed(sheet.footer_line) in squeezed(text)
    for item in sheet.foot:
        assert squeezed(item.text)[:40] in squeezed(text)
    for left, bottom, right, top in boxes:
        if right > left:
            assert left >= MARGIN_PT - 2.0
            assert right <= A4_PT[0] - MARGIN_PT + 2.0
            assert bottom >= MARGIN_PT - 4.0
            assert top <= A4_PT[1] - MARGIN_PT + 4.0


def test_no_line_of_a_page_lies_on_another(tmp_path: Path) -> None:
    """Letters of different text that cover each other would be unreadable."""
    file = tmp_path / "page.pdf"
    write_pdf(SHEETS["squad of 40 de"], file)
    ((_, boxes),) = pages_of(file)
    # the letters of a ligature share its box
    solid = np.array([one for one in set(boxes) if one[2] - one[0] > 0.5 < one[3] - one[1]])
    left, bottom, right, top = solid.T
    wide = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
    high = np.minimum(top[:, None], top) - np.maximum(bottom[:, None], bottom)
    covered = (wide > 1.0) & (high > 1.0)
    np.fill_diagonal(covered, val=False)
    assert not covered.any()


def test_what_is_too_much_for_a_side_goes_on_to_the_next(tmp_path: Path) -> None:
    rows = tuple((f"row {i}", "1") for i in range(150))
    table = Table("Rows", (Column("a", 1.0), Column("b", 1.0)), rows)
    part = Part("Part", (table, Words("", (Item("", "last words"),))))
    sheet = Sheet("en", "Long", "", (part,), (Item("Foot:", "small print"),), "line")
    file = tmp_path / "long.pdf"
    pages = write_pdf(sheet, file)
    assert pages > 1
    texts = [text for text, _ in pages_of(file)]
    assert len(texts) == pages
    for i in range(150):
        assert sum(f"row{i}1" in squeezed(text) + "1" for text in texts) >= 1
    assert "last words" in texts[-1]
    assert f"{pages}/{pages}" in texts[-1]


def test_the_file_is_for_the_user_alone_and_replaced_when_whole(tmp_path: Path) -> None:
    file = tmp_path / "page.pdf"
    file.write_bytes(b"old")
    write_pdf(SHEETS["athlete no data"], file)
    assert file.read_bytes().startswith(b"%PDF-")
    assert [one.name for one in tmp_path.iterdir()] == ["page.pdf"]
    if os.name == "posix":
        assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(FormatError, match="cannot be written"):
        write_pdf(SHEETS["athlete no data"], tmp_path / "none" / "page.pdf")


def grey(colour: str) -> str:
    """Take the colour out, as a printer does (weights of ITU-R BT.601)."""
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    level = round(0.299 * red + 0.587 * green + 0.114 * blue)
    return f"#{level:02X}{level:02X}{level:02X}"


@pytest.mark.parametrize("ground", [PAPER, BAND])
def test_contrast_in_colour_and_in_grey(ground: str) -> None:
    """WCAG 2.2: 4.5 for text (1.4.3), 3 for lines and marks (1.4.11)."""
    for ink, least in ((INK, 4.5), (QUIET, 4.5), (STRONG, 3.0)):
        assert contrast(ink, ground) >= least
        assert contrast(grey(ink), grey(ground)) >= least
