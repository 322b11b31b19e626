"""A reply as it is read: figures with units, names in place of numbers, one line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import singledispatch
from itertools import groupby
from typing import TYPE_CHECKING

from fieldvoice import segments as s
from fieldvoice.nlg import wording as w
from fieldvoice.nlg.metric import in_metric
from fieldvoice.rules.boiling import hours_in_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

    from fieldvoice.schema import Names


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
Words = Callable[[s.Segment, Style], str]


def written(told: Iterable[s.Sentence], style: Style = PLAIN) -> str:
    """Return sentences as one text; those told of the same thing, one after the other, are one."""
    return " ".join(filter(None, (sentence(one, style) for one in joined_by_head(told))))


def sentence(one: s.Sentence, style: Style = PLAIN, words: Words | None = None) -> str:
    """Return one sentence with its capital letter and its stop; empty where it has no words.

    ``words`` gives the words of one segment, left out: as they are written.
    """
    in_words = words or segment
    if isinstance(one.parts, s.Told):
        text = told_text(one.parts, style, in_words)
    else:
        text = phrase(one.parts, style, in_words)
    if one.about and text:
        text = f"About {phrase(one.about, style, in_words)}: {w.going_on(text)}"
    if not text or text[-1] in ".?!":
        return w.start(text)
    return w.start(text) + one.stop


def phrase(parts: s.Parts, style: Style = PLAIN, words: Words | None = None) -> str:
    """Return parts in a row, a space before each that does not begin with a stop."""
    told = ""
    for part in _words_joined(parts) if style.metric else parts:
        text = (words or segment)(part, style)
        told += text if not told or text.startswith(_CLOSE_ON) else f" {text}"
    return told


def _words_joined(parts: s.Parts) -> Iterator[s.Segment]:
    """Yield parts with words that follow each other as one: a unit may stand in the next."""
    for is_words, run in groupby(parts, lambda part: isinstance(part, s.Text)):
        if not is_words:
            yield from run
            continue
        yield s.Text(phrase(tuple(run)))


#: What stands right behind the word before it.
_CLOSE_ON = (",", ";", ":", ".", "?", "!", "'s")


def told_text(told: s.Told, style: Style = PLAIN, words: Words | None = None) -> str:
    """Return "tree 9: 2.5 gal, clear" without a capital letter or a stop."""
    head = phrase(told.head, style, words)
    rest = ", ".join(phrase(one, style, words) for one in told.details)
    if not (head and rest):
        return head or rest
    if isinstance(told.details[0][0], s.RuleText):
        rest = rest[:1].lower() + rest[1:]
    return f"{head}: {rest}"


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
    told = before.details
    if told[-1] == after.details[-1] and isinstance(told[-1][-1], s.When):
        told = told[:-1]  # the time of both is told once, at the end
    return s.Told(before.head, told + after.details)


@singledispatch
def segment(part: s.Segment, style: Style) -> str:
    """Return one part in words."""
    raise TypeError(f"no words for {part!r}")


@segment.register
def _(part: s.Text, style: Style) -> str:
    return in_metric(part.text) if style.metric else part.text


@segment.register
def _(part: s.RuleText, style: Style) -> str:
    if part.told:
        return phrase(part.told, style)
    return in_metric(part.text) if style.metric else part.text


@segment.register
def _(part: s.Lot, style: Style) -> str:
    return part.code


@segment.register
def _(part: s.Example, style: Style) -> str:
    return f'"{in_metric(part.words) if style.metric else part.words}"'


@segment.register
def _(part: s.Quote, style: Style) -> str:
    return f'"{part.words}"' if part.marks else part.words


@segment.register
def _(part: s.TreeRef, style: Style) -> str:
    return name_of(part, style) or w.tree_names(part.trees)


def name_of(part: s.TreeRef, style: Style) -> str | None:
    """Return the name that one tree was given; a list keeps its numbers, which are walked by."""
    if style.names is None or len(part.trees) != 1:
        return None
    return style.names.of_tree(part.trees[0])


@segment.register
def _(part: s.VesselRef, style: Style) -> str:
    named = style.names.of_vessel(part.name) if style.names is not None else None
    return named or part.name


@segment.register
def _(part: s.Quantity, style: Style) -> str:
    figures, sign, what = w.measured(part, style.metric)
    return f"{figures} {sign}{what}"


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
    return _TIMES[part.form](part.at, part.now)


_TIMES: Mapping[str, Callable[[datetime, datetime], str]] = {
    "past": w.time_past, "coming": w.when, "ago": w.ago, "said": w.time_said,
    "due": w.time_due,
    "clock": lambda at, _: w.clock(at), "exact": lambda at, _: w.exact_clock(at),
}  # fmt: skip


@segment.register
def _(part: s.Day, style: Style) -> str:
    return w.calendar_day(part.day)


@segment.register
def _(part: s.Span, style: Style) -> str:
    return w.age(part.seconds) if part.form == "age" else hours_in_words(part.seconds / 3600)


@segment.register
def _(part: s.Count, style: Style) -> str:
    return " ".join(w.counted(part.count, part.one, part.many)).rstrip()
