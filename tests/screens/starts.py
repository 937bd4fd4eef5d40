"""Start pages as they come up, with the longest words there are."""

from __future__ import annotations

from strikebridge.screens.start_model import Lead, Row, Standing

READY, MIND, MISSING, LATER, FREE = Standing

EMPTY = (
    Row(
        "Board",
        MISSING,
        "None is plugged in. Plug one in, or look round with the simulated one.",
        Lead.SIMULATED,
    ),
    Row(
        "Calibration",
        MISSING,
        "None yet. Plates taken: 20, 15, 10 kg; write your own into plates.csv.",
    ),
    Row(
        "Check",
        LATER,
        "Zero and noise, before a session. It needs a board and its calibration.",
    ),
    Row("Athletes", FREE, "Free reps need no roster."),
    Row("Plan", FREE, "Free reps: maximal, 3 s, as many as you like."),
    Row("Wall", LATER, "It opens as soon as there is a board."),
    Row("Review", LATER, "There is no recording yet."),
)
PLUGGED_IN = (
    Row(
        "Board",
        READY,
        "Plugged in at /dev/serial/by-id/usb-Saltmarsh_Quay_Kraftmessplatte-if00.",
    ),
    Row("Calibration", MISSING, EMPTY[1].words, Lead.CALIBRATE),
    *EMPTY[2:5],
    Row(
        "Wall", READY, "Counted in, measured, in digits to be read from four metres.", Lead.WALL
    ),
    Row("Review", READY, "Last recording: 25 September 2026, 18:40.", Lead.REVIEW),
)
OVERLOADED = (
    PLUGGED_IN[0],
    Row(
        "Calibration",
        READY,
        "Maximalkraftmessvorrichtung-Trainingshalle 1.0, made 112 days ago. Plates: as in "
        "plates.csv.",
        Lead.CALIBRATE,
    ),
    Row(
        "Check",
        MIND,
        "The cell was overloaded 12 days ago and not found good since: run verify before you "
        "trust a number.",
        Lead.CHECK,
    ),
    *PLUGGED_IN[3:],
)
ALL_READY = (
    *OVERLOADED[:2],
    Row("Check", READY, "Recent and good.", Lead.CHECK),
    Row("Athletes", READY, "Saltmarsh Quay: 6 athletes, all with consent on record."),
    Row("Plan", READY, "taper-day: 72 holds, about 48 minutes."),
    *PLUGGED_IN[5:],
)
STARTS = {
    "empty": EMPTY,
    "plugged in": PLUGGED_IN,
    "overloaded": OVERLOADED,
    "all ready": ALL_READY,
}
