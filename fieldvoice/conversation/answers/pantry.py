"""Answers about what came of the sap: boils, stock, recalls, and where every gallon went."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from fieldvoice.conversation.answers.answered import Answered
from fieldvoice.conversation.boil_day import likely_brix, pan_rate, water_an_hour
from fieldvoice.errors import RangeError
from fieldvoice.nlg import wording as w
from fieldvoice.rules.boiling import BOIL_TIME, hours_in_words
from fieldvoice.rules.packing import container_gal
from fieldvoice.rules.sugar import syrup_estimate

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from datetime import date

    from fieldvoice.book import BoilState, StockLot
    from fieldvoice.conversation.turn import Moment
    from fieldvoice.meaning import Ask

#: Lots named one by one in an answer; of more only the number is said.
_MOST_LOTS = 4
#: Agents that are, or are made of, milk: an allergen that a label has to name.
MILK = ("butter", "cream", "milk")


def stock(ask: Ask, moment: Moment) -> Answered:
    """Return what is left in the pantry by size and colour, and the syrup not yet packed."""
    left: Counter[tuple[str, str]] = Counter()
    for lot in moment.season.pantry:
        left[lot.size, lot.colour or ""] += lot.left
    told = [
        " ".join(part for part in (containers(count, size), colour) if part)
        for (size, colour), count in left.items()
        if count
    ]
    metric = moment.settings.metric
    can = moment.season.can_gal
    unpacked = (
        f" {w.start(w.volume(round(can, 2), metric))} drawn and not packed." if can > 0.05 else ""
    )
    if not told:
        if unpacked:
            return Answered(f"{w.volume(round(can, 2), metric)} drawn off, none packed.")
        empty = "None left." if moment.season.pantry else "No syrup is in the book yet."
        return Answered(empty)
    gallons = sum(content(lot.left, lot.size) for lot in moment.season.pantry)
    total = f", {w.volume(round(gallons, 2), metric)} in all" if gallons else ""
    return Answered(f"{w.joined(told)}{total}.{unpacked}")


def containers(count: int, size: str) -> str:
    """Return "11 pints" or "4 of 250 ml"."""
    return f"{count} of {size}" if size.endswith("ml") else w.counted(count, size)


def content(count: int, size: str) -> float:
    """Return the gallons in containers; 0 for a size of the user's own, counted, not measured."""
    try:
        return count * container_gal(size)
    except RangeError:
        return 0.0


def _recall(ask: Ask, moment: Moment) -> Answered:
    """Return the lots that may have sap of a tree or vessel, or what knocked the foam down."""
    about = ask.vessel or (w.tree_name(ask.tree) if ask.tree is not None else ask.agent)
    lots = [lot for lot in moment.season.pantry if _may_hold(lot, ask)]
    if not lots:
        what = (
            f" with sap from {about}"
            if about and not ask.agent
            else f" with {about}"
            if about
            else ""
        )
        return Answered(f"No lot{what} is in the book.")
    if len(lots) > _MOST_LOTS:
        named = f"{len(lots)} lots, from {lots[0].code} to {lots[-1].code}"
        return Answered(f"{named}: {_counted(lots)}. {_gone(lots)}")
    told = "; ".join(_lot(lot) for lot in lots)
    return Answered(f"{told}. {_gone(lots)}".strip())


def _may_hold(lot: StockLot, ask: Ask) -> bool:
    return (
        (ask.vessel is None or ask.vessel in lot.vessels)
        and (ask.tree is None or ask.tree in lot.trees)
        and (ask.agent is None or ask.agent in lot.agents)
    )


def _lot(lot: StockLot) -> str:
    colour = f" of {lot.colour}" if lot.colour else ""
    when = f", sap of {_days(lot.gathered_from, lot.gathered_to)}" if lot.gathered_from else ""
    return f"Lot {lot.code}: {containers(lot.count, lot.size)}{colour}{when}"


def _counted(lots: Sequence[StockLot]) -> str:
    sizes: Counter[str] = Counter()
    for lot in lots:
        sizes[lot.size] += lot.count
    return w.joined(containers(count, size) for size, count in sizes.items())


def _gone(lots: Iterable[StockLot]) -> str:
    gone = sum(lot.count - lot.left for lot in lots)
    return f"{gone} of them have left the pantry." if gone else "None has left the pantry."


def _days(first: date | None, last: date | None) -> str:
    if first is None or last is None:
        return ""
    if first == last:
        return f"{first.day} {first:%B}"
    if first.month == last.month:
        return f"{first.day} to {last.day} {last:%B}"
    return f"{first.day} {first:%B} to {last.day} {last:%B}"


def _boil_report(ask: Ask, moment: Moment) -> Answered:
    """Return the last boil as it was expected and as it went."""
    if not moment.season.boilings:
        return Answered("No boil is in the book yet.")
    boil = moment.season.boilings[-1]
    metric = moment.settings.metric
    if not boil.sap_gal:
        return Answered("The last boil has no sap noted; say what went into the pan.")
    made = syrup_estimate(boil.sap_gal, likely_brix(boil.brix))
    took = "so far" if boil.hours is None else f"in {hours_in_words(boil.hours)}"
    told = [f"{w.volume(round(boil.sap_gal, 1), metric)} of sap {took}"]
    rate = water_an_hour(boil)
    if rate is not None:
        usual = pan_rate(moment.season, moment.settings)
        told.append(f"{w.figure(rate, 1)} gal an hour, your pan's usual {w.figure(usual.gal_h, 1)}")
    told.append(_against(boil, made.syrup_gal, metric))
    if boil.cords:
        told.append(w.cords(boil.cords))
    why = f"{made.findings[0].why} {_water_told(boil)}".strip()
    finding = BOIL_TIME.finding("note", "Expected against actual.", why)
    return Answered(f"{'; '.join(one for one in told if one)}.", (finding,))


def _against(boil: BoilState, expected_gal: float, metric: bool) -> str:
    expected = w.volume(round(expected_gal, 2), metric)
    if not boil.syrup_gal:
        return f"about {expected} of syrup to come"
    drawn = w.volume(round(boil.syrup_gal, 2), metric)
    share = boil.syrup_gal / expected_gal
    return f"{drawn} of syrup, {share * 100:.0f} % of the {expected} expected"


def _water_told(boil: BoilState) -> str:
    rate = water_an_hour(boil)
    return "" if rate is None else f"That is {rate:.1f} gal of water an hour."


def _sap_balance(ask: Ask, moment: Moment) -> Answered:
    """Return where the season's sap went."""
    account, metric = moment.season.account, moment.settings.metric
    came = account.gathered_gal + account.poured_gal
    if not came:
        return Answered("No sap is in the book yet.")
    parts = {
        "boiled": account.boiled_gal,
        "in store": account.held_gal,
        "dumped": account.dumped_gal,
        "thrown out as ice": account.iced_gal,
        "never placed": account.lost_gal,
    }
    told = [
        f"{w.volume(round(gal, 1), metric)} {name}" for name, gal in parts.items() if gal > 0.05
    ]
    head = f"Of {w.volume(round(came, 1), metric)} that came in: {w.joined(told)}."
    off = account.adjusted_gal
    if abs(off) <= 0.05:
        return Answered(head)
    more = "more" if off > 0 else "less"
    return Answered(f"{head} The levels read were {w.volume(round(abs(off), 1), metric)} {more}.")


ANSWERS: dict[str, Callable[[Ask, Moment], Answered]] = {
    "stock": stock, "recall": _recall, "boil_report": _boil_report, "sap_balance": _sap_balance,
}  # fmt: skip
