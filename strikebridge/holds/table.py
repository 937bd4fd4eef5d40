"""The state table of the detector, with its theory.

Theory
======
Nothing is assumed about how strong the athlete is, where the zero lies, or how fast the board
samples. All decisions are made on frames (about 0.05 s of readings, see `frames`), in newtons
above a zero that is followed (see `zero`), and every threshold is a number of standard
deviations of the rig's own noise with a floor in newtons, or a share of the contact's level.

What a state sees is one **sight** a frame, the first of these that holds:

| sight | the frame's mean force | why there |
| --- | --- | --- |
| UNDER | more than `touch` below zero | nobody can pull: the zero has moved, or ringing |
| NEAR | within `touch` of zero | 6 SD of frame means, floor 4 N, more after a heavy load |
| SURGE | far above the load there was already | a rise of its own: see `Machine` |
| LOW | loaded, under half of the contact's own level | the definition of a hold |
| HIGH | loaded, at least half of its own level | |

Ties: a frame exactly on a limit counts as the quieter of both. Two more sights do not come from
a frame: **GAP** (a hole too long to be bridged lies before it) and **RIPE** (what the state was
waiting for has come about; looked at after each frame):

| state | what it is | RIPE when |
| --- | --- | --- |
| START | nothing known yet | three frames agree, or 1 s has come |
| REST | untouched; the zero is followed | never |
| TOUCHED | something presses, not yet a hold | 0.5 s above half of its own level |
| TAPPED | a short contact is over; a push may still follow | 0.4 s are over |
| HOLDING | it is a hold | it lasts beyond 90 s, or lies stiller than a hand for 30 s |
| RELEASED | it fell under half of its level | long enough for a brief dip to be over |
| LOADED | a load that is no rise: lean, resting hand, moved ball | it is a moved ball |
| LOWERED | under zero | it stays, so the zero has moved |

A moved ball and a hand differ in that a hand wavers. A new level that lies as still as the
empty rig for 1 s becomes the zero (1.5 s on boards of about 10 readings/s, whose filter hides
more of the waver; 3 s where noise would hide that of a quiet hand, and the doubt goes into the
uncertainty of the zero). A contact that has already counted as a hold may turn out to be a
moved ball only from what follows: a rise of its own from a level that lay still, however slow.

A force that goes under zero, wavers there and comes back is a push with the sign turned (see
`pull`): the zero does not follow it for 6 s, and it is counted, so that the coach can be told.

A hold is handed out less than 0.3 s after its release, so a dip longer than about 0.2 s ends
it.
"""

from __future__ import annotations

from enum import StrEnum


class State(StrEnum):
    """What the detector takes the rig to be doing."""

    START = "start"
    REST = "rest"
    TOUCHED = "touched"
    TAPPED = "tapped"
    HOLDING = "holding"
    RELEASED = "released"
    LOADED = "loaded"
    LOWERED = "lowered"


class Sight(StrEnum):
    """What one frame looks like, or what has come about."""

    UNDER = "under"
    NEAR = "near"
    SURGE = "surge"
    LOW = "low"
    HIGH = "high"
    GAP = "gap"
    RIPE = "ripe"


# state -> sight -> (action, next state); an action is a method `_do_<name>`. A sight that is
# not listed cannot occur there: SURGE is seen only in HOLDING and LOADED, LOW only once a
# contact counts as a hold, and REST is never RIPE.
TABLE: dict[State, dict[Sight, tuple[str, State]]] = {
    State.START: {
        Sight.NEAR: ("collect", State.START),
        Sight.GAP: ("drop_level", State.START),
        Sight.RIPE: ("adopt_zero", State.REST),
    },
    State.REST: {
        Sight.UNDER: ("collect", State.LOWERED),
        Sight.NEAR: ("follow", State.REST),
        Sight.HIGH: ("begin", State.TOUCHED),
        Sight.GAP: ("doubt", State.REST),
    },
    State.TOUCHED: {
        Sight.UNDER: ("extend", State.TAPPED),
        Sight.NEAR: ("extend", State.TAPPED),
        Sight.HIGH: ("extend", State.TOUCHED),
        Sight.GAP: ("lose_contact", State.REST),
        Sight.RIPE: ("qualify", State.HOLDING),
    },
    State.TAPPED: {
        Sight.UNDER: ("extend", State.TAPPED),
        Sight.NEAR: ("extend", State.TAPPED),
        Sight.HIGH: ("extend", State.TOUCHED),
        Sight.GAP: ("lose_contact", State.REST),
        Sight.RIPE: ("end_contact", State.LOADED),
    },
    State.HOLDING: {
        Sight.UNDER: ("fall", State.RELEASED),
        Sight.NEAR: ("fall", State.RELEASED),
        Sight.SURGE: ("begin_again", State.TOUCHED),
        Sight.LOW: ("fall", State.RELEASED),
        Sight.HIGH: ("extend", State.HOLDING),
        Sight.GAP: ("end_hold", State.LOADED),
        Sight.RIPE: ("give_up", State.LOADED),
    },
    State.RELEASED: {
        Sight.UNDER: ("extend", State.RELEASED),
        Sight.NEAR: ("extend", State.RELEASED),
        Sight.LOW: ("extend", State.RELEASED),
        Sight.HIGH: ("extend", State.HOLDING),
        Sight.GAP: ("end_hold", State.LOADED),
        Sight.RIPE: ("end_hold", State.LOADED),
    },
    State.LOADED: {
        Sight.UNDER: ("recollect", State.LOWERED),
        Sight.NEAR: ("come_to_rest", State.REST),
        Sight.SURGE: ("begin_from_load", State.TOUCHED),
        Sight.HIGH: ("collect", State.LOADED),
        Sight.GAP: ("drop_level", State.LOADED),
        Sight.RIPE: ("move_zero", State.REST),
    },
    State.LOWERED: {
        Sight.UNDER: ("collect", State.LOWERED),
        Sight.NEAR: ("come_to_rest", State.REST),
        Sight.HIGH: ("begin_from_below", State.TOUCHED),
        Sight.GAP: ("drop_level", State.LOWERED),
        Sight.RIPE: ("move_zero", State.REST),
    },
}
