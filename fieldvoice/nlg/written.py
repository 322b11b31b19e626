"""A reply as it is read: figures with units, names in place of numbers, one line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import singledispatch
from typing import TYPE_CHECKING

from fieldvoice import segments as s
from fieldvoice.nlg import wording as w

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from fieldvoice.meaning import Names


@dataclass(frozen=True, slots=True)
class Style:
    """How a book wants to be told of: in litres and Celsius, and by the names it has given.

    Without ``names`` trees and vessels keep their numbers, as where a number is in doubt.
    """

    metric: bool = False
    names: Names | None = None

    def by_number(self) -> Style:
        """Return this style with numbers in place of names."""
        return replace(self, names=None)


PLAIN = Style()


def written(told: Iterable[s.Sentence], style: Style = PLAIN) -> str:
    """Return sentences as one text; those told of the same thing, one after the other, are one."""
    return " ".join(sentence(one, style) for one in joined_by_head(told))


def sentence(one: s.Sentence, style: Style = PLAIN) -> str:
    """Return one sentence, with its capital letter and its stop."""
    text = (
        told_text(one.parts, style) if isinstance(one.parts, s.Told) else phrase(one.parts, style)
    )
    return w.start(text) if text[-1:] in tuple(".?!") else w.start(text) + one.stop


def phrase(parts: s.Parts, style: Style = PLAIN) -> str:
    """Return parts in a row, a space between them."""
    return " ".join(text for part in parts if (text := segment(part, style)))


def told_text(told: s.Told, style: Style = PLAIN) -> str:
    """Return "tree 9: 2.5 gal, clear" without a capital letter or a stop."""
    head = phrase(told.head, style)
    rest = ", ".join(phrase(one, style) for one in told.details)
    return f"{head}: {rest}" if head and rest else head or rest


def joined_by_head(told: Iterable[s.Sentence]) -> list[s.Sentence]:
    """Return the sentences with those that have the same head, one after the other, in one."""
    joined: list[s.Sentence] = []
    for one in told:
        both = _both(joined[-1].parts, one.parts) if joined else None
        if both is not None:
            joined[-1] = replace(joined[-1], parts=both)
        else:
            joined.append(one)
    return joined


def _both(before: s.Parts | s.Told, after: s.Parts | s.Told) -> s.Told | None:
    """Return two sentences in one, where both tell something of the same thing."""
    if not (isinstance(before, s.Told) and isinstance(after, s.Told)):
        return None
    if not before.head or before.head != after.head or not (before.details and after.details):
        return None
    return s.Told(before.head, before.details + after.details)


@singledispatch
def segment(part: s.Segment, style: Style) -> str:
    """Return one part in words."""
    raise TypeError(f"no words for {part!r}")


@segment.register
def _(part: s.Text, style: Style) -> str:
    return part.text


@segment.register
def _(part: s.RuleText, style: Style) -> str:
    return part.text


@segment.register
def _(part: s.Example, style: Style) -> str:
    return f'"{part.words}"'


@segment.register
def _(part: s.TreeRef, style: Style) -> str:
    if len(part.trees) == 1 and isinstance(part.trees[0], int) and style.names is not None:
        return style.names.of_tree(part.trees[0]) or w.tree_name(part.trees[0])
    return w.tree_names(part.trees)


@segment.register
def _(part: s.VesselRef, style: Style) -> str:
    named = style.names.of_vessel(part.name) if style.names is not None else None
    return named or part.name


@segment.register
def _(part: s.Quantity, style: Style) -> str:
    return _UNITS[part.unit](part, style.metric)


@segment.register
def _(part: s.Level, style: Style) -> str:
    return w.fill_words(part.fill)


@segment.register
def _(part: s.Share, style: Style) -> str:
    return w.part_words(part.share)


@segment.register
def _(part: s.Condition, style: Style) -> str:
    return w.sap_words(part.sap)


@segment.register
def _(part: s.Species, style: Style) -> str:
    return w.species_name(part.species)


@segment.register
def _(part: s.When, style: Style) -> str:
    return {"past": w.time_past, "coming": w.when, "ago": w.ago}[part.form](part.at, part.now)


@segment.register
def _(part: s.Day, style: Style) -> str:
    return w.calendar_day(part.day)


@segment.register
def _(part: s.Span, style: Style) -> str:
    return w.age(part.seconds)


@segment.register
def _(part: s.Count, style: Style) -> str:
    return w.counted(part.count, part.one, part.many)


def _figure(places: int, unit: str) -> Callable[[s.Quantity, bool], str]:
    def told(part: s.Quantity, metric: bool) -> str:
        return f"{w.figure(part.value, places if part.places is None else part.places)}{unit}"

    return told


_UNITS: Mapping[s.Unit, Callable[[s.Quantity, bool], str]] = {
    "gal": lambda part, metric: w.volume(part.value, metric),
    "syrup gal": lambda part, metric: w.syrup(part.value, metric),
    "in": lambda part, metric: w.length(part.value, metric),
    "bit in": lambda part, metric: w.bit(part.value),
    "ft": lambda part, metric: w.height(part.value, metric),
    "°F": lambda part, metric: w.temperature(part.value, metric),
    "cord": lambda part, metric: w.cords(part.value),
    "% sugar": _figure(1, " % sugar"),
    "Brix": _figure(2, " Brix"),
    "%": _figure(2, " %"),
    "sq ft": _figure(1, " square feet"),
    "inHg": _figure(2, " inHg"),
}
