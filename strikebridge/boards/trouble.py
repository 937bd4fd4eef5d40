"""What is wrong with a stream just now, in words for whoever stands at the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.boards.health import BLINDING, WORDS
from strikebridge.glance import Trouble

if TYPE_CHECKING:
    from strikebridge.boards.health import WatchedDecoder

QUIET_S = 1.0  # silence that is said on the screen
SAID_NOTHING = 20  # unreadable lines without a reading before it is said on the screen
CHECK_PLUG = "Check the plug; I go on by myself."


def longest_pause_s(decoder: WatchedDecoder | None) -> float:
    """Say how long a board may be silent before that is said [s].

    Args:
        decoder: of the board, which knows whether such pauses are usual; None before there is
            one.
    """
    return QUIET_S if decoder is None else max(QUIET_S, decoder.pause_s)


def trouble_with(
    decoder: WatchedDecoder | None, *, address: str, newest_us: int, now_us: int, safe: str
) -> Trouble | None:
    """Say in words what is wrong with a stream.

    Args:
        decoder: of the board, None before there is one.
        address: of the board, as the user wrote it.
        newest_us: arrival of the newest bytes [us], 0 before the first.
        now_us: the stream's clock [us].
        safe: what is safe meanwhile, a sentence.

    Returns:
        What is wrong and what to do, None if nothing is.
    """
    quiet_s = (now_us - newest_us) * 1e-6
    if quiet_s > longest_pause_s(decoder):
        what = f"The board went quiet {quiet_s:.0f} s ago."
        if newest_us == 0:
            what = "Nothing has come from the board yet."
        return Trouble(what, f"{safe} {CHECK_PLUG}", quiet_s)
    if decoder is None:
        return None
    if decoder.questions:
        return Trouble(
            "The board's lines can be read in more than one way.",
            f"All is recorded. Answer once: strikebridge boards {address}",
            now_us * 1e-6,
        )
    if decoder.unreadable > SAID_NOTHING and not decoder.channels:
        return Trouble(
            "The board sends lines that I cannot read.",
            "All is recorded. Check the baud rate, and that the board runs a sketch that "
            "writes numbers.",
            now_us * 1e-6,
        )
    for fault in BLINDING:
        if fault in decoder.health.faults:
            return Trouble(*WORDS[fault], (now_us - decoder.health.faults[fault]) * 1e-6)
    return None
