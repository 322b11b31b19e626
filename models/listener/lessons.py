"""The listener's lessons: what was read out, by other speakers, in rooms, in noise, on telephones.

    python -m models.listener.lessons TEXTS.tsv SPEECH LESSONS [--count 40000] [--workers 16]

``SPEECH`` is the folder of ``models.listener.speech``. A lesson is a sound as it would be
recorded, the same without its noise (what a teacher hears), and the text. Noise is made by
``models/noise.py``.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from scipy.signal import butter, sosfilt

from models import noise
from models.circumstances import as_samples, changed, mixed, placed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from models.noise import Sound

SAMPLE_RATE = 16_000
#: How often each kind of text is a lesson.
KINDS = {
    "grammar": 0.17,
    "sayings": 0.15,
    "none": 0.05,
    "askings": 0.20,
    "remarks": 0.05,
    "numbers": 0.09,
    "short": 0.05,
    "plain": 0.24,
}
#: How much oftener a voice is heard than its number of clips would have it: few are natural.
LIKED = {"mixed_us": 5.0, "mixed_gb": 5.0, "flite_awb": 0.5, "flite_rms": 0.5, "flite_slt": 0.5}
NOISY, RATIOS_DB = 0.7, (0.0, 25.0)
PEOPLE, COLOURED, TELEPHONE, CLIPPED = 0.15, 0.4, 0.12, 0.06
#: Another speaker still: pitch, formants and pace, up and down.
RESAMPLED = (0.93, 1.08)
#: How often several texts are said with a pause between, and the pause in seconds.
JOINED, PAUSE_S = 0.2, (0.3, 1.5)
#: The longest lesson in seconds.
LONGEST_S = 14.0
SHARD = 500


class Speech:
    """What was read out, by kind of text."""

    def __init__(self, texts: Path, folder: Path) -> None:
        rows = [line.split("\t") for line in texts.read_text("utf-8").splitlines()]
        self._sounds: list[NDArray[np.int16]] = []
        self._texts: list[str] = []
        kinds, liked = [], []
        for path in sorted(folder.glob("[!d]*.npz")):
            with np.load(path) as file:
                sound, ends, lines = file["sound"], file["ends"], file["lines"]
            for begin, end, line in zip([0, *ends[:-1]], ends, lines, strict=True):
                self._sounds.append(sound[begin:end])
                self._texts.append(rows[line][1])
                kinds.append(rows[line][0])
                liked.append(LIKED.get(path.name.rpartition("-")[0], 1.0))
        self._of_kind = {kind: np.flatnonzero(np.array(kinds) == kind) for kind in KINDS}
        self._liked = np.array(liked)

    def one_of(self, kind: str, chance: np.random.Generator) -> tuple[Sound, str]:
        """Return the sound and the words of a text of a kind."""
        numbers = self._of_kind[kind]
        shares = self._liked[numbers] / self._liked[numbers].sum()
        number = int(chance.choice(numbers, p=shares))
        return self._sounds[number] / 32768, self._texts[number]

    def lesson(
        self, chance: np.random.Generator
    ) -> tuple[NDArray[np.int16], ...] | tuple[str, ...]:
        """Return a sound, the same without noise, the text and its kind."""
        kind = str(chance.choice(list(KINDS), p=list(KINDS.values())))
        sound, text = self.one_of(kind, chance)
        while chance.random() < JOINED and len(sound) < LONGEST_S * SAMPLE_RATE / 2:
            more, words = self.one_of(kind, chance)
            pause = np.zeros(int(SAMPLE_RATE * chance.uniform(*PAUSE_S)))
            sound, text = np.concatenate([sound, pause, more]), f"{text} {words}"
        # once more than ``changed`` does it: the voices are few
        places = np.arange(0, len(sound) - 1, np.exp(chance.uniform(*np.log(RESAMPLED))))
        sound = np.interp(places, np.arange(len(sound)), sound)
        clean = placed(changed(sound, chance)[0], chance)[: round(LONGEST_S * SAMPLE_RATE)]
        loud = self._in_noise(clean, chance) if chance.random() < NOISY else clean
        if chance.random() < TELEPHONE:
            loud = telephone(loud, chance)
        if chance.random() < CLIPPED:
            most = np.abs(loud).max() * chance.uniform(0.2, 0.7)
            loud = np.clip(loud, -most, most)
        return as_samples(loud, chance), as_samples(clean, chance), text, kind  # type: ignore[return-value]

    def _in_noise(self, sound: Sound, chance: np.random.Generator) -> Sound:
        if chance.random() < PEOPLE:
            talk = [self.one_of("plain", chance)[0] for _ in range(3)]
            loud = noise.people(chance, len(sound), talk)
            return mixed(sound, loud, chance.uniform(8, RATIOS_DB[1]))
        loud = noise.any_kind(chance)(chance, len(sound))
        if chance.random() < COLOURED:
            loud = noise.level(noise.coloured(loud, chance))
        return mixed(sound, loud, chance.uniform(*RATIOS_DB))


def telephone(sound: Sound, chance: np.random.Generator) -> Sound:
    """Return ``sound`` in a telephone's band and with its steps of a logarithmic scale."""
    low, high = chance.uniform(150, 400), chance.uniform(2800, 3800)
    sections = butter(4, [low, high], "bandpass", fs=SAMPLE_RATE, output="sos")
    narrow = sosfilt(sections, sound)
    most = np.abs(narrow).max() + 1e-9
    curved = np.sign(narrow) * np.log1p(255 * np.abs(narrow) / most) / np.log(256)
    stepped = np.round(curved * 127) / 127
    found: Sound = np.sign(stepped) * np.expm1(np.abs(stepped) * np.log(256)) / 255 * most
    return found


@cache
def _speech(texts: Path, folder: Path) -> Speech:
    return Speech(texts, folder)


def write_shard(texts: Path, folder: Path, out: Path, number: int) -> int:
    """Write ``SHARD`` lessons; return their number."""
    speech = _speech(texts, folder)
    heard, clean, said, kinds = [], [], [], []
    for one in range(SHARD):
        chance = np.random.default_rng([number, one])
        loud, plain, text, kind = speech.lesson(chance)
        heard.append(loud)
        clean.append(plain)
        said.append(text)
        kinds.append(kind)
    np.savez(
        out / f"{number:04}.npz",
        heard=np.concatenate(heard),
        clean=np.concatenate(clean),
        ends=np.cumsum([len(sound) for sound in heard]),
        texts=np.array(said),
        kinds=np.array(kinds),
    )
    return number


def main() -> None:
    parser = argparse.ArgumentParser(description="Make the listener's lessons.")
    parser.add_argument("texts", type=Path)
    parser.add_argument("speech", type=Path)
    parser.add_argument("lessons", type=Path)
    parser.add_argument("--count", type=int, default=40_000)
    parser.add_argument("--workers", type=int, default=2)
    chosen = parser.parse_args()
    chosen.lessons.mkdir(parents=True, exist_ok=True)
    _speech(chosen.texts, chosen.speech)
    with ProcessPoolExecutor(chosen.workers) as pool:
        each = (
            pool.submit(write_shard, chosen.texts, chosen.speech, chosen.lessons, number)
            for number in range(-(-chosen.count // SHARD))
        )
        print(len([one.result() for one in list(each)]), "files of lessons")


if __name__ == "__main__":
    main()
