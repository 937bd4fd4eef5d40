"""Everything in one JSON document, in SI units; infinite degrees of freedom are null."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import msgspec

from strikebridge.errors import FormatError
from strikebridge.export.dataset import Dataset, Written, get_file, put_file

if TYPE_CHECKING:
    from pathlib import Path

NAME = "strikebridge.json"
VERSION = 1


class JsonDocument:
    """Writer and reader of the document."""

    def write(self, dataset: Dataset, folder: Path) -> Written:
        """Write all that is known into `strikebridge.json`.

        Args:
            dataset: the reps.
            folder: where.

        Returns:
            The file.

        Raises:
            FormatError: when it cannot be written.
        """
        path = folder / NAME
        document = {"format": "strikebridge export", "version": VERSION, "data": dataset}
        put_file(path, msgspec.json.format(msgspec.json.encode(document), indent=1))
        return Written((path,))

    def read(self, folder: Path) -> Dataset:
        """Read the document.

        Args:
            folder: where it lies.

        Returns:
            The reps.

        Raises:
            FormatError: when it is missing, not of this kind, or newer than the program.
        """
        path = folder / NAME
        try:
            raw = msgspec.json.decode(get_file(path), type=_Envelope)
            if raw.version > VERSION:
                raise FormatError(
                    f"{path} was written by a newer strikebridge. Update this one to read it."
                )
            for rep in raw.data["reps"]:
                for measure in rep["measures"]:
                    if measure["dof"] is None:
                        measure["dof"] = math.inf
            return msgspec.convert(raw.data, Dataset)
        except (msgspec.MsgspecError, KeyError, TypeError) as error:
            raise FormatError(f"{path} is no export of strikebridge: {error}.") from error


class _Envelope(msgspec.Struct):
    version: int
    data: dict[str, list[dict[str, Any]]]  # JSON, until it is converted
