"""Entry of `strikebridge` and of `python -m strikebridge`."""

from __future__ import annotations

import os
import sys


def main() -> int:
    """Run the command line.

    Returns:
        Exit code: 0 done, 1 the job failed, 2 wrong usage.
    """
    # NumPy's library would keep a thread for each core spinning, for matrices of a few columns
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from strikebridge.cli import run  # noqa: PLC0415 - imports late, so that --help is quick

    return run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
