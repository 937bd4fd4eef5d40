"""Make a backup with files that may not grow beyond a limit: `... limited BYTES FILE DATA`."""

from __future__ import annotations

import sys

from strikebridge.cli import run

assert sys.platform != "win32", "Windows knows no such limit"
import resource  # noqa: E402 - as above


def main() -> None:
    """Set the limit and make the backup."""
    limit, target, data = sys.argv[1:]
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(limit), int(limit)))
    sys.exit(run(["backup", target, "--data", data]))


if __name__ == "__main__":
    main()
