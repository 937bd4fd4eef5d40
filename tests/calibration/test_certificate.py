from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING

import msgspec
import pytest

from strikebridge.calibration.certificate import (
    ID_DIGITS,
    BudgetTerm,
    Cell,
    Certificate,
    PlateRecord,
    PointRecord,
    certificate_from_json,
    certificate_to_json,
    check_certificate,
    load_certificate,
    plain_certificate,
    save_certificate,
)
from strikebridge.errors import CalibrationError

if TYPE_CHECKING:
    from pathlib import Path

MADE_AT = "2026-03-01T18:30:00+01:00"


def full_certificate() -> Certificate:
    return Certificate(
        made_at=MADE_AT,
        made_by="coach",
        board="sketch 1.0",
        address="serial:/dev/ttyUSB0",
        cells=(
            Cell((8021.0, 212.5, -1e-3), ((4.0, 0, 0), (0, 1e-4, 0), (0, 0, 1e-12)), 12.5, 9.0),
        ),
        range_N=(0.0, 785.0),
        rating_N=1961.33,
        u_relative=0.0115,
        u_shape_N=0.4,
        dof_common=30.0,
        plates=(PlateRecord("A", 20.0, 0.4, "iron"),),
        points=(PointRecord(196.1, (49_692.0,), ("A",), "up", 1),),
        budget=(BudgetTerm("plates", 9.0, shape="rectangular"),),
        note="hung from the rack – slowly",
    )


def with_field(**changed: object) -> Certificate:
    return msgspec.structs.replace(full_certificate(), **changed)


def with_cell(**changed: object) -> Certificate:
    cell = msgspec.structs.replace(full_certificate().cells[0], **changed)
    return with_field(cells=(cell,))


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


def test_the_id_changes_with_any_content() -> None:
    ids = {
        full_certificate().id,
        with_field(note="").id,
        with_field(u_relative=0.0116).id,
        with_field(range_N=(0.0, 784.0)).id,
    }
    assert len(ids) == 4


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


@pytest.mark.parametrize(
    ("certificate", "why"),
    [
        (with_field(cells=()), "describes no cell"),
        (with_field(made_at="yesterday"), "its date"),
        (with_field(made_at="2026-03-01T18:30:00"), "its date"),
        (with_field(range_N=(5.0, 5.0)), "range of loads"),
        (with_field(range_N=(0.0, math.inf)), "range of loads"),
        (with_field(u_relative=-0.1), "its u_relative is -0.1"),
        (with_field(rating_N=math.nan), "its rating_N is nan"),
        (with_field(step=math.inf), "its step is inf"),
        (with_cell(coefficients=(1.0,)), "1 coefficients"),
        (with_cell(coefficients=(1.0, 2.0)), "not 2 by 2"),
        (with_cell(covariance=((1.0, 0.0), (0.0, 1.0), (0.0, 0.0))), "not 3 by 3"),
        (with_cell(coefficients=(1.0, math.nan, 0.0)), "not a number"),
        (with_cell(residual_sd=-1.0), "negative variance"),
        (
            with_cell(covariance=((-1.0, 0, 0), (0, 1.0, 0), (0, 0, 1.0))),
            "negative variance",
        ),
        (with_cell(coefficients=(1.0, 0.0, 0.0)), "does not change steadily"),
        (with_cell(coefficients=(1.0, 200.0, -0.2)), "does not change steadily"),
        (with_field(points=(PointRecord(math.nan, (1.0,)),)), "is not a number"),
        (with_field(dof_common=0.0), "no degrees of freedom"),
        (with_cell(dof=-1.0), "no degrees of freedom"),
        (with_field(budget=(BudgetTerm("x", 1.0, dof=math.inf),)), "is not a number"),
    ],
)
def test_impossible_figures_are_refused(
    certificate: Certificate, why: str, tmp_path: Path
) -> None:
    with pytest.raises(CalibrationError, match=why):
        check_certificate(certificate)
    with pytest.raises(CalibrationError, match=why):
        save_certificate(certificate, tmp_path / "cert.json")
    assert not list(tmp_path.iterdir())


def test_no_number_in_a_file_is_refused_in_one_sentence(tmp_path: Path) -> None:
    document = certificate_to_json(full_certificate()) | {"u_relative": math.nan}
    path = tmp_path / "cert.json"
    path.write_text(json.dumps(document), "utf-8")
    with pytest.raises(CalibrationError, match="u_relative is nan"):
        load_certificate(path)


def test_a_falling_cell_is_a_sound_one() -> None:
    check_certificate(with_cell(coefficients=(8021.0, -212.5, 0.0)))


def test_the_plain_certificate_is_the_inverse_gain() -> None:
    certificate = plain_certificate(
        -0.005, 1000.0, made_at=MADE_AT, range_N=(0.0, 500.0), u_relative=0.01, channels=4
    )
    assert certificate.cells == (Cell((1000.0, -200.0), ((0.0, 0.0), (0.0, 0.0))),) * 4
    assert certificate.cells[0].degree == 1
    assert certificate.u_relative == 0.01


@pytest.mark.parametrize("gain", [0.0, math.nan, math.inf])
def test_a_plain_gain_that_is_none_is_refused(gain: float) -> None:
    with pytest.raises(CalibrationError, match="gain"):
        plain_certificate(gain, 0.0, made_at=MADE_AT, range_N=(0.0, 500.0))
