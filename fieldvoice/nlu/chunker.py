"""Pieces of a sentence that have a value: every place where a rule of ``grammars/spans.jsgf`` fits.

A value always comes from such a rule, read word for word; whoever guesses what a sentence is about
only chooses among them, so that no number is ever made up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fieldvoice.nlu.normalise import BREAK
from fieldvoice.nlu.parser import exact_ways, marks_of
from fieldvoice.nlu.semantics import NoFrameError, value_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.nlu.parser import Networks

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
        found[key] = (way.cost, Span(sort, at, end, value))
    whole = [
        span
        for _, span in found.values()
        if words[span.end - 1] != BREAK and not _cuts_a_number(span, words)
    ]
    return sorted(whole, key=lambda span: (span.start, -span.end))


def _cuts_a_number(span: Span, words: tuple[str, ...]) -> bool:
    """Whether a span begins or ends within a number: as "thirty" of "thirty nine" does."""
    return any(0 < at < len(words) and _belong(words, at) for at in (span.start, span.end))


def _belong(words: tuple[str, ...], at: int) -> bool:
    """Whether the words before and after a place are of one number."""
    before, after = words[at - 1], words[at]
    if before in _TENS and after in _ONES:
        return True
    if "point" in (before, after) and (before in _COUNTED or after in _COUNTED):
        return True
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
_TENS = frozenset("twenty thirty forty fifty sixty seventy eighty ninety".split())
_COUNTED = (
    _ONES
    | _TENS
    | frozenset(
        "zero oh ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen "
        "a".split()
    )
)
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
