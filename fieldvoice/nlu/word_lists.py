"""The words that the search treats in a way of their own, as the grammar lists them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.homophones import HEARD_FOR_NUMBERS
from fieldvoice.nlu.normalise import BREAK
from fieldvoice.nlu.parser import SmallWords
from fieldvoice.nlu.wordings import passed_over

if TYPE_CHECKING:
    from fieldvoice.grammar import Grammar


class WordLists:
    """Sets of words, and of phrases as tuples of words, each by one rule of the grammar."""

    def __init__(self, grammar: Grammar) -> None:
        of, phrases = grammar.words_of, grammar.phrases_of
        self.known = grammar.words
        self.question_openers = of("fieldvoice.opens_question")
        self.small = SmallWords(
            missing=of("fieldvoice.may_be_missing"),
            articles=of("fieldvoice.article"),
            counting=of("fieldvoice.counting_article"),
            nouns=of("fieldvoice.small_noun"),
            openers=self.question_openers,
        )
        self.fillers = phrases("fieldvoice.filler")
        self.longest_filler = max(map(len, self.fillers))
        self.passed_over = passed_over(self.fillers)
        self.passed_over_asking = passed_over(self.fillers, asking=True)
        #: Fillers, small words and breaks: as passed over, phrases in one piece.
        self.carries_nothing = {*map(" ".join, self.fillers), *self.small.missing, BREAK}
        self.no_nouns = of("fieldvoice.no_noun")
        self.like_two = of("fieldvoice.like_two")
        self.places = of("fieldvoice.before_number")
        self.counted = of("fieldvoice.counted")
        self.says_tree = of("fieldvoice.says_tree")
        self.several_trees = of("fieldvoice.says_trees")
        self.vessel_kinds = of("things.vessel_kind")
        self.stating = of("fieldvoice.states")
        self.whence = of("fieldvoice.tells_whence")
        self.asks_at_end = of("fieldvoice.asks_at_end")
        self.telling_small = of("fieldvoice.tells_of_note")
        self.opening = of("fieldvoice.tells_nothing")
        self.noughts = of("fieldvoice.nought")
        self.light = of("fieldvoice.light")
        self.values = phrases("fieldvoice.value_word")
        self.numbers = of("numbers.number_words")
        #: Of which one is easily heard for another, however plain the words beside it are.
        self.sound_alike = self.numbers | self.vessel_kinds | HEARD_FOR_NUMBERS
        self.tens = of("numbers.tens")
        self.ones = of("numbers.ones")
        self.units = of("fieldvoice.unit_word")
        self.turning = of("fieldvoice.never_skipped")
        self.one_of_many = phrases("fieldvoice.one_of_many")

    def is_no_noun(self, word: str) -> bool:
        """Return whether a word cannot be the noun that an article announces."""
        small = self.small
        return word in self.no_nouns or word in small.missing - small.nouns - small.articles

    def is_never_skipped(self, word: str) -> bool:
        """Return whether a sentence is another one without the word."""
        is_number = word in self.numbers or any(sign.isdigit() for sign in word)
        return is_number or word in self.turning
