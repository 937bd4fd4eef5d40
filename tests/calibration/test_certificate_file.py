"""A certificate on its way into a file and back."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING

import pytest

from strikebridge.calibration.certificate import ID_DIGITS
from strikebridge.calibration.certificate_file import (
    certificate_from_json,
    certificate_to_json,
    load_certificate,
    save_certificate,
)
from strikebridge.errors import CalibrationError
from tests.calibration.made_certificates import full_certificate, with_field

if TYPE_CHECKING:
    from pathlib import Path


def test_a_certificate_survives_its_file_and_keeps_its_id(tmp_path: Path) -> None:
    certificate = full_certificate()
    path = tmp_path / "cert.json"
    save_certificate(certificate, path)
    again = load_certificate(path)
    assert again == certificate
    assert again.id == certificate.id == json.loads(path.read_text("utf-8"))["id"]
    assert len(certificate.id) == ID_DIGITS
    assert certificate.content_sha256.startswith(certificate.id)
    assert not list(tmp_path.glob("*.part"))


def test_whole_numbers_and_the_same_floats_make_one_certificate() -> None:
    assert with_field(range_N=(0, 785)).id == full_certificate().id
    document = json.loads(json.dumps(certificate_to_json(with_field(range_N=(0, 785)))))
    assert certificate_from_json(document).range_N == (0.0, 785.0)


def test_saving_twice_is_harmless_and_another_one_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "cert.json"
    save_certificate(full_certificate(), path)
    save_certificate(full_certificate(), path)
    before = path.read_bytes()
    with pytest.raises(CalibrationError, match="exists and holds something else"):
        save_certificate(with_field(note="other"), path)
    assert path.read_bytes() == before


def test_a_folder_that_is_not_there_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(CalibrationError, match=r"cannot be written to .*Choose a folder"):
        save_certificate(full_certificate(), tmp_path / "none" / "cert.json")


def test_a_missing_file_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(CalibrationError, match="cannot be read"):
        load_certificate(tmp_path / "none.json")


@pytest.mark.parametrize("data", [b"", b"{", b"\xff\xfe\x00", b"[" * 100_000])
def test_what_is_no_json_is_said_to_be_none(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "cert.json"
    path.write_bytes(data)
    with pytest.raises(CalibrationError, match="no JSON document"):
        load_certificate(path)


@pytest.mark.parametrize("document", [[], 3, None, "x", {}, {"schema": "other"}])
def test_json_that_is_no_certificate_is_refused(tmp_path: Path, document: object) -> None:
    with pytest.raises(CalibrationError, match="not a strikebridge certificate"):
        certificate_from_json(document)
    path = tmp_path / "cert.json"
    path.write_text(json.dumps(document), "utf-8")
    with pytest.raises(CalibrationError, match=r"cert\.json: This is not"):
        load_certificate(path)


@pytest.mark.parametrize("version", [2, 0, "1", None, 1.5])
def test_another_version_is_refused(version: object) -> None:
    document = certificate_to_json(full_certificate()) | {"version": version}
    with pytest.raises(CalibrationError, match=f"version {version}"):
        certificate_from_json(document)


@pytest.mark.parametrize("field", ["made_at", "cells", "range_N"])
def test_a_missing_field_is_named(field: str) -> None:
    document = certificate_to_json(full_certificate())
    del document[field]
    with pytest.raises(CalibrationError, match=f"incomplete.*{field}"):
        certificate_from_json(document)


def test_an_unknown_field_and_a_wrong_type_are_damage() -> None:
    document = certificate_to_json(full_certificate())
    with pytest.raises(CalibrationError, match="colour"):
        certificate_from_json(document | {"colour": "red"})
    with pytest.raises(CalibrationError, match="u_relative"):
        certificate_from_json(document | {"u_relative": "much"})


@pytest.mark.parametrize(
    "change", [{"u_relative": 0.001}, {"note": "x"}, {"content_sha256": "0" * 64}]
)
def test_altered_content_is_refused(change: dict[str, object]) -> None:
    document = certificate_to_json(full_certificate()) | change
    with pytest.raises(CalibrationError, match="altered"):
        certificate_from_json(document)


def test_a_file_without_its_hash_is_refused() -> None:
    document = certificate_to_json(full_certificate())
    del document["content_sha256"]
    with pytest.raises(CalibrationError, match="altered"):
        certificate_from_json(document)


def test_no_number_in_a_file_is_refused_in_one_sentence(tmp_path: Path) -> None:
    document = certificate_to_json(full_certificate()) | {"u_relative": math.nan}
    path = tmp_path / "cert.json"
    path.write_text(json.dumps(document), "utf-8")
    with pytest.raises(CalibrationError, match="u_relative is nan"):
        load_certificate(path)
