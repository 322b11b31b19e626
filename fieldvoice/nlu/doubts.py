"""What makes a reading dearer: it says too little, or too much, to be believed as it stands."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from fieldvoice.nlu import costs
from fieldvoice.nlu.chunker import SHARES, sizes_of_pails
from fieldvoice.nlu.normalise import BREAK, spell
from fieldvoice.nlu.role_search import FAR_TREE
from fieldvoice.nlu.shared_units import UNIT_WORDS, is_of_a_thing
from fieldvoice.schema import Act, Ask, Command, EntityMention
from fieldvoice.schema.acts import Clean, Dump, Gather, Inspect, Name, Pan, Remark
from fieldvoice.schema.asks.follow_ups import InUnits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.nlu.parser import Sentence
    from fieldvoice.nlu.word_prices import WordPrices
    from fieldvoice.schema import Meaning

#: Said at the head of a sentence these call for patience; within it they may take back.
_TAKING_BACK = frozenset(
    {"hang on", "hold on", "actually", "sorry", "wait", "let me see", "let us see", "let's see"}
)

#: Where syrup is drawn off: "two quarts off at two nineteen" is hardly tree 219.
_DRAW_OFF_F = range(205, 230)

#: Words that only join a thing to what is told of it: nothing is lost with them.
_JOINING = frozenset(
    "went gone turned became gets getting seems seemed feels felt say says were are".split()
)

#: What a note may be about.
_SUBJECTS = frozenset({"tree", "trees", "vessel", "site", "item", "all", "which"})


class Doubts:
    """Charges readings for what speaks against them, by the words they were read from."""

    def __init__(self, prices: WordPrices) -> None:
        self._lists = prices.lists
        self._prices = prices

    def of_words(self, words: tuple[str, ...]) -> Iterator[tuple[str, float]]:
        """Yield what speaks against any reading of ``words``, and how much."""
        articles, no_nouns = self._lists.small.articles, self._lists.no_nouns
        # "In pan the": what would have followed is lost.
        yield "ends in an article", costs.OPEN * (words[-1] in articles)
        lost = any(one in articles and two in no_nouns for one, two in pairwise(words))
        yield "a noun is lost", costs.KNOWN * lost

    def with_units_in_doubt(self, readings: Sequence[Hypothesis]) -> tuple[Hypothesis, ...]:
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
        is_mended = any(
            meant in self._lists.units for _, meant in {*other.repaired} - {*one.repaired}
        )
        is_near = 0 <= other.cost - one.cost < costs.KNOWN
        kinds = [list(map(type, each.meanings)) for each in (one, other)]
        return takes_up and is_mended and is_near and kinds[0] != kinds[1]

    def doubted(self, reading: Hypothesis, sentence: Sentence, by_sound: bool) -> Hypothesis:
        """Return ``reading`` dearer where it says too little or too much to be believed.

        It passes over words and names nothing it is about, or says two things of one thing; it
        takes in free words that were hardly announced, or takes for a tree what may be none.
        """
        words = sentence.words
        strange = [word for word in reading.skipped if word not in self._lists.carries_nothing]
        is_stray = bool(strange) and any(map(_names_nothing, reading.meanings))
        is_stray = is_stray or (bool(strange) and all(map(_is_short, reading.meanings)))
        is_stray = is_stray or self._says_more_than_a_name(reading)
        asks = bool(self._lists.asks_at_end.intersection(reading.skipped))
        is_stray = is_stray or (asks and any(isinstance(one, Act) for one in reading.meanings))
        # "null" alone is a word, and no slip for "full"
        mended = reading.supplied or any(
            by_sound or self._prices.is_word(heard) for heard, _ in reading.repaired
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
            "a depth of what": costs.DOUBTFUL * _may_be_of_a_hole(reading, words),
            "a share, and no amount": costs.NEVER * _takes_a_share(reading, words),
            "all of it mended": costs.DOUBTFUL * (len(words) == 1 and bool(mended)),
        }
        nouns = tuple(self._nouns_of(reading, words))
        left = " … ".join(filter(None, map(self._telling_part, reading.runs)))
        charged = (*reading.bill, *((what, price) for what, price in bill.items() if price))
        cost = sum(price for _, price in charged)
        return replace(reading, cost=cost, nouns=nouns, left_out=left, bill=charged)

    def _telling_part(self, run: tuple[str, ...]) -> str:
        """Return the words of a run from the first that tells something to the last; or none."""
        small = self._lists.carries_nothing | self._lists.opening | _JOINING
        telling = [
            at
            for at, word in enumerate(run)
            if word not in small and self._prices.of(word) > costs.LIGHT
        ]
        return " ".join(run[telling[0] : telling[-1] + 1]) if telling else ""

    def _nouns_of(self, reading: Hypothesis, words: tuple[str, ...]) -> Iterator[str]:
        """Yield the nouns passed over or supplied; what follows an article unknown is one too."""
        nouns, articles = self._lists.small.nouns, self._lists.small.articles
        yield from (word for word in (*reading.supplied, *reading.skipped) if word in nouns)
        for before, word in pairwise(words):
            if before in articles and word in reading.skipped and self._prices.is_unknown(word):
                yield word

    def _says_more_than_a_name(self, reading: Hypothesis) -> bool:
        """Whether what was passed over belonged to a note: "sap in tree twelve" names no tree."""
        if not all(isinstance(one, EntityMention) for one in reading.meanings):
            return False
        return bool(self._lists.telling_small.intersection(reading.skipped))

    def _may_be_no_tree(self, reading: Hypothesis, words: tuple[str, ...]) -> bool:
        """Whether a bare number was taken for a tree that may be none.

        It may be where syrup was drawn off, in °F, or two numbers: nobody has a tree 910. Of
        "twenty two quarts and a pint" the twenty is hardly one.
        """
        if self._lists.says_tree.intersection(words):
            return False
        trees = [one.json_fields().get("tree") for one in reading.meanings if isinstance(one, Act)]
        parted = {spell(tree) for tree in trees if isinstance(tree, int) and 10 < tree < 100}
        pairs = pairwise(words) if "from" in reading.supplied else ()
        if any(one in parted & self._lists.tens and two in self._lists.ones for one, two in pairs):
            return True
        return any(
            (isinstance(one, Gather) and one.tree in _DRAW_OFF_F) or _tree_beyond_all(one)
            for one in reading.meanings
        )

    def _may_be_vessel(self, reading: Hypothesis, words: tuple[str, ...]) -> bool:
        """Whether a tree may be a tank: "the sap in two", "emptied tank one" without the tank.

        Nobody has ten of a kind.
        """
        if self._lists.says_tree.intersection(words):
            return False
        if not any(isinstance(one, Act) and _tree_below_ten(one) for one in reading.meanings):
            return False
        return "in" in words or not self._lists.vessel_kinds.isdisjoint(reading.skipped)

    def _opens_badly(self, reading: Hypothesis) -> bool:
        """Whether free words are taken in that the grammar does not open in this way.

        "Sap in note one is ropey" was said of tote one.
        """
        if not any(isinstance(one, Remark | Name) for one in reading.meanings):
            return False
        passed = [word for word in reading.skipped if (*word.split(),) not in self._lists.fillers]
        return bool(passed or reading.repaired or reading.supplied)


def _may_take_back(reading: Hypothesis, words: tuple[str, ...]) -> bool:
    """Whether a later note may stand for an earlier: "packed four pints, hang on, five pints"."""
    if len(reading.meanings) < 2:
        return False
    head = " ".join(words[:3])
    return any(
        one in _TAKING_BACK and not head.startswith(one) for one in map(str, reading.skipped)
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


def _names_nothing(meaning: Meaning) -> bool:
    return isinstance(meaning, Act) and not meaning.json_fields().keys() & _SUBJECTS


def _leaves_untold(reading: Hypothesis, sentence: Sentence) -> bool:
    """Whether a question passes over what says what is asked: "can it wait tonight"."""
    told = {sentence.words[at] for at in sentence.telling}
    only_asks = all(isinstance(one, Ask) for one in reading.meanings)
    return only_asks and not told.isdisjoint(reading.skipped)


def _takes_a_share(reading: Hypothesis, words: tuple[str, ...]) -> bool:
    """Whether a part was taken for another thing, or an amount's own part for how full one is.

    "Poured half the tank in", "at 50 percent full", "a gallon and a third".
    """
    told = [one.json_fields() for one in reading.meanings]
    if ("percent", "full") in pairwise(words) and any("brix" in one for one in told):
        return True
    if any("fill" in one for one in told) and _has_share_of_unit(words):
        return True
    amounts = [one.get("volume_gal") for one in told]
    is_part = any(isinstance(one, float) and 0 < one < 1 for one in amounts)
    return is_part and any(is_of_a_thing(words, at) for at in range(len(words)))


def _has_share_of_unit(words: tuple[str, ...]) -> bool:
    """Whether "and a third" goes on with the unit before it, and does not tell how full one is."""
    return any(
        words[at] in UNIT_WORDS
        and words[at + 1] == "and"
        and words[at + 2] in _ARTICLES
        and words[at + 3] in SHARES
        and words[at + 4 : at + 5] != ("full",)
        for at in range(len(words) - 3)
    )


_ARTICLES = frozenset({"a", "one", "two", "three"})


def _may_be_of_a_hole(reading: Hypothesis, words: tuple[str, ...]) -> bool:
    """Whether a depth after something else was taken for the pan's: "two taps, depth two inches".

    The pan was not named.
    """
    pans = [one for one in reading.meanings if isinstance(one, Pan) and one.depth_in is not None]
    return bool(pans) and len(reading.meanings) > 1 and "pan" not in words


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


def _is_short(meaning: Meaning) -> bool:
    """Whether this is said in a word or two, so that others beside it say something else."""
    return isinstance(meaning, EntityMention) or (
        isinstance(meaning, Command) and meaning.do not in ("correct", "choose")
    )
