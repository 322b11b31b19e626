"""A third recogniser, for recorded memos: a listener that is held to no grammar.

It hears any words, so free speech too, and writes as people write: "Tree 12, 2.5 gallons." What
that is in spoken words is the understanding's affair, as with typed text.
"""

from __future__ import annotations

import re
from itertools import groupby
from typing import TYPE_CHECKING

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.asr.confidence import FREE_TEXT, SCORE_TO_LOG_ODDS, with_confidence
from fieldvoice.asr.endpoint import QUIETEST
from fieldvoice.asr.free_listener import LONGEST_S
from fieldvoice.transcript import NBestEntry, Transcript

if TYPE_CHECKING:
    from collections.abc import Collection

    from fieldvoice.asr.audio import Samples
    from fieldvoice.asr.free_listener import FreeListener
    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.entity_names import EntityNames

#: Different hearings asked for.
ALTERNATIVES = 5
#: A phrase of fewer words may well be said twice: "next tree, next tree".
SHORTEST_AGAIN = 3
#: A word that stands more often in a row than this was not said so: "uh uh uh uh uh" for "up".
MOST_IN_A_ROW = 4

# What "tree" before a number is heard as: before figures (no "3.5", no "3 1/2"), and before words.
_NO_TREE = re.compile(
    r"(?:(?:three|pre|t)[\s.,:–-]*|3[\s,-]+|3(?=\d\d\b))(?=\d+\b(?![/.]\d))", re.IGNORECASE
)
_NO_TREE_IN_WORDS = re.compile(r"(?:three|3|pre|t)[\s.,:–-]+(?=(\w+))", re.IGNORECASE)
_NUMBERS = frozenset({"numbers.ones", "numbers.two_digits"})


class FreeRecogniser:
    """Hears any words with ``listener``, expecting those of ``grammar``.

    Its model is opened when something is first heard, which may raise ``RecogniserError``.
    """

    def __init__(self, listener: FreeListener, grammar: Grammar) -> None:
        self.name = listener.name
        self.listener = listener
        self._numbers = numbers_of(grammar)

    def learn(self, names: EntityNames) -> None:
        """Expect the given names of trees and vessels too."""
        self.listener.learn(names)

    def recognise(self, samples: Samples) -> Transcript:
        """Return what was heard in ``samples`` (16 kHz mono); beyond 30 s, piece by piece."""
        longest = round(LONGEST_S * SAMPLE_RATE)
        pieces = [samples[at : at + longest] for at in range(0, len(samples), longest)]
        heard = [one for one in map(self._piece, pieces) if one.text]
        if len(heard) == 1:
            return heard[0]
        return Transcript(
            text=" ".join(one.text for one in heard),
            confidence=min((one.confidence for one in heard), default=0.0),
            recogniser=self.name,
        )

    def _piece(self, samples: Samples) -> Transcript:
        if not len(samples) or int(samples.max()) - int(samples.min()) <= QUIETEST * 32768:
            return Transcript(text="", confidence=0.0, recogniser=self.name)
        sound = self.listener.listen(samples)
        written = self.listener.write(sound, ALTERNATIVES)
        if not written:
            return Transcript(text="", confidence=0.0, recogniser=self.name)
        best = written[0]
        scores: dict[str, float] = {}
        for one in written:
            score = (one.log_likelihood - best.log_likelihood) / SCORE_TO_LOG_ODDS
            for text in with_tree(said_once(one.text), self._numbers):
                scores.setdefault(text, min(0.0, score))
        alternatives = tuple(NBestEntry(text, score) for text, score in scores.items())
        heard = Transcript(
            text=alternatives[0].text,
            words=self.listener.words(sound, alternatives[0].text, len(samples) / SAMPLE_RATE),
            alternatives=alternatives,
            recogniser=self.name,
        )
        return with_confidence(heard, FREE_TEXT)


def numbers_of(grammar: Grammar) -> frozenset[str]:
    """Return the words with which a tree's number begins; none in a grammar without numbers."""
    rules = grammar.networks.keys() & _NUMBERS
    return frozenset[str]().union(*map(grammar.words_of, rules))


def said_once(text: str) -> str:
    """Return ``text`` once where it says the same, of three words at least, again and again.

    Such models now and then go on with what they have just written; a note would be saved twice. Of
    a word that is written over and over one is left.
    """
    words = [word for _, row in groupby(text.split()) for word in _once(list(row))]
    plain = [word.strip(".,;:!?").lower() for word in words]
    for size in range(SHORTEST_AGAIN, len(words) // 2 + 1):
        if plain[size:] == plain[:-size] and len(words) % size == 0:
            return " ".join(words[:size])
    return " ".join(words)


def _once(row: list[str]) -> list[str]:
    return row[:1] if len(row) > MOST_IN_A_ROW else row


def with_tree(text: str, numbers: Collection[str]) -> tuple[str, ...]:
    """Return what a text may stand for: itself, and before that, with "tree" where it was misheard.

    "Tree" is what every free-text recogniser mishears: "three 12", "T-12", "pre-12", "343" for tree
    forty three. At the start of a note, before a number, it is a tree.
    """
    misheard = _NO_TREE.match(text)
    if misheard is None:
        before_word = _NO_TREE_IN_WORDS.match(text)
        if before_word is None or before_word[1].lower() not in numbers:
            return (text,)
        misheard = before_word
    return f"tree {text[misheard.end() :]}", text
