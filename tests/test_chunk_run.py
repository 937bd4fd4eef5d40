"""A run of chunks is the sequence of them, and is cut like one."""

from __future__ import annotations

import numpy as np
import pytest

from strikebridge.chunk_run import ChunkRun
from strikebridge.samples import Chunk

CHUNKS = [Chunk("b", at, data) for at, data in [(5, b"ab"), (7, b""), (7, b"c"), (9, b"defg")]]


def run_of(chunks: list[Chunk]) -> ChunkRun:
    ends = np.cumsum([len(chunk.data) for chunk in chunks], dtype=np.int64)
    stamps = np.array([chunk.arrived_us for chunk in chunks], np.int64)
    return ChunkRun("b", stamps, ends, b"".join(chunk.data for chunk in chunks))


def test_a_run_of_chunks_is_the_sequence_of_them() -> None:
    run = run_of(CHUNKS)
    assert len(run) == len(CHUNKS)
    assert list(run) == CHUNKS
    assert [run[-1], run[1], run[0]] == [CHUNKS[-1], CHUNKS[1], CHUNKS[0]]
    with pytest.raises(IndexError):
        run[4]


@pytest.mark.parametrize("start", range(5))
@pytest.mark.parametrize("stop", range(5))
def test_a_run_is_cut_into_runs(start: int, stop: int) -> None:
    part = run_of(CHUNKS)[start:stop]
    assert list(part) == CHUNKS[start:stop]
    assert part.data == b"".join(chunk.data for chunk in CHUNKS[start:stop])


def test_a_run_is_not_thinned_out() -> None:
    with pytest.raises(ValueError, match="thinned"):
        run_of(CHUNKS)[::2]
