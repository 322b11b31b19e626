"""Readings of an utterance: every hearing searched, composed, priced and ranked."""

from __future__ import annotations

import math
import warnings
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from fieldvoice.errors import HandbookError
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.grammar.expect import is_unfinished, next_words
from fieldvoice.grammar.jsgf import CLITIC
from fieldvoice.grammar.remarks import RemarkOpenings
from fieldvoice.handbook.loader import shipped
from fieldvoice.homophones import with_figures
from fieldvoice.nlu import costs
from fieldvoice.nlu.chunker import spans
from fieldvoice.nlu.doubts import Doubts
from fieldvoice.nlu.drafts import SURELY_THERE
from fieldvoice.nlu.fuzzy import ConfusionSet
from fieldvoice.nlu.harm import Harm
from fieldvoice.nlu.hearings import hearings
from fieldvoice.nlu.hypothesis import Hypothesis
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.parser import Networks, exact_ways, marks_of, search
from fieldvoice.nlu.readings import each_time, each_tree, reading_of, with_whole_texts
from fieldvoice.nlu.semantics import value_of
from fieldvoice.nlu.shared_units import may_share, with_shared_units
from fieldvoice.nlu.word_lists import WordLists
from fieldvoice.nlu.word_prices import WordPrices
from fieldvoice.nlu.wordings import (
    KnownWords,
    as_asked,
    as_said,
    meanings_by,
    whole,
    wording_of,
)
from fieldvoice.schema import Act, Command, EntityMention
from fieldvoice.schema.acts import Remark
from fieldvoice.schema.asks.season import Advice

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Sequence

    from fieldvoice.grammar import Grammar
    from fieldvoice.handbook.card import Card
    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.second_reader import SecondReader, SecondReading
    from fieldvoice.nlu.wordings import Wording
    from fieldvoice.schema import Meaning
    from fieldvoice.transcript import Transcript

#: Longer texts are not notes; they are kept, not searched.
LONGEST = 60
#: Readings given back.
READINGS = 8

_TOP = "fieldvoice.utterance"

NAMELESS = EntityNames()

#: Hearings whose readings are remembered: a few utterances with their alternatives.
REMEMBERED = 64

#: With one of these among the first words a reminder may be asked for.
_REMINDS, _HEAD = frozenset({"remind", "reminder", "forget"}), 4

#: Pieces that name a tree, trees or a vessel.
_NAMING = frozenset({"tree", "trees", "vessel"})

#: Pieces without which a note would say less.
_TELLING = frozenset(
    "sap fill smell colour vessel volume temperature sugar length species side bit height girth "
    "cords price material".split()
)


class Interpreter:
    """Reads typed and heard words by the grammar. Holds nothing of the conversation but names.

    What was read is remembered for a while: live words are read ahead, in the pause that may be
    their end.

    ``phones`` gives a word's phones for near-sounding words of spoken utterances; without it only
    spelling is gone by. ``is_english`` tells whether a typed word is one in its own right
    ("spilled"), which is then hardly a slip for another ("filled"). ``second`` reads what the
    grammar does not foresee; ``wordings`` gives those learnt beforehand.
    """

    def __init__(
        self,
        grammar: Grammar,
        phones: Callable[[str], tuple[str, ...] | None] | None = None,
        is_english: Callable[[str], bool] | None = None,
        second: SecondReader | None = None,
        wordings: Callable[[], Sequence[Wording]] = tuple,
    ) -> None:
        self._grammar = grammar
        self._phones = phones
        self._is_english = is_english
        self._second = second
        self._make_wordings = wordings
        self._names = NAMELESS
        self._read: dict[tuple[str, float, bool], tuple[Hypothesis, ...]] = {}

    def opening(self, text: str) -> int:
        """Return how many words of ``text`` begin a remark, after which anything may be said."""
        return self._openings.words_in(text)

    @cached_property
    def _openings(self) -> RemarkOpenings:
        return RemarkOpenings(self._grammar)

    def read(
        self, heard: Transcript, *, expecting: str | None = None, names: EntityNames = NAMELESS
    ) -> tuple[Hypothesis, ...]:
        """Return the readings of ``heard``, cheapest first; none when nothing fits.

        ``expecting`` names the slot an open question asks for ("tree", "yes_no", …): bare answers
        then cost less. ``names`` are those that trees and vessels have been given. What a card of
        the handbook is asked in just these words is that, and so is a question in a wording that
        came along, unless the grammar has the words too.
        """
        self._learn(names)
        found: dict[str, Hypothesis] = {}
        cheapest = math.inf
        for text, price in hearings(heard, self._lists):
            if price > cheapest + costs.NO_RIVAL:
                continue
            for reading in self._remembered(text, price, by_sound=not heard.is_typed):
                cost = reading.cost - _discount(reading, expecting)
                cheapest = min(cheapest, cost)
                key = repr([meaning.json_fields() for meaning in reading.meanings])
                if key not in found or cost < found[key].cost:
                    found[key] = replace(reading, cost=cost)
        ranked = sorted(found.values(), key=lambda reading: reading.cost)
        return tuple(ranked[:READINGS])

    def second(
        self, heard: Transcript, names: EntityNames = NAMELESS, *, cards_only: bool = False,
        asks_only: bool = False,
    ) -> SecondReading | None:  # fmt: skip
        """Return what the second reader makes of ``heard``; None where there is none.

        With ``cards_only`` which card of the handbook answers it, whatever else it may be; with
        ``asks_only`` what it is if it is no note.

        A net that cannot be used is told once, and the exact reading works on without it.
        """
        if self._second is None:
            return None
        self._learn(names)
        harm = Harm(self._prices)
        try:
            text = harm.mended(heard.text) if heard.is_typed else with_figures(heard.text)
            read = self._second.read(
                text, self.networks, cards_only=cards_only, asks_only=asks_only
            )
        except (OSError, ValueError, ImportError) as fault:
            self._second = None
            warnings.warn(f"own words are not understood: the second reader: {fault}", stacklevel=2)
            return None
        if read is None:
            return None
        words = words_of(text, self._grammar.words, breaks=True)
        hides = harm.hides_a_word(words, read.unread, heard)
        # Where a piece tells the note, a slip of the pen beside it hardly matters.
        is_harmed = hides and (read.states < SURELY_THERE or not heard.is_plain)
        read = replace(
            read,
            is_plain=read.is_plain and not is_harmed and not harm.lacks_a_word(words),
            is_accounted=read.is_accounted and (heard.is_plain or not hides),
        )
        if not (read.is_plain and read.is_whole):
            return read
        return replace(read, is_known=self._is_in_known_words(text, read.meanings, names))

    def _is_in_known_words(
        self, text: str, meanings: Sequence[Meaning], names: EntityNames
    ) -> bool:
        """Whether wordings that came along tell such notes with every telling word of ``text``."""
        wording = self.wording_of(text, meanings, names)
        return wording is not None and self._known_words.has_all_of(wording)

    @cached_property
    def _known_words(self) -> KnownWords:
        return KnownWords(self._wordings[0])

    def by_wording(
        self,
        heard: Transcript,
        learnt: Sequence[Wording] = (),
        barred: Collection[str] = (),
        names: EntityNames = NAMELESS,
    ) -> tuple[Hypothesis, ...]:
        """Return what ``heard`` says by ``learnt`` wordings, and by those learnt beforehand.

        Of the latter those in ``barred`` (masked) are not gone by.
        """
        self._learn(names)
        wordings = [*learnt, *(one for one in self._wordings[0] if one.masked not in barred)]
        found: list[Hypothesis] = []
        harm = Harm(self._prices)
        for text, price in hearings(heard, self._lists):
            words = words_of(text, self._grammar.words, breaks=True)
            if not harm.lacks_a_word(words):
                found += self._by_wordings(text, price, words, wordings, self._lists.passed_over)
        return tuple(found)

    def named(self, text: str, names: EntityNames = NAMELESS) -> tuple[Span, ...]:
        """Return the trees and vessels that ``text`` names, whatever it says of them."""
        return tuple(one for one in self.pieces(text, names) if one.sort in _NAMING)

    def tells_a_value(self, text: str, names: EntityNames = NAMELESS) -> bool:
        """Return whether ``text`` has a value that a note can have, other than a bare number."""
        return any(one.sort in _TELLING for one in self.pieces(text, names))

    def value_by(self, rule: str, slot: str, text: str, names: EntityNames = NAMELESS) -> Any:
        """Return what all the words of ``text`` are worth by a rule; None where it has others."""
        self._learn(names)
        words = words_of(text, self._grammar.words)
        if len(words) > LONGEST:
            return None
        ways = [
            way for _, at, end, way in exact_ways(self.networks, (rule,), words)
            if (at, end) == (0, len(words))
        ]  # fmt: skip
        likeliest = min(ways, key=lambda way: way.cost, default=None)
        return None if likeliest is None else value_of(slot, marks_of(likeliest))

    def pieces(self, text: str, names: EntityNames = NAMELESS) -> Sequence[Span]:
        """Return what has a value in ``text``; nothing of what is too long to be read."""
        self._learn(names)
        words = words_of(text, self._grammar.words, breaks=True)
        return spans(self.networks, words) if len(words) <= LONGEST else ()

    @cached_property
    def _wordings(self) -> tuple[Sequence[Wording], Sequence[Wording]]:
        """What was learnt beforehand, notes and questions; a damaged file is told once."""
        try:
            learnt = self._make_wordings()
        except (OSError, ValueError) as fault:
            warnings.warn(f"no wordings were learnt beforehand: {fault}", stacklevel=2)
            learnt = ()
        return [one for one in learnt if not one.asks], [one for one in learnt if one.asks]

    def _by_wordings(
        self,
        text: str,
        price: float,
        words: tuple[str, ...],
        wordings: Sequence[Wording],
        fillers: frozenset[tuple[str, ...]],
    ) -> Iterator[Hypothesis]:
        said = frozenset(words)
        likely = [one for one in wordings if one.words <= said]
        if not likely or len(words) > LONGEST:
            return
        pieces = whole(spans(self.networks, words))
        for wording in likely:
            meanings = meanings_by(wording, words, pieces, fillers)
            if meanings is not None:
                reading = Hypothesis(meanings, price, text, wording=wording)
                yield self._in_units_said(reading, words)

    def wording_of(
        self,
        text: str,
        meanings: Sequence[Meaning],
        names: EntityNames = NAMELESS,
        stands_for: Callable[[str, Any], Any] = as_said,
        *,
        by_pieces_alone: bool = False,
    ) -> Wording | None:
        """Return the wording of ``text``, which means ``meanings``; None if it is not to be learnt.

        Nothing is learnt of questions. The rest is as for ``wordings.wording_of``.
        """
        self._learn(names)
        words = words_of(text, self._grammar.words, breaks=True)
        is_of_notes = all(isinstance(meaning, Act) for meaning in meanings)
        if not is_of_notes or not words or len(words) > LONGEST:
            return None
        return wording_of(
            words,
            spans(self.networks, words),
            meanings,
            self._lists.passed_over,
            stands_for=stands_for,
            by_pieces_alone=by_pieces_alone,
        )

    def next_words(
        self, text: str, names: EntityNames = NAMELESS, likely: Sequence[str] = ()
    ) -> list[str]:
        """Return the words with which the sentence begun by ``text`` can go on, likeliest first.

        Those of ``likely`` sentences that begin so come before what is said most by the grammar.
        """
        self._learn(names)
        said, known = words_of(text, self._grammar.words), self._grammar.words
        possible = next_words(self.networks.by_rule, _TOP, said)
        sentences = (words_of(one, known) for one in likely)
        first = [one[len(said)] for one in sentences if one[: len(said)] == said and one != said]
        may_follow = set(possible) - {CLITIC}
        return [one for one in dict.fromkeys([*first, *possible]) if one in may_follow]

    def is_unfinished(self, text: str, names: EntityNames = NAMELESS) -> bool:
        """Return whether something must still be said for ``text`` to be a sentence.

        After "collected two" the unit is owed, after "poured it into tank" the number; and after
        "tree forty" alone its ones may be, so that "three is dry" is no note of tree three, and
        after "tank one is at thirty" too.
        """
        self._learn(names)
        said = words_of(text, self._grammar.words)
        if not said:
            return False
        return is_unfinished(self.networks.by_rule, _TOP, said) or self._ends_in_tens(text, said)

    def _ends_in_tens(self, text: str, said: tuple[str, ...]) -> bool:
        """Whether the last number may have ones too: a value, or a name with nothing told of it."""
        if said[-1] not in self._lists.tens:
            return False
        readings = self._remembered(text, 0.0, by_sound=True)
        best = min(readings, key=lambda one: one.cost, default=None)
        if best is None or all(isinstance(one, EntityMention) for one in best.meanings):
            return best is not None
        pieces = spans(self.networks, said) if len(said) <= LONGEST else ()
        return not any(one.sort in _NAMING and one.end == len(said) for one in pieces)

    def _learn(self, names: EntityNames) -> None:
        """Put ``names`` into the networks, unless they are there already."""
        if names == self._names:
            return
        self._names = names
        self._read.clear()
        self.networks = self.networks.with_others(names.networks())
        self._prices = self._prices_now()

    def _remembered(self, text: str, price: float, by_sound: bool) -> tuple[Hypothesis, ...]:
        """Return the readings of one hearing; what was read a moment ago is not searched again."""
        key = (text, price, by_sound)
        if key not in self._read:
            if len(self._read) >= REMEMBERED:
                # The oldest alone: the others may be of what was read ahead just now.
                del self._read[next(iter(self._read))]
            found = tuple(self._readings(text, price, by_sound))
            found = with_whole_texts(found)
            found = Doubts(self._prices).with_units_in_doubt(found) if by_sound else found
            asked = () if any(map(_is_as_said, found)) else self._asked(text, price)
            self._read[key] = asked or found
        return self._read[key]

    def _asked(self, text: str, price: float) -> tuple[Hypothesis, ...]:
        """Return the question that a text is word for word: a card's asking, or a wording."""
        card = _card_asked(text)
        if card is not None:
            return (Hypothesis((Advice(topic=card.id),), price, text),)
        words = as_asked(words_of(text, self._grammar.words, breaks=True))
        wordings = self._wordings[1]
        return tuple(
            self._by_wordings(text, price, words, wordings, self._lists.passed_over_asking)
        )

    def _readings(self, text: str, price: float, by_sound: bool) -> Iterator[Hypothesis]:
        words = words_of(text, self._grammar.words, breaks=True)
        if not words or len(words) > LONGEST:
            return
        sentence = self._prices.sentence(words, text, by_sound)
        doubts = Doubts(self._prices)
        before = [("a farther hearing", price), *doubts.of_words(words)]
        for way in search(self.networks, _TOP, sentence):
            reading = reading_of(way, text, before)
            if reading is not None:
                reading = self._in_units_said(reading, words)
                reading = doubts.doubted(reading, sentence, by_sound)
                if self._may_remind(reading, words):
                    bill = (*reading.bill, ("may be a reminder", costs.DOUBTFUL))
                    reading = replace(reading, cost=reading.cost + costs.DOUBTFUL, bill=bill)
                for one in each_tree(reading, words):
                    yield from each_time(one)

    def _may_remind(self, reading: Hypothesis, words: tuple[str, ...]) -> bool:
        """Whether a remark tells when to be reminded: "remind me in an hour", "reminder, …"."""
        if not any(isinstance(one, Remark) for one in reading.meanings):
            return False
        if _REMINDS.isdisjoint(words[:_HEAD]) or "that" in words[:_HEAD]:
            return False
        return any(one.sort in ("ahead", "when") for one in spans(self.networks, words))

    def _in_units_said(self, reading: Hypothesis, words: tuple[str, ...]) -> Hypothesis:
        """Return a reading with bare numbers in the unit that was said once for all of them."""
        if not may_share(words):
            return reading
        meanings = with_shared_units(reading.meanings, words, spans(self.networks, words))
        return reading if meanings == reading.meanings else replace(reading, meanings=meanings)

    @cached_property
    def networks(self) -> Networks:
        """The grammar's networks, with the names that are in use."""
        return Networks(self._grammar.networks, self._lists.small)

    @cached_property
    def _lists(self) -> WordLists:
        return WordLists(self._grammar)

    @cached_property
    def _prices(self) -> WordPrices:
        return self._prices_now()

    def _prices_now(self) -> WordPrices:
        vocabulary = self._lists.known | self._names.words
        near = ConfusionSet(vocabulary, self._lists.numbers, self._phones)
        return WordPrices(self._lists, near, self._is_english)


def _card_asked(text: str) -> Card | None:
    try:
        return shipped().asked(text)
    except HandbookError:  # a handbook that is not there is told where a card is looked for
        return None


def _is_as_said(reading: Hypothesis) -> bool:
    """Whether the grammar has the words as they were said, fillers and all."""
    return not (reading.skipped or reading.supplied or reading.repaired)


def _discount(reading: Hypothesis, expecting: str | None) -> float:
    if expecting is None or len(reading.meanings) != 1:
        return 0.0
    return costs.OPEN if _is_bare_answer(reading.meanings[0]) else 0.0


def _is_bare_answer(meaning: Meaning) -> bool:
    return isinstance(meaning, EntityMention) or (
        isinstance(meaning, Command) and meaning.do in ("confirm", "deny")
    )
