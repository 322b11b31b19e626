"""A reply as it is said: tree numbers as on a sign, amounts with their halves and quarters."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice import segments as s
from fieldvoice.nlg import wording as w
from fieldvoice.nlg import written
from fieldvoice.nlg.numbers import cardinal, ordinal, paired
from fieldvoice.nlg.units import quantity, unit_of
from fieldvoice.nlg.verbalise import say_code, tidy, verbalise
from fieldvoice.nlg.written import PLAIN, Style

if TYPE_CHECKING:
    from collections.abc import Iterable


def spoken(told: Iterable[s.Sentence], style: Style = PLAIN) -> str:
    """Return sentences as one text for a voice: no figure, no sign, no unit that is not a word."""
    joined = written.joined_by_head(told)
    return tidy(" ".join(written.sentence(one, style, _words) for one in joined))


def _words(part: s.Segment, style: Style) -> str:
    """Return one part as it is said."""
    match part:
        case s.Quantity():
            figures, sign, what = w.measured(part, style.metric)
            is_bit = part.unit == "bit in"
            return quantity(figures, unit_of(sign), before_thing=is_bit) + what
        case s.Count():
            _, thing = w.counted(part.count, part.one, part.many)
            return f"{cardinal(part.count)} {verbalise(thing)}".rstrip()
        case s.TreeRef() if written.name_of(part, style) is None:
            return w.tree_names(part.trees, paired)
        case s.Day():
            return w.calendar_day(part.day, ordinal)
        case s.Lot():
            return say_code(part.code)
        case s.RuleText(told=told) if told:
            return written.phrase(told, style, _words)
    return verbalise(written.segment(part, style))
