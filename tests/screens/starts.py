"""Start pages as they come up, with the longest words there are."""

from __future__ import annotations

from strikebridge.screens.start_model import Lead, Row, Standing

READY, MIND, MISSING, LATER = Standing
TAPER_DAY = "taper-day, 30 athletes, 540 measured holds, 90 timed drills, about 181 minutes"

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
    Row(
        "Athletes",
        MISSING,
        "Nobody yet. A session needs somebody; free reps do not.",
        Lead.ATHLETES,
    ),
    Row(
        "Plan",
        LATER,
        "Warm-up, speed, taper, fight or test day, or your own. It needs athletes.",
        Lead.PLAN,
    ),
    Row(
        "Session",
        LATER,
        "A group led through a plan. It needs a board, athletes and a plan.",
    ),
    Row("Wall", LATER, "It opens as soon as there is a board."),
    Row("Review", LATER, "There is no recording yet."),
    Row("Progress", LATER, "Who is up, flat or fading. It needs athletes."),
    Row("Backup", LATER, "There is nothing to keep yet."),
)
PLUGGED_IN = (
    Row(
        "Board",
        READY,
        "Plugged in at /dev/serial/by-id/usb-Saltmarsh_Quay_Kraftmessplatte-if00.",
    ),
    Row("Calibration", MISSING, EMPTY[1].words, Lead.CALIBRATE),
    *EMPTY[2:6],
    Row(
        "Wall",
        READY,
        "Free reps: counted in, measured, no roster and no plan needed.",
        Lead.WALL,
    ),
    Row("Review", READY, "Last recording: 25 September 2026, 18:40.", Lead.REVIEW),
    Row(
        "Progress",
        READY,
        "Who is up, flat or fading over twelve weeks, and whether it is real.",
        Lead.PROGRESS,
    ),
    Row(
        "Backup",
        LATER,
        "The last one was made 112 days ago, in /media/trainerin/KRAFTMESSUNG-SICHERUNG-2026.",
        Lead.BACKUP,
    ),
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
    Row("Athletes", READY, "30 athletes, 1 under 18 with consent, 2 groups.", Lead.ATHLETES),
    Row(
        "Plan",
        READY,
        "taper-day, 30 athletes, 540 holds, 90 timed, about 181 minutes.",
        Lead.PLAN,
    ),
    Row(
        "Session",
        READY,
        f"{TAPER_DAY}: ready.",
        Lead.SESSION,
    ),
    *PLUGGED_IN[6:],
)
STARTS = {
    "empty": EMPTY,
    "plugged in": PLUGGED_IN,
    "overloaded": OVERLOADED,
    "all ready": ALL_READY,
}
