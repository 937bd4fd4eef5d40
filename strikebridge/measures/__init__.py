"""What a hold is worth: every measure with its unit, its uncertainty or the reason it has none.

`measure(hold, prescription)` gives all of them. A new one is a function under `@measure(name,
unit, version)` of `strikebridge.measures.table`, in the family it belongs to:

- `rise`: peak, times and rates of the way up; `impulse`: areas; `plateau`: what lay before and
  the hold itself; `ends`: snap, let-go, reaction.
- `view`, `window`: the landmarks they share; `passages`: when a level is passed; `peaks`: the
  largest of noisy readings; `bricks`: the share inside the band; `rules`: ok, coarse or
  withheld; `coverage`: 95 % intervals, differences; `settings`: what may be changed.
- `several`: what takes more than one hold, two sides compared and a set from first to last;
  `best`: whether one is a new best.
"""

from __future__ import annotations

from strikebridge.measures.best import LEVEL, NEW_BEST, against_best, largest
from strikebridge.measures.bricks import bricks
from strikebridge.measures.coverage import difference
from strikebridge.measures.run import measure_hold as measure
from strikebridge.measures.run import warm_up
from strikebridge.measures.settings import CREEP_CERTIFIED, DEFAULT_SETTINGS, MeasureSettings
from strikebridge.measures.several import asymmetry, drop_off, is_real

__all__ = [
    "CREEP_CERTIFIED",
    "DEFAULT_SETTINGS",
    "LEVEL",
    "NEW_BEST",
    "MeasureSettings",
    "against_best",
    "asymmetry",
    "bricks",
    "difference",
    "drop_off",
    "is_real",
    "largest",
    "measure",
    "warm_up",
]
