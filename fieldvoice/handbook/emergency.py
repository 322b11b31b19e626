"""Knows an emergency from a few words, however they are put, before anything else is tried.

Its signs are plain text, ``handbook/emergencies.toml``, which tells its own form. A saying is
looked through in three steps: what only sounds like harm is struck out, a story of another time
ends the search, and the first card with a sign in what is left is the answer. Nothing is weighed:
why a saying led to a card can be read in one line of the file.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache, cached_property
from typing import TYPE_CHECKING, Any

from fieldvoice.errors import HandbookError
from fieldvoice.handbook.card import Card
from fieldvoice.handbook.card import words as words_of
from fieldvoice.handbook.loader import handbook_folder, shipped, shipped_urgent

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from fieldvoice.transcript import Transcript

    Tokens = Callable[[str], tuple[str, frozenset[str]]]

#: The file of the signs, in the folder of the cards.
SIGNS = "emergencies.toml"

#: The words of a cry fit the sound this well at least (see ``fieldvoice.transcript``), and where
#: another hearing than the best one has it, this well.
CRY_FIT, PLAIN_FIT = -0.0011, -0.0005
#: Another hearing counts down to this natural-log score beside the best one.
NEAR = -40.0

#: Shorter words have no slips: too many other words are near.
_LONG = 5

#: Up to so many other words may stand between two words of a sign.
_BETWEEN = r"(?: \S+){0,2} "

#: What stands for a struck figure of speech; wider than any gap.
_STRUCK = " * * * "

# As a listener that hears any words writes them: the signs have them in one.
_APART = re.compile(r"\b(?:can ?not|will not)\b")
_JOINED = {"can not": "cant", "cannot": "cant", "will not": "wont"}

_NAMED = re.compile(r"<(\w+)>")
_LETTERS = re.compile(r"[a-z]+")


def emergency(words: str) -> Card | None:
    """Return the card of the emergency that is told in ``words``; None where there is none.

    Reads the handbook on the first call.

    Raises:
        HandbookError: the handbook or its signs cannot be read.
    """
    return _shipped().find(words)


def emergency_in(heard: Transcript) -> Card | None:
    """Return the card of the emergency in what was heard: in its words, or in another hearing.

    Sound that fits no words is nobody's cry. Another hearing counts where it is nearly as likely as
    the best one, the sound is plainly speech of this trade, and the best one is not what only
    sounds like harm ("nobody got hurt" beside "no buddy got hurt").

    Raises:
        HandbookError: the handbook or its signs cannot be read.
    """
    fit = heard.fit or 0.0
    found = emergency(heard.text) if fit >= CRY_FIT else None
    if found is not None or fit < PLAIN_FIT or _shipped().is_harmless(heard.text):
        return found
    near = (one.text for one in heard.alternatives if one.score >= NEAR)
    return next((card for text in near if (card := emergency(text)) is not None), None)


@cache
def _shipped() -> Emergencies:
    return Emergencies(shipped_urgent(), handbook_folder() / SIGNS, lambda: shipped().cards)


@dataclass(frozen=True, slots=True)
class _Part:
    """Words in their order. ``begins``: of each, how it may begin; all must be in a saying.

    Nearly all of the thousand patterns are never needed, so each is compiled when it is.
    """

    written: str
    begins: tuple[frozenset[str], ...]

    @property
    def pattern(self) -> re.Pattern[str]:
        return _compiled(self.written)

    def found(self, said: str, words: frozenset[str]) -> bool:
        return self.possible(words) and self.pattern.search(said) is not None

    def possible(self, words: frozenset[str]) -> bool:
        """Tell quickly whether the words are there at all: what nearly every saying lacks."""
        return not any(begin.isdisjoint(words) for begin in self.begins)


_compiled = cache(re.compile)


@dataclass(frozen=True, slots=True)
class _Sign:
    """Parts that must all be there, and parts of which none may be."""

    needed: tuple[_Part, ...]
    barred: tuple[_Part, ...]

    def met(self, said: str, words: frozenset[str]) -> bool:
        return all(part.found(said, words) for part in self.needed) and not any(
            part.found(said, words) for part in self.barred
        )


class Emergencies:
    """The emergency cards and their signs; made once, in some hundredths of a second.

    ``every`` gives all cards where ``cards`` are not all: their words take longer to read.
    """

    def __init__(
        self,
        cards: Sequence[Card],
        file: Path,
        every: Callable[[], Sequence[Card]] | None = None,
    ) -> None:
        """Read the signs in ``file``.

        Raises:
            HandbookError: it is no TOML, or names a word or a card that is not there.
        """
        self._every = every or (lambda: cards)
        urgent = {card.id: card for card in cards if card.level == "emergency"}
        try:
            written = tomllib.loads(file.read_text(encoding="utf-8"))
            self._read(written, urgent)
            spelled = written["spelled"]
            watched: list[str] = spelled["words"].split(", ")
            self._watched = {one: 1 + (len(one) > 8) for one in watched}
            self._letters = str([written["words"], written["signs"], spelled["right"]])
        except (OSError, ValueError, KeyError, TypeError) as fault:
            raise HandbookError(f"{file}: {fault}") from fault
        self._asked = {
            _plain(asked): card for card in urgent.values() for asked in card.asked
        }  # fmt: skip
        self._respelled: dict[str, str] = {}

    @cached_property
    def _known(self) -> frozenset[str]:
        """Every word that stands in the handbook or in a sign: none of them is a slip."""
        texts = " ".join(f"{card.say} {card.why} {' '.join(card.asked)}" for card in self._every())
        return frozenset((*_plain(texts).split(), *_LETTERS.findall(self._letters)))

    def _read(self, written: Mapping[str, Any], urgent: Mapping[str, Card]) -> None:
        words: Mapping[str, str] = written["words"]
        self._figures = _parts(written["figures"], words)
        self._stories = _parts(written["stories"], words)
        self._now = _part("<now>", _tokens(words))
        self._signs = [
            (urgent[table["card"]], sign)
            for table in written["signs"]
            for sign in _signs(table, words)
        ]
        self._by_word: dict[str, list[int]] = {}
        for at, (_, sign) in enumerate(self._signs):
            for word in min((part.begins[0] for part in sign.needed), key=len):
                self._by_word.setdefault(word, []).append(at)

    def find(self, text: str) -> Card | None:
        """Return the first card with a sign in ``text``, struck figures and stories apart."""
        said = self._spelled(_plain(text))
        words = frozenset(said.split())
        left = self._without_figures(said, words)
        if not left.strip(" *"):
            return None
        if said.strip() in self._asked:
            return self._asked[said.strip()]
        if self._is_story(said, words):
            return None
        met = (at for at in self._likely(words) if self._signs[at][1].met(left, words))
        first = next(met, None)
        return None if first is None else self._signs[first][0]

    def is_harmless(self, text: str) -> bool:
        """Tell whether ``text`` has a figure of speech in it, or is of another time."""
        said = self._spelled(_plain(text))
        words = frozenset(said.split())
        return self._without_figures(said, words) != said or self._is_story(said, words)

    def _without_figures(self, said: str, words: frozenset[str]) -> str:
        for figure in self._figures:
            if figure.possible(words):
                said = figure.pattern.sub(_STRUCK, said)
        return said

    def _likely(self, words: frozenset[str]) -> list[int]:
        """Return the places of the signs of which the rarest word is said, in their order."""
        return sorted({at for word in words for at in self._by_word.get(word, ())})

    def _is_story(self, said: str, words: frozenset[str]) -> bool:
        told = any(story.found(said, words) for story in self._stories)
        return told and not self._now.found(said, words)

    def _spelled(self, text: str) -> str:
        return f" {' '.join(self._rightly(word) for word in text.split())} "

    def _rightly(self, word: str) -> str:
        """Return the word of a sign that this is with a slip; a word that is known stays."""
        if len(word) < _LONG:
            return word
        if word not in self._respelled:
            near = self._near(word)
            self._respelled[word] = word if near is None or word in self._known else near
        return self._respelled[word]

    def _near(self, word: str) -> str | None:
        letters = frozenset(word)
        for one, slips in self._watched.items():
            # Words with other letters need not be compared, nor the library be loaded for them.
            if len(letters.symmetric_difference(one)) <= 2 * slips and _is_slip(word, one, slips):
                return one
        return None


def _is_slip(word: str, meant: str, slips: int) -> bool:
    from rapidfuzz.distance import OSA

    return OSA.distance(word, meant) <= slips


def _plain(text: str) -> str:
    """Return the words of a text in small letters, with nothing where an apostrophe was."""
    plain = " ".join(words_of(text)).replace("'", "")
    return _APART.sub(lambda found: _JOINED[found[0]], plain)


def _parts(table: Mapping[str, Any], words: Mapping[str, str]) -> list[_Part]:
    token = _tokens({**words, **table.get("words", {})})
    return [_part(line, token) for line in table["lines"]]


def _signs(table: Mapping[str, Any], words: Mapping[str, str]) -> list[_Sign]:
    token = _tokens({**words, **table.get("words", {})})
    return [_sign(line, token) for line in table["lines"]]


def _sign(line: str, token: Tokens) -> _Sign:
    needed, barred = [], []
    for part in line.replace("!", "&!").split("&"):
        if part.startswith("!"):
            barred.append(_part(part[1:], token))
        elif part.strip():
            needed.append(_part(part, token))
    return _Sign(tuple(needed), tuple(barred))


def _part(written: str, token: Tokens) -> _Part:
    """Return words in their order as a pattern for a text that begins and ends with a space."""
    made, touch, begins = "", True, []
    for one in written.split():
        if one == "+":
            touch = True
        elif one == "^":
            made, touch = "^", True
        elif one == "$":
            made += "(?= $)"
        else:
            choice, begin = token(one)
            made += (" " if touch else _BETWEEN) + choice
            begins.append(begin)
            touch = False
    return _Part(made + "(?= )", tuple(sorted(begins, key=len)))


def _tokens(words: Mapping[str, str]) -> Tokens:
    """Return what gives, for a word of a sign, its pattern and how what it stands for begins."""

    @cache
    def token(one: str) -> tuple[str, frozenset[str]]:
        choice = choice_of(one, words)
        begins = frozenset(said.split()[0] for said in choice)
        return f"(?:{'|'.join(map(re.escape, choice))})", begins

    return token


def choice_of(token: str, words: Mapping[str, str]) -> list[str]:
    """Return a word of a sign, or all the words that go by a name."""
    named = _NAMED.fullmatch(token)
    if named is None:
        return [token]
    listed = (one.strip() for one in words[named[1]].split(","))
    return [choice for one in listed for choice in choice_of(one, words)]
