"""Keeps the assistant's own voice out of its ear, and yet lets people interrupt it.

While it speaks, the microphone is not listened to, unless what comes in is both speech and clearly
louder than the assistant's own voice has been coming back. How much of it comes back is learnt as
it speaks: a loudspeaker beside the microphone gives much, a headset next to nothing.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.asr.audio import SAMPLE_RATE

if TYPE_CHECKING:
    from fieldvoice.asr import Samples
    from fieldvoice.asr.endpoint import SpeechDetector

#: The voice comes back this late at most, and hangs on in a room: within this time it counts.
ECHO_S = 0.35
#: Learnt before anyone can interrupt, in seconds of the assistant's own voice.
LEARNS_S = 1.0
#: And remembered, in blocks.
_REMEMBERED = 500
#: People interrupt louder than the voice comes back, by this factor (8 dB) …
ABOVE = 2.5
#: … for so long, in seconds …
INTERRUPTS_S = 0.2
#: … and louder than this, full scale 1: speech near a microphone.
LEAST = 0.01
#: The share of blocks that the voice comes back no louder than.
_QUANTILE = 0.95
_SURE = 0.5


class EchoGate:
    """Judges the microphone's sound while the assistant speaks.

    ``detector`` must be its own, since it remembers what it has heard.
    """

    def __init__(self, detector: SpeechDetector) -> None:
        self._detector = detector
        self._rest: Samples = np.zeros(0, dtype=np.int16)
        self._block_s = detector.frame / SAMPLE_RATE
        self._played: deque[float] = deque(maxlen=max(1, round(ECHO_S / self._block_s)))
        self._back: deque[float] = deque(maxlen=_REMEMBERED)
        self._above_s = 0.0

    def interrupted(self, piece: Samples, played: float) -> bool:
        """Return whether somebody speaks over the voice in ``piece`` (16 kHz mono).

        ``played`` is the level (root mean square, full scale 1) leaving the loudspeaker now.
        """
        self._rest = np.concatenate([self._rest, piece])
        frame = self._detector.frame
        while len(self._rest) >= frame:
            block, self._rest = self._rest[:frame], self._rest[frame:]
            if self._judge(block, played):
                self._above_s = 0.0
                return True
        return False

    def silent(self) -> None:
        """Take note that the assistant has stopped speaking."""
        self._above_s = 0.0
        self._rest = self._rest[:0]
        self._played.clear()

    def _judge(self, block: Samples, played: float) -> bool:
        self._played.append(played)
        loudest = max(self._played)
        level = float(np.sqrt(np.mean((block / 32768.0) ** 2)))
        speech = self._detector.sure(block) >= _SURE
        if loudest <= 0.0:
            return False
        learnt = len(self._back) * self._block_s >= LEARNS_S
        above = (
            learnt
            and speech
            and level > LEAST
            and level > ABOVE * loudest * float(np.quantile(self._back, _QUANTILE))
        )
        if not above:
            # What is above is no echo, and must not be learnt as one.
            self._back.append(level / loudest)
        self._above_s = (
            self._above_s + self._block_s if above else max(0.0, self._above_s - self._block_s)
        )
        return self._above_s >= INTERRUPTS_S
