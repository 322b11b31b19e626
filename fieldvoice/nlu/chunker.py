"""Pieces of a sentence that have a value: every place where a rule of ``grammars/spans.jsgf`` fits.

A value always comes from such a rule, read word for word; whoever guesses what a sentence is about
only chooses among them, so that no number is ever made up.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from fieldvoice.nlu.normalise import BREAK
from fieldvoice.nlu.parser import exact_ways, marks_of
from fieldvoice.nlu.semantics import NoFrameError, value_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from fieldvoice.nlu.parser import Networks

#: Pieces that tell a time.
_TIMES = ("when", "clock")

_GRAMMAR, _ENDING = "spans.", "_span"
_LIST = "spans.trees_span"


@dataclass(frozen=True, slots=True)
class Span:
    """Words ``start`` to ``end`` (exclusive) as one value of a sort ("volume", "tree")."""

    sort: str
    start: int
    end: int
    value: Any

    def __len__(self) -> int:
        return self.end - self.start


#: A number without the sign before it is another number.
_SIGNS = frozenset({"minus", "negative", "plus"})


def spans(networks: Networks, words: tuple[str, ...]) -> list[Span]:
    """Return every span of every sort, in order; of the same words and sort the likeliest.

    A span never begins or ends between two words of a number, and a list of trees never within a
    row of numbers: of sixty in a row there would be two thousand lists.
    """

    def may_begin(rule: str, at: int) -> bool:
        in_a_row = at > 0 and words[at - 1] in _COUNTED and words[at] in _COUNTED
        return not (in_a_row and rule == _LIST)

    found: dict[tuple[str, int, int], tuple[float, Span]] = {}
    for rule, at, end, way in exact_ways(networks, _rules(networks), words, may_begin):
        sort = rule.removeprefix(_GRAMMAR).removesuffix(_ENDING).removeprefix("a_")
        key = (sort, at, end)
        if key in found and found[key][0] <= way.cost:
            continue
        try:
            value = value_of(sort, marks_of(way))
        except NoFrameError:
            continue
        if sort == "trees" and _parts_a_number(words[at:end], value):
            continue
        found[key] = (way.cost, Span(sort, at, end, value))
    whole = [
        span
        for _, span in found.values()
        if words[span.end - 1] != BREAK
        and not _cuts_a_number(span, words)
        and (span.start == 0 or words[span.start - 1] not in _SIGNS)
    ]
    firm = [one for one in whole if _is_of_pails(one, words) or _is_of_sides(one, words)]
    apart = [
        span for span in whole
        if not any(_is_part(span, one) for one in firm)
        and not _is_of_an_amount(span, whole, words)
    ]  # fmt: skip
    return sorted(apart, key=lambda span: (span.start, -span.end))


def numbered(words: tuple[str, ...]) -> list[Span]:
    """Return containers that are called by a number, "can two", beside those the rules know.

    Only for words that are no question: "can two people" begins one.
    """
    return [
        Span("vessel", at, at + 2, f"{words[at]} {words[at + 1]}")
        for at in range(1, len(words) - 1)
        if words[at] in _CONTAINERS and words[at + 1] in _ONES
        and _UNITS.isdisjoint(words[at + 2 : at + 3])
    ]  # fmt: skip


_CONTAINERS = frozenset("can drum tub cooler vat bin keg cask carboy trough".split())


def sides(words: tuple[str, ...], pieces: Sequence[Span]) -> list[Span]:
    """Return the area of a pan of so many inches or centimetres by so many, in square feet.

    The unit may be said once: "sixty by a hundred and twenty centimetres".
    """
    if "pan" not in words:
        return []
    found = []
    for at in (at for at, word in enumerate(words) if word in ("by", "x")):
        before = [one for one in pieces if one.end == at]
        start = min((one.start for one in before if one.sort in _SIDES), default=at)
        left = _side([one for one in pieces if one.start == start and one.end <= at], words)
        right = _side([one for one in pieces if one.start == at + 1], words)
        if left is None or right is None or not (left[1] or right[1]):
            continue
        one, other = (number * (unit or left[1] or right[1]) for number, unit, _ in (left, right))
        found.append(Span("area", start, right[2], round(one * other / 144, 2)))
    return found


def _side(pieces: Sequence[Span], words: Sequence[str]) -> tuple[float, float, int] | None:
    """Return a side's number, its unit in inches (0 where none was said), and where it ends."""
    number = max((one for one in pieces if one.sort == "number"), key=len, default=None)
    if number is None or not number.value:
        return None
    lengths = [
        one for one in pieces
        if one.sort == "length" and not _OF_A_SIDE.isdisjoint(words[one.start : one.end])
    ]  # fmt: skip
    if not lengths:
        return number.value, 0.0, number.end
    return number.value, lengths[0].value / number.value, lengths[0].end


_SIDES = frozenset({"length", "number"})
_OF_A_SIDE = frozenset("inch inches centimeters centimetres centimeter centimetre".split())


def _is_part(span: Span, whole: Span) -> bool:
    """Whether a span lies within another and is shorter."""
    return whole.start <= span.start and span.end <= whole.end and len(span) < len(whole)


def _is_of_an_amount(span: Span, whole: Sequence[Span], words: tuple[str, ...]) -> bool:
    """Whether a share is the beginning of a measure: of "half an inch" nothing is half full."""
    is_share = span.sort == "fill" or (span.sort == "number" and words[span.end - 1] in SHARES)
    return is_share and any(
        one.sort in ("length", "volume") and one.start == span.start and _is_part(span, one)
        for one in whole
    )


def _is_of_pails(span: Span, words: tuple[str, ...]) -> bool:
    """Whether a span is so many pails of a size: of "six five gallon pails" none is cut off."""
    said = words[span.start : span.end]
    return span.sort == "volume" and any(
        one == "gallon" and other in _PAILS for one, other in pairwise(said)
    )


def sizes_of_pails(words: Sequence[str]) -> Iterator[int]:
    """Yield where words tell how big a pail is and not what was in it: "five gallon" in one's."""
    for at in range(1, len(words) - 1):
        if words[at] in _OF_A_PAIL and words[at + 1] in _PAILS and words[at - 1] in _COUNTED:
            start = at
            while start > 0 and words[start - 1] in _COUNTED and at - start < _LONGEST_SIZE:
                start -= 1
            yield from range(start, at + 1)


#: In one of these a pail's size is told, in so many words of a number ("twenty five").
_OF_A_PAIL = frozenset({"gallon", "quart", "liter", "litre"})
_LONGEST_SIZE = 2


def _is_of_sides(span: Span, words: tuple[str, ...]) -> bool:
    """Whether a span is two sides in feet: of "two feet by four" nothing is an hour."""
    return span.sort == "area" and not _FEET.isdisjoint(words[span.start : span.end])


def _parts_a_number(said: tuple[str, ...], trees: Any) -> bool:
    """Whether a list has two trees for the words of one: twenty and six for "twenty six"."""
    tens = sum(one in _TENS and other in _ONES for one, other in pairwise(said))
    listed = len(said) - tens - sum(word in ("and", "tree", "trees", BREAK) for word in said)
    return tens > 0 and not _UP_TO.intersection(said) and len(trees) > listed


_FEET = frozenset({"feet", "foot"})

#: What is counted or measured: a number before it is no hour.
_UNITS = frozenset(
    "dollars dollar bucks cents percent degrees celsius fahrenheit brix gallons gallon quarts "
    "quart pints pint liters litres cords cord inches inch feet foot each apiece".split()
)
_UP_TO = frozenset({"to", "through", "thru", "between", "from"})


def _cuts_a_number(span: Span, words: tuple[str, ...]) -> bool:
    """Whether a span begins or ends within a number: as "thirty" of "thirty nine" does."""
    after = words[span.end : span.end + 1]
    if span.sort in _TIMES and words[span.end - 1] in _ONES and _TENS.intersection(after):
        return True  # "at one eighty five" is no hour
    if span.sort in _TIMES and words[span.end - 1] in _COUNTED and _UNITS.intersection(after):
        return True  # nor is "at ten dollars apiece"
    if span.sort == "volume" and words[max(span.start - 1, 0)] == "of":
        return words[max(span.start - 2, 0)] in _SEVERAL_PARTS  # "five eighths of a gallon"
    if span.sort == "cords" and words[max(span.start - 1, 0)] in _BEFORE_CORD:
        return words[span.start] in ("a", "cord", "cords")  # of "half a cord" no cord is cut off
    return any(0 < at < len(words) and _belong(words, at) for at in (span.start, span.end))


def _belong(words: tuple[str, ...], at: int) -> bool:
    """Whether the words before and after a place are of one number."""
    before, after = words[at - 1], words[at]
    if before in _TENS and after in _ONES:
        return True
    if "point" in (before, after) and (before in _COUNTED or after in _COUNTED):
        return True
    if at > 1 and words[at - 2] == "point" and before in _DIGITS and after in _DIGITS:
        return True  # "one point two five"
    if after == "hundred" or (before == "hundred" and after in _COUNTED):
        return True
    if before in _COUNTED and after in _SEVERAL_PARTS:
        return True
    return any(_is_within_and_a_part(words, at, at - back) for back in range(min(at, 3)))


def _is_within_and_a_part(words: tuple[str, ...], at: int, start: int) -> bool:
    """Whether a place is before the "and a half" at ``start``, or in it after a number."""
    if words[start] != "and":
        return False
    part = next((one for one in _PARTS if words[start + 1 : start + 1 + len(one)] == one), ())
    if at == start:
        return bool(part)
    return at <= start + len(part) and words[start - 1] in _COUNTED


_ONES = frozenset("one two three four five six seven eight nine".split())
_DIGITS = _ONES | {"zero", "oh"}
_TENS = frozenset("twenty thirty forty fifty sixty seventy eighty ninety".split())
_COUNTED = (
    _ONES
    | _TENS
    | frozenset(
        "zero oh ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen "
        "a".split()
    )
)
_PAILS = frozenset(
    "pail pails pailful bucket buckets jug jugs can cans carboy carboys container containers keg "
    "kegs".split()
)
_BEFORE_CORD = _COUNTED | frozenset({"half", "quarter", "third", "face", "of"})
SHARES = frozenset({"half", "third", "quarter", "thirds", "quarters"})
_SEVERAL_PARTS = frozenset("quarters thirds fourths fifths eighths sixteenths".split())
_PARTS = tuple(
    tuple(part.split())
    for part in (
        "a half",
        "a quarter",
        "a third",
        "one half",
        "one quarter",
        "three quarters",
        "two thirds",
    )
)


def _rules(networks: Networks) -> Iterable[str]:
    return [
        rule for rule in networks.by_rule if rule.startswith(_GRAMMAR) and rule.endswith(_ENDING)
    ]
