"""Write the dump of today's tables: `python -m tests.store.make_dump`.

Once for each version of the tables, with the step that leads to it; a dump that is there is
what users have, and is never written again.
"""

import contextlib
import tempfile
from pathlib import Path

from strikebridge.store.database import FILE, open_store
from strikebridge.store.migrations import newest
from tests.store.shape import write_dump
from tests.store.test_migrations import SCHEMAS, fill


def main() -> None:
    """Fill a database and dump it."""
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder)
        with contextlib.closing(open_store(data)) as store:
            fill(store)
        dump = SCHEMAS / f"{newest()}.sql"
        if dump.exists():
            raise SystemExit(f"{dump} is there already.")
        write_dump(data / FILE, dump)


if __name__ == "__main__":
    main()
