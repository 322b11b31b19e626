"""The second reader: what a sentence says that the grammar did not foresee, in people's own words.

A net that was taught by sayings tells what kind of sentence it is and what each piece of it is; the
grammar's rules tell what the pieces are worth. What comes of it is a proposal, never a fact: the
conversation decides what may be done with one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.nlu.binder import NUMBER_WORDS, bind
from fieldvoice.nlu.card_finder import ANY_CARD, CardFinder, stored_curves
from fieldvoice.nlu.chunker import spans
from fieldvoice.nlu.normalise import text_of, words_of
from fieldvoice.nlu.reader_net import ReaderNet
from fieldvoice.nlu.shared_units import UNIT_WORDS
from fieldvoice.nlu.wordings import SMALL
from fieldvoice.schema import meaning_from

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from fieldvoice.handbook.card import Card
    from fieldvoice.nlu.binder import Proposal
    from fieldvoice.nlu.card_finder import Answering, Joining
    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.parser import Networks
    from fieldvoice.nlu.reader_net import Guess
    from fieldvoice.schema import Meaning

#: Where the net lies that comes with fieldvoice.
SHIPPED = Path(__file__).parent / "reader"

#: More words are no note and no question.
LONGEST = 60

#: Below this chance a kind is not even named as near; from the other on it is as good as certain.
NEAR, CERTAIN = 0.05, 0.95

#: So many words that are not small must stand together to say a thing of their own; and how likely
#: they may be to say nothing.
LEAST_LEFT, LEFT_IS_NOTHING = 2, 0.7

#: These before what it looks like tell nothing more: "sap's going yellow in twelve".
_SAP_TURNS = frozenset("sap going gone getting turning turned looking buckets bucket".split())

#: So likely a question of the book's own must be to go before a card.
OWN_AT_LEAST = 0.1

#: A question of so likely a kind, with no number left over, is at least so likely as a whole,
#: however unsure it is which word names its time.
SURE_KIND, SURE_OF_KIND = 0.9, 0.35

#: How the net is told of a tree under a name of its own.
ANY_TREE = ("tree", "nine")

#: Cards whose scores are this near are both named: the first is then right in 42 of 100 askings
#: that the reader was not taught, one of the two in 73 (the second has two thirds of its chance).
CARD_MARGIN = 0.4


#: Two questions of the book, the first of them less than so many times as likely as the second, are
#: both named: of twelve not taught the first is right in 6, the second in 3.
OWN_MARGIN = 2.0


@dataclass(frozen=True, slots=True)
class SecondReading:
    """What the second reader makes of a sentence.

    ``meanings`` is its proposal (empty for none), ``chance`` how sure it is of all of it, 0 to 1.
    ``nearest`` are the likeliest kinds with their chances ("act=gather", "card=foam-over"),
    ``nothing`` the chance that the sentence is neither note nor question; ``is_close`` tells that
    the first two of ``nearest`` cannot be told apart; ``is_plain`` is told at ``binder.Proposal``.
    ``is_whole`` too, where the kind of what is said is as good as certain. ``is_known`` tells that
    notes which tell the same are known in all of its words (``wordings.KnownWords``).
    ``is_short`` where but for ``left_out`` it would be whole, ``states`` is told at
    ``binder.Proposal``. ``left_out`` are words that tell something of their own and are not
    in the proposal, ``unread`` all that are in none of its pieces. ``is_accounted`` is told at
    ``binder.Proposal``.
    """

    meanings: tuple[Meaning, ...]
    chance: float
    nearest: tuple[tuple[str, float], ...]
    nothing: float
    is_close: bool = False
    is_plain: bool = False
    is_whole: bool = False
    is_known: bool = False
    is_short: bool = False
    left_out: str = ""
    states: float = 1.0
    unread: tuple[str, ...] = ()
    is_accounted: bool = True


class SecondReader:
    """Reads with the net in ``folder``; ``cards`` gives the handbook's when one is asked for.

    Raises:
        OSError, ValueError: when used, for a net that is missing or damaged.
    """

    def __init__(
        self,
        vocabulary: Collection[str],
        cards: Callable[[], Sequence[Card]] = tuple,
        folder: Path = SHIPPED,
    ) -> None:
        self._vocabulary = vocabulary
        self._net = ReaderNet(folder)
        self._cards = cards
        self._folder = folder

    def read(
        self, text: str, networks: Networks, *, cards_only: bool = False, asks_only: bool = False
    ) -> SecondReading | None:
        """Return what ``text`` says; None for no words, or too many.

        With ``cards_only`` which card answers it, whatever else it may be; with ``asks_only`` what
        it is if it is no note. A question that names a tree or vessel of a number is of the book
        rather than of the trade.
        """
        words = self._split(text)
        if not words or len(words) > LONGEST or not any(word.isascii() for word in words):
            return None
        pieces = spans(networks, words)
        guess = self._guess(words, pieces)
        if asks_only:
            guess = _of_no_note(guess)
        nothing, odds = shares(guess)
        cards = sum(share for kind, share in odds.items() if kind.startswith("card="))
        cards += odds.pop(ANY_CARD, 0.0)
        best = max(odds, key=lambda kind: odds[kind])
        nearest = sorted(odds.items(), key=lambda one: -one[1])
        asked = max((one for kind, one in odds.items() if kind.startswith("ask=")), default=0.0)
        if not cards_only and asked >= OWN_AT_LEAST and _names_a_number(words, pieces):
            odds = {kind: one for kind, one in odds.items() if not kind.startswith("card=")}
            best, cards = max(odds, key=lambda kind: odds[kind]), 0.0
            guess = _of_no_card(guess)
        if cards_only or best.startswith("card=") or cards > max(odds[best], nothing):
            return self._of_cards(text, guess, nothing, nearest)
        own = self._of_own(words, guess, pieces, networks, nearest, nothing)
        is_lost = best.startswith("ask=") and not own.meanings
        if nothing <= odds[best] and not is_lost:
            return own
        # Likely no note and no question of the book's, or one that tells nothing: a card may know
        # better.
        by_card = self._of_cards(text, guess, nothing, nearest)
        return by_card if by_card.chance > own.chance else own

    def _of_own(
        self, words: tuple[str, ...], guess: Guess, pieces: Sequence[Span], networks: Networks,
        nearest: list[tuple[str, float]], nothing: float,
    ) -> SecondReading:  # fmt: skip
        """Return the note or question of the book's own that is said."""
        proposal = bind(words, guess, pieces)
        near = tuple(one for one in nearest[:3] if one[1] >= NEAR)
        kind, share = nearest[0]
        if proposal is None:
            return SecondReading((), 0.0, near, nothing)
        chance = min(proposal.chance, 1 - nothing)
        if kind.startswith("ask=") and share >= SURE_KIND and proposal.lost is None:
            chance = max(chance, SURE_OF_KIND)
        left_out = self._left_out(words, proposal, networks)
        unread = tuple(word for run in proposal.unbound for word in words[slice(*run)])
        is_bare = [set(one.json_fields()) for one in proposal.meanings] == [{"ask"}]
        is_close = is_bare and _are_close_asks(near)
        return SecondReading(
            proposal.meanings, chance, near, nothing, is_close,
            is_plain=proposal.is_plain, left_out=left_out,
            is_whole=proposal.is_whole and nearest[0][1] >= CERTAIN,
            is_short=proposal.is_short and nearest[0][1] >= CERTAIN, states=proposal.states,
            unread=unread, is_accounted=proposal.is_accounted,
        )  # fmt: skip

    def _guess(self, words: tuple[str, ...], pieces: Sequence[Span]) -> Guess:
        """Return what the net makes of the words; what a family calls a tree it reads as a tree."""
        said: list[str] = []
        stands_for: list[int] = []
        at = 0
        for name in [*_names(words, pieces), None]:
            upto = name.start if name is not None else len(words)
            stands_for += range(len(said), len(said) + upto - at)
            said += words[at:upto]
            if name is not None:
                stands_for += [len(said), *[len(said) + 1] * (len(name) - 1)]
                said += ANY_TREE
                at = name.end
        guess = self._net.guess(said)
        return replace(guess, roles=tuple(guess.roles[one] for one in stands_for))

    def _left_out(self, words: tuple[str, ...], proposal: Proposal, networks: Networks) -> str:
        """Return the longest part in no note's pieces, where it says a thing of its own.

        By itself it is no chatter, and without it the rest says the same as before. Numbers that
        have no place come first.
        """
        lost = words[slice(*proposal.lost)] if proposal.lost is not None else ()
        if not UNIT_WORDS.issuperset(lost):
            return text_of(lost)
        runs = [_without_link(words, *run) for run in proposal.unbound if run != (0, len(words))]
        start, end = max(runs, key=lambda run: run[1] - run[0], default=(0, 0))
        part, rest = words[start:end], (*words[:start], *words[end:])
        if len([word for word in part if word not in SMALL | _SAP_TURNS]) < LEAST_LEFT:
            return ""
        if not NUMBER_WORDS.isdisjoint(part):  # a value taken back: "two gallons, no, three"
            return ""
        if shares(self._net.guess(part))[0] > LEFT_IS_NOTHING:
            return ""
        pieces = spans(networks, rest)
        again = bind(rest, self._guess(rest, pieces), pieces)
        is_same = again is not None and again.meanings == proposal.meanings
        return text_of(part) if is_same else ""

    def _of_cards(
        self, text: str, guess: Guess, nothing: float, nearest: list[tuple[str, float]]
    ) -> SecondReading:
        joining, answering = self._curves
        ranking = self._finder.ranking(text, guess, joining) if self._cards() else None
        chance = answering.chance(guess, nothing, ranking) if ranking else 0.0
        if ranking is None or chance < NEAR:
            near = tuple(one for one in nearest[:3] if one[1] >= NEAR)
            return SecondReading((), 0.0, near, nothing)
        ranked = ranking.cards[:3]
        first = meaning_from({"ask": "advice", "topic": ranked[0][0]})
        close = [one for one in ranked if one[1] >= ranked[0][1] - CARD_MARGIN]
        near = tuple((f"card={card}", chance) for card, _ in (close if len(close) > 1 else ranked))
        return SecondReading((first,), chance, near, nothing, len(close) > 1)

    def _split(self, text: str) -> tuple[str, ...]:
        """Return the words; "two more quarts" are two quarts, not two of anything."""
        words = words_of(text, self._vocabulary, breaks=True)
        around = zip(("", *words), words, (*words[1:], ""), strict=False)
        return tuple(
            word for before, word, after in around
            if word != "more" or before not in NUMBER_WORDS or after not in UNIT_WORDS
        )  # fmt: skip

    @cached_property
    def _curves(self) -> tuple[Joining, Answering]:
        return stored_curves(self._folder / "answering.json")

    @cached_property
    def _finder(self) -> CardFinder:
        return CardFinder(self._cards(), self._net, self._split, self._folder / "askings.npz")


def _are_close_asks(near: Sequence[tuple[str, float]]) -> bool:
    """Whether the two likeliest kinds are questions of the book of nearly the same chance."""
    asked = [chance for kind, chance in near[:2] if kind.startswith("ask=")]
    return len(asked) > 1 and asked[0] < OWN_MARGIN * asked[1]


def _of_no_note(guess: Guess) -> Guess:
    """Return a guess as it is where no note was said."""
    asked = {name: one for name, one in guess.labels.items() if not name.startswith("act=")}
    return replace(guess, labels=asked)


def _of_no_card(guess: Guess) -> Guess:
    """Return a guess as it is where nothing was asked about the trade."""
    own = {
        name: one for name, one in guess.labels.items()
        if not name.startswith("card=") and name != ANY_CARD
    }  # fmt: skip
    return replace(guess, labels=own)


def _names_a_number(words: tuple[str, ...], pieces: Sequence[Span]) -> bool:
    """Whether a tree, some trees or a vessel are named by their numbers."""
    return any(
        one.sort in ("tree", "trees", "vessel")
        and not NUMBER_WORDS.isdisjoint(words[one.start : one.end])
        for one in pieces
    )


def _names(words: tuple[str, ...], pieces: Sequence[Span]) -> list[Span]:
    """Return the pieces that are trees without a number, the longest where they overlap."""
    named = [
        one for one in pieces
        if one.sort == "tree" and NUMBER_WORDS.isdisjoint(words[one.start : one.end])
        and "tree" not in words[one.start : one.end]
    ]  # fmt: skip
    kept: list[Span] = []
    for one in sorted(named, key=len, reverse=True):
        if all(one.end <= other.start or other.end <= one.start for other in kept):
            kept.append(one)
    return sorted(kept, key=lambda span: span.start)


def _without_link(words: tuple[str, ...], start: int, end: int) -> tuple[int, int]:
    """Return where words stand without the one at their head that only joins them to others."""
    return (start + 1 if words[start] in ("and", "but", "so", "then") else start), end


def shares(guess: Guess) -> tuple[float, dict[str, float]]:
    """Return the chance that a sentence is nothing, and that of each kind if it is just one."""
    odds = {kind: chance / max(1 - chance, 1e-9) for kind, chance in guess.kinds()}
    whole = 1 + sum(odds.values())
    return 1 / whole, {kind: one / whole for kind, one in odds.items()}
