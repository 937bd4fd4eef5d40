"""The pages beside the firmware say what it does."""

import platform
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

import start
from tests.firmware.bench import SOURCES, built

NOTES = SOURCES.parent
PAGES = sorted(NOTES.glob("*.md"))
LINK = re.compile(r"\]\(([^)#:]+)(?:#[^)]*)?\)")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_and_pictures_are_there(page: Path) -> None:
    for target in LINK.findall(page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), target


def test_every_page_is_in_the_index() -> None:
    index = set(LINK.findall((NOTES / "README.md").read_text(encoding="utf-8")))
    assert {page.name for page in PAGES} - {"README.md"} <= index


def test_pictures_are_whole() -> None:
    pictures = sorted((NOTES / "pictures").glob("*.svg"))
    assert pictures
    for picture in pictures:
        root = ElementTree.fromstring(picture.read_text(encoding="utf-8"))
        assert root.find("{http://www.w3.org/2000/svg}title") is not None


def test_the_pins_are_those_of_the_firmware() -> None:
    header = (SOURCES / "pins.h").read_text(encoding="utf-8")
    page = (NOTES / "avr.md").read_text(encoding="utf-8")
    pins = re.findall(r"#define \w+ (P[BD]\d) +/\* \((\d)\)", header)
    assert len(pins) == 7
    for of_chip, on_board in pins:
        assert f"| {on_board} | {of_chip} |" in page


def test_the_version_is_that_of_the_firmware() -> None:
    source = (SOURCES / "main.c").read_text(encoding="utf-8")
    found = re.search(r'#define FIRMWARE "([^"]+)"', source)
    assert found is not None
    assert f"`{found[1]}`" in (NOTES / "avr.md").read_text(encoding="utf-8")


def test_without_its_tools_it_is_said_how_to_get_them(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(platform, "system", lambda: "Linux")
    monkeypatch.setattr(start, "missing_firmware_tools", lambda: ["gcc-avr", "make"])
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match=r"apt-get install gcc-avr make$"):
        built.__wrapped__()


def test_on_other_systems_the_firmware_is_not_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(platform, "system", lambda: "Windows")
    with pytest.raises(pytest.skip.Exception, match="on Linux only"):
        built.__wrapped__()
