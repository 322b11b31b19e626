"""Answers from what was noted once: the weather of a day, wood burned, money, jars packed."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.answered import Answered, answer, answers, told_gal
from fieldvoice.dialogue.answers.pantry import sorts
from fieldvoice.dialogue.noted import noted
from fieldvoice.nlu.times import days_of
from fieldvoice.schema.acts import Cost, Fuel, Pack, StockOut
from fieldvoice.schema.acts.pantry import containers, dollars
from fieldvoice.schema.asks.past import JarsPacked, Money, WeatherNoted, WoodBurned
from fieldvoice.schema.vocabulary import SPAN_THEN
from fieldvoice.segments import Day, Lot, Quantity, Text, fact, listed, parts

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from fieldvoice.book.season import DayWeather
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.segments import Parts, Piece, Sentence

#: As many as one can follow by ear (a design choice).
_MOST_TOLD = 3


def cords_burned(span: str | None, moment: TurnContext) -> float:
    """Return the cords of wood noted as burned in a time, beside a boil or not."""
    return sum(act.cords or 0.0 for _, act in noted(Fuel, span, moment))


def jars_of(packs: Iterable[Pack]) -> dict[tuple[str, str], int]:
    """Return how many jars of each size and colour were packed."""
    counts: Counter[tuple[str, str]] = Counter()
    for act in packs:
        counts[act.size or "container", act.colour or ""] += act.count or 0
    return counts


def _when(span: str | None) -> Parts:
    return SPAN_THEN.told(span) if span else (Text("this season"),)


@answers(WeatherNoted)
def _weather_noted(ask: WeatherNoted, moment: TurnContext) -> Answered:
    first, last = days_of(ask.span) if ask.span else (None, moment.now.date())
    days = [one for one in moment.season.weather if (first or one.day) <= one.day <= last]
    if not days:
        return answer("No low or high is in the book", *(_when(ask.span) if ask.span else ()))
    if first is None:
        days = days[-1:]
    told = [fact(_day_told(one, moment)) for one in days[-_MOST_TOLD:]]
    if len(days) <= _MOST_TOLD:
        return Answered(tuple(told))
    return Answered((fact(_extremes(days)), *told[-1:]))


def _day_told(noted: DayWeather, moment: TurnContext) -> Parts:
    today = noted.day == moment.now.date()
    low, high = noted.low_f, noted.high_f
    degrees = listed(
        parts(name, Quantity(value, "°F")) for name, value in (("low", low), ("high", high))
        if value is not None
    )  # fmt: skip
    return parts("Today" if today else Day(noted.day), ":", degrees)


def _extremes(days: Sequence[DayWeather]) -> Parts:
    lows = [one.low_f for one in days if one.low_f is not None]
    highs = [one.high_f for one in days if one.high_f is not None]
    return listed((
        *((parts("coldest", Quantity(min(lows), "°F")),) if lows else ()),
        *((parts("warmest", Quantity(max(highs), "°F")),) if highs else ()),
    ))  # fmt: skip


@answers(WoodBurned)
def _wood_burned(ask: WoodBurned, moment: TurnContext) -> Answered:
    if ask.left:
        return _wood_left(moment)
    cords = cords_burned(ask.span, moment)
    gas = sum(act.volume_gal or 0.0 for _, act in noted(Fuel, ask.span, moment))
    told: list[Piece] = [Quantity(round(cords, 2), "cord")] if cords else []
    if gas:
        told.append(parts(told_gal(gas), "of gas"))
    if not told:
        return answer("No fuel burned is in the book", *_when(ask.span))
    return answer(listed(told), *_when(ask.span))


def _wood_left(moment: TurnContext) -> Answered:
    """Return the wood bought this season less what was burned; what stood there before is unknown.

    Where none was bought, or less than was burned, only what is noted is told.
    """
    bought = sum(act.cords or 0.0 for _, act in noted(Cost, None, moment))
    burned = cords_burned(None, moment)
    used = parts(Quantity(round(burned, 2), "cord"), "burned")
    if bought > burned:
        left = parts(Quantity(round(bought - burned, 2), "cord"), "left of")
        return answer(*left, Quantity(round(bought, 2), "cord"), "bought", ",", used)
    unknown = fact("How much wood you had isn't in the book")
    return Answered((unknown, fact(used, "this season") if burned else fact()))


@answers(Money)
def _money(ask: Money, moment: TurnContext) -> Answered:
    """Return what was taken in and what the wood cost; the book knows of no other cost."""
    outs = [act for _, act in noted(StockOut, ask.span, moment)]
    paid = sum(act.price or 0.0 for act in outs)
    unpriced = any(act.why == "sold" and act.price is None for act in outs)
    sold = parts("Sold for", *dollars(paid)) if paid else parts("No sale with a price is noted")
    beside = fact("Some were sold without a price") if unpriced else fact()
    return Answered((fact(sold, *_when(ask.span)), beside, _wood_cost(ask, moment)))


def _wood_cost(ask: Money, moment: TurnContext) -> Sentence:
    cords, price = cords_burned(ask.span, moment), moment.season.cord_price
    if not cords or price is None:
        return fact("Costs aren't in the book")
    cost = dollars(round(price * cords, 2))
    return fact("The wood burned cost", *cost, "; other costs aren't in the book")


@answers(JarsPacked)
def _jars_packed(ask: JarsPacked, moment: TurnContext) -> Answered:
    packs = [(at, act) for at, act in noted(Pack, ask.span, moment) if ask.size in (None, act.size)]
    if not packs:
        what = containers(None, ask.size) if ask.size else parts("jars")
        return answer("No", *what, "packed", *_when(ask.span), "are in the book")
    jars = sorts(jars_of(act for _, act in packs))
    (at, newest) = packs[-1]
    if len(packs) == 1:
        return answer(jars, "packed", _on(at, moment))
    last = fact("Last:", containers(newest.count, newest.size), _on(at, moment))
    return Answered((fact(jars, "packed", *_when(ask.span)), last))


def _on(at: datetime, moment: TurnContext) -> Parts:
    """Return "on Monday, March 15, lot 26074-2000" of what was packed."""
    code = next((lot.code for lot in moment.season.pantry if lot.at == at), None)
    lot = parts(", lot", Lot(code)) if code else None
    return parts("on", Day(at.astimezone(moment.now.tzinfo).date()), lot)
