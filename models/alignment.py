"""Which senone each frame of speech belongs to, by the bundled recogniser.

It is found on the clean sound, and holds for the same sound with noise.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from pocketsphinx import Config, Decoder

from fieldvoice.asr.front_end import cepstra, power_spectra, streams

if TYPE_CHECKING:
    from pathlib import Path

    from fieldvoice.asr import Samples
    from fieldvoice.asr.front_end import Frames

Senones = NDArray[np.int16]


def features(samples: Samples) -> Frames:
    """Return (frames, 3, 13): the three streams that the Gaussians look at."""
    return streams(cepstra(power_spectra(samples)))


class Aligner:
    """Finds senones by the acoustic model in ``model`` and the words in ``dictionary``."""

    def __init__(self, model: Path, dictionary: Path) -> None:
        config = Config(hmm=str(model), dict=str(dictionary), lm=None, loglevel="FATAL")
        self._decoder: Any = Decoder(config)

    def aligned(self, samples: Samples, text: str) -> Senones | None:
        """Return the senone of each frame of clean sound; None where they cannot be found."""
        decoder = self._decoder
        try:
            decoder.set_align_text(text)
            self._run(samples)
            decoder.set_alignment()
            self._run(samples)
            found = decoder.get_alignment()
        except RuntimeError:
            return None
        states = [state for word in found for phone in word for state in phone]
        senones = np.full(states[-1].start + states[-1].duration, -1, np.int16)
        for state in states:
            senones[state.start : state.start + state.duration] = int(state.name)
        return None if (senones < 0).any() else senones

    def _run(self, samples: Samples) -> None:
        self._decoder.start_utt()
        try:
            self._decoder.process_raw(samples.tobytes(), full_utt=True)
        finally:
            self._decoder.end_utt()
