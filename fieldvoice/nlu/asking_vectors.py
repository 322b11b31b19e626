"""The vectors of the handbook's askings as they are kept: along few axes, in 8 bits.

The axes are those along which the askings differ most (their principal components), so that half as
many numbers tell nearly as much as the net's own.
"""

from __future__ import annotations

import hashlib
import zipfile
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

#: A number of a vector is kept times this, in 8 bits: finer steps find no more, and take more room.
SCALE = 40

#: So many vectors are widened at a time: all at once they take four times the room.
_PIECE = 1024


@dataclass(frozen=True)
class AskingVectors:
    """Kept vectors, by the digests of their askings.

    ``middle`` (n,) and ``axes`` (d, n) tell what a kept vector's d numbers mean among the net's n.
    """

    middle: NDArray[np.float32]
    axes: NDArray[np.float32]
    kept: Mapping[str, NDArray[np.int8]] = field(default_factory=dict)

    @classmethod
    def none(cls, size: int) -> AskingVectors:
        """Return what has none, for vectors of ``size`` numbers."""
        return cls(np.zeros(size, np.float32), np.eye(size, dtype=np.float32))

    @classmethod
    def along(
        cls, vectors: NDArray[np.float32], askings: Sequence[str], count: int
    ) -> AskingVectors:
        """Return those of some askings along the ``count`` axes that tell most of them."""
        middle = vectors.mean(0)
        _, axes = np.linalg.eigh(np.cov(vectors, rowvar=False))
        # As they are written, in 16 bits.
        told = axes.T[::-1][:count].astype(np.float16).astype(np.float32)
        space = cls(middle, told)
        packed = [space.packed(vector) for vector in vectors]
        return cls(middle, told, dict(zip(map(digest, askings), packed, strict=True)))

    @classmethod
    def stored(cls, file: Path, size: int) -> AskingVectors:
        """Return those in a file; none without a file in order."""
        try:
            with np.load(file, allow_pickle=False) as stored:
                names = (f"{number:016x}" for number in stored["digests"].tolist())
                vectors = np.ascontiguousarray(stored["vectors"].T)
                kept = dict(zip(names, vectors, strict=True))
                return cls(stored["middle"], stored["axes"].astype(np.float32), kept)
        except (OSError, EOFError, ValueError, KeyError, zipfile.BadZipFile):
            return cls.none(size)

    def write(self, file: Path) -> None:
        """Write them, number by number of all of them: so they take less room."""
        digests = np.array([int(one, 16) for one in self.kept], np.uint64)
        np.savez_compressed(
            file, digests=digests, middle=self.middle, axes=self.axes.astype(np.float16),
            vectors=np.ascontiguousarray(np.array(list(self.kept.values())).T),
        )  # fmt: skip

    def packed(self, vector: NDArray[np.float32]) -> NDArray[np.int8]:
        """Return a vector of the net as it is kept."""
        along = self.axes @ (vector - self.middle)
        packed: NDArray[np.int8] = np.clip(np.rint(along * SCALE), -127, 127).astype(np.int8)
        return packed

    def unpacked(self, kept: NDArray[np.int8]) -> NDArray[np.floating]:
        """Return a kept vector (d,) as the net's, but for what was left out."""
        unpacked: NDArray[np.floating] = self.middle + kept.astype(np.float32) @ self.axes / SCALE
        return unpacked

    def near(self, kept: NDArray[np.int8], vector: NDArray[np.float32]) -> NDArray[np.floating]:
        """Return how near kept vectors (k, d) are to one of the net, 1 for the same: (k,)."""
        along = self.axes @ vector / SCALE
        pieces = (kept[at : at + _PIECE] for at in range(0, len(kept), _PIECE))
        near = [piece.astype(np.float32) @ along for piece in pieces]
        found: NDArray[np.floating] = np.concatenate(near) + float(self.middle @ vector)
        return found


def digest(asking: str) -> str:
    """Return the name under which an asking's vector is kept."""
    return hashlib.sha256(asking.encode()).hexdigest()[:16]
