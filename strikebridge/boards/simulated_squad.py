"""Six invented athletes who take turns at a simulated wall; each has a strength and a habit.

The figures are plausible (common practice, no source) and serve to try the program out. Whose
turn it is comes as the place in the session, so that the same places give the same athletes
whatever their random ids are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.boards.simulated_athlete import Shape, draw_shape

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np

HOW_OFTEN_HABIT = 0.35  # of the reps; the others are drawn as anybody's are


@dataclass(frozen=True, slots=True)
class Sparring:
    """Who pushes.

    Attributes:
        strength: share of the board's own strength, the exercise taken into account.
        habit: the fault that is made more often than others make it, None for none.
    """

    strength: float = 1.0
    habit: Shape | None = None

    def draw(self, rng: np.random.Generator) -> Shape:
        """Draw what a repetition looks like.

        Args:
            rng: source of chance.
        """
        if self.habit is not None and rng.random() < HOW_OFTEN_HABIT:
            return self.habit
        return draw_shape(rng)


ALONE = Sparring()
SQUAD: tuple[Sparring, ...] = (
    Sparring(0.78),
    Sparring(1.00, Shape.SAG),
    Sparring(0.70, Shape.TWO_STAGE),
    Sparring(1.12, Shape.PUSH),
    Sparring(0.90, Shape.EARLY),
    Sparring(0.62, Shape.SHAKY),
)
"""By place in the session; with more athletes it begins anew."""
PUNCHES = {"straight": 1.0, "hook": 0.85, "uppercut": 0.75}
"""Share of the strength that a punch lets through."""
REAR = 1.08  # the rear hand has the longer way into the body


def sparring_of(detail: Mapping[str, object]) -> Sparring:
    """Say who pushes at a turn.

    Args:
        detail: `place` in the session from 1, key of the `exercise`; what is missing or
            unreadable counts as the first place and a straight.

    Returns:
        Who pushes.
    """
    place = detail.get("place")
    who = SQUAD[(place - 1) % len(SQUAD) if isinstance(place, int) else 0]
    exercise = str(detail.get("exercise", ""))
    share = next((share for punch, share in PUNCHES.items() if punch in exercise), 1.0)
    return Sparring(who.strength * share * (REAR if "rear" in exercise else 1.0), who.habit)
