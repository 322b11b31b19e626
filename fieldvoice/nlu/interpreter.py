"""Readings of an utterance: every hearing searched, composed, priced and ranked."""

from __future__ import annotations

import math
import re
import warnings
from dataclasses import replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from fieldvoice.errors import HandbookError
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.grammar.expect import is_unfinished, next_words
from fieldvoice.grammar.jsgf import CLITIC
from fieldvoice.grammar.remarks import RemarkOpenings
from fieldvoice.handbook.loader import shipped
from fieldvoice.homophones import with_figures
from fieldvoice.nlu import costs
from fieldvoice.nlu.chunker import sizes_of_pails, spans
from fieldvoice.nlu.drafts import SURELY_THERE
from fieldvoice.nlu.fuzzy import REAL_WORDS, ConfusionSet
from fieldvoice.nlu.hypothesis import Hypothesis
from fieldvoice.nlu.normalise import BREAK, words_of
from fieldvoice.nlu.parser import (
    ANY,
    NEAR,
    SAID,
    SILENT,
    SKIPPED,
    SUPPLIED,
    Networks,
    Sentence,
    SmallWords,
    Way,
    bill_of,
    exact_ways,
    marks_of,
    search,
    trace,
)
from fieldvoice.nlu.role_search import FAR_TREE
from fieldvoice.nlu.semantics import compose, value_of
from fieldvoice.nlu.shared_units import may_share, with_shared_units
from fieldvoice.nlu.times import times_in
from fieldvoice.nlu.wordings import (
    KnownWords,
    as_asked,
    as_said,
    meanings_by,
    passed_over,
    whole,
    wording_of,
)
from fieldvoice.schema import Act, Ask, Command, EntityMention
from fieldvoice.schema.acts import Clean, Dump, Gather, Inspect, Name, Remark
from fieldvoice.schema.asks.follow_ups import InUnits
from fieldvoice.schema.asks.season import Advice

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Mapping, Sequence

    from fieldvoice.grammar import Grammar
    from fieldvoice.handbook.card import Card
    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.second_reader import SecondReader, SecondReading
    from fieldvoice.nlu.wordings import Wording
    from fieldvoice.schema import Meaning
    from fieldvoice.transcript import Transcript

#: Longer texts are not notes; they are kept, not searched.
LONGEST = 60
#: Hearings searched of one utterance, and readings given back.
HEARINGS = 10
READINGS = 8

_TOP = "fieldvoice.utterance"

NAMELESS = EntityNames()

#: Hearings whose readings are remembered: a few utterances with their alternatives.
REMEMBERED = 64

#: "Tree nine's dry", "tree nine's got ice in it".
_SAYS_AS_WELL = {"'s": ("is", "has")}

#: Pieces that name a tree, trees or a vessel.
_NAMING = frozenset({"tree", "trees", "vessel"})

#: Pieces without which a note would say less.
_TELLING = frozenset(
    "sap fill smell colour vessel volume temperature sugar length species side bit height girth "
    "cords price material".split()
)

#: Words that only join a thing to what is told of it: nothing is lost with them.
_JOINING = frozenset(
    "went gone turned became gets getting seems seemed feels felt say says were are".split()
)

_LETTERS = re.compile("[A-Za-z]+")

#: No note ends in these; and after those "of" leads to any word: "kind of in a hurry".
_LEADS_ON = frozenset({"and", "or", "from", "with"})
_SORT_OF = frozenset({"kind", "sort", "out", "because", "instead"})

#: What a note may be about.
_SUBJECTS = frozenset({"tree", "trees", "vessel", "site", "item", "all", "which"})

#: Where syrup is drawn off: "two quarts off at two nineteen" is hardly tree 219.
_DRAW_OFF_F = range(205, 230)


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
        for text, price in self._hearings(heard):
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
        try:
            text = self._mended(heard.text) if heard.is_typed else with_figures(heard.text)
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
        hides = self._hides_a_word(words, read.unread, heard)
        # Where a piece tells the note, a slip of the pen beside it hardly matters.
        is_harmed = hides and (read.states < SURELY_THERE or not heard.is_typed)
        read = replace(
            read,
            is_plain=read.is_plain and not is_harmed and not self._lacks_a_word(words),
            is_accounted=read.is_accounted and (heard.is_typed or not hides),
        )
        if not (read.is_plain and read.is_whole):
            return read
        return replace(read, is_known=self._is_in_known_words(text, read.meanings, names))

    def _mended(self, text: str) -> str:
        """Return what was typed with slips of things and units put right: "tnak two"."""
        kinds = self._counted | self._says_tree | self._units

        def put_right(found: re.Match[str]) -> str:
            word = found[0].lower()
            if word in self._grammar.words or self._is_word(word):
                return found[0]
            near = self._near.near(word, by_sound=False)
            nearest = min(near, key=lambda other: near[other], default=word)
            return nearest if nearest in kinds else found[0]

        return _LETTERS.sub(put_right, text)

    def _lacks_a_word(self, words: tuple[str, ...]) -> bool:
        """Whether a word is lost: "put a in tree fifty", "nice and", "tree thirty a cloudy"."""
        articles, counting = self._small.articles, self._small.counting
        if words[-1:] and words[-1] in articles | _LEADS_ON:
            return True
        if words[-2:-1] and words[-2] in counting and words[-1:] in self._values:
            return True
        return any(
            two in articles | {"of"} and one not in _SORT_OF and self._is_no_noun(three)
            for one, two, three in zip(("", *words), words, words[1:], strict=False)
        )

    def _hides_a_word(
        self, words: tuple[str, ...], unread: Collection[str], heard: Transcript
    ) -> bool:
        """Whether a word that has no place may tell: a misheard number, "all dpne boiling"."""
        if heard.is_typed:
            return any(self._is_unknown(word) and not self._is_word(word) for word in unread)
        return any(
            word in unread and self._may_be_number(words, at) for at, word in enumerate(words)
        )

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
        for text, price in self._hearings(heard):
            words = words_of(text, self._grammar.words, breaks=True)
            if not self._lacks_a_word(words):
                found += self._by_wordings(text, price, words, wordings, self._passed_over)
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
            self._passed_over,
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
        if said[-1] not in self._tens:
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
        self._near = self._near_words()

    def _remembered(self, text: str, price: float, by_sound: bool) -> tuple[Hypothesis, ...]:
        """Return the readings of one hearing; what was read a moment ago is not searched again."""
        key = (text, price, by_sound)
        if key not in self._read:
            if len(self._read) >= REMEMBERED:
                # The oldest alone: the others may be of what was read ahead just now.
                del self._read[next(iter(self._read))]
            found = tuple(self._readings(text, price, by_sound))
            found = self._with_units_in_doubt(found) if by_sound else found
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
        return tuple(self._by_wordings(text, price, words, wordings, self._passed_over_asking))

    def _readings(self, text: str, price: float, by_sound: bool) -> Iterator[Hypothesis]:
        words = words_of(text, self._grammar.words, breaks=True)
        if not words or len(words) > LONGEST:
            return
        # "In pan the": what would have followed is lost.
        ends_open = costs.OPEN * (words[-1] in self._small.articles)
        articles, no_nouns = self._small.articles, self._no_nouns
        lost = any(one in articles and two in no_nouns for one, two in pairwise(words))
        before = [("a farther hearing", price), ("ends in an article", ends_open)]
        before.append(("a noun is lost", costs.KNOWN * lost))
        sentence = self._sentence(words, by_sound)
        for way in search(self.networks, _TOP, sentence):
            reading = _reading(way, text, before)
            if reading is not None:
                reading = self._in_units_said(reading, words)
                yield from _each_time(self._doubted(reading, sentence, by_sound))

    def _with_units_in_doubt(self, readings: Sequence[Hypothesis]) -> tuple[Hypothesis, ...]:
        """Return readings, dearer where a word passed over has its place beside another unit.

        "Tree twelve is eighteen ounces": inches, or "is" would be in the way.
        """
        doubt = ("another unit", costs.LIGHT)
        return tuple(
            replace(one, cost=one.cost + costs.LIGHT, bill=(*one.bill, doubt))
            if any(self._has_place_for_more(other, one) for other in readings)
            else one
            for one in readings
        )

    def _has_place_for_more(self, other: Hypothesis, one: Hypothesis) -> bool:
        takes_up = set(other.skipped) < set(one.skipped)
        is_mended = any(meant in self._units for _, meant in {*other.repaired} - {*one.repaired})
        is_near = 0 <= other.cost - one.cost < costs.KNOWN
        kinds = [list(map(type, each.meanings)) for each in (one, other)]
        return takes_up and is_mended and is_near and kinds[0] != kinds[1]

    def _in_units_said(self, reading: Hypothesis, words: tuple[str, ...]) -> Hypothesis:
        """Return a reading with bare numbers in the unit that was said once for all of them."""
        if not may_share(words):
            return reading
        meanings = with_shared_units(reading.meanings, words, spans(self.networks, words))
        return reading if meanings == reading.meanings else replace(reading, meanings=meanings)

    def _sentence(self, words: tuple[str, ...], by_sound: bool) -> Sentence:
        skip = self._skip_prices(words, by_sound)
        return Sentence(
            words,
            skip=skip,
            near=self._meant_at(words, by_sound),
            same=tuple(_SAYS_AS_WELL.get(word, ()) for word in words),
            asides=tuple(self._asides_at(words, at) for at in range(len(words))),
            inside=frozenset(
                at
                for at in range(1, len(words))
                if words[at - 1] in self._numbers and words[at] in self._numbers | self._counted
            ),
            joined=frozenset(
                at
                for at in range(1, len(words))
                if words[at - 1] in self._tens and words[at] in self._ones
            ),
            telling=frozenset(at for at, price in enumerate(skip) if self._tells(words[at], price)),
        )

    def _tells(self, word: str, price: float) -> bool:
        """Whether a word says what is asked, so that no question goes without it lightly."""
        if word in self._numbers or price == costs.DOUBTFUL:
            return True
        if price == costs.UNKNOWN:
            return bool(self._near.near(word, by_sound=False))
        return price == costs.KNOWN and word not in self._opening | self._small.missing

    def _meant_at(self, words: tuple[str, ...], by_sound: bool) -> tuple[Mapping[str, float], ...]:
        """Return what each word may have been meant for.

        Between two numbers that is hardly a unit: "two pond five gallons" lost its point. What may
        be a number is mended only into what stands beside one: "throw nine" is tree nine.
        """
        meant = [self._meant(word, by_sound) for word in words]
        for at, word in enumerate(words):
            before_and = word in self._numbers and words[at + 1 : at + 2] == ("and",)
            if by_sound and (before_and or self._may_be_number(words, at)):
                meant[at] = {
                    other: gap
                    for other, gap in meant[at].items()
                    if other in self._counted | self._units or (other,) in self._values
                }
            if self._is_inside_number(words, at):
                meant[at] = {
                    other: gap + costs.LIGHT * (other not in self._numbers)
                    for other, gap in meant[at].items()
                }
        return tuple(meant)

    def _meant(self, word: str, by_sound: bool) -> Mapping[str, float]:
        """Return the words that one may have been meant for: "might" is no slip for "right"."""
        if word in self._turning and (by_sound or word not in REAL_WORDS):
            return {}
        near = self._near.near(word, by_sound)
        if by_sound and f"{word}s" in self._several_trees:
            return {other: gap for other, gap in near.items() if other != f"{word}s"}
        if by_sound and word in self._numbers:
            return {other: gap + costs.FILLER for other, gap in near.items()}
        if near and not by_sound and self._is_word(word):
            return {other: gap + costs.LIGHT for other, gap in near.items()}
        return near

    def _is_word(self, word: str) -> bool:
        return self._is_english is not None and self._is_english(word)

    def _doubted(self, reading: Hypothesis, sentence: Sentence, by_sound: bool) -> Hypothesis:
        """Return ``reading`` dearer where it says too little or too much to be believed.

        It passes over words and names nothing it is about, or says two things of one thing; it
        takes in free words that were hardly announced, or takes for a tree what may be none.
        """
        words = sentence.words
        strange = [word for word in reading.skipped if word not in self._carries_nothing]
        is_stray = bool(strange) and any(map(_names_nothing, reading.meanings))
        is_stray = is_stray or (bool(strange) and all(map(_is_short, reading.meanings)))
        is_stray = is_stray or self._says_more_than_a_name(reading)
        asks = bool(self._asks_at_end.intersection(reading.skipped))
        is_stray = is_stray or (asks and any(isinstance(one, Act) for one in reading.meanings))
        # "null" alone is a word, and no slip for "full"
        mended = reading.supplied or any(
            by_sound or self._is_word(heard) for heard, _ in reading.repaired
        )
        # "tapped ten through twenty this": morning, or year
        ends_open = words[-1:] == ("this",) == reading.skipped[-1:]
        may_be_vessel = self._may_be_vessel(reading, words)
        bill = {
            "may be of something else": costs.DOUBTFUL * is_stray,
            "contradicts itself": costs.DOUBTFUL * _contradicts_itself(reading.meanings),
            "badly opened": costs.DOUBTFUL * self._opens_badly(reading),
            "may be no tree": costs.DOUBTFUL * self._may_be_no_tree(reading, words),
            "may be a vessel": costs.KNOWN * may_be_vessel,
            "what is asked is left out": costs.SUPPLY * _leaves_untold(reading, sentence),
            "may be taken back": costs.DOUBTFUL * _may_take_back(reading, words),
            "the end is lost": costs.KNOWN * ends_open,
            "a unit of its own": costs.DOUBTFUL * _has_its_unit(reading),
            "may be a size": costs.DOUBTFUL * _may_be_size(reading, words),
            "may be a part of it": costs.DOUBTFUL * _is_hardly_cleaned(reading, words),
            "thrown from a number": costs.KNOWN * _throws_from_number(reading),
            "all of it mended": costs.DOUBTFUL * (len(words) == 1 and bool(mended)),
        }
        nouns = tuple(self._nouns_of(reading, words))
        left = " … ".join(filter(None, map(self._telling_part, reading.runs)))
        charged = (*reading.bill, *((what, price) for what, price in bill.items() if price))
        cost = sum(price for _, price in charged)
        return replace(reading, cost=cost, nouns=nouns, left_out=left, bill=charged)

    def _telling_part(self, run: tuple[str, ...]) -> str:
        """Return the words of a run from the first that tells something to the last; or none."""
        small = self._carries_nothing | self._opening | _JOINING
        telling = [
            at
            for at, word in enumerate(run)
            if word not in small and self._skip_price(word) > costs.LIGHT
        ]
        return " ".join(run[telling[0] : telling[-1] + 1]) if telling else ""

    def _nouns_of(self, reading: Hypothesis, words: tuple[str, ...]) -> Iterator[str]:
        """Yield the nouns passed over or supplied; what follows an article unknown is one too."""
        nouns, articles = self._small.nouns, self._small.articles
        yield from (word for word in (*reading.supplied, *reading.skipped) if word in nouns)
        for before, word in pairwise(words):
            if before in articles and word in reading.skipped and self._is_unknown(word):
                yield word

    def _is_unknown(self, word: str) -> bool:
        return self._skip_price(word) == costs.UNKNOWN

    def _says_more_than_a_name(self, reading: Hypothesis) -> bool:
        """Whether what was passed over belonged to a note: "sap in tree twelve" names no tree."""
        if not all(isinstance(one, EntityMention) for one in reading.meanings):
            return False
        return bool(self._telling_small.intersection(reading.skipped))

    def _may_be_no_tree(self, reading: Hypothesis, words: tuple[str, ...]) -> bool:
        """Whether a bare number was taken for a tree that may be none.

        It may be where syrup was drawn off, in °F, or two numbers: nobody has a tree 910.
        """
        if self._says_tree.intersection(words):
            return False
        return any(
            (isinstance(one, Gather) and one.tree in _DRAW_OFF_F) or _tree_beyond_all(one)
            for one in reading.meanings
        )

    def _may_be_vessel(self, reading: Hypothesis, words: tuple[str, ...]) -> bool:
        """Whether a tree may be a tank: "the sap in two", "emptied tank one" without the tank.

        Nobody has ten of a kind.
        """
        if self._says_tree.intersection(words):
            return False
        if not any(isinstance(one, Act) and _tree_below_ten(one) for one in reading.meanings):
            return False
        return "in" in words or not self._vessel_kinds.isdisjoint(reading.skipped)

    def _opens_badly(self, reading: Hypothesis) -> bool:
        """Whether free words are taken in that the grammar does not open in this way.

        "Sap in note one is ropey" was said of tote one.
        """
        if not any(isinstance(one, Remark | Name) for one in reading.meanings):
            return False
        passed = [word for word in reading.skipped if (*word.split(),) not in self._fillers]
        return bool(passed or reading.repaired or reading.supplied)

    def _skip_prices(self, words: tuple[str, ...], by_sound: bool) -> tuple[float, ...]:
        """Return the price of passing over each word.

        "Is tree twelve full?" is no note: a word that opens a question is never passed over at
        the head of a sentence.
        """
        priced: list[float] = []
        leading = True
        for at, word in enumerate(words):
            opens = leading and word in self._question_openers
            price = costs.NEVER if opens else self._skip_price(word)
            following = words[at + 1 : at + 2]
            beside = {*following, *words[max(at - 1, 0) : at]}
            if word in self._like_two and self._may_be_two(words, at, beside):
                price = costs.DOUBTFUL
            if self._may_alter(word, price, following) or (
                price > costs.FILLER and self._parts_unit(words, at)
            ):
                price = max(price, costs.DOUBTFUL)
            if word in self._noughts and self._is_inside_number(words, at):
                price = costs.NEVER
            if self._parts_time(words, at):
                price = max(price, costs.DOUBTFUL)
            if self._has_lost(words, at) or _is_a_person(words, at):
                price = max(price, costs.KNOWN)
            if self._belongs_to_number(words, at):
                price = max(price, costs.DOUBTFUL)
            if by_sound and self._may_be_number(words, at):
                price = costs.NEVER
            priced.append(price)
            leading = leading and word in self._carries_nothing
        return tuple(priced)

    def _parts_unit(self, words: tuple[str, ...], at: int) -> bool:
        """Whether a word stands between a number and its unit: "sixty sits brix"."""
        if at == 0 or at + 1 == len(words):
            return False
        return words[at - 1] in self._numbers and words[at + 1] in self._units

    def _parts_time(self, words: tuple[str, ...], at: int) -> bool:
        """Whether a word stands where a part of an hour may: "in has an hour"."""
        if at == 0 or words[at - 1] not in self._places:
            return False
        is_before_one = self._small.counting.issuperset(words[at + 1 : at + 2])
        return is_before_one and words[at] in self._near.near("half", by_sound=True)

    def _may_be_two(self, words: tuple[str, ...], at: int, beside: set[str]) -> bool:
        """Whether a word like "two" stands where one may: "sixty to", "tank to", "do and a…"."""
        counted = self._counted.intersection(words[max(at - 1, 0) : at])
        before_part = words[at + 1 : at + 2] == ("and",) and bool(
            (self._numbers | self._small.counting).intersection(words[at + 2 : at + 3])
        )
        return bool(self._numbers & beside or counted or before_part)

    def _belongs_to_number(self, words: tuple[str, ...], at: int) -> bool:
        """Whether a small word or a slip beside a number says what kind of number it is.

        "Sap in two", "half a", "three of a gallon", "sixty six brx".
        """
        word, before = words[at], words[max(at - 1, 0) : at]
        after_number = bool(self._numbers.intersection(before))
        if word in self._places and self._numbers.intersection(words[at + 1 : at + 2]):
            return True
        if word in self._places and self._places.intersection(before):
            return True  # "two and a half at of tree six"
        if after_number and (word in self._small.counting or word == "of"):
            return True
        slips = self._near.near(word, by_sound=False).keys()
        return bool(slips & self._units and after_number) or any(
            (one,) in self._values for one in slips
        )

    def _may_be_number(self, words: tuple[str, ...], at: int) -> bool:
        """Whether a word that was heard may be a number: beside one, or where one is due."""
        word, before = words[at], words[max(at - 1, 0) : at]
        if word in self._numbers | self._small.missing or (word,) in self._fillers:
            return False
        beside = {*before, *words[at + 1 : at + 2]}
        part = words[max(at - 2, 0) : at]
        is_due = bool(self._numbers & beside) or bool(self._counted.intersection(before))
        is_due = is_due or (len(part) > 1 and part[0] == "and" and part[1] in self._small.counting)
        is_due = is_due or (part[1:] == ("and",) and part[0] in self._numbers)
        return is_due and self._near.sounds_like_a_number(word)

    def _is_inside_number(self, words: tuple[str, ...], at: int) -> bool:
        beside = words[at - 1 : at + 2 : 2] if at > 0 else ()
        return len(beside) > 1 and self._numbers.issuperset(beside)

    def _has_lost(self, words: tuple[str, ...], at: int) -> bool:
        """Whether a small word lacks what belonged to it: "half pints of at", "burned a of a cord".

        Of "one two and three are dry" a tree is lost in "one two and are dry".
        """
        word, rest = words[at], words[at + 1 : at + 2]
        before = words[max(at - 2, 0) : at]
        if word in self._stating and before[1:] == ("and",) and before[0] in self._numbers:
            return True
        if not rest:
            return word in self._small.missing
        if word in self._small.articles:
            return self._is_no_noun(rest[0])
        if word == "of" and self._is_no_noun(rest[0]):
            return True
        return at > 0 and words[at - 1] in self._small.articles and self._is_no_noun(word)

    def _is_no_noun(self, word: str) -> bool:
        small = self._small
        return word in self._no_nouns or word in small.missing - small.nouns - small.articles

    def _may_alter(self, word: str, price: float, following: tuple[str, ...]) -> bool:
        """Whether a word may change the value after it: "hardly cloudy", "nie ten and eleven".

        An article before a state is what is left of "a quarter full", and before a number it is
        a part of it: "three and a half".
        """
        may_count = price >= costs.UNKNOWN or word in self._small.counting
        if following in self._values:
            return may_count
        return may_count and bool(self._numbers.intersection(following))

    def _skip_price(self, word: str) -> float:
        if word == BREAK:
            return 0.0
        if word in self._turning or word in self._numbers or any(sign.isdigit() for sign in word):
            return costs.NEVER
        if (word,) in self._fillers:
            return costs.FILLER
        if word in self._whence:
            return costs.KNOWN
        if word in self._small.missing or word == CLITIC:
            return costs.SMALL
        if word in self._light:
            return costs.LIGHT
        if word in self._grammar.words:
            return costs.KNOWN
        # "fize" may be what is left of a number
        return costs.NEVER if self._near.is_like_a_number(word) else costs.UNKNOWN

    def _asides_at(self, words: tuple[str, ...], at: int) -> tuple[int, ...]:
        """Return the lengths of the phrases without meaning that begin at a word."""
        lengths = range(2, min(self._longest_filler, len(words) - at) + 1)
        return tuple(length for length in lengths if words[at : at + length] in self._fillers)

    @cached_property
    def networks(self) -> Networks:
        """The grammar's networks, with the names that are in use."""
        return Networks(self._grammar.networks, self._small)

    @cached_property
    def _small(self) -> SmallWords:
        words_of = self._grammar.words_of
        return SmallWords(
            missing=words_of("fieldvoice.may_be_missing"),
            articles=words_of("fieldvoice.article"),
            counting=words_of("fieldvoice.counting_article"),
            nouns=words_of("fieldvoice.small_noun"),
            openers=self._question_openers,
        )

    @cached_property
    def _fillers(self) -> frozenset[tuple[str, ...]]:
        return self._grammar.phrases_of("fieldvoice.filler")

    @cached_property
    def _passed_over(self) -> frozenset[tuple[str, ...]]:
        return passed_over(self._fillers)

    @cached_property
    def _passed_over_asking(self) -> frozenset[tuple[str, ...]]:
        return passed_over(self._fillers, asking=True)

    @cached_property
    def _longest_filler(self) -> int:
        return max(map(len, self._fillers))

    @cached_property
    def _carries_nothing(self) -> frozenset[str]:
        """Fillers, small words and breaks: as passed over, phrases in one piece."""
        fillers = frozenset(" ".join(phrase) for phrase in self._fillers)
        return fillers | self._small.missing | {BREAK}

    @cached_property
    def _no_nouns(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.no_noun")

    @cached_property
    def _like_two(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.like_two")

    @cached_property
    def _places(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.before_number")

    @cached_property
    def _counted(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.counted")

    @cached_property
    def _says_tree(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.says_tree")

    @cached_property
    def _vessel_kinds(self) -> frozenset[str]:
        return self._grammar.words_of("things.vessel_kind")

    @cached_property
    def _several_trees(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.says_trees")

    @cached_property
    def _stating(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.states")

    @cached_property
    def _whence(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.tells_whence")

    @cached_property
    def _asks_at_end(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.asks_at_end")

    @cached_property
    def _telling_small(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.tells_of_note")

    @cached_property
    def _opening(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.tells_nothing")

    @cached_property
    def _noughts(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.nought")

    @cached_property
    def _light(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.light")

    @cached_property
    def _values(self) -> frozenset[tuple[str, ...]]:
        return self._grammar.phrases_of("fieldvoice.value_word")

    @cached_property
    def _question_openers(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.opens_question")

    @cached_property
    def _numbers(self) -> frozenset[str]:
        return self._grammar.words_of("numbers.number_words")

    @cached_property
    def _tens(self) -> frozenset[str]:
        return self._grammar.words_of("numbers.tens")

    @cached_property
    def _ones(self) -> frozenset[str]:
        return self._grammar.words_of("numbers.ones")

    @cached_property
    def _units(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.unit_word")

    @cached_property
    def _turning(self) -> frozenset[str]:
        return self._grammar.words_of("fieldvoice.never_skipped")

    def _hearings(self, heard: Transcript) -> Iterator[tuple[str, float]]:
        """Yield the texts to be searched with the price of each hearing."""
        yield heard.text, 0.0 if heard.is_typed else self._unsayable(heard.text)
        figures = heard.text if heard.is_typed else with_figures(heard.text)
        if figures != heard.text:
            yield figures, costs.FILLER + self._unsayable(figures)
        for alternative in heard.alternatives[:HEARINGS]:
            if alternative.text != heard.text:
                behind = max(0.0, -alternative.score * costs.PER_HEARING_SCORE)
                yield alternative.text, behind + self._unsayable(alternative.text)

    def _unsayable(self, text: str) -> float:
        """Return the price of two words that do not go together: "a pints"."""
        together = pairwise(text.split())
        return costs.DOUBTFUL * sum(pair in self._one_of_many for pair in together)

    @cached_property
    def _one_of_many(self) -> frozenset[tuple[str, ...]]:
        return self._grammar.phrases_of("fieldvoice.one_of_many")

    @cached_property
    def _near(self) -> ConfusionSet:
        return self._near_words()

    def _near_words(self) -> ConfusionSet:
        vocabulary = self._grammar.words | self._names.words
        return ConfusionSet(vocabulary, self._numbers, self._phones)


def _reading(way: Way, text: str, before: Sequence[tuple[str, float]]) -> Hypothesis | None:
    """Return what a way says, charged with what its words cost ``before`` it; None for nothing."""
    steps = list(trace(way))
    try:
        meanings = compose(marks_of(way))
    except ValueError:
        return None
    if not meanings:
        return None
    runs = _runs(steps)
    bill = tuple((what, price) for what, price in (*before, *bill_of(way)) if price)
    return Hypothesis(
        meanings=meanings,
        cost=sum(price for _, price in bill),
        bill=bill,
        text=text,
        skipped=tuple(word for run in runs for word in run),
        runs=runs,
        repaired=tuple(
            payload for _, kind, payload in steps if kind == NEAR and isinstance(payload, tuple)
        ),
        supplied=tuple(str(payload) for _, kind, payload in steps if kind == SUPPLIED),
        rules=tuple(
            payload for _, kind, payload in steps if kind == SILENT and isinstance(payload, str)
        ),
    )


def _runs(steps: Sequence[tuple[object, int, object]]) -> tuple[tuple[str, ...], ...]:
    """Return the words passed over, those that stood side by side together."""
    runs: list[list[str]] = [[]]
    for _, kind, payload in steps:
        if kind == SKIPPED and payload != BREAK:
            runs[-1].append(str(payload))
        elif kind in (SAID, ANY, NEAR):
            runs.append([])
    return tuple(tuple(run) for run in runs if run)


def _each_time(reading: Hypothesis) -> Iterator[Hypothesis]:
    """Yield ``reading`` with each of the times said, where two in one note differ."""
    for at, meaning in enumerate(reading.meanings):
        times = times_in(meaning.at or "") if isinstance(meaning, Act) else []
        if len(times) > 1:
            for time in times:
                meanings = list(reading.meanings)
                meanings[at] = meaning.replace(at=time)
                yield replace(reading, meanings=tuple(meanings))
            return
    yield reading


#: Said at the head of a sentence these call for patience; within it they may take back.
_TAKING_BACK = frozenset(
    {"hang on", "hold on", "actually", "sorry", "wait", "let me see", "let us see", "let's see"}
)


def _may_take_back(reading: Hypothesis, words: tuple[str, ...]) -> bool:
    """Whether a later note may stand for an earlier: "packed four pints, hang on, five pints"."""
    if len(reading.meanings) < 2:
        return False
    head = " ".join(words[:3])
    return any(
        one in _TAKING_BACK and not head.startswith(one) for one in map(str, reading.skipped)
    )


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


def _has_its_unit(reading: Hypothesis) -> bool:
    """Whether a unit that stood beside a number was taken for a question: "from 20 gallons"."""
    return "in" in reading.supplied and any(isinstance(one, InUnits) for one in reading.meanings)


def _may_be_size(reading: Hypothesis, words: tuple[str, ...]) -> bool:
    """Whether an amount beside how full it is may be how big the pail is."""
    kinds = {type(one) for one in reading.meanings}
    return {Gather, Inspect} <= kinds and any(True for _ in sizes_of_pails(words))


def _is_hardly_cleaned(reading: Hypothesis, words: tuple[str, ...]) -> bool:
    """Whether the last word may be all that was washed: "the blue barrel strainer", "its lid"."""
    washed = [one for one in reading.meanings if isinstance(one, Clean)]
    if len(washed) > 1 and {"and", BREAK}.isdisjoint(words):
        return True
    return bool(washed) and words[-1:] == reading.skipped[-1:]


def _card_asked(text: str) -> Card | None:
    try:
        return shipped().asked(text)
    except HandbookError:  # a handbook that is not there is told where a card is looked for
        return None


def _is_as_said(reading: Hypothesis) -> bool:
    """Whether the grammar has the words as they were said, fillers and all."""
    return not (reading.skipped or reading.supplied or reading.repaired)


def _names_nothing(meaning: Meaning) -> bool:
    return isinstance(meaning, Act) and not meaning.json_fields().keys() & _SUBJECTS


def _leaves_untold(reading: Hypothesis, sentence: Sentence) -> bool:
    """Whether a question passes over what says what is asked: "can it wait tonight"."""
    told = {sentence.words[at] for at in sentence.telling}
    only_asks = all(isinstance(one, Ask) for one in reading.meanings)
    return only_asks and not told.isdisjoint(reading.skipped)


def _throws_from_number(reading: Hypothesis) -> bool:
    return bool(reading.supplied) and any(
        isinstance(one, Dump) and one.tree is not None for one in reading.meanings
    )


def _tree_below_ten(act: Act) -> bool:
    tree = act.json_fields().get("tree")
    return isinstance(tree, int) and tree < 10


def _tree_beyond_all(meaning: Meaning) -> bool:
    tree = getattr(meaning, "tree", None) if isinstance(meaning, Act) else None
    return isinstance(tree, int) and tree >= FAR_TREE


def _contradicts_itself(meanings: tuple[Meaning, ...]) -> bool:
    """Whether a breath has one bucket or tank both full and empty."""
    told: dict[tuple[str, str], object] = {}
    about = ""
    for meaning in meanings:
        fields = meaning.json_fields() if isinstance(meaning, Act) else {}
        subject = {key: fields[key] for key in _SUBJECTS & fields.keys()}
        about = repr(subject) if subject else about
        for field in ("fill", "sap"):
            if field in fields and told.setdefault((about, field), fields[field]) != fields[field]:
                return True
    return False


def _discount(reading: Hypothesis, expecting: str | None) -> float:
    if expecting is None or len(reading.meanings) != 1:
        return 0.0
    return costs.OPEN if _is_bare_answer(reading.meanings[0]) else 0.0


def _is_short(meaning: Meaning) -> bool:
    """Whether this is said in a word or two, so that others beside it say something else."""
    return isinstance(meaning, EntityMention) or (
        isinstance(meaning, Command) and meaning.do not in ("correct", "choose")
    )


def _is_bare_answer(meaning: Meaning) -> bool:
    return isinstance(meaning, EntityMention) or (
        isinstance(meaning, Command) and meaning.do in ("confirm", "deny")
    )
