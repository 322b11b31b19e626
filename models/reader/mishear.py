"""Makes ``misheard.txt``: taught lines read out by voices, as the program's own ears hear them.

    python -m models.reader.mishear [--share 0.6] [--workers 2]

Two seconds of one core a line. The voices are those of ``models/speech.py``; Pico's vary a little
from one time to the next, so that some lines come out otherwise. No line is taken that is held out.
"""

from __future__ import annotations

import argparse
import math
import random
import zlib
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldvoice.cli.app import the_grammar
from fieldvoice.cli.recognisers import ears
from fieldvoice.homophones import with_figures
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.normalise import text_of, words_of
from models import noise
from models.reader.corpus import written_rows
from models.reader.misheard import FILE, Words, joined, plain, row_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from fieldvoice.asr import Recogniser, Samples

#: So many lines are read out of notes, questions of the book's own, askings, commands and talk.
LINES = {"act": 1200, "ask": 600, "card": 800, "do": 100, "": 400}
#: Words in a line.
SHORTEST, LONGEST = 3, 24
VOICES = ("pico_us", "pico_gb", "hibari", "flite_slt", "flite_rms", "flite_awb")
#: So many of the ways in which the one held to no grammar would write it.
FREELY = 2
#: How often there is noise, and how far below the voice, in dB.
NOISY, BELOW_DB = 1 / 3, (8, 20)
#: Silence before and after, in samples.
BEFORE, AFTER = 4800, 6400


def lines(written: Mapping[Words, Mapping[str, Any]], share: float) -> list[Words]:
    """Return the words of the lines to read out, without commas, so many of each kind."""
    lots: dict[str, list[Words]] = {kind: [] for kind in LINES}
    for words, row in written.items():
        kinds = {kind.partition("=")[0] for kind in row["kinds"]} or {""}
        if row["part"] == "learn" and SHORTEST <= len(words) <= LONGEST and len(kinds) == 1:
            lots.setdefault(kinds.pop(), []).append(words)
    chance = random.Random(11)
    drawn = [
        one
        for kind, count in LINES.items()
        for one in chance.sample(lots[kind], min(round(share * count), len(lots[kind])))
    ]
    chance.shuffle(drawn)
    return drawn


def spoken(said: Words) -> Samples:
    """Return the sound of a line by one of the voices, every third in noise."""
    from models.speech import PACE, at_16_khz

    seed = zlib.crc32(" ".join(said).encode())
    chance, places = random.Random(seed), np.random.default_rng(seed)
    say = _voice(chance.choice(VOICES))
    pace = math.exp(chance.uniform(*map(math.log, PACE)))
    sound = at_16_khz(*say(text_of(said), pace))
    sound = np.pad(sound, (BEFORE, AFTER))
    if chance.random() < NOISY:
        below = 10 ** (-chance.uniform(*BELOW_DB) / 20)
        sound = noise.level(sound) + below * noise.any_kind(places)(places, len(sound))
    loud = chance.uniform(0.2, 0.9) / max(np.abs(sound).max(), 1e-9)
    samples: Samples = np.round(sound * loud * 32767).astype(np.int16)
    return samples


def heard(said: Words) -> tuple[Words, list[Words]]:
    """Return a line and the ways in which it may be heard.

    As the listener held to no grammar wrote it, and would if not so, and as both together heard it.
    """
    both, free = _ears()
    try:
        sound = spoken(said)
    except (KeyError, RuntimeError, ValueError):  # a voice cannot say it
        return said, []
    written = (one.text for one in free.recognise(sound).alternatives)
    ways = [words_of(with_figures(one), the_grammar().words) for one in written]
    together = words_of(with_figures(both.recognise(sound).text), the_grammar().words)
    return said, list(dict.fromkeys([*ways[:FREELY], together]))


def misheard(
    every: Iterator[tuple[Words, list[Words]]], written: Mapping[Words, Mapping[str, Any]]
) -> Iterator[str]:
    """Yield the lines of the file: those with words wrong that still say what was said."""
    for said, ways in every:
        for way in ways:
            if way not in written and row_of(written[said], way) is not None:
                yield joined(said, way)


@cache
def _ears() -> tuple[Recogniser, Recogniser]:
    return ears(the_grammar()), ears(the_grammar(), "whisper")


@cache
def _voice(name: str) -> Any:
    from models.speech import voice

    return voice(name)


def main() -> None:
    """Write the file."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--share", type=float, default=1.0, help="of the lines read out, so many")
    asked.add_argument("--workers", type=int, default=2)
    given = asked.parse_args()
    grammar = the_grammar()
    written: dict[Words, Mapping[str, Any]] = {}
    for row in written_rows(grammar, Interpreter(grammar).networks):
        written.setdefault(plain(row["words"]), row)
    said = lines(written, given.share)
    with ProcessPoolExecutor(given.workers) as pool:
        found = list(dict.fromkeys(misheard(pool.map(heard, said), written)))
    FILE.write_text("".join(f"{line}\n" for line in sorted(found)), encoding="utf-8")
    kinds = Counter(kind.partition("=")[0] for one in said for kind in written[one]["kinds"])
    print(len(said), "lines said:", dict(kinds), "misheard:", len(found))


if __name__ == "__main__":
    main()
