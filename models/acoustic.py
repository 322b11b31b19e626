"""The bundled recogniser's acoustic model as arrays: read, changed, written.

It is phonetically tied: every phone has one codebook of Gaussians for each of three feature
streams (cepstra, their first and second differences), and every senone (a state of a phone in its
neighbourhood) weighs the Gaussians of its phone's codebook. The forms of the files are those of
CMU Sphinx: ``means`` and ``variances`` with the header of ``s3io.c``, ``sendump`` (the weights as
negative logarithms in one byte) and the binary ``mdef``, which describes itself at its head.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from pathlib import Path

Array = NDArray[np.float64]

#: A step of the weights' bytes, in natural logarithm: 1024 steps of the engine's log base.
WEIGHT_STEP = 1024 * math.log(1.0001)

LEAST_VARIANCE = 1e-4

_BYTE_ORDER = 0x11223344
_HEAD = b"s3\nversion 1.0\nchksum0 yes\n"


@dataclass(frozen=True, slots=True, eq=False)
class AcousticModel:
    """The arrays of a model.

    ``means`` and ``variances``: (phone, stream, Gaussian, dimension); ``weights``: (stream,
    Gaussian, senone), adding up to 1 over the Gaussians; ``phone_of``: the phone of each senone.
    """

    means: Array
    variances: Array
    weights: Array
    phone_of: NDArray[np.int64]


def read_model(folder: Path) -> AcousticModel:
    """Return the model in ``folder``."""
    means = _gaussians((folder / "means").read_bytes())
    # as the engine does: some Gaussians were never seen and have none
    variances = np.maximum(_gaussians((folder / "variances").read_bytes()), LEAST_VARIANCE)
    phone_of = _phones((folder / "mdef").read_bytes())
    _, data = _split_sendump((folder / "sendump").read_bytes())
    steps = data.reshape(means.shape[1], means.shape[2], -1)[:, :, : len(phone_of)]
    weights = np.exp(-WEIGHT_STEP * steps.astype(np.float64))
    weights /= weights.sum(axis=1, keepdims=True)
    return AcousticModel(means, variances, weights, phone_of)


def write_model(model: AcousticModel, folder: Path, like: Path) -> None:
    """Write ``means``, ``variances`` and ``sendump`` into ``folder``, heads as in ``like``."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "means").write_bytes(_gaussian_file(model.means))
    (folder / "variances").write_bytes(_gaussian_file(model.variances))
    head, old = _split_sendump((like / "sendump").read_bytes())
    steps = np.round(-np.log(np.maximum(model.weights, 1e-30)) / WEIGHT_STEP)
    steps = np.clip(steps, 0, old.max()).astype(np.uint8)
    rows = old.reshape(*steps.shape[:2], -1).copy()
    rows[:, :, : steps.shape[2]] = steps
    (folder / "sendump").write_bytes(head + rows.tobytes())


def _gaussians(raw: bytes) -> Array:
    at = raw.index(b"endhdr\n") + len(b"endhdr\n")
    order, phones, streams, count = struct.unpack_from("<4i", raw, at)
    if order != _BYTE_ORDER:
        raise ValueError("the model was written on a machine of the other byte order")
    lengths = struct.unpack_from(f"<{streams}i", raw, at + 16)
    begin = at + 16 + 4 * streams + 4
    shape = (phones, streams, count, lengths[0])
    values = np.frombuffer(raw, "<f4", math.prod(shape), begin)
    return values.reshape(shape).astype(np.float64)


def _gaussian_file(values: Array) -> bytes:
    phones, streams, count, length = values.shape
    sizes = [phones, streams, count, *([length] * streams), values.size]
    body = struct.pack(f"<{len(sizes)}i", *sizes) + values.astype("<f4").tobytes()
    head = _HEAD + b" " * ((-len(_HEAD) - len(b"endhdr\n")) % 4) + b"endhdr\n"
    return head + struct.pack("<I", _BYTE_ORDER) + body + struct.pack("<I", _checksum(body))


def _checksum(body: bytes) -> int:
    """Return the checksum of ``s3io.c``: rotate left by 20 and add, word by word."""
    total = 0
    for word in np.frombuffer(body, "<u4").tolist():
        total = (((total << 20) | (total >> 12)) + word) & 0xFFFFFFFF
    return total


def _split_sendump(raw: bytes) -> tuple[bytes, NDArray[np.uint8]]:
    at = 0
    while (length := struct.unpack_from("<i", raw, at)[0]) > 0:
        at += 4 + length
    head = at + 4 + 8  # the ending 0, then rows and columns
    return raw[:head], np.frombuffer(raw, np.uint8, offset=head)


def _phones(raw: bytes) -> NDArray[np.int64]:
    """Return the phone of each senone: that of the phones whose states it is in."""
    (length,) = struct.unpack_from("<i", raw, 8)
    at = 12 + length
    n_ci, n_phone, n_emit, _, n_sen, _, n_sseq, _, n_tree, _ = struct.unpack_from("<10i", raw, at)
    at += 40
    for _ in range(n_ci):
        at = raw.index(b"\0", at) + 1
    at += -(at - 12 - length) % 4
    at += 8 * n_tree
    phones = np.frombuffer(raw, "<i4", 3 * n_phone, at).reshape(-1, 3)
    middle = np.where(np.arange(n_phone) < n_ci, np.arange(n_phone), (phones[:, 2] >> 8) & 0xFF)
    states = np.frombuffer(raw, "<i2", n_sseq * n_emit, at + 12 * n_phone + 4).reshape(-1, n_emit)
    phone_of = np.zeros(n_sen, np.int64)
    for phone, sequence in zip(middle, phones[:, 0], strict=True):
        phone_of[states[sequence]] = phone
    return phone_of
