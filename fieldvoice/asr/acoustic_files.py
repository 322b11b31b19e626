"""The files of an acoustic model of CMU Sphinx as arrays: read, and written.

The bundled model is phonetically tied: every phone has one codebook of Gaussians for each of three
feature streams, and every senone (a state of a phone in its neighbourhood) weighs the Gaussians of
its phone's codebook. The forms are those of pocketsphinx: ``means`` and ``variances`` with the
header of ``s3io.c``, ``sendump`` (the weights as negative logarithms in one byte) and the binary
``mdef``, which describes itself at its head.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Sequence

Array = NDArray[np.float64]

_BYTE_ORDER = 0x11223344
_HEAD = b"s3\nversion 1.0\nchksum0 yes\n"
_END_OF_HEAD = b"endhdr\n"
_STREAMS = b"feature_count "


@dataclass(frozen=True, slots=True, eq=False)
class Senones:
    """What each senone is: its phone, and which of that phone's states; ``phones`` are names."""

    phones: tuple[str, ...]
    phone_of: NDArray[np.int64]
    state_of: NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class SenoneWeights:
    """A ``sendump``: its head, and a byte for (stream, Gaussian, column); columns are senones."""

    head: bytes
    steps: NDArray[np.uint8]

    @property
    def raw(self) -> bytes:
        """The file."""
        return self.head + self.steps.tobytes()

    def with_stream(self, steps: NDArray[np.uint8]) -> SenoneWeights:
        """Return these weights and those of one more stream, (Gaussian, column)."""
        together = np.concatenate([self.steps, steps[None]])
        texts, ending = _split_head(self.head)
        counted = [
            _STREAMS + str(len(together)).encode() + b"\0" if text.startswith(_STREAMS) else text
            for text in texts
        ]
        head = b"".join(struct.pack("<i", len(text)) + text for text in counted)
        return SenoneWeights(head + ending, together)


def read_gaussians(raw: bytes) -> Array:
    """Return (codebook, stream, Gaussian, dimension) from a file whose streams are alike.

    Raises:
        ValueError: the file was written on a machine of the other byte order.
    """
    at = raw.index(_END_OF_HEAD) + len(_END_OF_HEAD)
    order, codebooks, streams, count = struct.unpack_from("<4i", raw, at)
    if order != _BYTE_ORDER:
        raise ValueError("the model was written on a machine of the other byte order")
    lengths = struct.unpack_from(f"<{streams}i", raw, at + 16)
    begin = at + 16 + 4 * streams + 4
    shape = (codebooks, streams, count, lengths[0])
    values = np.frombuffer(raw, "<f4", math.prod(shape), begin)
    return values.reshape(shape).astype(np.float64)


def gaussian_file(streams: Sequence[Array]) -> bytes:
    """Return the file of these streams, each (codebook, Gaussian, dimension)."""
    codebooks, count = streams[0].shape[:2]
    flat = [stream.reshape(codebooks, -1) for stream in streams]
    values = np.concatenate(flat, axis=1).astype("<f4")
    lengths = [stream.shape[2] for stream in streams]
    sizes = [codebooks, len(streams), count, *lengths, values.size]
    body = struct.pack(f"<{len(sizes)}i", *sizes) + values.tobytes()
    head = _HEAD + b" " * ((-len(_HEAD) - len(_END_OF_HEAD)) % 4) + _END_OF_HEAD
    return head + struct.pack("<I", _BYTE_ORDER) + body + struct.pack("<I", _checksum(body))


def read_senone_weights(raw: bytes, streams: int, gaussians: int) -> SenoneWeights:
    """Return the weights in a ``sendump`` of so many streams and Gaussians in each codebook."""
    texts, _ = _split_head(raw)
    head = sum(4 + len(text) for text in texts) + 4 + 8  # the ending 0, then rows and columns
    steps = np.frombuffer(raw, np.uint8, offset=head)
    return SenoneWeights(raw[:head], steps.reshape(streams, gaussians, -1))


def read_senones(raw: bytes) -> Senones:
    """Return the senones of a binary ``mdef``."""
    (length,) = struct.unpack_from("<i", raw, 8)
    at = 12 + length
    n_ci, n_phone, n_emit, _, n_sen, _, n_sseq, _, n_tree, _ = struct.unpack_from("<10i", raw, at)
    at += 40
    names = []
    for _ in range(n_ci):
        end = raw.index(b"\0", at)
        names.append(raw[at:end].decode())
        at = end + 1
    at += -(at - 12 - length) % 4
    at += 8 * n_tree
    phones = np.frombuffer(raw, "<i4", 3 * n_phone, at).reshape(-1, 3)
    middle = np.where(np.arange(n_phone) < n_ci, np.arange(n_phone), (phones[:, 2] >> 8) & 0xFF)
    states = np.frombuffer(raw, "<i2", n_sseq * n_emit, at + 12 * n_phone + 4).reshape(-1, n_emit)
    phone_of, state_of = np.zeros(n_sen, np.int64), np.zeros(n_sen, np.int64)
    for phone, sequence in zip(middle, phones[:, 0], strict=True):
        phone_of[states[sequence]] = phone
        state_of[states[sequence]] = np.arange(n_emit)
    return Senones(tuple(names), phone_of, state_of)


def _split_head(raw: bytes) -> tuple[list[bytes], bytes]:
    """Return the texts at the head of a ``sendump``, and what comes after them."""
    at, texts = 0, []
    while (length := struct.unpack_from("<i", raw, at)[0]) > 0:
        texts.append(raw[at + 4 : at + 4 + length])
        at += 4 + length
    return texts, raw[at:]


def _checksum(body: bytes) -> int:
    """Return the checksum of ``s3io.c``: rotate left by 20 and add, word by word."""
    total = 0
    for word in np.frombuffer(body, "<u4").tolist():
        total = (((total << 20) | (total >> 12)) + word) & 0xFFFFFFFF
    return total
