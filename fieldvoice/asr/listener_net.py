"""The small listener's networks: sound and tokens in, scores of the next tokens out.

They were made from Whisper tiny.en (``models/listener/README.md`` tells how) and are run on one
core. The sound may be of any length up to 30 s, and costs what it is long.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.errors import RecogniserError
from fieldvoice.onnx_session import on_one_core

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from fieldvoice.asr.audio import Samples

    Floats = NDArray[np.float32]

#: The longest piece of sound that the model takes, in seconds.
LONGEST_S = 30.0
#: A place of the encoder stands for so many seconds of sound.
PLACE_S = 0.02
#: The longest text in tokens, the prompt included.
LONGEST_TEXT = 320
#: Silence after what was said, so that an end is heard as one.
SILENCE_S = 0.5
#: A shorter sound is filled up to this: the model was made with long ones.
SHORTEST_S = 2.0

_WINDOW, _HOP, _BANDS = 400, 160, 80
# Logarithms further below the loudest band than this say nothing.
_DEEPEST = 8.0
# Mel, as in M. Slaney's Auditory Toolbox (1998): linear up to 1 kHz, then logarithmic.
_BREAK_HZ, _LINEAR_HZ, _RATIO = 1000.0, 200 / 3, 27 / np.log(6.4)


class ListenerNet:
    """The networks in ``folder``, opened when first needed."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def open(self) -> int:
        """Open the networks, and return how many tokens there are.

        Raises:
            RecogniserError: a file is missing or damaged, or there is no onnxruntime.
        """
        shapes = {one.name: one.shape for one in self._decoder.get_outputs()}
        self._encoder.get_inputs()
        return int(shapes["scores"][-1])

    def hear(self, samples: Samples) -> Floats:
        """Return what the encoder makes of ``samples`` (16 kHz mono, at most ``LONGEST_S``)."""
        found: Floats = self._encoder.run(["sound"], {"mel": mel_bands(samples)[None]})[0]
        return found

    def nothing_before(self, batch: int) -> Floats:
        """Return what ``write`` takes as ``past`` at the beginning of ``batch`` texts."""
        layers, _, heads, _, head = self._past_shape
        return np.zeros((layers, batch, heads, 0, head), np.float32)

    def write(
        self, tokens: Sequence[Sequence[int]], past: Floats, sound: Floats
    ) -> tuple[Floats, Floats]:
        """Return the scores after each token (batch, time, vocabulary), and the new past."""
        given = {"tokens": np.asarray(tokens, np.int64), "past": past, "sound": sound}
        scores, present = self._decoder.run(["scores", "present"], given)
        return scores, present

    def where(self, tokens: Sequence[int], sound: Floats) -> tuple[Floats, Floats]:
        """Return the scores after each of ``tokens``, and how much each looks at which place."""
        given = {
            "tokens": np.asarray([tokens], np.int64),
            "past": self.nothing_before(1),
            "sound": sound,
        }
        scores, where = self._decoder.run(["scores", "where"], given)
        return scores[0], where[0]

    @cached_property
    def _encoder(self) -> Any:
        return self._opened("encoder")

    @cached_property
    def _decoder(self) -> Any:
        return self._opened("decoder")

    @cached_property
    def _past_shape(self) -> tuple[int, ...]:
        shapes = {one.name: one.shape for one in self._decoder.get_inputs()}
        return tuple(one if isinstance(one, int) else 0 for one in shapes["past"])

    def _opened(self, name: str) -> Any:
        try:
            return on_one_core(self._folder / f"{name}.onnx", keeps_memory=False)
        except ImportError as error:
            raise RecogniserError("the small listener needs onnxruntime") from error
        except Exception as error:  # onnxruntime's own have no common kind
            raise RecogniserError(f"{self._folder / name}.onnx cannot be opened") from error


def mel_bands(samples: Samples) -> Floats:
    """Return the logarithms of the bands' powers (band, frame of 10 ms), as the model has them."""
    length = max(len(samples) + round(SILENCE_S * SAMPLE_RATE), round(SHORTEST_S * SAMPLE_RATE))
    frames = 2 * (-(-min(length, round(LONGEST_S * SAMPLE_RATE)) // (2 * _HOP)))
    sound = np.zeros(frames * _HOP, np.float32)
    said = samples[: len(sound)]
    sound[: len(said)] = said / 32768
    around = np.pad(sound, _WINDOW // 2, mode="reflect")
    pieces = np.lib.stride_tricks.sliding_window_view(around, _WINDOW)[::_HOP][:frames]
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(_WINDOW) / _WINDOW)
    powers = np.abs(np.fft.rfft(pieces * window.astype(np.float32), axis=1)) ** 2
    logs = np.log10(np.maximum(FILTERS @ powers.T.astype(np.float32), 1e-10))
    bands: Floats = ((np.maximum(logs, logs.max() - _DEEPEST) + 4) / 4).astype(np.float32)
    return bands


def _filters() -> Floats:
    """Return the weights of frequencies in the bands (band, frequency): triangles of area alike."""
    most = _BREAK_HZ / _LINEAR_HZ + _RATIO * np.log(SAMPLE_RATE / 2 / _BREAK_HZ)
    mels = np.linspace(0, most, _BANDS + 2)
    at_break = _BREAK_HZ / _LINEAR_HZ
    hertz = np.where(
        mels < at_break, mels * _LINEAR_HZ, _BREAK_HZ * np.exp((mels - at_break) / _RATIO)
    )
    bins = np.fft.rfftfreq(_WINDOW, 1 / SAMPLE_RATE)
    rising = (bins[None] - hertz[:-2, None]) / np.diff(hertz)[:-1, None]
    falling = (hertz[2:, None] - bins[None]) / np.diff(hertz)[1:, None]
    area = 2 / (hertz[2:] - hertz[:-2])
    found: Floats = (np.maximum(0, np.minimum(rising, falling)) * area[:, None]).astype(np.float32)
    return found


#: The weights of frequencies in the bands.
FILTERS = _filters()
