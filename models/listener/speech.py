"""The listener's lessons as sound: each text by some of the voices that anyone can install.

    python -m models.listener.speech TEXTS.tsv FOLDER [--voices hibari,…] [--workers 16]

Writes ``FOLDER/VOICE-NUMBER.npz``: the sounds one after the other (16 kHz, 16 bits), where each
ends, and the number of its line in ``TEXTS.tsv``. The voices are those of ``models/speech.py``;
``models/listener/README.md`` has their packages and licences.
"""

from __future__ import annotations

import argparse
import math
import random
import zlib
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

from models.speech import PACE, at_16_khz, voice

#: How many of the texts each voice reads: the more natural, the more.
SHARES = {
    "mixed_us": 0.10,
    "mixed_gb": 0.10,
    "hibari": 0.5,
    "pico_us": 0.2,
    "pico_gb": 0.25,
    "flite_awb": 0.05,
    "flite_rms": 0.05,
    "flite_slt": 0.05,
}
#: Texts in a file.
CHUNK = 100


def lot(name: str, count: int) -> list[int]:
    """Return the numbers of the texts that a voice reads, in its own random order."""
    order = list(range(count))
    random.Random(zlib.crc32(name.encode())).shuffle(order)
    return order[: round(SHARES[name] * count)]


def read_out(name: str, number: int, texts: list[tuple[int, str]], folder: Path) -> str:
    """Write one file of a voice; a text that it cannot say is left out."""
    chance = random.Random(zlib.crc32(f"{name} {number}".encode()))
    say = voice(name)
    sounds, lines = [], []
    for line, text in texts:
        pace = math.exp(chance.uniform(*map(math.log, PACE)))
        try:
            sound = at_16_khz(*say(text, pace))
        except (KeyError, RuntimeError, ValueError):
            continue
        sounds.append(np.round(sound / max(1.0, np.abs(sound).max()) * 32767).astype(np.int16))
        lines.append(line)
    ends = np.cumsum([len(sound) for sound in sounds])
    draft = folder / f"draft-{name}-{number}.npz"
    np.savez(draft, sound=np.concatenate(sounds), ends=ends, lines=np.array(lines))
    draft.rename(folder / f"{name}-{number}.npz")
    return f"{name} {number}: {len(lines)} texts, {ends[-1] / 16000:.0f} s"


def main() -> None:
    parser = argparse.ArgumentParser(description="Read the listener's lessons out.")
    parser.add_argument("texts", type=Path)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--voices", default=",".join(SHARES))
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--most", type=int, help="no more texts a voice than this")
    chosen = parser.parse_args()
    chosen.folder.mkdir(parents=True, exist_ok=True)
    texts = [line.split("\t")[1] for line in chosen.texts.read_text("utf-8").splitlines()]
    with ProcessPoolExecutor(chosen.workers) as pool:
        waiting = []
        for name in chosen.voices.split(","):
            mine = [(line, texts[line]) for line in lot(name, len(texts))][: chosen.most]
            for number, at in enumerate(range(0, len(mine), CHUNK)):
                part = mine[at : at + CHUNK]
                waiting.append(pool.submit(read_out, name, number, part, chosen.folder))
        for one in waiting:
            print(one.result(), flush=True)


if __name__ == "__main__":
    main()
