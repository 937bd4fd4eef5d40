"""Decoders of Bluetooth devices: what the captures of tests/every do not reach."""

import re
import struct
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from strikebridge.analysis import analyse_file
from strikebridge.boards.address import make_decoder
from strikebridge.boards.bthome import counter_of, decrypt, read_advertisement, read_objects
from strikebridge.boards.presentation_format import (
    PresentationFormat,
    read_format,
    read_value,
)
from strikebridge.boards.radio_lines import MOST_PAYLOAD, RadioLine, read_line, write_line
from strikebridge.boards.strikebridge_stream import read_block, read_identity, write_rate
from strikebridge.boards.weight_scale import WeightScaleDecoder, read_feature, read_measurement
from strikebridge.samples import Chunk, Flag, Quantity, Status
from strikebridge.stream_setup import Setup
from strikebridge.units import POUND_KG
from tests.boards import radio_devices as air

CAPTURES = Path(__file__).parents[2] / "recordings"
PAGES = Path(__file__).parents[2] / "firmware_notes"


def fed(shape: str, lines: Sequence[bytes], *, every_us: int = 100_000) -> tuple[Any, Any]:
    """A decoder that was fed lines one by one, and its blocks."""
    decoder = make_decoder(shape)
    chunks = [Chunk("x", every_us * i, line) for i, line in enumerate(lines)]
    blocks = [block for chunk in chunks for block in decoder.feed([chunk])]
    return decoder, blocks


def values(blocks: Any) -> list[float]:
    return [float(value) for block in blocks for value in block.counts[:, 0]]


def numbers(blocks: Any) -> list[int]:
    return [int(number) for block in blocks for number in block.number]


def test_line_carries_a_payload_untouched() -> None:
    payload = bytes(range(MOST_PAYLOAD))
    for line in (
        RadioLine("n", "2A9D", payload),
        RadioLine("n", "3059133C6F3C4470A18C3A1E19BA4B0D", payload),
        RadioLine("n", "2A9D", b"", bytes(7)),
    ):
        text = write_line(line)
        assert len(text) <= 257
        assert read_line(text.strip()) == line
    assert read_line(b"B,n,2A9D,00BC3E*0000") is None
    assert read_line(b"B,n,2A9D,00BC3*0000") is None


def test_line_agrees_with_the_devices_of_the_tests() -> None:
    line = RadioLine("n", "2A9D", bytes.fromhex("00BC3E"), air.NEWTON_TENTHS)
    assert write_line(line) == air.line("n", "2a9d", line.payload, line.form)


def test_scale_switched_to_pounds_keeps_its_unit() -> None:
    kg, lb = bytes.fromhex("00A00F"), bytes.fromhex("012745")
    _, blocks = fed("weight-scale", [air.line("n", air.WEIGHT, data) for data in (kg, lb)])
    assert values(blocks) == [20.0, 177.03 * POUND_KG]
    decoder, blocks = fed(
        "weight-scale", [air.line("n", air.WEIGHT, data) for data in (lb, kg)]
    )
    assert values(blocks) == [177.03, 20.0 / POUND_KG]
    assert decoder.quantity is Quantity.LB


def test_scale_that_fails_says_so() -> None:
    lines = [air.line("n", air.WEIGHT, air.kilograms(20.0))]
    lines += [air.line("n", air.WEIGHT, bytes.fromhex("00FFFF"))] * 3
    lines += lines[:1]
    decoder, blocks = fed("weight-scale", lines)
    assert numbers(blocks) == [0, 4]
    assert blocks[-1].flags.tolist() == [Flag.GAP_BEFORE]
    assert decoder.failed == 3
    assert any("3 measurements failed" in remark for remark in decoder.remarks)
    assert decoder.unreadable == 0


def test_time_of_a_scales_reading_is_its_arrival_and_rises() -> None:
    line = air.line("n", air.WEIGHT, air.kilograms(20.0))
    decoder = WeightScaleDecoder()
    (block,) = decoder.feed([Chunk("x", 700, line), Chunk("x", 700, line)])
    assert block.ticks_us is not None
    assert block.ticks_us.tolist() == [700, 701]


def test_measurements_that_are_none() -> None:
    for text in ("", "00", "00BC", "00BC3E00", "02BC3EEA07010203", "08BC3EF700"):
        with pytest.raises(ValueError, match="Weight Measurement"):
            read_measurement(bytes.fromhex(text))
    assert read_measurement(bytes.fromhex("10BC3E00")).mass == 80.3  # a reserved flag is set
    assert read_measurement(bytes.fromhex("04BC3EFF")).user is None
    with pytest.raises(ValueError, match="Feature"):
        read_feature(b"\0")


def test_scales_may_be_silent_for_a_while() -> None:
    lines = {
        "weight-scale": air.line("n", air.WEIGHT, air.kilograms(1.0)),
        "bthome": air.line("a", air.BTHOME, air.packet(1, 2.0)),
        "strikebridge-stream": air.line("r", air.STREAM_IDENTITY, air.IDENTITY),
    }
    pauses_s = {shape: fed("auto", [line])[0].pause_s for shape, line in lines.items()}
    assert pauses_s == {"weight-scale": 15.0, "bthome": 15.0, "strikebridge-stream": 0.0}
    assert make_decoder().pause_s == 0.0
    assert make_decoder().remarks == ()


def test_battery() -> None:
    first = air.line("n", air.WEIGHT, air.kilograms(20.0))
    for level, says in ((90, False), (15, True), (3, True)):
        decoder, _ = fed("weight-scale", [first, air.line("r", air.BATTERY, bytes([level]))])
        assert decoder.battery_percent == level
        assert any("battery" in remark for remark in decoder.remarks) is says
    for wrong in (b"", b"\x65", b"\x10\x10"):
        decoder, _ = fed("weight-scale", [first, air.line("r", air.BATTERY, wrong)])
        assert decoder.battery_percent is None
        assert decoder.unreadable == 1


@pytest.mark.parametrize("shape", ["weight-scale", "bthome", "strikebridge-stream"])
def test_other_payloads_of_a_device_are_no_readings(shape: str) -> None:
    others = [air.line("r", air.WEIGHT, air.kilograms(1.0)), air.line("r", "2a24", b"W1")]
    decoder, blocks = fed(shape, others)
    assert blocks == []
    assert decoder.unreadable == 0
    assert decoder.channels == 0


def test_comments_and_empty_lines_are_no_payloads() -> None:
    lines = [b"# begun\n", b"\r\n", air.line("n", air.WEIGHT, air.kilograms(1.0)), b"what\n"]
    decoder, blocks = fed("weight-scale", lines)
    assert values(blocks) == [1.0]
    assert decoder.unreadable == 1


def test_packet_ids() -> None:
    ids = [254, 254, 255, 0, 3, 3, 200, 201]
    data = [air.packet(one, float(i)) for i, one in enumerate(ids)]
    _, blocks = fed("bthome", [air.line("a", air.BTHOME, one) for one in data])
    assert values(blocks) == [0.0, 2.0, 3.0, 4.0, 6.0, 7.0]
    assert numbers(blocks) == [0, 1, 2, 5, 6, 7]
    flags = [int(block.flags[0]) for block in blocks]
    assert flags == [0, 0, 0, Flag.GAP_BEFORE, Flag.RESTARTED, 0]


def test_without_packet_id_each_advertisement_is_a_reading() -> None:
    line = air.line("a", air.BTHOME, bytes.fromhex("40065E1F"))
    _, blocks = fed("bthome", [line, line])
    assert values(blocks) == [80.3, 80.3]


def test_packet_without_a_mass_is_no_lost_reading() -> None:
    data = [air.packet(1, 2.0), air.press(2, 1), air.packet(3, 4.0)]
    _, blocks = fed("bthome", [air.line("a", air.BTHOME, one) for one in data])
    assert numbers(blocks) == [0, 1]


def test_pounds_and_kilograms_of_a_device_that_changes() -> None:
    lb, kg = bytes.fromhex("40073E1D"), bytes.fromhex("40065E1F")
    _, blocks = fed("bthome", [air.line("a", air.BTHOME, one) for one in (lb, kg)])
    assert values(blocks) == [74.86, 80.3 / POUND_KG]
    decoder, blocks = fed("bthome", [air.line("a", air.BTHOME, one) for one in (kg, lb)])
    assert values(blocks) == [80.3, 74.86 * POUND_KG]
    assert decoder.quantity is Quantity.KG


def test_encrypted_without_a_key_asks_for_it() -> None:
    sealed = bytes.fromhex("41E445F3C9962B332211006C7C4519")
    decoder, blocks = fed("bthome", [air.line("a", air.BTHOME, sealed)])
    assert blocks == []
    assert any("key" in remark for remark in decoder.remarks)
    # beside the same without its encryption there is nothing to ask
    lines = [air.line("a", air.BTHOME, sealed), air.line("p", air.BTHOME, air.packet(1, 2.0))]
    decoder, blocks = fed("bthome", lines)
    assert values(blocks) == [2.0]
    assert decoder.remarks == ()


def test_bthome_that_is_none() -> None:
    for text in ("", "20065E1F", "41065E1F", "4006", "40065E", "4054", "405405AB"):
        if text in ("4054",):
            assert read_objects(bytes.fromhex(text)) == []  # an object without its length
            continue
        with pytest.raises(ValueError, match=r"BTHome|encrypted|within"):
            read_objects(bytes.fromhex(text))
    assert read_objects(bytes.fromhex("40EE065E1F")) == []  # an id that is not known
    assert read_advertisement(bytes.fromhex("44013A")).battery_percent == 58
    decoder, _ = fed("bthome", [air.line("a", air.BTHOME, b"\x40\x06")])
    assert decoder.unreadable == 1


def test_first_touched_button_counts() -> None:
    assert read_advertisement(bytes.fromhex("443A003A023A01")).press == 2
    assert read_advertisement(bytes.fromhex("443A07")).press is None
    assert read_advertisement(bytes.fromhex("443A00")).has_button


def test_forged_advertisement_is_refused() -> None:
    sealed = bytearray.fromhex("41E445F3C9962B332211006C7C4519")
    key, address = (
        bytes.fromhex("231D39C1D7CC1AB1AEE224CD096DB932"),
        bytes.fromhex("5448E68F80A5"),
    )
    assert counter_of(bytes(sealed)) == 0x00112233
    for i in range(len(sealed)):
        forged = bytes(sealed[:i]) + bytes([sealed[i] ^ 1]) + bytes(sealed[i + 1 :])
        assert decrypt(forged, key, address) is None
    assert decrypt(bytes(sealed), bytes(16), address) is None
    with pytest.raises(ValueError, match="short"):
        decrypt(b"\x41" + bytes(7), key, address)


@pytest.mark.parametrize("kind", [0x04, 0x06, 0x07, 0x08, 0x09, 0x0C, 0x0E, 0x0F, 0x10, 0x11])
@pytest.mark.parametrize("exponent", [-3, 0, 2])
def test_whole_numbers_of_any_size(kind: int, exponent: int) -> None:
    form = read_format(struct.pack("<BbHBH", kind, exponent, 0x2705, 1, 0))
    assert form is not None
    is_signed = kind >= 0x0C
    for number in (0, 1, 117, *([-1, -128] if is_signed else [255])):
        payload = number.to_bytes(form.size, "little", signed=is_signed)
        assert read_value(form, payload) == pytest.approx(number * 10.0**exponent, rel=1e-15)


def test_floats() -> None:
    for kind, code in ((0x14, "<f"), (0x15, "<d")):
        form = PresentationFormat(kind, 0, Quantity.N)
        assert read_value(form, struct.pack(code, -12.5)) == -12.5
    form = PresentationFormat(0x16, 0, Quantity.N)
    assert read_value(form, bytes.fromhex("6C21")) == 36400.0


def test_formats_that_are_not_for_a_wall() -> None:
    for text in ("", "0EFF05270100", "0EFF2F27010000", "01000527010000", "19000527010000"):
        assert read_format(bytes.fromhex(text)) is None
    with pytest.raises(ValueError, match="format 0x01"):
        read_value(PresentationFormat(0x01, 0, Quantity.N), b"\0")
    form = read_format(air.NEWTON_TENTHS)
    assert form is not None
    with pytest.raises(ValueError, match="3 bytes"):
        read_value(form, b"\0\0\0")


def test_unitless_numbers_with_decimals_are_asked_about() -> None:
    for text in ("0EFF0027010000", "14000027010000"):
        form = read_format(bytes.fromhex(text))
        assert form is not None
        assert form.quantity is Quantity.UNKNOWN


def test_counts_at_the_ends_of_the_converter_are_flagged() -> None:
    words = (b"\xff\xff\x7f", b"\x00\x00\x80", b"\x01\x00\x00")
    lines = [air.line("n", air.NUMBER, word, air.PLAIN_COUNTS) for word in words]
    decoder, blocks = fed("presentation-format", lines)
    assert [int(block.flags[0]) for block in blocks] == [Flag.SATURATED, Flag.SATURATED, 0]
    assert decoder.quantity is Quantity.COUNT
    assert blocks[0].ticks_us is None


def test_number_that_is_none_is_a_lost_reading() -> None:
    form = bytes.fromhex("14000527010000")
    numbers_sent = (1.0, float("nan"), float("inf"), 2.0)
    lines = [air.line("n", air.NUMBER, struct.pack("<f", one), form) for one in numbers_sent]
    decoder, blocks = fed("presentation-format", lines)
    assert values(blocks) == [1.0, 2.0]
    assert numbers(blocks) == [0, 3]
    assert decoder.unreadable == 0


def test_unit_cannot_change_in_the_middle() -> None:
    kg = bytes.fromhex("0EFF0227010000")
    lines = [
        air.line("n", air.NUMBER, b"\x0a\x00", air.NEWTON_TENTHS),
        air.line("n", air.NUMBER, b"\x0a\x00", kg),
        air.line("n", air.NUMBER, b"\x0a\x00", bytes(7)),
        air.line("n", air.NUMBER, b"\x0a\x00"),
        air.line("n", air.NUMBER, b"\x0b\x00", air.NEWTON_TENTHS),
    ]
    decoder, blocks = fed("presentation-format", lines)
    assert values(blocks) == [1.0, 1.1]
    assert decoder.unreadable == 2


def test_examples_of_the_page() -> None:
    page = (PAGES / "strikebridge-stream.md").read_text(encoding="utf-8")
    examples = re.findall(r"^\| `(1[01] [0-9A-F ]+)` \|", page, re.MULTILINE)
    first, wrapped, two = [read_block(bytes.fromhex(text)) for text in examples]
    assert (first.sequence, first.micros, first.counts) == (0, 1_012_500, [84213])
    assert wrapped.counts == [84213, 84198]
    assert (wrapped.sequence, wrapped.micros, wrapped.step_us) == (65535, 4294967290, 12500)
    assert (two.channels, two.counts, two.micros) == (2, [84213, -5120], 12500)


def test_counters_of_a_stream_wrap() -> None:
    lines = [air.line("n", air.STREAM_BLOCK, air.block(65534, 2**32 - 9, [[1], [2], [3], [4]]))]
    lines += [air.line("n", air.STREAM_BLOCK, air.block(2, 3 * 12_500 + 12_491, [[-5]]))]
    _, blocks = fed("strikebridge-stream", lines)
    assert numbers(blocks) == [0, 1, 2, 3, 4]
    assert values(blocks) == [1.0, 2.0, 3.0, 4.0, -5.0]
    ticks = [int(tick) for block in blocks for tick in block.ticks_us]
    assert {b - a for a, b in pairwise(ticks)} == {12_500}


def test_lost_blocks_are_counted_in_samples() -> None:
    data = [air.block(i, 12_500 * i, [[i]] * 4) for i in (0, 4, 20, 24)]
    _, blocks = fed("strikebridge-stream", [air.line("n", air.STREAM_BLOCK, d) for d in data])
    assert numbers(blocks)[7:9] == [7, 20]
    assert [int(block.flags[0]) for block in blocks] == [0, 0, Flag.GAP_BEFORE, 0]


def test_repeated_block_of_one_sample_is_one() -> None:
    line = air.line("n", air.STREAM_BLOCK, air.block(3, 37_500, [[7]]))
    _, blocks = fed("strikebridge-stream", [line, line])
    assert values(blocks) == [7.0]


def test_channels_of_a_stream() -> None:
    line = b""
    for channels in (1, 2, 3, 4):
        rows = [[10 * i - j for j in range(channels)] for i in range(3)]
        line = air.line("n", air.STREAM_BLOCK, air.block(0, 0, rows))
        decoder, blocks = fed("strikebridge-stream", [line])
        assert decoder.channels == channels
        assert blocks[0].counts.tolist() == rows
    other = air.line("n", air.STREAM_BLOCK, air.block(1, 12_500, [[1, 2]]))
    decoder, blocks = fed("strikebridge-stream", [line, other])
    assert len(blocks) == 1
    assert decoder.unreadable == 1


def test_blocks_that_are_none() -> None:
    for text in ("", "10", "20000000000000F54801", "14000000000000F54801", "1000000000000000"):
        with pytest.raises(ValueError, match="block"):
            read_block(bytes.fromhex(text))
    with pytest.raises(ValueError, match="11 bytes"):
        read_block(bytes(1 * [0x10]) + bytes(10))


def test_identity_of_a_stream() -> None:
    identity = read_identity(air.IDENTITY)
    assert (identity.board, identity.converter) == ("wall", "hx711")
    assert (identity.rate_hz, identity.settling_s) == (80.0, 0.05)
    assert read_identity(b"I,1,wall,1.0,hx711,,").rate_hz is None
    assert read_identity(b"I,1,wall,1.0,hx711,,").settling_s is None
    for text in (b"", b"I,2,wall,1.0,hx711,80,50", b"I,1,wall,1.0,hx711,80"):
        with pytest.raises(ValueError, match="identity"):
            read_identity(text)
    decoder, _ = fed("auto", [air.line("r", air.STREAM_IDENTITY, air.IDENTITY)])
    assert decoder.shape == "strikebridge-stream"
    assert decoder.identity == identity
    assert write_rate(320) == bytes.fromhex("4001")


@pytest.mark.parametrize("shape", ["weight-scale", "bthome"])
def test_a_slow_scale_carries_a_hold_and_no_rise(shape: str) -> None:
    # the hold of the captures: 50 kg, let go of 3.5 s after it began
    (rep,) = analyse_file(CAPTURES / shape / "capture.jsonl", Setup()).reps
    measures = rep.measures
    for name in ("peak_force", "hold_mean"):
        value, u95 = measures[name].value, measures[name].u95
        assert value is not None
        assert u95 is not None
        assert abs(value - 50.0 * 9.80665) <= u95
    for name in ("time_to_peak", "rfd_100", "rfd_250", "peak_rfd", "snap_share", "impulse_100"):
        assert measures[name].status is Status.WITHHELD
        assert measures[name].reason
    assert rep.verdict.rise == "not measurable"
