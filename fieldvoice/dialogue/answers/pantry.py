"""Answers about what came of the sap: boils, stock, recalls, and where every gallon went."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.answered import Answered, answer, answers, month_day, told_gal
from fieldvoice.dialogue.boil_day import likely_brix, pan_rate, water_an_hour
from fieldvoice.dialogue.noted import noted
from fieldvoice.dialogue.sums import TOLD_GAL, became_of, came_gal, content, left_in
from fieldvoice.rules.boiling import BOIL_TIME
from fieldvoice.rules.sugar import syrup_estimate
from fieldvoice.schema.acts.pantry import StockOut, containers, dollars
from fieldvoice.schema.asks.boiling import BoilReport
from fieldvoice.schema.asks.sap import SapBalance
from fieldvoice.schema.asks.syrup import Recall, Stock, SyrupGone, gone
from fieldvoice.schema.names import VesselName
from fieldvoice.schema.vocabulary import SPAN_THEN
from fieldvoice.segments import (
    Count,
    Lot,
    Quantity,
    Span,
    Text,
    TreeRef,
    VesselRef,
    When,
    fact,
    listed,
    parts,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date

    from fieldvoice.book import BoilState, StockLot
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.segments import Parts, Piece, Sentence

#: Lots named one by one in an answer; of more only the number is said.
_MOST_LOTS = 4
#: Agents that are, or are made of, milk: an allergen that a label has to name.
MILK = ("butter", "cream", "milk")


@answers(Stock)
def stock(ask: Stock, moment: TurnContext) -> Answered:
    """Return what is left in the pantry by size and colour, and the syrup not yet packed."""
    left = left_in(moment.season.pantry)
    can = Quantity(round(moment.season.can_gal, 3), "gal")  # in litres too as it was said
    has_can = moment.season.can_gal > TOLD_GAL
    told = sorts(left)
    if not told:
        if has_can:
            return answer(can, "drawn off, none packed")
        return answer("None left" if moment.season.pantry else "No syrup is in the book yet")
    gallons = sum(content(lot.left, lot.size) for lot in moment.season.pantry)
    total = (",", told_gal(gallons), "in all") if gallons else ()
    unpacked = fact(can, "drawn and not packed") if has_can else fact()
    return Answered((fact(told, *total), unpacked))


def sorts(counts: Mapping[tuple[str, str], int]) -> Parts:
    """Return containers by size and colour: "11 pints amber and 3 quarts"."""
    return listed(
        parts(containers(count, size), colour) for (size, colour), count in counts.items() if count
    )


@answers(SyrupGone)
def _syrup_gone(ask: SyrupGone, moment: TurnContext) -> Answered:
    """Return how many jars left by each way, or to one of them, to whom, and for how much."""
    notes = noted(StockOut, ask.span, moment)
    outs = [act for _, act in notes if ask.why in (None, act.why)]
    when = SPAN_THEN.told(ask.span) if ask.span else parts("this season")
    if ask.to is not None:
        outs = [act for act in outs if act.to == ask.to]
        if not outs:
            return answer("No syrup is noted as gone to", ask.to)
    if not outs:
        none = "No syrup has" if ask.why is None else parts("None was", *gone(ask.why))
        return answer(none, "left the pantry" if ask.why is None else None, *when)
    ways = dict.fromkeys(act.why for act in outs)
    return Answered(tuple(_by_way(why, [act for act in outs if act.why == why]) for why in ways))


def _by_way(why: str | None, outs: Sequence[StockOut]) -> Sentence:
    """Return "Given away: 3 pints to the neighbors and 1 quart"."""
    counts: dict[str | None, Counter[tuple[str, str]]] = {}
    for act in outs:
        sort = act.size or "container", act.colour or ""
        counts.setdefault(act.to, Counter())[sort] += act.count or 0
    told = listed(
        parts(sorts(jars), None if to is None else f"to {to}") for to, jars in counts.items()
    )
    paid = sum(act.price for act in outs if act.price is not None)
    price = parts(", for", *dollars(paid)) if paid else ()
    return fact(*(gone(why) if why else parts("gone")), ":", told, *price)


@answers(Recall)
def _recall(ask: Recall, moment: TurnContext) -> Answered:
    """Return the lots that may have sap of a tree or vessel, or what knocked the foam down."""
    lots = [lot for lot in moment.season.pantry if _may_hold(lot, ask)]
    if not lots:
        return answer("No lot", _with(ask), "is in the book")
    if len(lots) > _MOST_LOTS:
        named = parts(Count(len(lots), "lot"), ", from", Lot(lots[0].code), "to")
        counted = fact(named, Lot(lots[-1].code), ":", _counted(lots))
        return Answered((counted, _gone(lots)))
    return Answered((fact(listed(map(_lot, lots), ";", ";")), _gone(lots)))


def _with(ask: Recall) -> Parts:
    if ask.vessel is not None:
        return parts("with sap from", VesselRef(ask.vessel))
    if ask.tree is not None:
        return parts("with sap from", TreeRef((ask.tree,)))
    return parts("with", ask.agent) if ask.agent else ()


def _may_hold(lot: StockLot, ask: Recall) -> bool:
    return (
        (ask.vessel is None or ask.vessel in lot.vessels)
        and (ask.tree is None or ask.tree in lot.trees)
        and (ask.agent is None or ask.agent in lot.agents)
    )


def _lot(lot: StockLot) -> Parts:
    colour = f"of {lot.colour}" if lot.colour else None
    when = f", sap of {_days(lot.gathered_from, lot.gathered_to)}" if lot.gathered_from else None
    return parts("Lot", Lot(lot.code), ":", containers(lot.count, lot.size), colour, when)


def _counted(lots: Sequence[StockLot]) -> Parts:
    sizes: Counter[str] = Counter()
    for lot in lots:
        sizes[lot.size] += lot.count
    return listed(containers(count, size) for size, count in sizes.items())


def _gone(lots: Iterable[StockLot]) -> Sentence:
    gone = sum(lot.count - lot.left for lot in lots)
    left = "of them have left the pantry"
    return fact(Count(gone, left, left)) if gone else fact("None has left the pantry")


def _days(first: date | None, last: date | None) -> str:
    if first is None or last is None:
        return ""
    if first == last:
        return month_day(first)
    until = f"{last.day}" if first.month == last.month else month_day(last)
    return f"{month_day(first)} to {until}"


#: Of so many tanks only the number is told.
_MOST_TANKS = 3


@answers(BoilReport)
def _boil_report(ask: BoilReport, moment: TurnContext) -> Answered:
    """Return the last boil as it was expected and as it went."""
    if not moment.season.boilings:
        return answer("No boil is in the book yet")
    boil = moment.season.boilings[-1]
    if not boil.sap_gal:
        return Answered((_when_boiled(boil, moment), fact("No sap is noted on it")))
    made = syrup_estimate(boil.sap_gal, likely_brix(boil.brix))
    took = "so far" if boil.ended_at is None else None
    day = boil.started_at.astimezone(moment.now.tzinfo)
    upto = parts("to", When(boil.ended_at, moment.now, "clock")) if boil.ended_at else None
    lit = parts(When(boil.started_at, moment.now, "clock"), upto)
    which = parts(Text(f"Boil {len(moment.season.boilings)}, {month_day(day)},"), lit, ":")
    tanks = [VesselRef(one) for one in boil.vessels if VesselName.of(one).kind != "pan"]
    named = listed(tanks) if len(tanks) < _MOST_TANKS else parts(Count(len(tanks), "tank"))
    source = parts("from", named) if tanks else "of sap"
    told: list[Piece] = [parts(which, Quantity(round(boil.sap_gal, 1), "gal"), source, took)]
    rate = water_an_hour(boil)
    if rate is not None:
        usual = Quantity(pan_rate(moment.season, moment.settings).gal_h, "gal", 1)
        told.append(parts(Quantity(rate, "gal", 1), "an hour, usually", usual))
    told.append(_against(boil, made.syrup_gal))
    if boil.cords:
        told.append(Quantity(boil.cords, "cord"))
    why = f"{made.findings[0].why} {_water_told(boil)}".strip()
    finding = BOIL_TIME.finding("note", "Expected against actual.", why)
    return answer(listed(told, ";", ";"), findings=(finding,))


def _when_boiled(boil: BoilState, moment: TurnContext) -> Sentence:
    """Return when a boil began and ended, and what was drawn off."""
    began = parts("The last boil began", When(boil.started_at, moment.now, "past"))
    took = None if boil.hours is None else parts("and took", Span(boil.hours * 3600, "work"))
    drawn = told_gal(boil.syrup_gal)
    return fact(began, took, parts(";", drawn, "of syrup") if boil.syrup_gal else None)


def _against(boil: BoilState, expected_gal: float) -> Parts:
    expected = Quantity(expected_gal, "syrup gal")
    if not boil.syrup_gal:
        return parts("about", expected, "of syrup to come")
    drawn = Quantity(boil.syrup_gal, "syrup gal")
    share = Quantity(boil.syrup_gal / expected_gal * 100, "%", 0)
    return parts(drawn, "of syrup,", share, "of", expected, "expected")


def _water_told(boil: BoilState) -> str:
    rate = water_an_hour(boil)
    return "" if rate is None else f"That is {rate:.1f} gal of water an hour."


@answers(SapBalance)
def _sap_balance(ask: SapBalance, moment: TurnContext) -> Answered:
    """Return where the season's sap went."""
    account = moment.season.account
    came = came_gal(account)
    if not came:
        return answer("No sap is in the book yet")
    told = listed(parts(_about(gal), name) for name, gal in became_of(account).items())
    head = fact("Of", _about(came), "that came in:", told)
    off = account.adjusted_gal
    if abs(off) <= TOLD_GAL:
        return Answered((head,))
    more = "more" if off > 0 else "less"
    return Answered((head, fact("The levels read were", _about(abs(off)), more)))


def _about(gallons: float) -> Quantity:
    return Quantity(round(gallons, 1), "gal")
