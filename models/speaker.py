"""One speaker's voice put into the acoustic model, from a minute or two of known sentences.

First one affine transform of all means, a stream at a time: C. J. Leggetter and P. C. Woodland,
"Maximum likelihood linear regression for speaker adaptation of continuous density hidden Markov
models", Computer Speech and Language 9 (2), 1995, pages 171 to 185; here with a belief in the means
as they are, so that little speech changes little. Then what was said of a Gaussian itself is
averaged in (maximum a posteriori, as in ``models/adapt.py``), means alone.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from models.adapt import count

if TYPE_CHECKING:
    from models.acoustic import AcousticModel, Array
    from models.adapt import Counts
    from models.corpus import Corpus

#: In how many frames the model is taken to have been seen: all of it, and a Gaussian.
BELIEF_ALL, BELIEF_EACH = 500.0, 200.0


def of_speaker(
    model: AcousticModel,
    corpus: Corpus,
    belief_all: float = BELIEF_ALL,
    belief_each: float = BELIEF_EACH,
) -> AcousticModel:
    """Return ``model`` as the speaker in ``corpus`` sounds."""
    moved = transformed(model, count(model, [corpus])[0], belief_all)
    return averaged(moved, count(moved, [corpus])[0], belief_each)


def transformed(model: AcousticModel, counts: Counts, belief: float) -> AcousticModel:
    """Return ``model`` with the means of each stream under the most likely affine transform."""
    means = model.means.copy()
    for stream in range(means.shape[1]):
        size = means.shape[-1]
        old = model.means[:, stream].reshape(-1, size)
        precision = 1 / model.variances[:, stream].reshape(-1, size)
        taken = counts.taken[:, stream].reshape(-1)
        first = counts.first[:, stream].reshape(-1, size)
        # as if the means as they are had been seen, all equally often
        seen, said = taken + belief / len(old), first + belief / len(old) * old
        extended = np.hstack([np.ones((len(old), 1)), old])
        new = np.empty_like(old)
        for at in range(size):
            weighed = extended * precision[:, at, None]
            rows: Array = np.linalg.lstsq(
                weighed.T @ (extended * seen[:, None]), weighed.T @ said[:, at], rcond=None
            )[0]
            new[:, at] = extended @ rows
        means[:, stream] = new.reshape(means[:, stream].shape)
    return replace(model, means=means)


def averaged(model: AcousticModel, counts: Counts, belief: float) -> AcousticModel:
    """Return ``model`` with its means averaged with those in ``counts``."""
    means = (belief * model.means + counts.first) / (belief + counts.taken[..., None])
    return replace(model, means=means)
