from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import msgspec
import pytest

from strikebridge.calibration.certificate import Certificate, plain_certificate
from strikebridge.calibration.chooser import (
    IDENTITY_WITHIN_S,
    Chooser,
    calibrated,
    certificate_of,
    chosen_words,
)
from strikebridge.calibration.shelf import Shelved
from strikebridge.errors import CalibrationError
from strikebridge.samples import Event, Identity, Quantity

NOW = datetime.fromisoformat("2026-03-13T12:00:00+00:00")
LEFT = Identity("left", "1.0", "hx711", 80.0, 0.05)


def made(day: int, **known: object) -> Shelved:
    plain = plain_certificate(
        0.005, 0.0, made_at=f"2026-03-{day:02d}T00:00:00+00:00", range_N=(0.0, 800.0)
    )
    return Shelved(Path("x.json"), msgspec.structs.replace(plain, **known))


def chooser(*shelved: Shelved) -> Chooser:
    return Chooser(shelved, "serial:COM5", NOW)


def test_a_name_chooses_at_once_and_only_once() -> None:
    new, old = made(2, board="left 1.0"), made(1, board="left 1.0")
    chooses = chooser(made(3, board="right 1.0"), new, old)
    assert chooses.look(LEFT, Quantity.COUNT, 0, 0.0) is None  # no reading yet
    assert chooses.look(LEFT, Quantity.COUNT, 1, 0.0) == new.certificate
    assert chooses.is_done
    assert chooses.remark == f"Calibration {new.certificate.id} of left, made 11 days ago."
    assert chooses.look(LEFT, Quantity.COUNT, 1, 0.0) is None


def test_a_mute_board_is_given_a_moment_and_then_known_by_its_port() -> None:
    mute = made(1, address="serial:COM5")
    chooses = chooser(made(2, board="left 1.0", address="serial:COM5"), mute)
    assert chooses.look(None, Quantity.COUNT, 1, IDENTITY_WITHIN_S - 0.01) is None
    assert not chooses.is_done
    assert chooses.look(None, Quantity.COUNT, 1, IDENTITY_WITHIN_S) == mute.certificate
    assert "of serial:COM5, made 12 days ago" in chooses.remark


def test_a_certificate_for_other_readings_is_passed_over_and_said() -> None:
    four = made(2, board="left 1.0")
    four = Shelved(four.path, msgspec.structs.replace(four.certificate, cells=()))
    kilograms = made(1, board="left 1.0", quantity=Quantity.KG)
    chooses = chooser(four, kilograms)
    assert chooses.look(LEFT, Quantity.COUNT, 1, 0.0) is None
    assert chooses.is_done
    assert "is for 0 cells in count, and it sends 1 in count: not used" in chooses.remark
    again = chooser(four, kilograms)
    assert again.look(LEFT, Quantity.KG, 1, 0.0) == kilograms.certificate
    # readings whose unit nobody knows are what they were when they were calibrated
    unit_unknown = chooser(four, kilograms)
    assert unit_unknown.look(LEFT, Quantity.UNKNOWN, 1, 0.0) == kilograms.certificate


def test_a_board_that_was_never_calibrated_leaves_nothing_to_say() -> None:
    chooses = chooser(made(1, board="right 1.0"))
    assert chooses.look(LEFT, Quantity.COUNT, 1, 0.0) is None
    assert (chooses.is_done, chooses.remark) == (True, "")
    assert chooser().is_done


def test_a_certificate_of_nowhere_has_words_as_well() -> None:
    plain: Certificate = made(1).certificate
    assert "of a board without a name" in chosen_words(plain, NOW)


def test_the_choice_survives_the_recording() -> None:
    certificate = made(1, board="left 1.0", note="hung from the rack – slowly").certificate
    event = calibrated(certificate, 1234)
    again = Event(event.kind, event.at_us, json.loads(json.dumps(dict(event.detail))))
    assert certificate_of(again) == certificate
    assert (again.kind, again.at_us, again.detail["id"]) == ("calibrated", 1234, certificate.id)


@pytest.mark.parametrize(
    ("detail", "words"),
    [
        ({}, "cannot be read"),
        ({"certificate": "{"}, "cannot be read"),
        ({"certificate": "[" * 100_000}, "cannot be read"),
        ({"certificate": "[]"}, "not a strikebridge certificate"),
    ],
)
def test_a_choice_that_was_damaged_is_one_sentence(detail: dict[str, str], words: str) -> None:
    with pytest.raises(CalibrationError, match=words):
        certificate_of(Event("calibrated", 0, detail))
