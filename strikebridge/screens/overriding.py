"""The mark for methods that Qt calls: `override`, which Python itself has from 3.12 on only."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing_extensions import override
else:

    def override(method: object) -> object:
        """Return the method; the mark is for the type checker."""
        return method


__all__ = ["override"]
