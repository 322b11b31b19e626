"""How well the attention words are heard, and how often other sound is taken for them.

    python -m benchmarks.attention FOLDER [--thresholds -35,-40,-45,-50]

``FOLDER`` is laid out as for ``benchmarks.hearing``, with ``human/`` beside it: people speaking
about other matters. Nobody recorded the attention words, so they are spoken by voices: the bundled
one at three speeds, and those of flite where that program is installed; alone and before a note or
a question; clean and in recorded wind at 10 dB.

False alarms are counted over everything else there is: the field sentences of all voices (what is
said around the assistant all day), the human recordings and the noise. Sound is cut into utterances
as live sound is.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.recordings import mixed
from fieldvoice.asr import SAMPLE_RATE, read_audio, split_utterances
from fieldvoice.asr.attention_words import ATTENTION_WORDS
from fieldvoice.asr.wake_word import WakeWordDetector
from fieldvoice.tts import HibariVoice
from fieldvoice.tts.player import at_rate

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.asr import Samples

SPEEDS = (0.85, 1.0, 1.2)
FLITE_VOICES = ("slt", "rms", "awb", "kal16")
AFTER = ("", ", tree twelve half full", ", how many taps can tree seven take")
WIND_DB = 10


def spoken(text: str) -> Iterator[Samples]:
    """Yield ``text`` said by each voice that is here, with silence before and after it."""
    around = np.zeros(round(0.3 * SAMPLE_RATE), dtype=np.int16)
    for speed in SPEEDS:
        sound = HibariVoice(speed).render(text)
        said = at_rate(sound.samples, sound.rate, SAMPLE_RATE)
        yield np.concatenate([around, said, around])
    for voice in FLITE_VOICES if shutil.which("flite") else ():
        with tempfile.NamedTemporaryFile(suffix=".wav") as file:
            subprocess.run(["flite", "-voice", voice, "-t", text, "-o", file.name], check=True)
            said = read_audio(Path(file.name)).samples
            yield np.concatenate([around, said, around])


def others(folder: Path) -> tuple[list[Samples], float]:
    """Return the utterances in all sound that is no call, and its length in hours."""
    found: list[Samples] = []
    seconds = 0.0
    for part in ("dev", "human", "noise"):
        for path in sorted((folder / part).rglob("*.flac")):
            samples = read_audio(path).samples
            seconds += len(samples) / SAMPLE_RATE
            found += [span.of(samples) for span in split_utterances(samples)]
    return found, seconds / 3600


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure the attention words.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--thresholds", help="try these, separated by commas")
    chosen = parser.parse_args()
    winds = [read_audio(path).samples for path in sorted(chosen.folder.glob("noise/wind*.flac"))]
    quiet, hours = others(chosen.folder)
    print(f"{len(quiet)} utterances that are no call, in {hours:.2f} hours of sound")
    print(f"{'':20}{'at':>5}{'calls':>7}{'clean %':>9}{'wind %':>8}{'false':>7}{'an hour':>9}")
    for word in ATTENTION_WORDS.values():
        calls = [call for after in AFTER for call in spoken(word.phrase + after)]
        windy = [mixed(c, winds[n % len(winds)], WIND_DB, n) for n, c in enumerate(calls)]
        tried = [int(one) for one in (chosen.thresholds or str(word.threshold)).split(",")]
        for threshold in tried:
            spotter = WakeWordDetector(replace(word, threshold=threshold))

            def share(sounds: list[Samples], by: WakeWordDetector = spotter) -> float:
                return 100 * sum(by.spot(one) is not None for one in sounds) / len(sounds)

            false = sum(spotter.spot(one) is not None for one in quiet)
            print(
                f"{word.phrase:20}{threshold:5}{len(calls):7}{share(calls):9.0f}"
                f"{share(windy):8.0f}{false:7}{false / hours:9.1f}",
                flush=True,
            )


if __name__ == "__main__":
    main()
