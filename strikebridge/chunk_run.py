"""Chunks by the thousand in columns, for whoever reads a whole recording at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, overload

from typing_extensions import override

from strikebridge.samples import Chunk

if TYPE_CHECKING:
    from strikebridge.samples import Ints


@dataclass(frozen=True, slots=True, eq=False)
class ChunkRun(Sequence[Chunk]):
    """Many chunks of one board in columns, so that a whole recording is read at little cost.

    It is a sequence of `Chunk`, made on demand; whoever takes chunks by the thousand looks at
    the columns instead.

    Attributes:
        board: address of the board.
        arrived_us: arrival of each chunk [us], shape (n,).
        ends: where in `data` each chunk ends, shape (n,), never falling.
        data: the bytes of all of them, one after the other.
    """

    board: str
    arrived_us: Ints
    ends: Ints
    data: bytes

    @override
    def __len__(self) -> int:
        return len(self.ends)

    @overload
    def __getitem__(self, index: int) -> Chunk: ...
    @overload
    def __getitem__(self, index: slice) -> ChunkRun: ...
    @override
    def __getitem__(self, index: int | slice) -> Chunk | ChunkRun:
        """Give one chunk, or those from one on as a run."""
        first = range(len(self))[index]
        if isinstance(first, int):
            start = int(self.ends[first - 1]) if first else 0
            data = self.data[start : int(self.ends[first])]
            return Chunk(self.board, int(self.arrived_us[first]), data)
        if first.step != 1:
            raise ValueError("a run of chunks is cut, not thinned out")
        if not first:
            return ChunkRun(self.board, self.arrived_us[:0], self.ends[:0], b"")
        start = int(self.ends[first.start - 1]) if first.start else 0
        ends = self.ends[first.start : first.stop]
        data = self.data[start : int(ends[-1])]
        return ChunkRun(
            self.board, self.arrived_us[first.start : first.stop], ends - start, data
        )
