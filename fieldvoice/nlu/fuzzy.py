"""Words that another word may have been meant for: near in spelling, or near in sound."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

Phones = tuple[str, ...]

# Vowels are heard for each other more easily than consonants, and voiced for unvoiced ones more
# easily than either for something else.
_VOWELS = frozenset("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split())
_PAIRS = frozenset(
    frozenset(pair.split())
    for pair in (
        "P B", "T D", "K G", "F V", "S Z", "SH ZH", "CH JH", "TH DH", "M N", "N NG", "L R",
        "T TH", "D DH", "F TH", "S SH", "S TH", "W V",
    )
)  # fmt: skip


def phone_distance(one: Phones, other: Phones) -> float:
    """Return how far two words are apart in sound: 0 the same, 1 nothing in common."""
    rows = [float(at) for at in range(len(other) + 1)]
    for at, phone in enumerate(one, start=1):
        before, rows[0] = rows[0], float(at)
        for there, against in enumerate(other, start=1):
            before, rows[there] = (
                rows[there],
                min(
                    rows[there] + 1, rows[there - 1] + 1, before + _swap(phone, against)
                ),
            )  # fmt: skip
    return rows[-1] / max(len(one), len(other), 1)


@cache
def _swap(one: str, other: str) -> float:
    if one == other:
        return 0.0
    if frozenset((one, other)) in _PAIRS:
        return 0.4
    return 0.6 if one in _VOWELS and other in _VOWELS else 1.0


#: Slips of the fingers that are words themselves: only the sentence can tell.
REAL_WORDS = {"may": "many", "form": "from"}


#: What turns a word round: "untapped" is never a slip for "tapped".
_NEGATING = ("un", "dis", "non", "in", "im", "mis", "de")


def turns_round(one: str, other: str) -> bool:
    """Whether one word is the other with a part that denies it."""
    longer, shorter = sorted((one, other), key=len, reverse=True)
    return longer == f"{shorter}less" or any(longer == start + shorter for start in _NEGATING)


class ConfusionSet:
    """Finds, for a word, the words of a vocabulary that it may have been meant for.

    ``phones`` gives a word's phones (None: unknown), or is None itself to go by spelling alone.
    """

    #: Beyond this distance (0 to 1) two words are not taken for each other.
    FARTHEST = 0.34
    #: Shorter words have too many neighbours for a slip of spelling to mean anything.
    SHORTEST = 4
    #: Of three letters only a letter left out is mended: "ful".
    LEFT_OUT = 0.26

    def __init__(
        self,
        vocabulary: frozenset[str],
        numbers: frozenset[str],
        phones: Callable[[str], Phones | None] | None = None,
    ) -> None:
        self._words = sorted(vocabulary - numbers)
        self._vocabulary = vocabulary
        self._numbers = numbers
        self._phones = phones
        self._known: dict[tuple[str, bool], Mapping[str, float]] = {}
        self._sounds_like_number: dict[str, bool] = {}

    def near(self, word: str, by_sound: bool) -> Mapping[str, float]:
        """Return words near to ``word`` with their distance, itself left out.

        By spelling only a word outside the vocabulary has neighbours: one that is in it was meant.
        A number is never near another number.
        """
        key = (word, by_sound)
        if key not in self._known:
            self._known[key] = self._sounding(word) if by_sound else self._spelled(word)
        return self._known[key]

    def is_like_a_number(self, word: str) -> bool:
        """Whether a word outside the vocabulary is spelled nearly like a number."""
        from rapidfuzz.distance import OSA

        return any(
            OSA.normalized_distance(word, number) <= self.FARTHEST for number in self._numbers
        )

    def sounds_like_a_number(self, word: str) -> bool:
        """Whether a word that was heard is near in sound to a number: "fine", "due"."""
        if word not in self._sounds_like_number:
            self._sounds_like_number[word] = self._sounds_like_one(word)
        return self._sounds_like_number[word]

    def _sounds_like_one(self, word: str) -> bool:
        phones = self._phones(word) if self._phones else None
        if self._phones is None or phones is None:
            return False
        others = filter(None, map(self._phones, sorted(self._numbers - {word})))
        return any(phone_distance(phones, other) <= self.FARTHEST for other in others)

    def _spelled(self, word: str) -> Mapping[str, float]:
        if word in REAL_WORDS:
            return {REAL_WORDS[word]: self.LEFT_OUT}
        if word in self._vocabulary or len(word) < self.SHORTEST - 1 or not word.isalpha():
            return {}
        farthest = self.FARTHEST if len(word) >= self.SHORTEST else self.LEFT_OUT
        from rapidfuzz.distance import OSA

        # a typed slip in a number word ("twelv") is mended too, when no other number is as near
        found = {
            other: OSA.normalized_distance(word, other)
            for other in (*self._words, *self._numbers)
            if len(other) >= self.SHORTEST - 1 and not turns_round(word, other)
        }
        near = {other: gap for other, gap in found.items() if gap <= farthest}
        return _one_number(near, self._numbers)

    def _sounding(self, word: str) -> Mapping[str, float]:
        phones = self._phones(word) if self._phones else None
        if phones is None:
            return self._spelled(word)
        found: dict[str, float] = {}
        for other in self._words:
            other_phones = self._phones(other) if self._phones and other != word else None
            if other_phones is None or abs(len(other_phones) - len(phones)) > 2:
                continue
            gap = phone_distance(phones, other_phones)
            if gap <= self.FARTHEST and not turns_round(word, other):
                found[other] = gap
        return found


def _one_number(near: dict[str, float], numbers: frozenset[str]) -> dict[str, float]:
    """Keep number words only where a single one is near: two would be a guess."""
    close = [word for word in near if word in numbers]
    if len(close) > 1:
        best = sorted(close, key=near.__getitem__)[:2]
        keep = best[:1] if near[best[1]] - near[best[0]] > 0.15 else []
        return {w: gap for w, gap in near.items() if w not in numbers or w in keep}
    return near
