"""The database of athletes and sessions: the only place that knows SQL.

- `database`: opens the file or a server's database, and says in words what is wrong with it.
- `models`: the tables. `migrations`: from every earlier shape of them to this one.
- `roster`: athletes and groups. `training`: sessions, reps and cues as they come in.
- `copying`: a copy of the file while it is in use, and whether nobody else has it open.
- `erasing`: somebody who asks for it is gone, rows and bytes.
- `past`: what was done before: best, last and mean, and the reps of a session.
- `records`: everybody's reps by what is asked for; `whole_reps` and `rows` read them.
- `exercises`: the coach's own. `place`: where the database is.

Values of `strikebridge.club` go in and come out; no row ever leaves this room.
"""
