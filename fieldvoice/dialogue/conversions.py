"""An amount asked for in another unit: "what's forty F in C", "how many gallons is twenty liters".

What is told goes both ways and so needs no direction: "40 °F is 4.4 °C". Definitions are exact
(`nlg/metric.py`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldvoice.nlg.metric import CM_PER_IN, L_PER_GAL, NUMBER, value_of
from fieldvoice.schema.asks.season import Advice
from fieldvoice.segments import fact

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import Turn

_FREEZING_F, _F_A_C = 32.0, 1.8
#: The cards that tell how units go together.
_CARDS = frozenset({"fahrenheit-and-celsius", "gallons-and-liters", "measure-trunk"})


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two units: how each is called, written, and what one of ours is in metric."""

    ours: str
    metric: str
    signs: tuple[str, str]
    factor: float
    zero: float = 0.0


_PAIRS = (
    _Pair(r"°?f|fahrenheit", r"°?c|celsius|centigrade", ("°F", "°C"), 1 / _F_A_C, _FREEZING_F),
    _Pair(r"gal(?:lons?)?", r"l|lit(?:er|re)s?", ("gal", "L"), L_PER_GAL),
    _Pair(r"inch(?:es)?", r"cm|centimet(?:er|re)s?", ("in", "cm"), CM_PER_IN),
)
_BELOW_ZERO = re.compile(r"\b(?:minus|negative|below zero)\b|(?<!\w)[-\u2212](?=\d)", re.IGNORECASE)


def with_conversion(turn: Turn, text: str) -> Turn:
    """Return an answer that is a card on units with the amount of its question worked out."""
    topics = {one.topic for one in turn.meanings if isinstance(one, Advice)}
    if turn.outcome != "answered" or len(turn.meanings) != 1 or _CARDS.isdisjoint(topics):
        return turn
    told = next(filter(None, (_converted(pair, text) for pair in _PAIRS)), None)
    return turn if told is None else replace(turn, told=(fact(told),), metric=False)


def _converted(pair: _Pair, text: str) -> str | None:
    """Return what an amount in ``text`` is in both units, if it names both or says "convert"."""
    both = all(re.search(rf"(?<![a-z])(?:{unit})\b", text, re.IGNORECASE) for unit in _units(pair))
    found = _amount(rf"\s*(?:degrees? )?(?P<unit>{'|'.join(_units(pair))})\b", text)
    asked = _amount(rf"\s*(?:degrees? )?(?:in|to|into) (?P<unit>{'|'.join(_units(pair))})\b", text)
    if found is not None and (both or text.lower().startswith("convert")):
        amount, unit = found
    elif asked is not None:
        amount, wanted = asked
        unit = pair.ours if re.fullmatch(pair.metric, wanted, re.IGNORECASE) else pair.metric
    else:
        return None
    if _BELOW_ZERO.search(text):
        amount = -abs(amount)
    is_ours = unit == pair.ours or re.fullmatch(pair.ours, unit, re.IGNORECASE) is not None
    ours = amount if is_ours else amount / pair.factor + pair.zero
    metric = (amount - pair.zero) * pair.factor if is_ours else amount
    values = ((ours, pair.signs[0]), (metric, pair.signs[1]))
    one, other = values if is_ours else values[::-1]
    return f"{one[0]:.4g} {one[1]} is {_rounded(other[0])} {other[1]}"


def _units(pair: _Pair) -> tuple[str, str]:
    return pair.ours, pair.metric


def _amount(after: str, text: str) -> tuple[float, str] | None:
    """Return the first number that stands before ``after``, and the unit there."""
    found = re.search(rf"(?<![\w.])(?P<number>{NUMBER}){after}", text, re.IGNORECASE)
    return None if found is None else (value_of(found["number"]), found["unit"])


def _rounded(value: float) -> str:
    """Return a figure to a tenth, above a hundred whole."""
    return f"{value:.0f}" if abs(value) >= 100 else f"{round(value, 1) + 0.0:g}"
