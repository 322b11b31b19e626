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

from fieldvoice.asr.model_files import bundled_model, model_files
from fieldvoice.cli.app import cache_folder, the_grammar
from models.alignment import Aligner, features
from models.circumstances import as_samples, changed, in_noise, placed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from fieldvoice.asr import Samples


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
