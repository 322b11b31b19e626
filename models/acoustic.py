"""The bundled recogniser's acoustic model as numbers to reckon with: read, changed, written."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.asr.acoustic_files import (
    Array,
    SenoneWeights,
    gaussian_file,
    read_gaussians,
    read_senone_weights,
    read_senones,
)

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

#: A step of the weights' bytes, in natural logarithm: 1024 steps of the engine's log base.
WEIGHT_STEP = 1024 * math.log(1.0001)

LEAST_VARIANCE = 1e-4


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
    means = read_gaussians((folder / "means").read_bytes())
    # as the engine does: some Gaussians were never seen and have none
    variances = np.maximum(read_gaussians((folder / "variances").read_bytes()), LEAST_VARIANCE)
    phone_of = read_senones((folder / "mdef").read_bytes()).phone_of
    steps = _weights_of(folder, means).steps[:, :, : len(phone_of)]
    weights = np.exp(-WEIGHT_STEP * steps.astype(np.float64))
    weights /= weights.sum(axis=1, keepdims=True)
    return AcousticModel(means, variances, weights, phone_of)


def write_model(model: AcousticModel, folder: Path, like: Path) -> None:
    """Write ``means``, ``variances`` and ``sendump`` into ``folder``, heads as in ``like``."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, values in (("means", model.means), ("variances", model.variances)):
        streams = [values[:, stream] for stream in range(values.shape[1])]
        (folder / name).write_bytes(gaussian_file(streams))
    old = _weights_of(like, model.means)
    steps = np.round(-np.log(np.maximum(model.weights, 1e-30)) / WEIGHT_STEP)
    rows = old.steps.copy()
    rows[:, :, : steps.shape[2]] = np.clip(steps, 0, old.steps.max()).astype(np.uint8)
    (folder / "sendump").write_bytes(SenoneWeights(old.head, rows).raw)


def _weights_of(folder: Path, means: Array) -> SenoneWeights:
    return read_senone_weights((folder / "sendump").read_bytes(), *means.shape[1:3])
