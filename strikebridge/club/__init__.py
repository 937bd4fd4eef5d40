"""Who trains, at what set-up, and what was done: plain values without a database or a clock.

- `athlete`: an athlete, the stance that decides which hand leads, consent, body mass.
- `consent`: who may be stored at all.
- `entry`: an athlete as typed, field by field.
- `exercise`: what is done, at the wall or beside it.
- `rig_setup`: how wall and fist were set up, so that like is compared with like.
- `training`: a session, its reps, cues and where it can be taken up again.
- `selection`: which reps on record are meant, and what is known of each.
- `roster_table`: a roster as CSV, with every mistake named by line and column; `past_table`:
  results of days gone by; `table_text` is what both share.
- `saltmarsh_quay`: the invented club of the demonstrations.
"""
