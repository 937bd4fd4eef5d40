"""A certificate as JSON: in a file that nobody edits, and in the header of a recording."""

from __future__ import annotations

import json
import os
from typing import TYPE_CHECKING

import msgspec

from strikebridge.calibration.certificate import (
    RECALIBRATE,
    Certificate,
    check_certificate,
    plain_values,
)
from strikebridge.errors import CalibrationError
from strikebridge.private_files import open_private

if TYPE_CHECKING:
    from pathlib import Path

SCHEMA = "strikebridge-certificate"
VERSION = 1


def certificate_to_json(certificate: Certificate) -> dict[str, object]:
    """Turn a certificate into plain values for JSON, with schema, version, id and hash.

    Args:
        certificate: the certificate.

    Returns:
        A new dict of strings, numbers, lists and dicts; no infinities, no NaN.
    """
    return {
        "schema": SCHEMA,
        "version": VERSION,
        "id": certificate.id,
        "content_sha256": certificate.content_sha256,
        **plain_values(certificate),
    }


def certificate_from_json(document: object) -> Certificate:
    """Read a certificate from decoded JSON, as it stands in a file or a recording's header.

    Args:
        document: what `certificate_to_json` made, perhaps after a journey through JSON.

    Returns:
        The certificate.

    Raises:
        CalibrationError: it is no certificate, of a newer version, incomplete or altered.
    """
    if not isinstance(document, dict) or document.get("schema") != SCHEMA:
        msg = (
            "This is not a strikebridge certificate."
            " Choose a file that `strikebridge calibrate` wrote."
        )
        raise CalibrationError(msg)
    version = document.get("version")
    if not isinstance(version, int) or not 1 <= version <= VERSION:
        msg = (
            f"The certificate has version {version}, this strikebridge reads up to {VERSION}."
            " Update strikebridge, or calibrate again with this one."
        )
        raise CalibrationError(msg)
    head = {"schema", "version", "id", "content_sha256"}
    body = {key: value for key, value in document.items() if key not in head}
    try:
        certificate = msgspec.convert(body, Certificate)
    except msgspec.ValidationError as error:
        msg = f"The certificate is incomplete or damaged ({error}). {RECALIBRATE}."
        raise CalibrationError(msg) from error
    # figures first: a NaN has no canonical form, so it could not be hashed
    check_certificate(certificate)
    if document.get("content_sha256") != certificate.content_sha256:
        msg = (
            "The certificate was altered after it was made: its content does not match its"
            f" hash. {RECALIBRATE}."
        )
        raise CalibrationError(msg)
    return certificate


def load_certificate(path: Path) -> Certificate:
    """Read a certificate file.

    Args:
        path: the file.

    Returns:
        The certificate.

    Raises:
        CalibrationError: the file cannot be read, or holds no sound certificate.
    """
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        msg = f"The certificate {path} cannot be read ({error.strerror}). Check its name."
        raise CalibrationError(msg) from error
    except (ValueError, RecursionError) as error:
        msg = f"{path} is not a certificate: it holds no JSON document. {RECALIBRATE}."
        raise CalibrationError(msg) from error
    try:
        return certificate_from_json(document)
    except CalibrationError as error:
        msg = f"{path}: {error}"
        raise CalibrationError(msg) from error


def save_certificate(certificate: Certificate, path: Path) -> None:
    """Write a certificate file, whole or not at all, and never over a different one.

    Args:
        certificate: the certificate.
        path: the file; its folder must exist.

    Raises:
        CalibrationError: another file is there already, or the disk refuses.
    """
    check_certificate(certificate)
    text = json.dumps(certificate_to_json(certificate), indent=1, ensure_ascii=False) + "\n"
    try:
        if path.exists():
            if path.read_bytes() == text.encode():
                return
            msg = (
                f"{path} exists and holds something else. Certificates are kept:"
                " name another file."
            )
            raise CalibrationError(msg)
        _write_whole(path, text)
    except OSError as error:
        msg = (
            f"The certificate cannot be written to {path} ({error.strerror})."
            " Choose a folder that exists and has room."
        )
        raise CalibrationError(msg) from error


def _write_whole(path: Path, text: str) -> None:
    part = path.with_name(path.name + ".part")
    with open_private(part, "w") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
