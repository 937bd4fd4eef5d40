import importlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.boards import BOARDS, LINKS, address
from strikebridge.boards.address import (
    Address,
    make_decoder,
    open_link,
    parse_address,
    usable_address,
)
from strikebridge.errors import AddressError, BoardNotFoundError


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("serial:/dev/ttyUSB0", Address("serial", "/dev/ttyUSB0")),
        ("serial:COM5?baud=9600", Address("serial", "COM5", {"baud": "9600"})),
        (
            "replay:C:\\a b.jsonl?speed=4",
            Address("replay", "C:\\a b.jsonl", {"speed": "4"}),
        ),
        ("replay:what?.jsonl", Address("replay", "what?.jsonl")),
        ("replay:100%20.jsonl", Address("replay", "100%20.jsonl")),
        ("replay:odd?a=1?", Address("replay", "odd?a=1")),
        ("simulated:", Address("simulated")),
        ("simulated:?", Address("simulated")),
        (
            "simulated:?rate_hz=80&seed=3",
            Address("simulated", "", {"rate_hz": "80", "seed": "3"}),
        ),
    ],
)
def test_reads_addresses(text: str, address: Address) -> None:
    assert parse_address(text) == address


@given(
    path=st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
    options=st.dictionaries(
        st.from_regex(r"[a-z_]+", fullmatch=True),
        st.text(st.characters(exclude_characters="&?", exclude_categories=["Cs"])),
        max_size=3,
    ),
)
def test_writes_what_it_reads(path: str, options: dict[str, str]) -> None:
    address = Address("serial", path, options)
    assert parse_address(str(address)) == address


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("/dev/ttyUSB0", "write serial:/dev/ttyUSB0"),
        ("", "begins with one of: serial:, replay:, simulated:"),
        ("COM5", "write serial:COM5"),
        ("usb:thing", "use one of: serial:, replay:, simulated:"),
        ("serial:", "names no port"),
        ("serial:x?bauds=9600", "'bauds' is no option of serial: addresses; there are: baud"),
        ("serial:x?baud=fast", "baud=fast will not do .* from 300 to 4000000"),
        ("serial:x?baud=9600.5", "whole number from 300 to 4000000"),
        ("simulated:?rate_hz=nan", "rate_hz=nan will not do"),
        ("simulated:?athlete=boxer", "write one of: rounds, listens"),
    ],
)
def test_says_what_is_wrong_with_an_address(text: str, words: str) -> None:
    with pytest.raises(AddressError, match=words) as caught:
        open_link(text)
    assert isinstance(caught.value, BoardNotFoundError)
    assert isinstance(caught.value, ValueError)
    assert caught.value.address == text


def test_no_options_at_all_are_said_so() -> None:
    with pytest.raises(AddressError, match="there are: none"):
        parse_address("serial:x?a=1").check_options(())


def test_every_link_and_board_of_the_tables_exists() -> None:
    for place in [*LINKS.values(), *BOARDS.values()]:
        module, _, name = place.partition(":")
        assert isinstance(getattr(importlib.import_module(module), name), type)


def test_unknown_shape_names_the_known_ones() -> None:
    with pytest.raises(ValueError, match="use one of: auto, strikebridge-lines,"):
        make_decoder("morse")


def test_import_failure_is_reported_as_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(BOARDS, "broken", "strikebridge.boards.not_there:Decoder")
    with pytest.raises(ModuleNotFoundError, match="not_there"):
        make_decoder("broken")


def test_an_address_that_can_only_be_right_loads_no_link(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    opened: list[str] = []
    monkeypatch.setattr(address, "open_link", opened.append)
    assert usable_address("simulated:").scheme == "simulated"
    assert usable_address("serial:/dev/ttyUSB0").path == "/dev/ttyUSB0"
    assert opened == []
    doubtful = ["serial:", "simulated:x", "simulated:?seed=x", "serial:/dev/x?baud=1", "typed:"]
    for text in doubtful:
        usable_address(text)
    assert opened == doubtful
