"""Cries for help as sentences: what a recogniser learns from, so that an emergency can be heard.

Nothing is written down twice for it. The askings of the emergency cards are said with other people
and other things in them, as ``[heard]`` in ``emergencies.toml`` lists them, and the signs are said
as they stand; what the signs would not know for an emergency is left out.
"""

from __future__ import annotations

import hashlib
import random
import re
import tomllib
from typing import TYPE_CHECKING, Any

from fieldvoice.handbook.card import words as words_of
from fieldvoice.handbook.emergency import SIGNS, Emergencies, choice_of
from fieldvoice.handbook.loader import handbook_folder, load

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

#: The cards whose askings are learnt, in the folder of the cards.
CARDS = "emergencies.md"

# How often a word that has others like it is exchanged, a cry begins or ends with more words than
# the asking has, and a sign is said in the place of an asking (choices).
_EXCHANGED, _BEGUN, _ENDED, _A_SIGN = 0.6, 0.2, 0.1, 0.25
#: A sign that says its words in their order, with nothing else that must or may not be there.
_PLAIN = re.compile(r"[^&!^$]+")


def fingerprint(folder: Path | None = None) -> str:
    """Return a hash of what cries are made from (folder left out: of the shipped handbook)."""
    place = folder or handbook_folder()
    digest = hashlib.sha256((place / CARDS).read_bytes() + (place / SIGNS).read_bytes())
    return digest.hexdigest()[:16]


def cries(count: int, seed: int = 0, folder: Path | None = None) -> Iterator[tuple[str, ...]]:
    """Yield ``count`` cries in words; repeatable by ``seed``.

    Raises:
        HandbookError: the handbook or its signs cannot be read.
    """
    place = folder or handbook_folder()
    cards = [card for card in load(place).cards if card.level == "emergency"]
    known = Emergencies(cards, place / SIGNS)
    written = tomllib.loads((place / SIGNS).read_text(encoding="utf-8"))
    asked = [words_of(text) for card in cards for text in card.asked]
    drawing = _Drawing(written, asked, random.Random(seed))
    while count > 0:
        said = drawing.draw()
        if known.find(" ".join(said)) is not None:
            count -= 1
            yield tuple(said)


class _Drawing:
    def __init__(
        self, written: Mapping[str, Any], asked: Sequence[list[str]], chance: random.Random
    ) -> None:
        words: Mapping[str, str] = written["words"]
        heard = written["heard"]
        self._asked, self._chance = asked, chance
        self._before, self._after = (
            [one.split() for one in heard[end].split(", ")] for end in ("before", "after")
        )
        self._alike: dict[tuple[str, ...], list[list[str]]] = {}
        for line in heard["exchanged"]:
            choices = [one for part in line.split(", ") for one in choice_of(part, words)]
            for one in choices:
                self._alike.setdefault(tuple(one.split()), [other.split() for other in choices])
        self._longest = max(map(len, self._alike))
        self._signs = [
            (sign, {**words, **table.get("words", {})})
            for table in written["signs"]
            for sign in table["lines"]
            if _PLAIN.fullmatch(sign)
        ]

    def draw(self) -> list[str]:
        if self._chance.random() < _A_SIGN:
            return self._sign()
        said = self._exchanged(self._chance.choice(self._asked))
        if self._chance.random() < _BEGUN:
            said = self._chance.choice(self._before) + said
        if self._chance.random() < _ENDED:
            said = said + self._chance.choice(self._after)
        return said

    def _sign(self) -> list[str]:
        sign, words = self._chance.choice(self._signs)
        tokens = (token for token in sign.split() if token != "+")
        return " ".join(self._chance.choice(choice_of(token, words)) for token in tokens).split()

    def _exchanged(self, asked: list[str]) -> list[str]:
        said: list[str] = []
        while len(asked) > 0:
            length = self._match(asked)
            alike = self._alike.get(tuple(asked[:length]))
            if alike is not None and self._chance.random() < _EXCHANGED:
                said += self._chance.choice(alike)
            else:
                said += asked[:length]
            asked = asked[length:]
        return said

    def _match(self, asked: list[str]) -> int:
        """Return how many words at the beginning have others like them; one where none have."""
        lengths = range(min(self._longest, len(asked)), 1, -1)
        return next((length for length in lengths if tuple(asked[:length]) in self._alike), 1)
