"""Big digits for a terminal that is looked at from across a room."""

from __future__ import annotations

ROWS = 5
_SHAPES = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    "-": ("   ", "   ", "###", "   ", "   "),
    ".": (" ", " ", " ", " ", "#"),
    " ": ("   ",) * ROWS,
}
_WIDER = 2  # a letter of a terminal is about twice as high as wide


def big(text: str, ink: str = "█") -> list[str]:
    """Write digits in five rows.

    Args:
        text: digits, full stop, minus, space.
        ink: what they are drawn with.

    Returns:
        The rows, top first.

    Raises:
        KeyError: there is no big shape of a letter.
    """
    rows = []
    for row in range(ROWS):
        cells = ("".join(cell * _WIDER for cell in _SHAPES[letter][row]) for letter in text)
        rows.append("  ".join(cells).replace("#", ink).rstrip())
    return rows
