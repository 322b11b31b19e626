"""Which piece of a sentence has which role: the likeliest roles of pieces that do not overlap."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fieldvoice.nlu.normalise import BREAK, text_of
from fieldvoice.nlu.reader_roles import FREE, SORTS
from fieldvoice.nlu.shared_units import unit_in
from fieldvoice.rules.plausible import is_far_off
from fieldvoice.schema import ACTS
from fieldvoice.schema.slot import slots_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.reader_net import Guess

#: A word of a free text is likelier that than anything else, in logarithms.
LIKELIEST = -1.1
#: What each piece costs, so that one is preferred to two: "two eleven" is one number.
A_PIECE = 0.7
#: What each word of a number costs that has no place; so that one more piece is no dearer.
LOST_NUMBER = 0.7
#: What only one field can have is that, where it can be, in logarithms a word.
SURE_BY_UNIT = -0.1
_MONEY = frozenset({"dollar", "dollars", "buck", "bucks"})
#: A number from here on is hardly a tree unless it is called one.
FAR_TREE = 400
#: What a word may be that has no value: nothing, or a number that counts for nothing.
NOTHING, NO_NUMBER = "O", "X"

#: Free words that are kept as they were said; of other names the article is no part.
TEXTS = frozenset({"text", "remark"})
_ARTICLES = frozenset({"the", "my", "our", "a", "an"})
#: These lead to a place and are no part of its name: "over in the back row".
_BEFORE_PLACE = _ARTICLES | frozenset("at in on over down up out".split())


@dataclass(frozen=True, slots=True)
class Bound:
    """One piece of the sentence with the role it was given; ``chance`` of it in logarithms."""

    kind: str
    field: str
    value: Any
    start: int
    end: int
    chance: float
    free: bool = False


def bound_roles(
    words: Sequence[str], guess: Guess, pieces: Sequence[Span], likely: Mapping[str, float]
) -> list[Bound]:
    """Return the likeliest roles of pieces that do not overlap."""
    best: list[tuple[float, Bound | None, int]] = [(0.0, None, 0)]
    starting: dict[int, list[Bound]] = {}
    for bound in _candidates(words, guess, pieces, likely):
        starting.setdefault(bound.end, []).append(bound)
    numbers = {at for one in pieces if one.sort == "number" for at in range(one.start, one.end)}
    for end in range(1, len(words) + 1):
        free = _unbound(words[end - 1], guess, end - 1) - LOST_NUMBER * (end - 1 in numbers)
        choices: list[tuple[float, Bound | None, int]] = [(best[end - 1][0] + free, None, end - 1)]
        choices += [
            (best[one.start][0] + one.chance - A_PIECE, one, one.start)
            for one in starting.get(end, ())
        ]
        best.append(max(choices, key=lambda choice: choice[0]))
    bounds: list[Bound] = []
    at = len(words)
    while at > 0:
        _, chosen, before = best[at]
        if chosen is not None:
            bounds.append(chosen)
        at = before
    bounds = [_by_its_piece(one, pieces, words) for one in _names_in_one(bounds[::-1], words)]
    bounds = _whole_vessels(bounds, pieces)
    return [_with_its_unit(one, words) for one in _parts_of_vessels(bounds, words)]


def _with_its_unit(bound: Bound, words: Sequence[str]) -> Bound:
    """Return an amount with the unit behind it, or a word on: "a thousand liters", "six more"."""
    is_bare = bound.field.endswith("_gal") and unit_in(words[bound.start : bound.end]) is None
    between = int(tuple(words[bound.end : bound.end + 1]) in _BEFORE_UNIT)
    unit = unit_in(words[bound.end + between : bound.end + between + 1])
    if unit is None or not is_bare:
        return bound
    return replace(bound, value=round(bound.value * unit, 4), end=bound.end + between + 1)


#: What may stand between a number and its unit.
_BEFORE_UNIT = frozenset((one,) for one in "more extra full good whole big odd".split())


def _by_its_piece(bound: Bound, pieces: Sequence[Span], words: Sequence[str]) -> Bound:
    """Return a name that a piece has but for its article as that piece's: "the back row"."""
    if not bound.free:
        return bound
    start = bound.start + (words[bound.start] in _ARTICLES)
    sorts = SORTS.get(bound.field, ())
    for piece in pieces:
        starts_alike = piece.start in (bound.start, start)
        if piece.sort in sorts and starts_alike and piece.end == bound.end:
            return replace(bound, value=piece.value, free=False)
    return bound


def _whole_vessels(bounds: list[Bound], pieces: Sequence[Span]) -> list[Bound]:
    """Return bounds with a part of a vessel as all of it, where nothing else has the rest of it.

    Of "the grey bin" not the grey alone.
    """
    taken = {at for one in bounds for at in range(one.start, one.end)}
    whole = []
    for one in bounds:
        mine = set(range(one.start, one.end))
        around = [
            piece for piece in pieces
            if one.free and piece.sort == "vessel" and one.field in ("vessel", "into")
            and mine < set(range(piece.start, piece.end))
            and not (taken - mine).intersection(range(piece.start, piece.end))
        ]  # fmt: skip
        if around:
            largest = max(around, key=len)
            one = replace(
                one, value=largest.value, start=largest.start, end=largest.end, free=False
            )
        whole.append(one)
    return whole


#: With these a name goes on: "the lady at the church".
_OF_A_NAME = frozenset("at of from in on down up next to by the our my".split())


def _names_in_one(bounds: list[Bound], words: Sequence[str]) -> list[Bound]:
    """Return bounds with two parts of one name as one piece."""
    whole: list[Bound] = []
    for one in bounds:
        before = whole[-1] if whole else None
        if (
            before is not None and one.free and before.free and one.field == "to"
            and (before.kind, before.field) == (one.kind, one.field)
            and _OF_A_NAME.issuperset(words[before.end : one.start])
        ):  # fmt: skip
            between = " ".join((before.value, *words[before.end : one.start], one.value))
            chance = before.chance + one.chance
            whole[-1] = replace(before, value=between, end=one.end, chance=chance)
        else:
            whole.append(one)
    return whole


#: What has a lid or a strainer of its own.
_HOLDERS = frozenset("can barrel drum tank tote tub jug cooler vat keg".split())


def _parts_of_vessels(bounds: list[Bound], words: Sequence[str]) -> list[Bound]:
    """Return bounds with a vessel as part of what belongs to it: "washed tank one's lid"."""
    whole: list[Bound] = []
    for one in bounds:
        before = whole[-1] if whole else None
        if (
            before is not None and (one.kind, one.field) == ("clean", "item")
            and before.kind == "clean" and _HOLDERS.intersection(str(before.value).split())
            and {"'s"}.issuperset(words[before.end : one.start])
        ):  # fmt: skip
            whole[-1] = replace(one, start=before.start, chance=before.chance + one.chance)
        else:
            whole.append(one)
    return whole


def sureness_of(words: Sequence[str], guess: Guess, bounds: Sequence[Bound]) -> float:
    """Return how sure the least sure word is.

    A small word beside a piece that is in its role belongs to it: "on" before "twelve".
    """
    least = min((0.0, *(one.chance / (one.end - one.start) for one in bounds)))
    role_at = {at: one for one in bounds for at in range(one.start, one.end)}
    for at, word in enumerate(words):
        if at in role_at:
            continue
        chance = math.exp(_unbound(word, guess, at))
        if word in _SMALL:
            near = (role_at.get(_next(words, at, step, role_at)) for step in (-1, 1))
            beside = {f"{one.kind}.{one.field}" for one in near if one is not None}
            if at + 1 in role_at:  # "at ten dollars" is no hour
                beside.add(f"{role_at[at + 1].kind}.at")
            chance += sum(math.exp(guess.roles[at].get(role, -99.0)) for role in beside)
        least = min(least, math.log(min(max(chance, 1e-9), 1.0)))
    return math.exp(least)


def _next(words: Sequence[str], at: int, step: int, role_at: Mapping[int, Bound]) -> int:
    """Return the first word on one side that is no small one."""
    at += step
    while 0 <= at < len(words) and at not in role_at and words[at] in _SMALL:
        at += step
    return at


#: Words that say nothing by themselves.
_SMALL = frozenset(
    "a an the my our of on at in to for from off out up by with about around is was it that this "
    "'s".split()
)


def _unbound(word: str, guess: Guess, at: int) -> float:
    """Return how likely a word has no piece: what the sentence tells as a whole needs none."""
    if word == BREAK:
        return 0.0
    return nothing_at(guess, at)


def nothing_at(guess: Guess, at: int) -> float:
    """Return how likely a word is nothing, or a number that counts for nothing, in logarithms.

    "Sold" and "white" tell a state of the sentence, which is read from all of it.
    """
    roles = guess.roles[at]
    whole = max(roles[NOTHING], roles[NO_NUMBER])
    for role, chance in roles.items():
        name = role.rpartition(".")[2]
        if chance > whole and "." in role and name not in SORTS and name not in FREE:
            whole = chance
    return whole


#: After these a number is the one left out: "all but fourteen".
_EXCEPT = frozenset({"but", "except", "without", "besides"})
_POINTING = frozenset({"that", "this", "the"})
_PAILS = frozenset({"pail", "bucket", "jug", "can", "drum", "barrel", "container"})
_HELD = frozenset({"pails", "buckets", "bags", "jugs", "cans", "jars", "bottles", "trips"})
#: Units that pieces have, or nobody reads; a number without the one after it is another.
_UNREAD = frozenset(
    "milliliter milliliters millilitre millilitres ounce ounces cup cups pound pounds kilo "
    "kilos".split()
)
_GAVE = frozenset({"gave", "had", "made", "holds"})
_BEFORE_PRICE = frozenset("for at paid price was cost costs got asked charged only each me".split())
_METRES = frozenset({"meter", "meters", "metre", "metres"})
_TREE_WORDS = frozenset({"tree", "number", "maple", "bucket", "tap", "no"})

#: What foam is knocked down with: beside a word of foam it is nothing else.
_AGENTS = frozenset("butter cream milk oil lard fat bacon defoamer".split())

#: With these a length of the trunk was told round it, without these through it.
_ROUND = frozenset({"around", "round", "girth", "circumference"})
_THROUGH = frozenset({"across", "through", "diameter", "thick", "wide", "width"})
#: It asks how thick a trunk is that was measured round.
_ACROSS = "diameter"


def _candidates(
    words: Sequence[str], guess: Guess, pieces: Sequence[Span], likely: Mapping[str, float]
) -> Iterator[Bound]:
    for role in guess.roles[0]:
        kind, _, name = role.partition(".")
        if kind not in likely:
            continue
        for piece in pieces:
            if piece.sort in SORTS.get(name, ()) and not _is_absurd(kind, name, piece, words):
                chance = sum(guess.roles[at][role] for at in range(piece.start, piece.end))
                is_girth = name == "diameter_in" and _goes_round(kind, piece, words)
                if piece.sort == "size" and _is_of_a_price(words, piece.start):
                    continue
                if piece.sort == "girth" and kind != _ACROSS and _through(words[piece.end :]):
                    continue  # "thirty inches around, i mean across"
                if _is_told_by_unit(name, piece, words):
                    chance = max(chance, SURE_BY_UNIT * len(piece))
                field = "girth" if is_girth else name
                if chance / len(piece) > -4:
                    yield Bound(kind, field, piece.value, piece.start, piece.end, chance)
        if name in FREE:
            yield from _free_words(words, guess, role)


def _goes_round(kind: str, piece: Span, words: Sequence[str]) -> bool:
    """Whether a length was told round the trunk: also "fifty seven around, how thick is that"."""
    asked_of = words[piece.end : piece.end + 1] if kind == _ACROSS else words
    return piece.sort != "girth" and not _ROUND.isdisjoint(words) and not _through(asked_of)


def _through(words: Sequence[str]) -> bool:
    return not _THROUGH.isdisjoint(words)


def _is_told_by_unit(name: str, piece: Span, words: Sequence[str]) -> bool:
    """Whether a piece can be nothing else: so many dollars, so many feet by so many."""
    is_money = not _MONEY.isdisjoint(words[piece.end : piece.end + 1])
    return piece.sort == "area" or (name == "price" and is_money)


def _is_of_a_price(words: Sequence[str], at: int) -> bool:
    """Whether a size says what one costs: "eight dollars a pint"."""
    before = words[max(at - 2, 0) : at]
    return len(before) > 1 and before[0] in _MONEY and before[1] in ("a", "per", "the")


def _is_absurd(kind: str, name: str, piece: Span, words: Sequence[str]) -> bool:
    """Whether a number without its unit is another thing: of "a gallon at three" no heat is 3.

    "Three ten, four eleven" has no tree 411: such a number is said with "tree". "That five gallon
    pail was full" has no amount.
    """
    if name == "volume_gal" and piece.sort == "number" and _is_no_amount(piece, words):
        return True
    if name == "volume_gal" and words[max(piece.start - 1, 0)] in _POINTING:
        return not _PAILS.isdisjoint(words[piece.end - 1 : piece.end + 2])
    if piece.sort == "trees" and words[max(piece.start - 1, 0)] in _GAVE:
        return True  # "seven gave one and eight gave two"
    if name == "price" and piece.sort == "number" and not _MONEY.intersection(words):
        return words[max(piece.start - 1, 0)] not in _BEFORE_PRICE
    if piece.sort == "number" and not _UNREAD.isdisjoint(words[piece.end : piece.end + 1]):
        return True
    if not _METRES.isdisjoint(words[piece.end : piece.end + 2]):
        return True  # no rule has them: "half a metre" is no half inch
    if name in ("tree", "off") and isinstance(piece.value, int | float):
        is_named = not _TREE_WORDS.isdisjoint(words[max(piece.start - 1, 0) : piece.end])
        is_amount = _is_of_another_unit("tree", words[piece.end : piece.end + 1])
        # "two gallons at noon and one at five from tree six"
        is_amount = is_amount or (words[max(piece.start - 1, 0)] == "at" and "tree" in words)
        return not is_named and (piece.value >= FAR_TREE or is_amount)
    if piece.sort == "number" and _is_of_another_unit(name, words[piece.end : piece.end + 1]):
        return True
    if piece.sort != "number" or kind not in ACTS or not isinstance(piece.value, int | float):
        return False
    slot = slots_of(ACTS[kind]).get(name)
    return slot is not None and bool(slot.likely) and is_far_off(slot.likely, piece.value)


def _is_no_amount(piece: Span, words: Sequence[str]) -> bool:
    """Whether a number is left out of all, or counts pails: "poured two buckets, ten gallons"."""
    counts = _HELD.intersection(words[piece.end : piece.end + 1])
    return bool(counts) or (piece.start > 0 and words[piece.start - 1] in _EXCEPT)


#: What a number before one of these words measures, by the sorts of piece that have it.
_MEASURED = (
    ({"inch", "inches", "centimeters", "centimetres"}, {"length", "height", "bit"}),
    ({"foot", "feet"}, {"height"}),
    ({"degrees", "celsius", "fahrenheit"}, {"temperature"}),
    ({"gallons", "gallon", "quarts", "pints", "liters", "litres"}, {"volume", "size"}),
    ({"cord", "cords"}, {"cords"}),
    ({"brix"}, {"sugar"}),
)


def _is_of_another_unit(name: str, after: Sequence[str]) -> bool:
    """Whether the word after a number is a unit that a field does not have: two inches of ice."""
    return any(
        not units.isdisjoint(after) and sorts.isdisjoint(SORTS.get(name, ()))
        and not (name == "count" and "size" in sorts)
        for units, sorts in _MEASURED
    )  # fmt: skip


def _free_words(words: Sequence[str], guess: Guess, role: str) -> Iterator[Bound]:
    """Yield runs of words that are likelier in this role than in any other."""
    kind, _, name = role.partition(".")
    if name == "agent":
        for at in (at for at, word in enumerate(words) if word in _AGENTS):
            chance = max(guess.roles[at][role], A_PIECE + 0.1)
            yield Bound(kind, name, words[at], at, at + 1, chance, free=True)
    if name in TEXTS:
        meant = [at for at, roles in enumerate(guess.roles) if roles[role] > LIKELIEST]
        if meant:
            said = words[meant[0] : meant[-1] + 1]
            chance = sum(guess.roles[at][role] for at in meant)
            text = text_of(said).replace(f" {BREAK}", BREAK)
            yield Bound(kind, name, text, meant[0], meant[-1] + 1, chance, free=True)
        return
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and words[end] != BREAK and guess.roles[end][role] > LIKELIEST:
            end += 1
        if end > at:
            said = list(words[at:end])
            while said and said[0] in (_BEFORE_PLACE if name == "site" else _ARTICLES):
                said.pop(0)
            if said:
                chance = sum(guess.roles[one][role] for one in range(at, end))
                told = text_of(said)
                yield Bound(kind, name, told, at, end, chance, free=True)
        at = max(end, at + 1)
