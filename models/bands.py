"""The net's corpus: mel bands of read speech in every kind of noise, and the state of each frame.

    python -m models.bands SPEECH OUT [--rounds 5] [--voices pico_gb,…]

``SPEECH`` is the folder of ``models.speech``. The senones of a sentence are found once, as it was
read, and carried over to the same sentence by another speaker. The first round keeps each sentence
clean and in noise, the others in noise alone; from the third on the noise is of more kinds, other
people talking among them; from the fifth on it is taken out again where the recogniser would do so,
for what that leaves is what the net hears. A file a voice and round.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile

from fieldvoice.asr.acoustic_files import read_senones
from fieldvoice.asr.cleaner import Cleaner, is_noisy
from fieldvoice.asr.floor import with_floor
from fieldvoice.asr.front_end import bands, power_spectra
from fieldvoice.asr.model_files import bundled_model, model_files
from fieldvoice.asr.phone_net import STATES_OF_A_PHONE
from fieldvoice.cli.app import cache_folder, the_grammar
from models import noise
from models.alignment import Aligner
from models.circumstances import as_samples, changed, in_noise, mixed, placed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from fieldvoice.asr import Samples
    from models.noise import Sound

#: From this round on noise is of every kind and down to this ratio in dB.
WIDE_FROM, WIDE_RATIOS_DB = 2, (0.0, 22.0)
#: From this round on the net is shown what the recogniser's cleaner leaves.
CLEANED_FROM = 4
#: How often another noise comes on top, and how often noise is coloured.
SECOND_SHARE, COLOURED_SHARE = 0.3, 0.6
#: Silence around a sentence for the alignment, and the level it is brought to.
_EDGE, _LOUD = 4800, 12000
_SHIFT, _HALF = 160, 205


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """Frames (count, 40) of half floats, the state of each, and how many each utterance has."""

    frames: NDArray[np.float16]
    states: NDArray[np.int16]
    lengths: NDArray[np.int64]


def read_bands(path: Path) -> Bands:
    """Return the corpus in the file ``path``."""
    with np.load(path) as file:
        return Bands(file["frames"], file["states"], file["lengths"])


def sentences(folder: Path, aligner: Aligner) -> Iterator[tuple[int, Sound, NDArray[np.int16]]]:
    """Yield the number of each sentence in ``folder``, its sound, and its senones."""
    for line in (folder / "text.tsv").read_text(encoding="utf-8").splitlines():
        number, text = line.split("\t")
        sound, _ = soundfile.read(folder / f"{number}.flac")
        padded = np.pad(sound, _EDGE)
        hiss = np.random.default_rng(int(number)).normal(0, 4, len(padded))
        loud = np.round(padded / np.abs(padded).max() * _LOUD + hiss)
        found = aligner.aligned(np.clip(loud, -32768, 32767).astype(np.int16), text)
        if found is not None:
            yield int(number), sound, found


def versions(
    sound: Sound, chance: np.random.Generator, others: list[Path], kept: int
) -> tuple[list[Samples], float, int]:
    """Return ``sound`` by another speaker, clean and noisy; its pace, and the silence before."""
    # a length with small factors, for the transforms
    other, pace, before = changed(sound, chance, multiple=4000)
    clean = placed(other, chance)
    loud = in_any_noise(clean, chance, others) if kept >= WIDE_FROM else in_noise(clean, chance)
    made = [as_samples(loud, chance)]
    if kept == 0:
        made.append(as_samples(clean, chance))
    return made, pace, before


def in_any_noise(sound: Sound, chance: np.random.Generator, others: list[Path]) -> Sound:
    """Return ``sound`` with noise of one or two kinds, of any colour."""
    count = len(sound)
    if chance.random() < noise.PEOPLE_SHARE:
        both = noise.people(chance, count, [_read(path) for path in chance.choice(others, 4)])
    else:
        both = noise.any_kind(chance)(chance, count)
    if chance.random() < SECOND_SHARE:
        both = both + 10 ** chance.uniform(-0.7, 0) * noise.any_kind(chance)(chance, count)
    if chance.random() < COLOURED_SHARE:
        both = noise.coloured(both, chance)
    return mixed(sound, noise.level(both), chance.uniform(*WIDE_RATIOS_DB))


@cache
def _read(path: Path) -> Sound:
    sound, _ = soundfile.read(path)
    return np.asarray(sound)


def as_heard(samples: Samples) -> Samples:
    """Return an utterance as the recogniser hears it: noise taken out if there is any."""
    return _cleaner().cleaned_alone(samples) if is_noisy(samples) else samples


@cache
def _cleaner() -> Cleaner:
    return Cleaner()


def carried(senones: NDArray[np.int16], count: int, pace: float, before: int) -> NDArray[np.int16]:
    """Return the senones of ``count`` frames of a sentence said at another ``pace``."""
    middle = np.arange(count) * _SHIFT + _HALF - before
    places = (middle * pace + _EDGE - _HALF) / _SHIFT
    return senones[np.clip(np.round(places).astype(int), 0, len(senones) - 1)]


def gather(folder: Path, aligner: Aligner, rounds: int) -> Iterator[Bands]:
    """Yield the bands of the sentences in ``folder``, round by round."""
    senones = read_senones((bundled_model("en-us") / "mdef").read_bytes())
    state_of = STATES_OF_A_PHONE * senones.phone_of + senones.state_of
    others = sorted(folder.parent.glob("*/*0.flac"))
    known = list(sentences(folder, aligner))
    for kept in range(rounds):
        frames, states = [], []
        for number, sound, found in known:
            chance = np.random.default_rng([kept, number, *folder.name.encode()])
            made, pace, before = versions(sound, chance, others, kept)
            if kept >= CLEANED_FROM:
                made = [as_heard(samples) for samples in made]
            for samples in made:
                seen = bands(power_spectra(with_floor(samples)))
                frames.append(seen.astype(np.float16))
                states.append(state_of[carried(found, len(seen), pace, before)])
        lengths = np.array([len(one) for one in frames])
        yield Bands(np.concatenate(frames), np.concatenate(states).astype(np.int16), lengths)


def main() -> None:
    parser = argparse.ArgumentParser(description="Make the training corpus of the net.")
    parser.add_argument("speech", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--voices", help="only these, separated by commas")
    chosen = parser.parse_args()
    names = sorted(path.parent.name for path in chosen.speech.glob("*/text.tsv"))
    dictionary = model_files(the_grammar(), cache_folder()).dictionary
    aligner = Aligner(bundled_model("en-us"), dictionary)
    chosen.out.mkdir(parents=True, exist_ok=True)
    for name in chosen.voices.split(",") if chosen.voices else names:
        for kept, made in enumerate(gather(chosen.speech / name, aligner, chosen.rounds)):
            path = chosen.out / f"{name}-{kept}.npz"
            np.savez(path, frames=made.frames, states=made.states, lengths=made.lengths)
            print(f"{path.stem}: {len(made.states)} frames", flush=True)


if __name__ == "__main__":
    main()
