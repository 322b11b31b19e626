"""Five short sounds that say without words what the assistant is doing.

They differ in direction and number as well as in pitch, so that they are told apart in wind and by
ears that no longer hear high notes: all lie between 400 and 1,200 Hz.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from fieldvoice.tts.voices import Sound

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

#: ``listening``: go ahead. ``got_it``: taken down. ``say_again``: not understood. ``careful``: look
#: out for what comes next. ``timer``: the time that somebody asked for has come.
Tone = Literal["listening", "got_it", "say_again", "careful", "timer"]

RATE = 24_000
#: Full scale 1; voices peak about there.
LOUDNESS = 0.35
# Notes fade in and out, so that they do not click.
_FADE_S = 0.008

#: Each sound as notes of (frequency in Hz, 0 for a rest; length in seconds).
NOTES: Mapping[Tone, tuple[tuple[float, float], ...]] = {
    "listening": ((660.0, 0.07), (990.0, 0.09)),
    "got_it": ((880.0, 0.08),),
    "say_again": ((700.0, 0.10), (0.0, 0.03), (500.0, 0.16)),
    "careful": ((440.0, 0.09), (0.0, 0.05), (440.0, 0.09), (0.0, 0.05), (440.0, 0.09)),
    "timer": (
        (988.0, 0.09), (0.0, 0.03), (784.0, 0.09), (0.0, 0.03),
        (988.0, 0.09), (0.0, 0.03), (784.0, 0.09),
    ),
}  # fmt: skip


def tone(name: Tone) -> Sound:
    """Return one of the five sounds."""
    notes = [_note(frequency, length_s) for frequency, length_s in NOTES[name]]
    wave = np.concatenate(notes) * LOUDNESS * 32767
    return Sound(np.round(wave).astype(np.int16), RATE)


def _note(frequency: float, length_s: float) -> NDArray[np.float64]:
    times = np.arange(round(length_s * RATE)) / RATE
    # An octave above gives it an edge that small loudspeakers can carry.
    wave = 0.8 * np.sin(2 * np.pi * frequency * times) + 0.2 * np.sin(4 * np.pi * frequency * times)
    fade = np.minimum(1.0, np.minimum(times, times[-1] - times) / _FADE_S)
    faded: NDArray[np.float64] = wave * fade
    return faded
