"""Answers that add up: sap, syrup in stock, and the season as a whole."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import TYPE_CHECKING

from fieldvoice.conversation.answers.answered import Answered
from fieldvoice.conversation.answers.pantry import containers
from fieldvoice.nlg import wording as w
from fieldvoice.understanding.dates import date_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.conversation.turn import Moment
    from fieldvoice.meaning import Ask


def _sap_total(ask: Ask, moment: Moment) -> Answered:
    today = moment.now.date()
    since = today if ask.since is None else date_of(ask.since, today)
    gathered = _gathered(moment, since, today)
    season = _gathered(moment, date.min, today)
    if not season:
        return Answered(_poured(moment, since, today) or "No sap is in the book yet.")
    if since == today:
        if not gathered:
            return Answered(f"None today; {_volume(season, moment)} in all.")
        return Answered(f"{_volume(gathered, moment)} today.")
    if since == today - timedelta(days=1):
        of_today = _gathered(moment, today, today)
        return Answered(
            f"{_volume(gathered - of_today, moment)} yesterday, {_volume(of_today, moment)} today."
        )
    if gathered == season:
        return Answered(f"{_volume(season, moment)} this season.")
    return Answered(f"{_volume(gathered, moment)} since {_day(since)}.")


def _poured(moment: Moment, since: date, until: date) -> str:
    """Return what went into vessels, where no gathering is noted at all; empty if nothing did."""
    poured: dict[str, float] = {}
    for at, act in moment.season.stores:
        if act.vessel and since <= at.astimezone(moment.now.tzinfo).date() <= until:
            poured[act.vessel] = poured.get(act.vessel, 0.0) + (act.volume_gal or 0.0)
    told = w.joined(f"{_volume(gallons, moment)} into {name}" for name, gallons in poured.items())
    return f"{told}; no gathering is noted." if told else ""


def _gathered(moment: Moment, since: date, until: date) -> float:
    """Return the gallons gathered from day ``since`` up to and with day ``until``."""
    return sum(
        gallons for day, gallons in moment.season.gathered_by_day.items() if since <= day <= until
    )


def _volume(gallons: float, moment: Moment) -> str:
    return w.volume(round(gallons, 2), moment.settings.metric)


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"


def _season_summary(ask: Ask, moment: Moment) -> Answered:
    season = moment.season
    sap = _gathered(moment, date.min, date.max)
    emptied = [tree for tree in season.trees.values() if tree.gathered_gal]
    drawn = sum(act.syrup_gal or 0.0 for _, act in season.draws)
    parts = [
        f"{_volume(sap, moment)} of sap{_from_trees(len(emptied))}" if sap else "",
        w.counted(len(season.boilings), "boil") if season.boilings else "",
        f"{_volume(drawn, moment)} of syrup" if drawn else "",
        _made_from(season.account.boiled_gal or sap, drawn),
    ]
    told = ", ".join(part for part in parts if part)
    if not told:
        return Answered("Nothing gathered or boiled is in the book yet.")
    packed = _packed(moment)
    return Answered(f"{w.start(told)}.{f' Packed: {packed}.' if packed else ''}")


def _from_trees(count: int) -> str:
    return f" from {w.counted(count, 'tree')}" if count else ""


def _packed(moment: Moment) -> str:
    """Return what was packed this season, gone since or not, by size and colour."""
    packed: Counter[tuple[str, str]] = Counter()
    for _, act in moment.season.packs:
        packed[act.size or "container", act.colour or ""] += act.count or 0
    return w.joined(
        " ".join(part for part in (containers(count, size), colour) if part)
        for (size, colour), count in packed.items()
    )


def _made_from(sap_gal: float, syrup_gal: float) -> str:
    if not sap_gal or not syrup_gal:
        return ""
    return f"{sap_gal / syrup_gal:.0f} of sap to one of syrup"


ANSWERS: dict[str, Callable[[Ask, Moment], Answered]] = {
    "sap_total": _sap_total, "season_summary": _season_summary,
}  # fmt: skip
