"""Adapts the bundled acoustic model to a corpus: maximum a posteriori, a few rounds of EM.

    python -m models.adapt OUT CORPUS.npz… [--means 1000] [--weights 500] [--rounds 3]

After J.-L. Gauvain and C.-H. Lee, "Maximum a posteriori estimation for multivariate Gaussian
mixture observations of Markov chains", IEEE Transactions on Speech and Audio Processing 2 (2),
1994, pages 291 to 298: what the corpus says of a Gaussian or a weight is averaged with what the
bundled model says, as if that had been seen in so many frames. Which senone a frame belongs to is
taken from the corpus and not found anew.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.asr.model_files import bundled_model
from models.acoustic import LEAST_VARIANCE, AcousticModel, Array, read_model, write_model

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from models.corpus import Corpus

#: Frames taken at once, so that memory stays small.
AT_ONCE = 20_000


@dataclass(frozen=True, slots=True)
class Belief:
    """In how many frames the bundled model is taken to have been seen, a Gaussian or senone."""

    means: float
    variances: float
    weights: float


@dataclass(frozen=True, slots=True, eq=False)
class Counts:
    """What the corpus says: occupation, first and second moments of each Gaussian, by senone."""

    taken: Array  # (phone, stream, Gaussian)
    first: Array  # (phone, stream, Gaussian, dimension)
    second: Array
    weights: Array  # (stream, Gaussian, senone)


def adapted(
    model: AcousticModel, corpora: Sequence[Corpus], belief: Belief, rounds: int
) -> AcousticModel:
    """Return ``model`` adapted to ``corpora``."""
    now = model
    for done in range(rounds):
        counts, score = count(now, corpora)
        print(f"round {done + 1}: log likelihood a frame {score:.3f}", flush=True)
        now = estimate(model, counts, belief)
    return now


def count(model: AcousticModel, corpora: Sequence[Corpus]) -> tuple[Counts, float]:
    """Return the counts over ``corpora`` by the posteriors of ``model``, and the likelihood."""
    shape = model.means.shape
    counts = Counts(
        np.zeros(shape[:3]), np.zeros(shape), np.zeros(shape), np.zeros_like(model.weights)
    )
    total, frames = 0.0, 0
    for corpus in corpora:
        phones = model.phone_of[corpus.senones]
        for phone in np.unique(phones):
            places = np.flatnonzero(phones == phone)
            for at in range(0, len(places), AT_ONCE):
                some = places[at : at + AT_ONCE]
                total += _take(model, counts, phone, corpus, some)
        frames += len(phones)
    return counts, total / frames


def _take(
    model: AcousticModel, counts: Counts, phone: int, corpus: Corpus, places: NDArray[np.int64]
) -> float:
    """Add the frames at ``places``, all of one phone, to ``counts``; return their likelihood."""
    senones = corpus.senones[places].astype(np.int64)
    total = 0.0
    for stream in range(model.means.shape[1]):
        x = corpus.frames[places, stream].astype(np.float64)
        mean, precision = model.means[phone, stream], 1 / model.variances[phone, stream]
        scores = x @ (mean * precision).T - 0.5 * (x**2) @ precision.T
        scores += 0.5 * (np.log(precision) - mean**2 * precision - np.log(2 * np.pi)).sum(axis=1)
        scores += np.log(model.weights[stream][:, senones].T + 1e-30)
        top = scores.max(axis=1, keepdims=True)
        share = np.exp(scores - top)
        sums = share.sum(axis=1, keepdims=True)
        total += float((top + np.log(sums)).sum())
        share /= sums
        counts.taken[phone, stream] += share.sum(axis=0)
        counts.first[phone, stream] += share.T @ x
        counts.second[phone, stream] += share.T @ x**2
        order = np.argsort(senones, kind="stable")
        kinds, begins = np.unique(senones[order], return_index=True)
        counts.weights[stream][:, kinds] += np.add.reduceat(share[order], begins, axis=0).T
    return total


def estimate(model: AcousticModel, counts: Counts, belief: Belief) -> AcousticModel:
    """Return ``model`` averaged with ``counts``."""
    taken = counts.taken[..., None]
    means = (belief.means * model.means + counts.first) / (belief.means + taken)
    seen = counts.second - 2 * means * counts.first + taken * means**2
    before = belief.variances * (model.variances + (model.means - means) ** 2)
    variances = np.maximum((before + seen) / (belief.variances + taken), LEAST_VARIANCE)
    totals = counts.weights.sum(axis=1, keepdims=True)
    weights = (belief.weights * model.weights + counts.weights) / (belief.weights + totals)
    return AcousticModel(means, variances, weights, model.phone_of)


def main() -> None:
    from models.corpus import read_corpus  # needs what is installed for making corpora alone

    parser = argparse.ArgumentParser(description="Adapt the bundled acoustic model.")
    parser.add_argument("out", type=Path)
    parser.add_argument("corpora", type=Path, nargs="+")
    parser.add_argument("--means", type=float, default=1000.0)
    parser.add_argument("--variances", type=float, default=3000.0)
    parser.add_argument("--weights", type=float, default=500.0)
    parser.add_argument("--rounds", type=int, default=3)
    chosen = parser.parse_args()
    bundled = bundled_model("en-us")
    corpora = [read_corpus(path) for path in chosen.corpora]
    belief = Belief(chosen.means, chosen.variances, chosen.weights)
    write_model(adapted(read_model(bundled), corpora, belief, chosen.rounds), chosen.out, bundled)


if __name__ == "__main__":
    main()
