"""The boil day in the book's facts: what is in store, the pans and their rate, the hours to come.

Everything that the plan goes by is gathered here, so that the spoken answer, the board and the
reminders speak of the same plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from statistics import median
from typing import TYPE_CHECKING, Literal

from fieldvoice.dialogue import rule_inputs
from fieldvoice.rules.boiling import START_UP_H
from fieldvoice.rules.plan import USUAL_PAN_FT2, BoilPlan, Stored, boil_plan
from fieldvoice.rules.schedule import Pan, Window
from fieldvoice.rules.sugar import syrup_estimate

if TYPE_CHECKING:
    from fieldvoice.book import BoilState, Season, VesselState
    from fieldvoice.dialogue.settings import Settings

#: The hours of a day in which people boil, where nobody says otherwise (a choice).
FROM_HOUR, TO_HOUR = 8, 21
#: Days that the plan looks ahead to, today included.
_DAYS = 5
#: Late in the evening there is still this much time, where nobody says otherwise.
_LATE_H = 3.0
#: Boils that the pan's own rate is learnt from: the last ones, each long enough to tell.
_LAST_BOILS = 5
_LONG_ENOUGH_H = 0.75
#: Gallons an hour a square foot that a pan may do; beyond that something was misnoted.
_LIKELY_RATE = (0.15, 5.0)
#: Sap outside is about as warm as the day on the whole, within these bounds (a choice).
_COLDEST_F, _WARMEST_F = 32.0, 70.0

RateFrom = Literal["own boils", "pan area", "usual pan"]


@dataclass(frozen=True, slots=True)
class PanRate:
    """What the pan boils off: gallons of water an hour, from how many boils or by its area."""

    gal_h: float
    ft2: float
    source: RateFrom
    boils: int = 0


@dataclass(frozen=True, slots=True)
class BoilDay:
    """All that the plan goes by, and the plan. ``windows`` are hours from ``now``."""

    now: datetime
    stored: tuple[Stored, ...]
    pans: tuple[Pan, ...]
    windows: tuple[Window, ...]
    rate: PanRate
    plan: BoilPlan

    def at(self, hours: float) -> datetime:
        """Return the time so many hours from now."""
        return self.now + timedelta(hours=hours)

    @property
    def until(self) -> datetime:
        """When today's hours end."""
        return self.at(self.windows[0].end_h)


def boil_day(
    season: Season, settings: Settings, now: datetime, until: datetime | None = None
) -> BoilDay:
    """Return the boil day; ``until`` is when somebody has to stop today.

    Raises:
        RangeError: for sap so old or so warm that no rule speaks of it.
    """
    stored = tuple(_stored(vessel, season, now, settings.sap_limit) for vessel in in_store(season))
    rate = pan_rate(season, settings)
    pans = _pans(settings, rate)
    windows = _windows(now, until)
    plan = boil_plan(stored, pans, windows, pan_ft2=rate.ft2)
    return BoilDay(now, stored, pans, windows, rate, plan)


def in_store(season: Season) -> list[VesselState]:
    """Return the vessels with sap of known age, and the sap carried as if it were in one."""
    held = [
        vessel for vessel in rule_inputs.vessels_with_sap(season) if vessel.oldest_at is not None
    ]
    return [*held, *([season.carried] if season.carried else [])]


def pan_rate(season: Season, settings: Settings) -> PanRate:
    """Return the pan's rate: learnt from its own boils, else by its area."""
    said_ft2 = season.pan_ft2 or settings.pan_ft2
    ft2 = min(500.0, max(0.25, said_ft2 or USUAL_PAN_FT2))
    low, high = _LIKELY_RATE
    boils = (*season.earlier_boilings, *season.boilings)
    rates = [rate for boil in boils if (rate := water_an_hour(boil)) is not None]
    own = [rate for rate in rates if low <= rate / ft2 <= high][-_LAST_BOILS:]
    if own:
        return PanRate(median(own), ft2, "own boils", len(own))
    source: RateFrom = "usual pan" if said_ft2 is None else "pan area"
    return PanRate(ft2 * settings.boil_rate_gal_ft2_h, ft2, source)


def water_an_hour(boil: BoilState) -> float | None:
    """Return the water that a boil drove off in an hour; None where it cannot be told."""
    if boil.hours is None or not boil.sap_gal:
        return None
    hours = boil.hours - (START_UP_H if boil.boiling_at is None else 0.0)
    if hours < _LONG_ENOUGH_H:
        return None
    return water_of(boil) / hours


def water_of(boil: BoilState) -> float:
    """Return the gallons of water that the sap of a boil had to lose."""
    return syrup_estimate(boil.sap_gal, likely_brix(boil.brix)).water_gal


def likely_brix(brix: float | None) -> float:
    """Return a sugar that can be reckoned with: as tested, else the usual one."""
    return rule_inputs.USUAL_BRIX if brix is None else min(20.0, max(0.5, brix))


def _stored(vessel: VesselState, season: Season, now: datetime, limit_name: str) -> Stored:
    age_h, readings = rule_inputs.most_worn(vessel, now)
    return Stored(
        name=vessel.name,
        age_h=min(age_h, 2000.0),
        readings=readings,
        sap=vessel.sap,
        volume_gal=vessel.volume_gal,
        brix=likely_brix(vessel.brix),
        ahead=() if vessel.insulated else _ahead(season, now),
        capacity_gal=vessel.capacity_gal,
        limit_name=limit_name,
    )


def _ahead(season: Season, now: datetime) -> tuple[tuple[float, float], ...]:
    """Return (hours from now, °F) that sap outside is expected to have, by the weather told."""
    ahead = []
    for day in season.weather:
        if day.low_f is None or day.high_f is None or day.day <= now.date():
            continue
        begin = datetime.combine(day.day, time(), now.tzinfo)
        mean_f = (day.low_f + day.high_f) / 2
        hours = (begin - now).total_seconds() / 3600
        ahead.append((hours, min(_WARMEST_F, max(_COLDEST_F, mean_f))))
    return tuple(ahead)


def _pans(settings: Settings, rate: PanRate) -> tuple[Pan, ...]:
    if not settings.pans_ft2:
        return (Pan("pan", rate.gal_h, START_UP_H),)
    an_ft2 = rate.gal_h / rate.ft2 if rate.source == "own boils" else settings.boil_rate_gal_ft2_h
    return tuple(
        Pan(name, max(0.1, area) * an_ft2, START_UP_H) for name, area in settings.pans_ft2.items()
    )


def _windows(now: datetime, until: datetime | None) -> tuple[Window, ...]:
    """Return the hours from now in which somebody can boil: today's first."""
    if until is None:
        evening = now.replace(hour=TO_HOUR, minute=0, second=0, microsecond=0)
        until = max(evening, now + timedelta(hours=_LATE_H))
    found = [Window(0.0, max(0.0, (until - now).total_seconds() / 3600))]
    for day in range(1, _DAYS):
        date = now.date() + timedelta(days=day)
        begin, end = (
            (datetime.combine(date, time(hour), now.tzinfo) - now).total_seconds() / 3600
            for hour in (FROM_HOUR, TO_HOUR)
        )
        found.append(Window(max(begin, found[-1].end_h), max(end, found[-1].end_h)))
    return tuple(found)
