from __future__ import annotations

import pytest

from strikebridge.calibration.apply import BY_HAND, Calibration
from strikebridge.calibration.certificate import Certificate, plain_certificate
from strikebridge.calibration.chooser import calibrated
from strikebridge.calibration.in_use import CalibrationInUse
from strikebridge.calibration.rating import rated
from strikebridge.errors import CalibrationError
from strikebridge.samples import Event, Quantity

MADE_AT = "2026-03-01T18:30:00+01:00"


def certificate(gain: float = 0.005) -> Certificate:
    return plain_certificate(gain, 1000.0, made_at=MADE_AT, range_N=(0.0, 500.0))


def now(in_use: CalibrationInUse) -> Calibration:
    assert in_use.now is not None
    return in_use.now


def test_nothing_is_known_until_somebody_says_it() -> None:
    in_use = CalibrationInUse(None, None)
    assert in_use.now is None
    in_use.hear(Event("go", 0))
    in_use.hear(rated(900.0, 0))
    assert in_use.now is None
    in_use.agree(Quantity.UNKNOWN)
    in_use.agree(Quantity.COUNT)
    assert in_use.now is None


def test_the_stream_says_it_and_the_newest_counts() -> None:
    in_use = CalibrationInUse(None, None)
    one, other = certificate(), certificate(0.006)
    in_use.hear(calibrated(one, 5))
    assert now(in_use).id == one.id
    in_use.hear(calibrated(other, 9))
    assert now(in_use).id == other.id
    with pytest.raises(CalibrationError, match="cannot be read"):
        in_use.hear(Event("calibrated", 9, {"certificate": "{"}))
    assert now(in_use).id == other.id


def test_what_was_said_beforehand_overrules_the_stream() -> None:
    said = Calibration.by_hand(0.01)
    in_use = CalibrationInUse(said, None)
    assert in_use.now is said
    in_use.hear(calibrated(certificate(), 5))
    assert now(in_use).id == BY_HAND
    # a rating is another matter: nobody said one
    in_use.hear(rated(900.0, 6))
    assert (now(in_use).id, now(in_use).cell_rating_N) == (BY_HAND, 900.0)


def test_a_rating_goes_with_any_calibration() -> None:
    in_use = CalibrationInUse(None, None)
    in_use.hear(rated(900.0, 0))
    in_use.hear(calibrated(certificate(), 5))
    assert now(in_use).cell_rating_N == 900.0
    in_use.hear(rated(800.0, 6))
    assert now(in_use).cell_rating_N == 800.0
    kilograms = CalibrationInUse(None, 700.0)
    kilograms.agree(Quantity.KG)
    assert (now(kilograms).quantity, now(kilograms).cell_rating_N) == (Quantity.KG, 700.0)


def test_a_rating_said_beforehand_overrules_stream_and_certificate() -> None:
    in_use = CalibrationInUse(Calibration.from_certificate(certificate()), 700.0)
    assert now(in_use).cell_rating_N == 700.0
    in_use.hear(rated(900.0, 0))
    assert now(in_use).cell_rating_N == 700.0
    # an event that is none of ours changes no rating either
    other = CalibrationInUse(Calibration.by_hand(0.01), None)
    other.hear(Event("overload", 3, {"cell_N": 900.0}))
    assert now(other).rating_N is None


def test_readings_in_a_unit_need_no_calibration() -> None:
    in_use = CalibrationInUse(None, None)
    in_use.agree(Quantity.N)
    assert now(in_use).quantity is Quantity.N
    in_use.agree(Quantity.N)
    with pytest.raises(CalibrationError, match=r"readings are in kg.* for readings in N"):
        in_use.agree(Quantity.KG)


@pytest.mark.parametrize(
    "said", [Calibration.by_hand(0.01), None], ids=["by hand", "by stream"]
)
def test_a_calibration_of_counts_is_for_counts(said: Calibration | None) -> None:
    in_use = CalibrationInUse(said, None)
    in_use.hear(calibrated(certificate(), 0))
    before = in_use.now
    in_use.agree(Quantity.COUNT)
    in_use.agree(Quantity.UNKNOWN)
    assert in_use.now is before
    with pytest.raises(CalibrationError, match="readings are in kg") as caught:
        in_use.agree(Quantity.KG)
    assert "the calibration is for readings in count" in str(caught.value)
    assert in_use.now is before
