"""One Glance of every scene of a session, with names and words as long as they come."""

from __future__ import annotations

from dataclasses import replace

from strikebridge.desk import BREATH
from strikebridge.glance import EMPTY_TRACE, Glance, Phase, Trouble
from strikebridge.samples import Effort
from strikebridge.screens.session_wall import Question
from strikebridge.session.group_table import Stage
from strikebridge.session.undone import ASKED
from strikebridge.units import ForceUnit
from tests.screens.glances import BASE, HOLDING, IN_BAND, KG_N, RESULT

LONG = "Wilhelmina Featherstonehaugh-Oyelaran"
GERMAN = "Handgelenkstabilisierungsübung, gebeugter Arm"  # words as long as a coach's own come

TURN = replace(
    BASE,
    phase=Phase.REST,
    stage=Stage.REST.value,
    turn=7,
    seconds_left=17.2,
    athlete="Ines Halloran",
    following="Tobias Merrow",
    set_number=1,
    set_total=3,
    rep_number=2,
    rep_total=5,
    turns_left=31,
    target_from="own best, 24 Nov",
    last_N=84.2 * KG_N,
    notes=("Mind the shoulder.", BREATH),
)
READY = replace(TURN, phase=Phase.READY, stage=Stage.READY.value, seconds_left=None)
DRILL = replace(
    TURN,
    stage=Stage.DRILL.value,
    athlete="Everyone",
    exercise="shadow boxing against a band",
    hand="",
    is_timed=True,
    hold_s=60.0,
    seconds_left=41.3,
    target_N=None,
    target_from="",
    last_N=None,
    notes=(),
    following="Ines Halloran",
)
LOST = Trouble(
    "The board went quiet 12 s ago.",
    "Reps so far are saved. Check the plug; I go on by myself.",
    12.4,
)
OVER_TODAY = (
    "Ines Halloran, rear straight: this exercise is over for today. See someone qualified "
    "before it is tried again."
)
ADVICE = ("Stopped for pain", OVER_TODAY)
HELD = replace(
    HOLDING,
    stage=Stage.HOLD.value,
    turn=7,
    set_number=1,
    set_total=3,
    following="Tobias Merrow",
    target_from="own best, 24 Nov",
)

ASKED_WORDS = (
    f"{LONG}, {GERMAN}, set 3, rep 2, from before the break. Redo again takes it back; any "
    "other key: no."
)
SESSION_GLANCES: dict[str, Glance] = {
    "turn, resting": TURN,
    "turn, ready": READY,
    "turn, led by the left": replace(READY, hand="left", exercise="lead uppercut"),
    "turn, hands free": replace(READY, seconds_left=1.4),
    "turn, first time": replace(
        READY, target_N=None, last_N=None, target_from="the first with this set-up"
    ),
    "turn, in a band": replace(
        READY,
        effort=Effort.SUBMAXIMAL,
        target_N=None,
        band_N=(60 * KG_N, 69 * KG_N),
        target_from="70 to 80 % of own best",
    ),
    "turn, band by feel": replace(
        READY,
        effort=Effort.SUBMAXIMAL,
        target_N=None,
        last_N=None,
        target_from="70 to 80 % by feel: no best with this set-up yet",
    ),
    "turn, long words": replace(
        TURN,
        athlete=LONG,
        following=LONG,
        exercise=GERMAN,
        target_N=188.0 * KG_N,
        last_N=184.4 * KG_N,
        notes=("Mind the blood pressure.", "Mind the shoulder.", "Mind the wrist.", BREATH),
        unit=ForceUnit.LB,
    ),
    "turn, timed": replace(
        TURN,
        is_timed=True,
        exercise="lead landmine punch held at the top",
        hold_s=3.0,
        target_N=None,
        last_N=None,
        target_from="",
    ),
    "counted in": replace(
        READY, phase=Phase.COUNT_IN, stage=Stage.COUNT_IN.value, seconds_left=2.3
    ),
    "counted in, long words": replace(
        READY,
        phase=Phase.COUNT_IN,
        stage=Stage.COUNT_IN.value,
        seconds_left=2.3,
        athlete=LONG,
        exercise=GERMAN,
        unit=ForceUnit.LB,
    ),
    "hold": HELD,
    "hold, in a band": replace(
        IN_BAND,
        stage=Stage.HOLD.value,
        turn=7,
        athlete=LONG,
        exercise=GERMAN,
        set_number=1,
        set_total=3,
    ),
    "hold, in pounds": replace(
        HELD,
        unit=ForceUnit.LB,
        force_N=152.8 * KG_N,
        peak_N=155.0 * KG_N,
        target_N=150.0 * KG_N,
    ),
    "outcome": replace(
        RESULT,
        stage=Stage.RESULT.value,
        turn=7,
        set_number=1,
        set_total=3,
        following="Tobias Merrow",
        change_best="level with best",
    ),
    "outcome, long words": replace(
        RESULT,
        stage=Stage.RESULT.value,
        turn=7,
        set_number=2,
        set_total=3,
        athlete=LONG,
        following=LONG,
        exercise=GERMAN,
        unit=ForceUnit.LB,
        peak_N=152.8 * KG_N,
    ),
    "outcome, nobody pushed": replace(
        READY,
        phase=Phase.RESULT,
        stage=Stage.RESULT.value,
        sentence="No hold seen. Press go to try again.",
        trace=EMPTY_TRACE,
        last_N=None,
    ),
    "drill": DRILL,
    "drill, long words": replace(DRILL, athlete=LONG, exercise=GERMAN, following=LONG),
    "drill, board lost": replace(DRILL, phase=Phase.WAITING, trouble=LOST),
    "drilled": replace(DRILL, phase=Phase.RESULT, stage=Stage.RESULT.value),
    "paused": replace(READY, stage=Stage.PAUSED.value),
    "paused, long words": replace(
        READY, stage=Stage.PAUSED.value, athlete=LONG, exercise=GERMAN
    ),
    "stopped for pain": replace(
        TURN, advice=ADVICE, stage=Stage.PAUSED.value, athlete="Tobias Merrow"
    ),
    "stopped for pain at the last turn": replace(
        TURN, advice=ADVICE, stage=Stage.OVER.value, following=""
    ),
    "stopped for pain, long words": replace(
        TURN,
        athlete=LONG,
        exercise=GERMAN,
        advice=(
            ADVICE[0],
            ADVICE[1].replace("Ines Halloran, rear straight", f"{LONG}, {GERMAN}"),
        ),
    ),
    "asked before a redo": replace(
        READY,
        stage=Stage.PAUSED.value,
        advice=(ASKED, ASKED_WORDS),
    ),
    "board lost": replace(READY, phase=Phase.WAITING, stage=Stage.LOST.value, trouble=LOST),
    "board lost, long words": replace(
        READY,
        phase=Phase.WAITING,
        stage=Stage.LOST.value,
        trouble=LOST,
        athlete=LONG,
        exercise=GERMAN,
    ),
    "over": replace(TURN, stage=Stage.OVER.value, turns_left=0, following=""),
}
QUESTIONS: dict[str, Question] = {
    "pain": Question(
        "Stop for pain?",
        f"X again ends {GERMAN} for {LONG} today. Any other key: no. Space: no, go on.",
    ),
    "swap": Question(
        "Who goes now?",
        f"{LONG} comes after that. Any other key: as it was.",
        tuple(f"{k}: {LONG if k % 2 else 'Tobias Merrow'}" for k in range(1, 10)),
    ),
}
