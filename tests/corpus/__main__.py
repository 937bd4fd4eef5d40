"""`python -m tests.corpus --seeds FIRST COUNT`: the table of scores over seeded scenes."""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from tests.corpus.scenes import SCENES, make
from tests.corpus.score import Score, add, mean

NAMES = (
    "holds prec. recall merged split onset/T |on-d|/T peak% pk10% mean% ramp% release/ms "
    "in-peak% in-mean% u95pk% words% wrong10%"
)
COLUMNS = NAMES.split()
LEGEND = """
onset/T: beyond what the filter may delay, in sample periods; |on-d|/T: from half of the filter
peak%, pk10%: from what a noiseless converter would have delivered, from 60 /s on, at 10 /s
mean%, ramp%: hold mean from the truth, ramps apart; in-: truth in u95; u95pk%: from 60 /s on
words%: both words right, at 60 /s and up; wrong10%: a wrong word said at 10 /s
"""


def row(score: Score) -> list[str]:
    """Write one row of the table."""

    def share(flags: list[bool]) -> float:
        return 100.0 * mean([float(flag) for flag in flags])

    return [
        str(score.true),
        f"{score.precision:.3f}",
        f"{score.recall:.3f}",
        str(score.merged),
        str(score.split),
        f"{mean(score.onset_periods):.2f}",
        f"{mean(score.onset_to_delay):.2f}",
        f"{mean(score.peak_percent):.2f}",
        f"{mean(score.peak_slow_percent):.2f}",
        f"{mean(score.mean_percent):.2f}",
        f"{mean(score.ramp_mean_percent):.2f}",
        f"{mean(score.release_ms):.1f}",
        f"{share(score.peak_covered):.1f}",
        f"{share(score.mean_covered):.1f}",
        f"{mean(score.peak_u95_percent):.2f}",
        f"{share(score.words_right):.1f}",
        f"{share(score.slow_words_wrong):.1f}",
    ]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.corpus", description=__doc__)
    parser.add_argument(
        "--seeds", nargs=2, type=int, default=[1, 8], metavar=("FIRST", "COUNT")
    )
    parser.add_argument("--scenes", nargs="*", default=list(SCENES), choices=list(SCENES))
    parser.add_argument("--notes", type=int, default=0, help="how many misses to list a scene")
    chosen = parser.parse_args()
    first, count = chosen.seeds
    out = [f"{'scene':23}" + "".join(f"{name:>{len(name) + 2}}" for name in COLUMNS)]
    with tempfile.TemporaryDirectory() as folder:
        for name in chosen.scenes:
            score = Score()
            for seed in range(first, first + count):
                add(score, make(name, seed), Path(folder))
            cells = zip(row(score), COLUMNS, strict=True)
            out.append(f"{name:23}" + "".join(f"{c:>{len(k) + 2}}" for c, k in cells))
            out += ["    " + note for note in score.notes[: chosen.notes]]
    sys.stdout.write("\n".join(out).replace("nan", "  -") + "\n" + LEGEND)


if __name__ == "__main__":
    main()
