"""What the documents point at is there."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "strikebridge"
DOCUMENTS = sorted([*ROOT.glob("*.md"), *ROOT.glob("firmware_notes/*.md")])
LINK = re.compile(r"\]\(([^)#:\s]+)(?:#[^)]*)?\)")
FILE = re.compile(r"`((?:[a-z_.]+/)*[a-z_]+\.(?:py|toml)|(?:[a-z_]+/)+)`")


def test_the_documents_are_found() -> None:
    names = {path.name for path in DOCUMENTS}
    assert {"README.md", "DEVELOPERS.md"} <= names


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_links_lead_somewhere(document: Path) -> None:
    text = document.read_text(encoding="utf-8")
    for target in LINK.findall(text):
        assert (document.parent / target).exists(), f"{document.name} points at {target}"


def test_the_tour_names_files_that_exist() -> None:
    named = FILE.findall((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    assert len(named) > 30
    for name in named:
        assert (ROOT / name).exists() or (PACKAGE / name).exists(), f"there is no {name}"


def test_every_decision_has_its_five_lines() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Decisions")[1]
    entries = re.split(r"^\*\*(\d+)\. ", text, flags=re.MULTILINE)[1:]
    numbers, bodies = entries[::2], entries[1::2]
    assert numbers == [str(number) for number in range(1, len(numbers) + 1)]
    for number, body in zip(numbers, bodies, strict=True):
        assert re.match(r".+\*\* \(\d{4}-\d\d-\d\d\)\n", body), f"decision {number} has no date"
        heads = re.findall(r"^(Status|Context|Decision|Cost): ", body, flags=re.MULTILINE)
        assert heads == ["Status", "Context", "Decision", "Cost"], f"decision {number}"
