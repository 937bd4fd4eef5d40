"""What to say about a hold: one word on the rise, one on the hold, one thing to mend.

`judge(hold, measures, prescription)` does it. `limits` holds the limits, `stages` finds a rise
in two goes, `judging` applies the words in their order, `words` says it to athlete and coach.
"""

from __future__ import annotations

from strikebridge.verdict.judging import judge
from strikebridge.verdict.limits import Limits

__all__ = ["Limits", "judge"]
