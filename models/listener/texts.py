"""What the listener is taught to write: sentences of the trade, and plain English beside them.

    python -m models.listener.texts WORDNET TEXTS.tsv [--without FILE]

Writes a line a sentence: its kind and its words, as they are said. ``WORDNET`` is the folder with
``data.noun`` and its like (Debian's ``wordnet-base`` 3.0, WordNet licence), whose examples of words
in use are the plain English: without it, what a model is taught makes it forget all else. ``FILE``
holds sentences, one a line, that are left out because they will be used for measuring.
"""

from __future__ import annotations

import argparse
import random
import re
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.handbook.loader import handbook_folder, load
from fieldvoice.nlu.normalise import spell
from models.speech import sentences

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

SEED = 17
ROOT = Path(__file__).parents[2]
#: Sentences of each kind, at most: of sayings and askings all that there are.
COUNTS = {
    "grammar": 5_500,
    "sayings": 15_000,
    "none": 5_000,
    "askings": 30_000,
    "remarks": 1_500,
    "numbers": 1_500,
    "short": 1_000,
    "plain": 9_000,
}
#: The words of a sentence, fewest and most.
WORDS = (1, 16)

_OPENINGS = (
    "make a note",
    "make a note that",
    "note",
    "take a note",
    "remember that",
    "write down",
    "write down that",
    "add a note",
    "jot down that",
    "remark",
)
_EXAMPLE = re.compile(r'"([^"]+)"')
_PLAIN = re.compile(r"[A-Za-z][A-Za-z' ]*")
_MONTHS = (
    "january february march april may june july august september october november december".split()
)
_MINUTES = ("thirty", "fifteen", "forty five", "twenty")
_ORDINALS = (
    "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth "
    "fifteenth twentieth thirtieth".split()
)


def examples(wordnet: Path) -> Iterator[str]:
    """Yield the examples of WordNet that are words alone, as they are said."""
    for part in ("noun", "verb", "adj", "adv"):
        for line in (wordnet / f"data.{part}").read_text("latin-1").splitlines():
            for said in _EXAMPLE.findall(line.partition("|")[2]):
                if _PLAIN.fullmatch(said):
                    yield said.lower()


def taught(folder: str) -> Iterator[str]:
    """Yield the lines of a folder of ``sayings/`` that are said, not typed with a thumb."""
    for path in sorted((ROOT / "sayings" / folder).glob("*.txt")):
        for line in path.read_text("utf-8").splitlines():
            said = line.partition("=>")[0].strip()
            if said and not said.startswith("#"):
                yield spoken(said)


def askings() -> Iterator[str]:
    for card in load(handbook_folder()).cards:
        yield from map(spoken, card.asked)


def spoken(line: str) -> str:
    """Return a line without its stops and capitals; figures stay, and such lines are left out."""
    return " ".join(re.sub(r"[^a-z0-9' ]+", " ", line.lower()).split())


def numbers(chance: random.Random) -> Iterator[str]:
    """Yield numbers as people read them: digits, dates, clock times, and what sounds alike."""
    digits = "zero oh one two three four five six seven eight nine".split()
    while True:
        yield " ".join(chance.choices(digits, k=chance.randint(1, 7)))
        yield " ".join(spell(chance.randint(10, 99)) for _ in range(chance.randint(1, 3)))
        yield f"{chance.choice(_MONTHS)} {chance.choice(_ORDINALS)}"
        month, day = chance.choice(_MONTHS), spell(chance.randint(1, 31))
        yield f"{month} {day} nineteen {spell(chance.randint(10, 99))}"
        hour, minutes = spell(chance.randint(1, 12)), chance.choice(_MINUTES)
        yield f"{hour} {minutes} {chance.choice(('a m', 'p m'))}"
        teen = chance.randint(3, 9)
        yield " ".join(chance.sample([spell(10 + teen), spell(10 * teen), spell(teen)], k=2))


def short(words: list[str], chance: random.Random) -> Iterator[str]:
    """Yield single words and pairs out of plain sentences, and how one answers."""
    yield from (
        "yes",
        "no",
        "yes please",
        "no thanks",
        "yeah",
        "nope",
        "okay",
        "stop",
        "go",
        "start",
    )
    yield from ("up", "down", "left", "right", "on", "off", "next", "back", "again", "help", "quit")
    while True:
        yield " ".join(chance.sample(words, k=chance.choice((1, 1, 2))))


def kinds(wordnet: Path, without: frozenset[str]) -> Iterator[tuple[str, Iterable[str]]]:
    """Yield each kind and more sentences of it than are needed, in a random order."""
    chance = random.Random(SEED)
    plain = sorted(set(examples(wordnet)))
    chance.shuffle(plain)
    common = sorted({word for line in plain for word in line.split() if len(word) > 2})
    yield "grammar", sentences(COUNTS["grammar"] + 200, SEED, without)
    for folder, kind in (("paraphrases", "sayings"), ("none", "none")):
        lines = sorted(set(taught(folder)))
        chance.shuffle(lines)
        yield kind, lines
    asked = sorted(set(askings()))
    chance.shuffle(asked)
    yield "askings", asked
    yield "remarks", (f"{chance.choice(_OPENINGS)} {said}" for said in plain[-2000:])
    yield "numbers", numbers(chance)
    yield "short", short(common, chance)
    yield "plain", (said for said in plain if len(said.split()) >= 3)


def main() -> None:
    parser = argparse.ArgumentParser(description="Write down what the listener is taught.")
    parser.add_argument("wordnet", type=Path)
    parser.add_argument("file", type=Path)
    parser.add_argument("--without", type=Path, help="sentences to leave out, one a line")
    chosen = parser.parse_args()
    lines = chosen.without.read_text("utf-8").splitlines() if chosen.without else ()
    done = set(lines)
    with chosen.file.open("w", encoding="utf-8") as file:
        for kind, said in kinds(chosen.wordnet, frozenset(lines)):
            count = 0
            for text in said:
                fits = WORDS[0] <= len(text.split()) <= WORDS[1] and re.fullmatch(r"[a-z' ]+", text)
                if fits and text not in done:
                    done.add(text)
                    file.write(f"{kind}\t{text}\n")
                    count += 1
                if count == COUNTS[kind]:
                    break


if __name__ == "__main__":
    main()
