"""Entry of `strikebridge` and of `python -m strikebridge`."""

from __future__ import annotations

import sys


def main() -> int:
    """Run the command line.

    Returns:
        Exit code: 0 done, 1 the job failed, 2 wrong usage.
    """
    from strikebridge.cli import run  # noqa: PLC0415 - imports late, so that --help is quick

    return run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
