"""Bluetooth payloads against what their specifications publish."""

import math

import pytest

from strikebridge.boards.bthome import (
    BUTTON,
    Press,
    decrypt,
    read_advertisement,
    read_objects,
)
from strikebridge.boards.presentation_format import (
    read_format,
    read_medical_float,
    read_value,
)
from strikebridge.boards.radio_lines import plain_uuid
from strikebridge.boards.weight_scale import read_feature, read_measurement
from strikebridge.samples import Quantity

# The Bluetooth SIG's GATT definitions (Weight Scale Service 1.0.0, 2014-10-21) give fields,
# order and steps; the bytes are derived from them: 16060 x 0.005 kg, 4000 x 0.005 kg,
# 17703 x 0.01 lb, 247 x 0.1 kg/m2, 1803 x 0.001 m.


def test_weight_in_kilograms() -> None:
    assert read_measurement(bytes.fromhex("00BC3E")).mass == 80.3
    assert read_measurement(bytes.fromhex("00A00F")).mass == 20.0
    assert read_measurement(bytes.fromhex("00A00F")).quantity is Quantity.KG


def test_weight_in_pounds() -> None:
    measured = read_measurement(bytes.fromhex("012745"))
    assert (measured.mass, measured.quantity) == (177.03, Quantity.LB)


def test_largest_weights() -> None:
    assert read_measurement(bytes.fromhex("00FEFF")).mass == 327.67
    assert read_measurement(bytes.fromhex("01FEFF")).mass == 655.34


def test_measurement_unsuccessful() -> None:
    assert read_measurement(bytes.fromhex("00FFFF")).mass is None


def test_weight_with_all_fields() -> None:
    measured = read_measurement(bytes.fromhex("0EBC3EEA0701020304 0501F7000B07"))
    assert measured.mass == 80.3
    assert measured.stamp == (2026, 1, 2, 3, 4, 5)
    assert measured.user == 1
    assert measured.body_mass_index == 24.7
    assert measured.height == 1.803


@pytest.mark.parametrize(
    ("code", "kg", "lb"),
    [
        (0, None, None),
        (1, 0.5, 1.0),
        (2, 0.2, 0.5),
        (3, 0.1, 0.2),
        (4, 0.05, 0.1),
        (5, 0.02, 0.05),
        (6, 0.01, 0.02),
        (7, 0.005, 0.01),
        (8, None, None),
    ],
)
def test_resolutions(code: int, kg: float | None, lb: float | None) -> None:
    # Bluetooth SIG, Weight Scale Feature: bits 3 to 6; 8 and above are reserved.
    feature = read_feature((code << 3 | 0b101).to_bytes(4, "little"))
    assert (feature.resolution_kg, feature.resolution_lb) == (kg, lb)
    assert (feature.has_stamp, feature.has_users, feature.has_body) == (True, False, True)


def test_short_uuids() -> None:
    # Base UUID 00000000-0000-1000-8000-00805F9B34FB (Bluetooth Core Specification): value from
    # memory.
    assert plain_uuid("00002a9d-0000-1000-8000-00805f9b34fb") == "2A9D"
    assert len(plain_uuid("00012a9d-0000-1000-8000-00805f9b34fb")) == 32


# The BTHome project's specification, page "Format" (state of 2026-04-30): its published
# examples, byte for byte, each in service data of a plain device (0x40).
PUBLISHED = [
    ("0009", 0x00, 9),
    ("0161", 0x01, 97),
    ("065E1F", 0x06, 8030),  # 80.3 kg
    ("073E1D", 0x07, 7486),  # 74.86 lb
    ("0C020C", 0x0C, 3074),  # 3.074 V
    ("1501", 0x15, 1),
    ("424E3400", 0x42, 13390),  # 13.390 s
    ("505D396164", 0x50, 1684093277),
    ("518756", 0x51, 22151),  # 22.151 m/s2
    ("F00100", 0xF0, 1),
]


@pytest.mark.parametrize(("text", "object_id", "number"), PUBLISHED)
def test_published_objects(text: str, object_id: int, number: int) -> None:
    ((found_id, value),) = read_objects(bytes.fromhex("40" + text))
    assert (found_id, int.from_bytes(value, "little")) == (object_id, number)


def test_published_objects_of_other_kinds() -> None:
    assert read_objects(bytes.fromhex("40540C48656C6C6F20576F726C6421")) == [
        (0x54, b"Hello World!")
    ]
    assert read_objects(bytes.fromhex("40F100010204")) == [(0xF1, bytes([0, 1, 2, 4]))]
    assert read_objects(bytes.fromhex("40F2000106")) == [(0xF2, bytes([0, 1, 6]))]


def test_published_masses() -> None:
    assert read_advertisement(bytes.fromhex("40065E1F")).mass_kg == 80.3
    assert read_advertisement(bytes.fromhex("40073E1D")).mass_lb == 74.86


@pytest.mark.parametrize(
    ("text", "press"),
    [
        ("3A00", None),
        ("3A01", Press.PRESS),
        ("3A02", Press.DOUBLE),
        ("3A03", Press.TRIPLE),
        ("3A04", Press.LONG),
        ("3A05", Press.LONG_DOUBLE),
        ("3A06", Press.LONG_TRIPLE),
        ("3A80", Press.HOLD),
    ],
)
def test_published_buttons(text: str, press: Press | None) -> None:
    assert read_advertisement(bytes.fromhex("44" + text)).press is press
    assert read_objects(bytes.fromhex("44" + text))[0][0] == BUTTON


def test_published_frame() -> None:
    # "DIY-sensor", 25.00 degC, 50.55 %
    frame = bytes.fromhex("0201060B094449592D73656E736F720A16D2FC4002C40903BF13")
    service_data = frame[frame.index(bytes.fromhex("D2FC")) + 2 :]
    (temperature_id, temperature), (humidity_id, humidity) = read_objects(service_data)
    assert (temperature_id, humidity_id) == (0x02, 0x03)
    assert int.from_bytes(temperature, "little", signed=True) / 100 == 25.0
    assert int.from_bytes(humidity, "little") / 100 == 50.55


def test_published_encryption() -> None:
    # Page "Encryption": key, address, counter 0x00112233 and the whole of the service data.
    sealed = bytes.fromhex("41E445F3C9962B332211006C7C4519")
    key = bytes.fromhex("231D39C1D7CC1AB1AEE224CD096DB932")
    plain = decrypt(sealed, key, bytes.fromhex("5448E68F80A5"))
    assert plain == bytes.fromhex("4002CA0903BF13")


def test_presentation_format_of_a_force() -> None:
    # Bluetooth Core Specification, volume 3, part G, 3.3.3.5, and Assigned Numbers (format
    # 0x0E = sint16, unit 0x2705 = newton): values from memory.
    form = read_format(bytes.fromhex("0EFF0527010000"))
    assert form is not None
    assert form.quantity is Quantity.N
    assert read_value(form, bytes.fromhex("2C01")) == 30.0
    assert read_value(form, bytes.fromhex("FFFF")) == -0.1


def test_units() -> None:
    # Bluetooth SIG Assigned Numbers: values from memory.
    for unit, quantity in (
        ("0227", Quantity.KG),
        ("B827", Quantity.LB),
        ("0027", Quantity.COUNT),
    ):
        form = read_format(bytes.fromhex(f"0600{unit}010000"))
        assert form is not None
        assert form.quantity is quantity


def test_medical_floats() -> None:
    # ISO/IEEE 11073-20601, values from memory: 6C 01 00 FF = 364 x 10^-1; the special values.
    assert read_medical_float(bytes.fromhex("6C0100FF"), 24) == 36.4
    assert read_medical_float(bytes.fromhex("6CF1"), 12) == 36.4
    assert math.isnan(read_medical_float(bytes.fromhex("FF07"), 12))
    assert math.isnan(read_medical_float(bytes.fromhex("0008"), 12))
    assert math.isnan(read_medical_float(bytes.fromhex("0108"), 12))
    assert read_medical_float(bytes.fromhex("FE07"), 12) == math.inf
    assert read_medical_float(bytes.fromhex("0208"), 12) == -math.inf
    assert math.isnan(read_medical_float(bytes.fromhex("FFFF7F00"), 24))
    assert read_medical_float(bytes.fromhex("02008000"), 24) == -math.inf
