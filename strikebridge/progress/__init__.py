"""What changed over a camp, and is it real: reps in, numbers out, no clock, no database.

- `rep_summary`: which reps may be compared, and what belongs to one session.
- `score`: one number a session, with what its reps owe to a calibration.
- `estimate`: a number with its interval, and the words real, likely, cannot tell.
- `typical_error`: how much an athlete varies from test to test, shrunk to the squad's.
- `change`: since the baseline, and the least change that could be called real.
- `heading`: up, flat or fading, in one word.
- `trend`: robust slope and the exponentially weighted mean.
- `worthwhile`: the smallest change that matters, and strength per body mass.
- `sides`: lead against rear over sessions, and the published ways to say it.
- `cue`: what a cue did, told apart from what chance does after a poor rep.
- `readiness`: today against the last weeks.
- `retest`, `agreement`: how reliable the test itself is, measured by the club;
  `retest_table`: whose tests count for it.
- `overview`: all of it for one athlete, exercise, hand and set-up.
"""
