"""What each word of a sentence costs to pass over, and what it may have been meant for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.grammar.jsgf import CLITIC
from fieldvoice.nlu import costs
from fieldvoice.nlu.fuzzy import REAL_WORDS
from fieldvoice.nlu.normalise import BREAK, within_figures
from fieldvoice.nlu.parser import Sentence

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldvoice.nlu.fuzzy import ConfusionSet
    from fieldvoice.nlu.word_lists import WordLists

#: "Tree nine's dry", "tree nine's got ice in it".
_SAYS_AS_WELL = {"'s": ("is", "has")}


class WordPrices:
    """Prices the words of sentences: by what they are, and by what stands beside them.

    ``near`` gives the words that one may have been meant for, ``is_english`` tells whether a typed
    word is one in its own right.
    """

    def __init__(
        self,
        lists: WordLists,
        near: ConfusionSet,
        is_english: Callable[[str], bool] | None,
    ) -> None:
        self.lists = lists
        self.near = near
        self._is_english = is_english

    def sentence(self, words: tuple[str, ...], text: str, by_sound: bool) -> Sentence:
        """Return the words of ``text`` with what the search may do with each of them."""
        skip, numbers = self._skip_prices(words, by_sound), self.lists.numbers
        return Sentence(
            words,
            skip=skip,
            near=self._meant_at(words, by_sound),
            same=tuple(_SAYS_AS_WELL.get(word, ()) for word in words),
            asides=tuple(self._asides_at(words, at) for at in range(len(words))),
            inside=frozenset(
                at
                for at in range(1, len(words))
                if words[at - 1] in numbers and words[at] in numbers | self.lists.counted
            ),
            joined=frozenset(
                at
                for at in range(1, len(words))
                if words[at - 1] in self.lists.tens and words[at] in self.lists.ones
            ),
            firm=within_figures(text, self.lists.known),
            telling=frozenset(at for at, price in enumerate(skip) if self._tells(words[at], price)),
        )

    def _tells(self, word: str, price: float) -> bool:
        """Whether a word says what is asked, so that no question goes without it lightly."""
        if word in self.lists.numbers or price == costs.DOUBTFUL:
            return True
        if price == costs.UNKNOWN:
            return bool(self.near.near(word, by_sound=False))
        return price == costs.KNOWN and word not in self.lists.opening | self.lists.small.missing

    def _meant_at(self, words: tuple[str, ...], by_sound: bool) -> tuple[Mapping[str, float], ...]:
        """Return what each word may have been meant for.

        Between two numbers that is hardly a unit: "two pond five gallons" lost its point. What may
        be a number is mended only into what stands beside one: "throw nine" is tree nine.
        """
        meant = [self._meant(word, by_sound) for word in words]
        kept = self.lists.counted | self.lists.units
        for at, word in enumerate(words):
            before_and = word in self.lists.numbers and words[at + 1 : at + 2] == ("and",)
            if by_sound and (before_and or self.may_be_number(words, at)):
                meant[at] = {
                    other: gap
                    for other, gap in meant[at].items()
                    if other in kept or (other,) in self.lists.values
                }
            if self._is_inside_number(words, at):
                meant[at] = {
                    other: gap + costs.LIGHT * (other not in self.lists.numbers)
                    for other, gap in meant[at].items()
                }
        return tuple(meant)

    def _meant(self, word: str, by_sound: bool) -> Mapping[str, float]:
        """Return the words that one may have been meant for: "might" is no slip for "right"."""
        if word in self.lists.turning and (by_sound or word not in REAL_WORDS):
            return {}
        near = self.near.near(word, by_sound)
        if by_sound and f"{word}s" in self.lists.several_trees:
            return {other: gap for other, gap in near.items() if other != f"{word}s"}
        if by_sound and word in self.lists.numbers:
            return {other: gap + costs.FILLER for other, gap in near.items()}
        if near and not by_sound and self.is_word(word):
            return {other: gap + costs.LIGHT for other, gap in near.items()}
        return near

    def is_word(self, word: str) -> bool:
        """Return whether a word is known to be an English one."""
        return self._is_english is not None and self._is_english(word)

    def _skip_prices(self, words: tuple[str, ...], by_sound: bool) -> tuple[float, ...]:
        """Return the price of passing over each word.

        "Is tree twelve full?" is no note: a word that opens a question is never passed over at
        the head of a sentence.
        """
        priced: list[float] = []
        leading = True
        for at, word in enumerate(words):
            opens = leading and word in self.lists.question_openers
            is_number = by_sound and self.may_be_number(words, at)
            priced.append(costs.NEVER if opens or is_number else self._price_at(words, at))
            leading = leading and word in self.lists.carries_nothing
        return tuple(priced)

    def _price_at(self, words: tuple[str, ...], at: int) -> float:
        """Return the price of passing over a word where it stands."""
        word, price, following = words[at], self.of(words[at]), words[at + 1 : at + 2]
        beside = {*following, *words[max(at - 1, 0) : at]}
        if word in self.lists.noughts and self._is_inside_number(words, at):
            return costs.NEVER
        if word in self.lists.like_two and self._may_be_two(words, at, beside):
            price = costs.DOUBTFUL
        if self._has_lost(words, at) or _is_a_person(words, at):
            price = max(price, costs.KNOWN)
        is_doubtful = (
            self._may_alter(word, price, following)
            or (price > costs.FILLER and self._parts_unit(words, at))
            or self._parts_time(words, at)
            or self._belongs_to_number(words, at)
        )
        return max(price, costs.DOUBTFUL) if is_doubtful else price

    def _parts_unit(self, words: tuple[str, ...], at: int) -> bool:
        """Whether a word stands between a number and its unit: "sixty sits brix"."""
        if at == 0 or at + 1 == len(words):
            return False
        return words[at - 1] in self.lists.numbers and words[at + 1] in self.lists.units

    def _parts_time(self, words: tuple[str, ...], at: int) -> bool:
        """Whether a word stands where a part of an hour may: "in has an hour"."""
        if at == 0 or words[at - 1] not in self.lists.places:
            return False
        is_before_one = self.lists.small.counting.issuperset(words[at + 1 : at + 2])
        return is_before_one and words[at] in self.near.near("half", by_sound=True)

    def _may_be_two(self, words: tuple[str, ...], at: int, beside: set[str]) -> bool:
        """Whether a word like "two" stands where one may: "sixty to", "tank to", "do and a…"."""
        counted = self.lists.counted.intersection(words[max(at - 1, 0) : at])
        before_part = words[at + 1 : at + 2] == ("and",) and bool(
            (self.lists.numbers | self.lists.small.counting).intersection(words[at + 2 : at + 3])
        )
        return bool(self.lists.numbers & beside or counted or before_part)

    def _belongs_to_number(self, words: tuple[str, ...], at: int) -> bool:
        """Whether a small word or a slip beside a number says what kind of number it is.

        "Sap in two", "half a", "three of a gallon", "sixty six brx".
        """
        word, before = words[at], words[max(at - 1, 0) : at]
        after_number = bool(self.lists.numbers.intersection(before))
        if word in self.lists.places and self.lists.numbers.intersection(words[at + 1 : at + 2]):
            return True
        if word in self.lists.places and self.lists.places.intersection(before):
            return True  # "two and a half at of tree six"
        if after_number and (word in self.lists.small.counting or word == "of"):
            return True
        slips = self.near.near(word, by_sound=False).keys()
        return bool(slips & self.lists.units and after_number) or any(
            (one,) in self.lists.values for one in slips
        )

    def may_be_number(self, words: tuple[str, ...], at: int) -> bool:
        """Whether a word that was heard may be a number: beside one, or where one is due."""
        word, before = words[at], words[max(at - 1, 0) : at]
        if word in self.lists.numbers | self.lists.small.missing or (word,) in self.lists.fillers:
            return False
        beside = {*before, *words[at + 1 : at + 2]}
        part = words[max(at - 2, 0) : at]
        is_due = bool(self.lists.numbers & beside) or bool(self.lists.counted.intersection(before))
        counting = self.lists.small.counting
        is_due = is_due or (len(part) > 1 and part[0] == "and" and part[1] in counting)
        is_due = is_due or (part[1:] == ("and",) and part[0] in self.lists.numbers)
        return is_due and self.near.sounds_like_a_number(word)

    def _is_inside_number(self, words: tuple[str, ...], at: int) -> bool:
        beside = words[at - 1 : at + 2 : 2] if at > 0 else ()
        return len(beside) > 1 and self.lists.numbers.issuperset(beside)

    def _has_lost(self, words: tuple[str, ...], at: int) -> bool:
        """Whether a small word lacks what belonged to it: "half pints of at", "burned a of a cord".

        Of "one two and three are dry" a tree is lost in "one two and are dry".
        """
        word, rest = words[at], words[at + 1 : at + 2]
        before = words[max(at - 2, 0) : at]
        after_and = before[1:] == ("and",) and before[0] in self.lists.numbers
        if word in self.lists.stating and after_and:
            return True
        if not rest:
            return word in self.lists.small.missing
        if word in self.lists.small.articles:
            return self.lists.is_no_noun(rest[0])
        if word == "of" and self.lists.is_no_noun(rest[0]):
            return True
        return at > 0 and words[at - 1] in self.lists.small.articles and self.lists.is_no_noun(word)

    def _may_alter(self, word: str, price: float, following: tuple[str, ...]) -> bool:
        """Whether a word may change the value after it: "hardly cloudy", "nie ten and eleven".

        An article before a state is what is left of "a quarter full", and before a number it is
        a part of it: "three and a half".
        """
        may_count = price >= costs.UNKNOWN or word in self.lists.small.counting
        if following in self.lists.values:
            return may_count
        return may_count and bool(self.lists.numbers.intersection(following))

    def of(self, word: str) -> float:
        """Return the price of passing over a word, wherever it stands."""
        if word == BREAK:
            return 0.0
        if self.lists.is_never_skipped(word):
            return costs.NEVER
        if any(sign.isdigit() for sign in word):  # "3/9": a day, or a share of ninths
            return costs.DOUBTFUL
        if (word,) in self.lists.fillers:
            return costs.FILLER
        if word in self.lists.whence:
            return costs.KNOWN
        if word in self.lists.small.missing or word == CLITIC:
            return costs.SMALL
        if word in self.lists.light:
            return costs.LIGHT
        if word in self.lists.known:
            return costs.KNOWN
        # "fize" may be what is left of a number
        return costs.NEVER if self.near.is_like_a_number(word) else costs.UNKNOWN

    def _asides_at(self, words: tuple[str, ...], at: int) -> tuple[int, ...]:
        """Return the lengths of the phrases without meaning that begin at a word."""
        lengths = range(2, min(self.lists.longest_filler, len(words) - at) + 1)
        return tuple(length for length in lengths if words[at : at + length] in self.lists.fillers)

    def is_unknown(self, word: str) -> bool:
        """Return whether a word is none of the grammar's, and like none of its numbers."""
        return self.of(word) == costs.UNKNOWN


#: Exclamations that are people too, and what stands before those.
_PEOPLE = frozenset({"boy", "man", "folks", "everybody"})
_WHOSE = frozenset("the a my our his her their your that this old young".split())


def _is_a_person(words: tuple[str, ...], at: int) -> bool:
    """Whether a word like "boy" is somebody: "the boy's taps", but "boy, is it full"."""
    if words[at] not in _PEOPLE:
        return False
    return bool(_WHOSE.intersection(words[max(at - 1, 0) : at])) or words[at + 1 : at + 2] == (
        "'s",
    )
