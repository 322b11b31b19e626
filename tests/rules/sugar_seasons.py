"""Simulated seasons: weather, runs, readings and signs, and two ways of boiling through them.

All figures are made up within what trade facts give: 0.2 to 2 gallons a tap on a day that runs,
pans of 4 to 16 square feet at a gallon a square foot an hour.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone
from typing import TYPE_CHECKING

from fieldvoice.rules.plan import FROM_HOUR, TO_HOUR, BoilPlan, Pans, Stored, boil_plan
from fieldvoice.rules.sap_clock import SapLot, clock_of, keeps_until
from fieldvoice.rules.sugar import syrup_estimate

if TYPE_CHECKING:
    import random

FIRST = datetime(2027, 3, 1, tzinfo=timezone(timedelta(hours=-5)))
_LIMIT_DAYS = 2.0
_VESSELS = 5


@dataclass
class Held:
    """A vessel of the simulation: its lots with their gallons."""

    lots: list[tuple[SapLot, float]] = field(default_factory=list)

    @property
    def gallons(self) -> float:
        return sum(gallons for _, gallons in self.lots)

    @property
    def sap(self) -> str | None:
        order = (None, "clear", "hazy", "cloudy", "sour")
        return max((lot.sap for lot, _ in self.lots), key=order.index, default=None)


@dataclass
class Day:
    """What a day brings: its gallons, and its mean if somebody told the weather ahead of it."""

    gallons: float
    mean_f: float
    told_ahead: int | None
    read_f: float | None
    sign: str | None


@dataclass
class Sugarhouse:
    """The facts as they stand in the book at one moment of a simulated season."""

    pans: Pans
    vessels: dict[str, Held]
    air: list[tuple[datetime, float]] = field(default_factory=list)
    in_time_gal: float = 0.0
    late_gal: float = 0.0
    dumped_gal: float = 0.0

    def plan(self, now: datetime) -> BoilPlan:
        stored = [
            Stored(name, tuple(lot for lot, _ in one.lots), one.gallons, one.sap)
            for name, one in self.vessels.items()
            if one.lots
        ]
        return boil_plan(stored, self.pans, now, air=tuple(self.air))

    def pour(self, now: datetime, gallons: float) -> None:
        """Pour into the emptiest vessel."""
        name = min(self.vessels, key=lambda one: (self.vessels[one].gallons, one))
        self.vessels[name].lots.append((SapLot(now), gallons))

    def read(self, now: datetime, temp_f: float) -> None:
        for one in self.vessels.values():
            one.lots = [
                (replace(lot, readings=(*lot.readings, (now, temp_f))), gallons)
                for lot, gallons in one.lots
            ]

    def see(self, now: datetime, sign: str, chance: random.Random) -> None:
        held = sorted(name for name, one in self.vessels.items() if one.lots)
        if held:
            one = self.vessels[chance.choice(held)]
            one.lots = [(replace(lot, sap=sign, turned_at=now), gal) for lot, gal in one.lots]

    def dump(self, plan: BoilPlan) -> None:
        for step in plan.dumped:
            self.dumped_gal += self.vessels[step.name].gallons
            self.vessels[step.name].lots = []

    def boil(self, begin: datetime, end: datetime, order: list[str], lit: bool) -> None:
        """Boil vessels in an order from ``begin`` on, as much as there is time for."""
        now = begin + timedelta(hours=0.0 if lit else self.pans.start_up_h)
        for name in order:
            one = self.vessels[name]
            hours = (end - now) / timedelta(hours=1)
            if hours <= 0 or not one.lots:
                continue
            apart_h = 0.5 if one.sap == "cloudy" else 0.0
            water = syrup_estimate(one.gallons, 2.0).water_gal
            need = water / self.pans.gal_h + apart_h
            share = min(1.0, hours / need)
            now += timedelta(hours=share * need)
            for lot, gallons in one.lots:
                clock = clock_of(lot, self.air, 2.0)
                good = now <= keeps_until(lot, clock, _LIMIT_DAYS) + timedelta(minutes=1)
                self.in_time_gal += gallons * share if good else 0.0
                self.late_gal += 0.0 if good else gallons * share
            left = 1 - share
            one.lots = [(lot, gal * left) for lot, gal in one.lots] if left > 1e-9 else []


def days_of(chance: random.Random) -> list[Day]:
    """Return the days of a season."""
    taps = chance.randint(5, 60)
    found = []
    warm = 0
    for number in range(chance.randint(20, 40)):
        warm = chance.randint(2, 4) if chance.random() < 0.06 else max(0, warm - 1)
        low = chance.gauss(24 + number * 0.3 + (16 if warm else 0), 5)
        high = low + max(2.0, chance.gauss(16, 5))
        runs = low < 32 < high
        strong = runs and low < 30 and 36 <= high <= 50
        a_tap = chance.uniform(0.8, 2.0) if strong else chance.uniform(0.1, 0.7) if runs else 0.0
        found.append(
            Day(
                gallons=round(taps * a_tap, 1),
                mean_f=(low + high) / 2,
                told_ahead=chance.choice((None, None, 1, 2, 3)),
                read_f=round(min(60, max(33, (low + high) / 2 + chance.gauss(1, 2))), 0)
                if chance.random() < 0.4
                else None,
                sign=chance.choice(("hazy", "cloudy", "sour")) if chance.random() < 0.04 else None,
            )
        )
    return found


def opened(chance: random.Random) -> Sugarhouse:
    """Return an empty sugarhouse."""
    gal_h = chance.uniform(4, 16)
    least = chance.choice((5.0, 10.0, gal_h * 1.25))
    names = [f"tank {number + 1}" for number in range(_VESSELS)]
    return Sugarhouse(Pans(gal_h, 0.4, least), {name: Held() for name in names})


def hour(day: int, of_day: float) -> datetime:
    return FIRST + timedelta(days=day, hours=of_day)


def day_ends(day: int) -> datetime:
    return hour(day, TO_HOUR)


def day_begins(day: int) -> datetime:
    return hour(day, FROM_HOUR)
