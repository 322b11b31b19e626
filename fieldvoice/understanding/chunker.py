"""Pieces of a sentence that have a value: every place where a rule of ``grammars/spans.jsgf`` fits.

A value always comes from such a rule, read word for word; whoever guesses what a sentence is about
only chooses among them, so that no number is ever made up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fieldvoice.understanding import prices
from fieldvoice.understanding.compose import NoMeaningError, value_of
from fieldvoice.understanding.search import Sentence, exact_ways, marks_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.understanding.search import Networks

_GRAMMAR, _ENDING = "spans.", "_span"


@dataclass(frozen=True, slots=True)
class Span:
    """Words ``start`` to ``end`` (exclusive) as one value of a sort ("volume", "tree", "number")."""

    sort: str
    start: int
    end: int
    value: Any

    def __len__(self) -> int:
        return self.end - self.start


def spans(networks: Networks, words: tuple[str, ...]) -> list[Span]:
    """Return every span of every sort, by where it begins; of the same words and sort the likeliest.

    A span never begins or ends between two words of a number.
    """
    found: dict[tuple[str, int, int], tuple[float, Span]] = {}
    for rule, at, end, way in exact_ways(networks, _rules(networks), words):
        sort = rule.removeprefix(_GRAMMAR).removesuffix(_ENDING).removeprefix("a_")
        key = (sort, at, end)
        if key in found and found[key][0] <= way.cost:
            continue
        try:
            value = value_of(sort, marks_of(way))
        except NoMeaningError:
            continue
        found[key] = (way.cost, Span(sort, at, end, value))
    return sorted((span for _, span in found.values()), key=lambda span: (span.start, -span.end))


def _rules(networks: Networks) -> Iterable[str]:
    return [
        rule for rule in networks.by_rule if rule.startswith(_GRAMMAR) and rule.endswith(_ENDING)
    ]
