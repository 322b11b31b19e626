"""Speech as the recogniser hears it: frames of features, and the senone that each belongs to.

The frames come out of the recogniser itself (its log of cepstra), so that nothing is computed
otherwise here than there. Which senone a frame belongs to is found on the clean sound, and holds
for the same sound with noise.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from pocketsphinx import Config, Decoder

if TYPE_CHECKING:
    from fieldvoice.hearing import Samples

Frames = NDArray[np.float32]
Senones = NDArray[np.int16]

CEPSTRA = 13
ONE_WORD = "sap"


class Aligner:
    """Features of sounds, and their senones by the acoustic model in ``model``."""

    def __init__(self, model: Path, dictionary: Path) -> None:
        self._log = tempfile.TemporaryDirectory()
        shared = {"hmm": str(model), "dict": str(dictionary), "lm": None, "loglevel": "FATAL"}
        self._decoder = Decoder(Config(**shared, mfclogdir=self._log.name))
        self._ear = Decoder(Config(**shared, mfclogdir=self._log.name))
        # the search is of no use here; one word alone is the cheapest there is
        self._ear.set_align_text(ONE_WORD)

    def features(self, samples: Samples) -> Frames:
        """Return (frames, 3, 13): cepstra without their mean, first and second differences."""
        self._run(self._ear, samples)
        return differences(self._logged())

    def aligned(self, samples: Samples, text: str) -> Senones | None:
        """Return the senone of each frame of clean sound; None where it cannot be found."""
        decoder = self._decoder
        try:
            decoder.set_align_text(text)
            self._run(decoder, samples)
            decoder.set_alignment()
            self._run(decoder, samples)
            found = decoder.get_alignment()
        except RuntimeError:
            self._forget()
            return None
        frames = len(self._logged())
        senones = np.full(frames, -1, np.int16)
        for state in (state for word in found for phone in word for state in phone):
            senones[state.start : state.start + state.duration] = int(state.name)
        return senones

    def _run(self, decoder: Any, samples: Samples) -> None:
        decoder.start_utt()
        try:
            decoder.process_raw(samples.tobytes(), full_utt=True)
        finally:
            decoder.end_utt()

    def _logged(self) -> Frames:
        """Return the cepstra last logged, and delete the log."""
        paths = sorted(Path(self._log.name).glob("*.mfc"), key=lambda path: path.stat().st_mtime_ns)
        frames = np.frombuffer(paths[-1].read_bytes()[4:], ">f4").reshape(-1, CEPSTRA)
        self._forget()
        return frames.astype(np.float32)

    def _forget(self) -> None:
        for path in Path(self._log.name).glob("*.mfc"):
            path.unlink()


def differences(cepstra: Frames) -> Frames:
    """Return cepstra less their mean over the utterance, with differences as ``1s_c_d_dd``."""
    level = cepstra - cepstra.mean(axis=0)
    padded = np.pad(level, ((3, 3), (0, 0)), mode="edge")
    count = len(level)

    def at(shift: int) -> Frames:
        return padded[3 + shift : 3 + shift + count]

    first = at(2) - at(-2)
    second = (at(3) - at(-1)) - (at(1) - at(-3))
    return np.stack([level, first, second], axis=1)
