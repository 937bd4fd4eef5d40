"""The pages of the club in words: what each lists and what its keys do; no Qt, no pixels.

- `sheet`: the values a page shows and asks for, and what every page can do.
- `roster`: who trains here; add, change, leave out, import; `roster_words` says each of them.
- `groups`: which groups one athlete is in.
- `plan`: plan, people, order and mode of the next session; `plan_words` and `plan_side` say
  what stands there, `rig_form` asks for the set-up.
- `who`: who takes part, in which order.
- `blocks`: what is done in a plan, block by block.
- `exercises`: the coach's own exercises.
- `faults`: everything that is wrong with a file, line by line.
- `caution`: what is to be read once.
"""
