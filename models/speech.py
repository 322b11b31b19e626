"""Voices that anyone can install, and sentences of the grammar for them to read.

The packages are those of ``models/listener/README.md``, with their licences.
"""

from __future__ import annotations

import math
import random
import subprocess
import tempfile
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import soundfile
from scipy.signal import resample_poly

from fieldvoice.grammar.grammar import load_grammar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    Say = Callable[[str, float], tuple[NDArray[np.float64], int]]

SAMPLE_RATE = 16_000
#: Words in a sentence, at most: longer ones are chains of what shorter ones hold.
LONGEST = 14
#: Sentences drawn for each one kept: the one is taken whose words have been said least.
DRAWN = 6
#: How fast the voices read, against their own pace; evenly spread in its logarithm.
PACE = (0.85, 1.3)


def sentences(count: int, seed: int, without: frozenset[str]) -> Iterator[str]:
    """Yield ``count`` different sentences in which rare words are said as often as may be."""
    chance = random.Random(seed)
    said: Counter[str] = Counter()
    done = set(without)
    drawn = load_grammar().sentences(50 * DRAWN * count, seed)
    for _ in range(count):
        choices: list[tuple[str, ...]] = []
        while len(choices) < DRAWN:
            words = next(drawn)
            if 1 < len(words) <= LONGEST and " ".join(words) not in done:
                choices.append(words)
        # half by need, half as they come, so that what is usual stays usual
        best = (
            max(choices, key=lambda words: _need(words, said)) if chance.random() < 0.5 else words
        )
        said.update(best)
        done.add(" ".join(best))
        yield " ".join(best)


def _need(words: tuple[str, ...], said: Counter[str]) -> float:
    return sum(1 / (1 + said[word]) for word in words) / len(words)


def hibari() -> Say:
    from hibari import Hibari

    engine = Hibari()
    return lambda text, pace: (np.asarray(engine(text, speed=pace), np.float64), engine.sample_rate)


def pico(accent: str) -> Say:
    from py_nanotts import NanoTTS

    engine = NanoTTS()

    def say(text: str, pace: float) -> tuple[NDArray[np.float64], int]:
        raw = engine.speak(text, voice=accent, volume=0.6, speed=pace)
        return np.frombuffer(raw, "<i2") / 32768, SAMPLE_RATE

    return say


def program(command: Callable[[str, float, str], list[str]]) -> Say:
    """Return a voice that is a program writing a WAV file."""

    def say(text: str, pace: float) -> tuple[NDArray[np.float64], int]:
        with tempfile.NamedTemporaryFile(suffix=".wav") as file:
            subprocess.run(command(text, pace, file.name), check=True, input=b"")
            sound, rate = soundfile.read(file.name)
        return np.asarray(sound), int(rate)

    return say


def flite(voice: str) -> Say:
    return program(
        lambda text, pace, out: [
            *("flite", "-voice", voice, "--setf", f"duration_stretch={1 / pace:.2f}"),
            *("-t", text, "-o", out),
        ]
    )


def voice(name: str) -> Say:
    """Return the voice of this name: words and pace in, sound (full scale 1) and its rate out."""
    match name:
        case "hibari":
            return hibari()
        case "pico_us" | "pico_gb":
            return pico(f"en-{name[-2:].upper()}")
        case "mixed_us" | "mixed_gb":
            from models.mixed_voice import mixed

            return mixed(name[-2:])
        case _:
            return flite(name.removeprefix("flite_"))


def at_16_khz(sound: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    """Return ``sound`` at 16 kHz."""
    if rate == SAMPLE_RATE:
        return sound
    shared = math.gcd(rate, SAMPLE_RATE)
    return np.asarray(resample_poly(sound, SAMPLE_RATE // shared, rate // shared))
