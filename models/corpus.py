"""The training corpus: read speech by other speakers, in rooms and headsets, and in noise.

    python -m models.corpus SPEECH OUT [--rounds 1] [--voices pico_gb,…]

``SPEECH`` is the folder of ``models.speech``. Each sentence is changed in every round (another
pitch and size of speaker by resampling, another headset, now and then a room), its senones are
found, and it is kept twice: as it is, and with noise at a random ratio. A file a voice and round.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile
from scipy.signal import oaconvolve

from fieldvoice.asr.floor import active_power
from fieldvoice.asr.model_files import bundled_model, model_files
from fieldvoice.cli.app import cache_folder, the_grammar
from models import noise
from models.alignment import Aligner, features
from models.noise import SAMPLE_RATE, Sound

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from fieldvoice.asr import Samples

#: Noise is this far below the active speech, in dB, evenly spread.
RATIOS_DB = (2.0, 22.0)
#: Seconds of silence around a sentence.
SILENCE_S = (0.15, 0.6)
#: Another speaker: pitch, formants and pace together, up and down.
RESAMPLED = (0.86, 1.16)
ROOM_SHARE, HEADSET_SHARE = 0.4, 0.7


@dataclass(frozen=True, slots=True, eq=False)
class Corpus:
    """Frames (count, 3, 13) of half floats, their senones, and whether there was noise."""

    frames: NDArray[np.float16]
    senones: NDArray[np.int16]
    noisy: NDArray[np.bool_]


def read_corpus(path: Path) -> Corpus:
    """Return the corpus in the file ``path``."""
    with np.load(path) as file:
        return Corpus(file["frames"], file["senones"], file["noisy"])


def changed(
    sound: Sound, chance: np.random.Generator, multiple: int = 1
) -> tuple[Sound, float, int]:
    """Return ``sound`` by another speaker, with silence around it, at a recorder's level.

    Also its pace against before, and how many samples of silence lead it; ``multiple`` is what its
    length becomes a multiple of.
    """
    pace = float(np.exp(chance.uniform(*np.log(RESAMPLED))))
    places = np.arange(0, len(sound) - 1, pace)
    sound = np.interp(places, np.arange(len(sound)), sound)
    before, after = (int(SAMPLE_RATE * chance.uniform(*SILENCE_S)) for _ in range(2))
    after += -(len(sound) + before + after) % multiple
    sound = np.pad(sound, (before, after))
    level = 10 ** (chance.uniform(-32, -10) / 20) / np.sqrt(active_power(sound) + 1e-12)
    return sound * level, pace, before


def placed(sound: Sound, chance: np.random.Generator) -> Sound:
    """Return ``sound`` through a headset and, now and then, in a room."""
    if chance.random() < HEADSET_SHARE:
        places = np.linspace(0, SAMPLE_RATE / 2, 10)
        gains = chance.normal(0, 4, 10)
        gains[0] -= chance.uniform(0, 25)
        spectrum = np.fft.rfft(sound)
        hertz = np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE)
        sound = np.fft.irfft(spectrum * 10 ** (np.interp(hertz, places, gains) / 20), len(sound))
    if chance.random() < ROOM_SHARE:
        lasts = chance.uniform(0.1, 0.45)
        time = np.arange(int(lasts * SAMPLE_RATE)) / SAMPLE_RATE
        tail = chance.normal(0, 1, len(time)) * np.exp(-6.9 * time / lasts)
        tail *= 10 ** (-chance.uniform(3, 15) / 20) / np.sqrt((tail**2).sum())
        tail[: int(0.003 * SAMPLE_RATE)] = 0
        tail[0] = 1
        sound = oaconvolve(sound, tail)[: len(sound)]
    return sound


def in_noise(sound: Sound, chance: np.random.Generator) -> Sound:
    """Return ``sound`` with one kind of noise at a random ratio."""
    kind = noise.any_kind(chance)
    ratio_db = chance.uniform(*RATIOS_DB)
    return mixed(sound, kind(chance, len(sound)), ratio_db)


def mixed(sound: Sound, loud: Sound, ratio_db: float) -> Sound:
    """Return ``sound`` with ``loud`` (of mean power 1) so far below the active speech."""
    return sound + np.sqrt(active_power(sound) / 10 ** (ratio_db / 10)) * loud


def as_samples(sound: Sound, chance: np.random.Generator) -> Samples:
    """Return ``sound`` as 16-bit samples with the faint hiss that every recorder has."""
    loud = np.abs(sound).max()
    scaled = sound * min(1.0, 0.98 / loud) * 32767
    hiss = chance.normal(0, 10 ** chance.uniform(0.2, 1.2), len(sound))
    return np.clip(np.round(scaled + hiss), -32768, 32767).astype(np.int16)


def corpus(folder: Path, seed: int) -> Iterator[tuple[Samples, Samples, str]]:
    """Yield each sentence in ``folder``, changed: clean, noisy, and its text."""
    for line in (folder / "text.tsv").read_text(encoding="utf-8").splitlines():
        number, text = line.split("\t")
        chance = np.random.default_rng([seed, int(number), *folder.name.encode()])
        sound, _ = soundfile.read(folder / f"{number}.flac")
        clean = placed(changed(sound, chance)[0], chance)
        yield as_samples(clean, chance), as_samples(in_noise(clean, chance), chance), text


def gather(folder: Path, aligner: Aligner, seed: int) -> Corpus:
    """Return the frames of the sentences in ``folder``."""
    frames, senones, noisy = [], [], []
    for clean, loud, text in corpus(folder, seed):
        found = aligner.aligned(clean, text)
        if found is None:
            continue
        for samples, has_noise in ((clean, False), (loud, True)):
            frames.append(features(samples).astype(np.float16))
            senones.append(found)
            noisy.append(np.full(len(found), has_noise))
    return Corpus(np.concatenate(frames), np.concatenate(senones), np.concatenate(noisy))


def main() -> None:
    parser = argparse.ArgumentParser(description="Make the training corpus of the field model.")
    parser.add_argument("speech", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--rounds", type=int, default=1)
    parser.add_argument("--voices", help="only these, separated by commas")
    chosen = parser.parse_args()
    names = sorted(path.parent.name for path in chosen.speech.glob("*/text.tsv"))
    dictionary = model_files(the_grammar(), cache_folder()).dictionary
    aligner = Aligner(bundled_model("en-us"), dictionary)
    chosen.out.mkdir(parents=True, exist_ok=True)
    for seed in range(chosen.rounds):
        for name in chosen.voices.split(",") if chosen.voices else names:
            path = chosen.out / f"{name}-{seed}.npz"
            if not path.exists():
                made = gather(chosen.speech / name, aligner, seed)
                np.savez(path, frames=made.frames, senones=made.senones, noisy=made.noisy)
                print(f"{path.stem}: {len(made.senones)} frames", flush=True)


if __name__ == "__main__":
    main()
