"""How bytes arrive and what they mean: links (the way to a board) and decoders (its lines).

A link knows no format, a decoder does no I/O. Both are rows of a table, imported on use.
"""

from __future__ import annotations

LINKS: dict[str, str] = {
    "serial": "strikebridge.boards.serial_link:SerialLink",
    "replay": "strikebridge.boards.replay_link:ReplayLink",
    "simulated": "strikebridge.boards.simulated_link:SimulatedLink",
    "typed": "strikebridge.boards.typed_link:TypedLink",
    "ble": "strikebridge.boards.ble_link:BleLink",
    "advert": "strikebridge.boards.advert_link:AdvertLink",
}
"""Scheme of an address -> class of the link."""

BOARDS: dict[str, str] = {
    "strikebridge-lines": "strikebridge.boards.strikebridge_lines:StrikebridgeLinesDecoder",
    "strikebridge-stream": "strikebridge.boards.strikebridge_stream:StrikebridgeStreamDecoder",
    "presentation-format": "strikebridge.boards.presentation_format:PresentationFormatDecoder",
    "weight-scale": "strikebridge.boards.weight_scale:WeightScaleDecoder",
    "bthome": "strikebridge.boards.bthome_scale:BthomeDecoder",
    "bare-integers": "strikebridge.boards.bare_integers:BareIntegersDecoder",
    "described-lines": "strikebridge.boards.shape_finder:ShapeFinder",
}
"""Shape of a board's lines -> decoder; each has a page in firmware_notes/ and a capture."""
