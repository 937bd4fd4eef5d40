"""Wire formats and converter figures against what is published."""

import pytest

from strikebridge.boards.line_decoder import CONVERTER_HIGH, CONVERTER_LOW
from strikebridge.boards.simulated_board import COUNTS_PER_KG, GAIN_N_PER_COUNT
from strikebridge.boards.strikebridge_lines import (
    StrikebridgeLinesDecoder,
    checksum,
)
from strikebridge.samples import Chunk


def test_checksum_is_the_catalogued_one() -> None:
    # Check value 0x29B1 of "123456789" for polynomial 0x1021, start 0xFFFF, not reflected, as
    # the catalogue of CRC algorithms lists CRC-16/IBM-3740: value from memory.
    assert checksum(b"123456789") == 0x29B1


def test_checksum_agrees_with_the_bitwise_definition() -> None:
    # Division of polynomials over GF(2), written out: no table, no library.
    def bitwise(data: bytes) -> int:
        crc = 0xFFFF
        for byte in data:
            crc ^= byte << 8
            for _ in range(8):
                crc = ((crc << 1) ^ 0x1021 if crc & 0x8000 else crc << 1) & 0xFFFF
        return crc

    for data in (b"", b"S,0,1012500,84213", bytes(range(256))):
        assert checksum(data) == bitwise(data)


def test_ends_of_a_24_bit_converter() -> None:
    # Data sheet of the HX711: output codes 0x800000 to 0x7FFFFF, two's complement.
    assert int.from_bytes(b"\x7f\xff\xff", "big", signed=True) == CONVERTER_HIGH
    assert int.from_bytes(b"\x80\x00\x00", "big", signed=True) == CONVERTER_LOW


def test_counts_of_a_usual_cell() -> None:
    # Data sheet of the HX711: full-scale input +-0.5 AVDD / gain, gain 128, 24 bits. From it
    # counts = S / 1000 x 256 x 2^23 x F / Fn: 42 949.67 counts/kg for 2 mV/V and 100 kg.
    assert pytest.approx(42_949.67 / 2.0, abs=0.005) == COUNTS_PER_KG
    # Standard gravity 9.806 65 m/s2 (3rd CGPM, 1901).
    assert pytest.approx(9.80665, rel=1e-12) == GAIN_N_PER_COUNT * COUNTS_PER_KG


def test_settling_of_the_converter_is_carried() -> None:
    # Data sheet of the HX711: 400 ms at 10 samples/s, 50 ms at 80.
    for rate, settling in ((10, 400), (80, 50)):
        decoder = StrikebridgeLinesDecoder()
        payload = b"I,1,wall,1.0,hx711,%d,%d" % (rate, settling)
        decoder.feed([Chunk("x", 0, b"%s*%04X\n" % (payload, checksum(payload)))])
        assert decoder.identity is not None
        assert decoder.identity.settling_s == settling / 1000.0
