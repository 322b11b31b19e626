"""Knows an emergency from a few words, however they are put, before anything else is tried.

Its signs are plain text, ``handbook/emergencies.toml``, which tells its own form. A saying is looked
through in three steps: what only sounds like harm is struck out, a story of another time ends the
search, and the first card with a sign in what is left is the answer. Nothing is weighed: why a
saying led to a card can be read in one line of the file.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from rapidfuzz.distance import OSA

from fieldvoice.errors import HandbookError
from fieldvoice.handbook.card import Card
from fieldvoice.handbook.card import words as words_of
from fieldvoice.handbook.loader import handbook_folder, load

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

#: The file of the signs, in the folder of the cards.
SIGNS = "emergencies.toml"

#: Words this long may be written or heard with one slip.
_LONG = 5

#: Up to so many other words may stand between two words of a sign.
_BETWEEN = r"(?: \S+){0,2} "

#: What stands for a struck figure of speech; wider than any gap.
_STRUCK = " * * * "

_NAMED = re.compile(r"<(\w+)>")
_LETTERS = re.compile(r"[a-z]+")


def emergency(words: str) -> Card | None:
    """Return the card of the emergency that is told in ``words``; None where there is none.

    Reads the handbook on the first call.

    Raises:
        HandbookError: the handbook or its signs cannot be read.
    """
    return _shipped().find(words)


@cache
def _shipped() -> Emergencies:
    folder = handbook_folder()
    return Emergencies(load(folder).cards, folder / SIGNS)


@dataclass(frozen=True, slots=True)
class _Sign:
    """Parts that must all be there, and parts of which none may be."""

    needed: tuple[re.Pattern[str], ...]
    barred: tuple[re.Pattern[str], ...]

    def met(self, said: str) -> bool:
        return all(part.search(said) for part in self.needed) and not any(
            part.search(said) for part in self.barred
        )


class Emergencies:
    """The emergency cards and their signs; made once, in some hundredths of a second."""

    def __init__(self, cards: Iterable[Card], file: Path) -> None:
        """Read the signs in ``file``.

        Raises:
            HandbookError: it is no TOML, or names a word or a card that is not there.
        """
        urgent = {card.id: card for card in cards if card.level == "emergency"}
        try:
            written = tomllib.loads(file.read_text(encoding="utf-8"))
            self._read(written, urgent)
        except (OSError, ValueError, KeyError, TypeError, re.error) as fault:
            raise HandbookError(f"{file}: {fault}") from fault
        self._asked = {
            _plain(asked): card for card in urgent.values() for asked in card.asked
        }  # fmt: skip
        texts = " ".join(f"{card.say} {card.why} {' '.join(card.asked)}" for card in cards)
        self._known = {*_plain(texts).split(), *_LETTERS.findall(str(written))}
        self._watched = sorted(
            {word for word in _LETTERS.findall(str(written)) if len(word) >= _LONG}
        )

    def _read(self, written: Mapping[str, Any], urgent: Mapping[str, Card]) -> None:
        words: Mapping[str, str] = written["words"]
        self._figures = _patterns(written["figures"], words)
        self._stories = _patterns(written["stories"], words)
        self._now = _part("<now>", words)
        self._signs = [
            (urgent[sign["card"]], [_sign(line, {**words, **sign.get("words", {})}) for line in sign["lines"]])
            for sign in written["signs"]
        ]

    def find(self, text: str) -> Card | None:
        """Return the first card with a sign in ``text``, struck figures and stories apart."""
        said = self._spelled(_plain(text))
        left = said
        for figure in self._figures:
            left = figure.sub(_STRUCK, left)
        if not left.strip(" *"):
            return None
        if said.strip() in self._asked:
            return self._asked[said.strip()]
        if any(told.search(said) for told in self._stories) and not self._now.search(said):
            return None
        for card, signs in self._signs:
            if any(sign.met(left) for sign in signs):
                return card
        return None

    def _spelled(self, text: str) -> str:
        return f" {' '.join(self._respelled(word) for word in text.split())} "

    def _respelled(self, word: str) -> str:
        """Return the word of a sign that this is with one slip; a word that is known stays."""
        if len(word) < _LONG or word in self._known:
            return word
        near = (
            watched for watched in self._watched if OSA.distance(word, watched, score_cutoff=1) <= 1
        )
        return next(near, word)


def _plain(text: str) -> str:
    """Return the words of a text in small letters, with nothing where an apostrophe was."""
    return " ".join(words_of(text)).replace("'", "")


def _patterns(table: Mapping[str, Any], words: Mapping[str, str]) -> list[re.Pattern[str]]:
    known = {**words, **table.get("words", {})}
    return [_part(line, known) for line in table["lines"]]


def _sign(line: str, words: Mapping[str, str]) -> _Sign:
    needed, barred = [], []
    for part in line.replace("!", "&!").split("&"):
        if part.startswith("!"):
            barred.append(_part(part[1:], words))
        elif part.strip():
            needed.append(_part(part, words))
    return _Sign(tuple(needed), tuple(barred))


def _part(written: str, words: Mapping[str, str]) -> re.Pattern[str]:
    """Return the pattern of words in their order; the text begins and ends with a space."""
    made, touch = "", True
    for token in written.split():
        if token == "+":
            touch = True
        elif token == "^":
            made, touch = "^", True
        elif token == "$":
            made += r"(?= $)"
        else:
            made += (" " if touch else _BETWEEN) + f"(?:{_choice(token, words)})"
            touch = False
    return re.compile(made + r"(?= )")


def _choice(token: str, words: Mapping[str, str]) -> str:
    """Return a word, or the words that go by a name, as alternatives."""
    named = _NAMED.fullmatch(token)
    if named is None:
        return re.escape(token)
    listed = (one.strip() for one in words[named[1]].split(","))
    return "|".join(
        _choice(one, words) if _NAMED.fullmatch(one) else re.escape(one.replace(" +", ""))
        for one in listed
    )
