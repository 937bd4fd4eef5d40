"""Looking after what is kept: backup, restore, erasing somebody, and who may read it.

- `contents`: what a data folder holds that is worth keeping; everything else is passed over.
- `archive`: the file of a backup, written and read. `backup`: makes one.
- `restore`: puts one in place of what is there, and back; `exchange` does so whole or not at
  all, and `settling` finishes what a killed program left unfinished.
- `erasing`: somebody who asks for it is gone; `cutting` does so in a recording, `erasure_list`
  remembers that it was done, `traces` looks for what is left.
- `outside`: what the program wrote elsewhere.

Each of these jobs is done by one program at a time (`one_at_a_time`).
"""
