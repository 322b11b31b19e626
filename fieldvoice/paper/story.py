"""The season in a paragraph, and what stands beside other seasons."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.dialogue.sums import expected_gal, totals
from fieldvoice.errors import RangeError
from fieldvoice.paper import measures as m
from fieldvoice.rules.sugar import blend
from fieldvoice.segments import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from fieldvoice.book import BoilState, Season
    from fieldvoice.dialogue.sums import Totals
    from fieldvoice.paper.measures import Measures

#: Water freezes, °F.
FREEZING_F = 32.0


@dataclass(frozen=True, slots=True)
class YearSums:
    """What one season comes to, in gallons, cords and Brix; None is not known.

    ``sap_days`` are the days on which sap was gathered, ``expected_gal`` the syrup that the sugar
    of what was boiled would give, ``jars_left`` those of the season, ``frosts`` the nights below
    freezing of ``nights`` noted.
    """

    year: int
    totals: Totals
    boiled_gal: float
    brix: float | None
    expected_gal: float | None
    cords: float | None
    gas_gal: float | None
    jars: int
    jars_left: int
    sap_days: tuple[tuple[date, float], ...]
    nights: int
    frosts: int

    @property
    def yield_share(self) -> float | None:
        """Syrup drawn against what the sugar would give, 0 to 1 and more."""
        if not self.expected_gal or not self.totals.syrup_gal:
            return None
        return self.totals.syrup_gal / self.expected_gal


def year_sums(year: int, season: Season) -> YearSums:
    """Return what a season comes to."""
    boils = [boil for boil in season.boilings if boil.sap_gal]
    lows = [one.low_f for one in season.weather if one.low_f is not None]
    whole = totals(season)
    return YearSums(
        year=year,
        totals=whole,
        boiled_gal=season.account.boiled_gal,
        brix=_brix(boils),
        expected_gal=_expected(boils),
        cords=_sum(boil.cords for boil in season.boilings),
        gas_gal=_sum(boil.gas_gal for boil in season.boilings),
        jars=sum(whole.packed.values()),
        jars_left=sum(lot.left for lot in season.pantry if lot.at.year == year),
        sap_days=tuple(sorted((day, gal) for day, gal in season.gathered_by_day.items() if gal)),
        nights=len(lows),
        frosts=sum(low < FREEZING_F for low in lows),
    )


def _brix(boils: Sequence[BoilState]) -> float | None:
    """Return the sugar of all that was boiled and tested, weighed by mass."""
    tested = [(boil.sap_gal, boil.brix) for boil in boils if boil.brix is not None]
    try:
        return blend(tested).brix if tested else None
    except RangeError:
        return None


def _expected(boils: Sequence[BoilState]) -> float | None:
    try:
        return sum(map(expected_gal, boils)) or None
    except RangeError:
        return None


def _sum(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return sum(known) if known else None


def paragraph(sums: YearSums, told: Measures) -> list[str]:
    """Return the season in a few sentences, each of what is known only."""
    sentences = [_sap(sums, told), _sugar(sums, told), _boils(sums, told), _jars(sums), _cold(sums)]
    return [one for one in sentences if one]


def _sap(sums: YearSums, told: Measures) -> str:
    whole = sums.totals
    if not whole.sap_gal:
        return ""
    first, last = sums.sap_days[0][0], sums.sap_days[-1][0]
    trees = m.count(whole.trees, "tree") if whole.trees else "the trees"
    most_day, most = max(sums.sap_days, key=lambda one: one[1])
    when = f"On {m.day(first)}" if first == last else f"From {m.days(first, last)}"
    days = f" on {m.count(len(sums.sap_days), 'day')}" if first != last else ""
    peak = f", most on {m.day(most_day)} ({told.gallons(most)})" if first != last else ""
    return f"{when}, {trees} gave {told.gallons(whole.sap_gal)} of sap{days}{peak}."


def _sugar(sums: YearSums, told: Measures) -> str:
    if sums.brix is None:
        return ""
    tested = f"What was boiled tested {told.told(Quantity(sums.brix, '% sugar'))}"
    if not (sums.expected_gal and sums.totals.syrup_gal and sums.totals.sap_to_one):
        return f"{tested}."
    by_sugar = round(sums.boiled_gal / sums.expected_gal)
    share = sums.yield_share or 0.0
    return (
        f"{tested}: by that it takes {by_sugar} of sap to make one of syrup. It took "
        f"{sums.totals.sap_to_one}, so the syrup drawn is {m.percent(share)} of what the "
        "sugar would give."
    )


def _boils(sums: YearSums, told: Measures) -> str:
    whole = sums.totals
    if not whole.boils:
        return ""
    made = f" made {told.gallons(whole.syrup_gal)} of syrup" if whole.syrup_gal else ""
    burned = []
    if sums.cords:
        burned.append(told.told(Quantity(sums.cords, "cord")))
    if sums.gas_gal:
        burned.append(f"{told.gallons(sums.gas_gal)} of gas")
    fuel = " and burned ".join(burned)
    a_cord = ""
    if sums.cords and whole.syrup_gal:
        a_cord = f", {told.whole(whole.syrup_gal / sums.cords)} of syrup a cord"
    if not made and not fuel:
        return f"{m.count(whole.boils, 'boil')} {'is' if whole.boils == 1 else 'are'} noted."
    burnt = f"{' and' if made else ''} burned {fuel}{a_cord}" if fuel else ""
    return f"{m.count(whole.boils, 'boil')}{made}{burnt}."


def _jars(sums: YearSums) -> str:
    if not sums.jars:
        return ""
    filled = "were" if sums.jars > 1 else "was"
    return f"{m.count(sums.jars, 'jar')} {filled} filled; {sums.jars_left or 'none'} left of them."


def _cold(sums: YearSums) -> str:
    if not sums.nights:
        return ""
    were = "was" if sums.frosts == 1 else "were"
    return f"Of {m.count(sums.nights, 'night')} noted, {sums.frosts} {were} below freezing."
