"""What a few seconds from a microphone tell about it, and what to change, in plain words.

The limits are common practice for speech recording: speech peaks between -30 and -3 dB of full
scale, and background 20 dB below the voice. How hearing falls off with less stands in
``benchmarks/README.md``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.asr.endpoint import split_utterances

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from fieldvoice.asr.audio import Samples
    from fieldvoice.asr.endpoint import Span, SpeechDetector

    #: Sound from -1 to 1.
    Scaled = NDArray[np.float64]

#: Peaks of speech below this are too soft, in dB of full scale.
SOFT_DB = -30.0
#: Speech less than this above the background is heard badly, in dB; well from twice this on.
NOISY_DB = 10.0
CLEAR_DB = 20.0
#: More samples than this at the end of the scale are heard as rattling (a share of them).
CLIPPED = 0.0005
#: Nothing at all comes from a microphone that is muted, in dB of full scale.
DEAD_DB = -80.0
#: Low rumble: the share of the background's power below 150 Hz, from which on it is wind.
RUMBLE = 0.8
_RUMBLE_HZ = 150
_FULL = 32768.0


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found: levels in dB of full scale (0 the loudest there is).

    ``peak_db`` is the loudest moment, ``speech_db`` the level of speech (None where nobody spoke),
    ``background_db`` that of the rest. ``clipped`` is the share of samples at the end of the scale,
    ``rumble`` that of the background's power below 150 Hz.
    """

    peak_db: float
    speech_db: float | None
    background_db: float
    clipped: float
    rumble: float
    spans: tuple[Span, ...]

    @property
    def above_background_db(self) -> float | None:
        """How far speech is above the background, in dB."""
        return None if self.speech_db is None else self.speech_db - self.background_db


def sound_check(samples: Samples, detector: SpeechDetector | None = None) -> Checked:
    """Return what ``samples`` (16 kHz mono, with somebody speaking in it) tell."""
    spans = split_utterances(samples, detector)
    speaks = np.zeros(len(samples), dtype=bool)
    for span in spans:
        speaks[round(span.start_s * SAMPLE_RATE) : round(span.end_s * SAMPLE_RATE)] = True
    scaled = samples / _FULL
    # Speech has pauses within: its quiet moments tell of the background where there is no other.
    background = scaled[~speaks] if (~speaks).sum() > SAMPLE_RATE // 4 else _quietest(scaled)
    return Checked(
        peak_db=_db(float(np.abs(scaled).max()) if len(scaled) else 0.0),
        speech_db=_db(_rms(scaled[speaks])) if speaks.any() else None,
        background_db=_db(_rms(background)),
        clipped=float(np.mean(np.abs(samples.astype(np.int32)) >= 32_700)) if len(samples) else 0.0,
        rumble=_rumble(background),
        spans=tuple(spans),
    )


def advice(checked: Checked) -> Sequence[str]:
    """Return what to change, the most pressing first; one line of praise where nothing is wrong."""
    if checked.peak_db < DEAD_DB:
        return (
            "Nothing comes from this microphone: it is muted, switched off, or another one is "
            "meant. Choose one with --microphone.",
        )
    told = []
    if checked.clipped > CLIPPED:
        told.append(
            "It is too loud and rattles: turn the microphone's level down, or hold it farther "
            "from the mouth and to its side."
        )
    if checked.speech_db is None:
        told.append(
            "Nobody was heard speaking: speak towards the microphone, from a hand's breadth away."
        )
        return tuple(told)
    if checked.peak_db < SOFT_DB:
        told.append("Your voice is very soft: turn the microphone's level up, or come closer.")
    above = checked.above_background_db
    if above is not None and above < CLEAR_DB:
        much = "much too loud" if above < NOISY_DB else "loud"
        told.append(
            f"The background is {much}, {above:.0f} dB below your voice. {_against(checked)}"
        )
    return tuple(told) or ("Good: loud enough, no rattling, little noise.",)


def _against(checked: Checked) -> str:
    if checked.rumble > RUMBLE:
        return (
            "It is a low rumble, as of wind: put a foam windscreen on the microphone and turn your "
            "back to the wind."
        )
    return "Bring the microphone close to your mouth, as a headset does, or step away from it."


def _quietest(scaled: Scaled) -> Scaled:
    """Return the quietest tenth of the sound's moments of 20 ms, joined."""
    frame = SAMPLE_RATE // 50
    whole = scaled[: len(scaled) - len(scaled) % frame].reshape(-1, frame)
    if not len(whole):
        return scaled
    order = np.argsort((whole**2).mean(axis=1))
    return whole[order[: max(1, len(order) // 10)]].reshape(-1)


def _rumble(background: Scaled) -> float:
    if len(background) < SAMPLE_RATE // 10:
        return 0.0
    power = np.abs(np.fft.rfft(background * np.hanning(len(background)))) ** 2
    below = round(_RUMBLE_HZ * len(background) / SAMPLE_RATE)
    whole = float(power[1:].sum())
    return float(power[1 : below + 1].sum()) / whole if whole else 0.0


def _rms(scaled: Scaled) -> float:
    return float(np.sqrt(np.mean(scaled**2))) if len(scaled) else 0.0


def _db(value: float) -> float:
    return float(20 * np.log10(max(value, 1e-5)))
