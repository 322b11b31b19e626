"""The boil day in the book's facts: what is in store, the pans and their rate, the fire.

Everything that the plan goes by is gathered here, so that the spoken answer, the board, the
reminders and the JSON speak of the same plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median
from typing import TYPE_CHECKING, Any, Literal

from fieldvoice.book.movements import PAN
from fieldvoice.dialogue import rule_inputs
from fieldvoice.rules.boiling import START_UP_H
from fieldvoice.rules.plan import (
    LEAST_GAL,
    USUAL_PAN_FT2,
    BoilPlan,
    Pans,
    Step,
    Stored,
    boil_plan,
    least_batch_gal,
)
from fieldvoice.rules.sap_clock import SapLot
from fieldvoice.rules.sugar import syrup_estimate

if TYPE_CHECKING:
    from fieldvoice.book import BoilState, Season, VesselState
    from fieldvoice.dialogue.settings import Settings

#: Less than this in a vessel is nothing to boil: under a cup, as sums leave it.
_DREGS_GAL = 0.05
#: Sap gathered and not poured is, up to so much, what people round (a choice).
_ROUNDED_GAL = 0.5
#: A fire that nobody put out is out by then.
_FIRE_LASTS = timedelta(hours=20)
#: Boils that the pan's own rate is learnt from: the last ones, each long enough to tell.
_LAST_BOILS = 5
_LONG_ENOUGH_H = 0.75
#: Gallons an hour a square foot that a pan may do; beyond that something was misnoted.
_LIKELY_RATE = (0.15, 5.0)

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
    """All that the plan goes by, and the plan; ``fire`` is the boil going on."""

    now: datetime
    stored: tuple[Stored, ...]
    rate: PanRate
    pans: Pans
    fire: BoilState | None
    plan: BoilPlan


def boil_day(
    season: Season, settings: Settings, now: datetime, until: datetime | None = None
) -> BoilDay:
    """Return the boil day; ``until`` is when somebody has to stop today.

    Raises:
        RangeError: for sap so sweet that no rule speaks of it.
    """
    fire = going_boil(season, now)
    on_fire = (PAN,) if fire is not None else ()
    stored = tuple(_stored(one) for one in in_store(season) if one.name not in on_fire)
    if (waiting := _waiting_in_pan(season)) is not None:
        stored = (*(one for one in stored if one.name != PAN), waiting)
    rate = pan_rate(season, settings)
    pans = _pans(season, settings, rate, fire)
    zone = max((lot.gathered_at for one in stored for lot in one.lots), default=now).tzinfo
    plan = boil_plan(
        stored, pans, now, air=rule_inputs.air_of(season, zone), until=until,
        limit_name=settings.sap_limit,
    )  # fmt: skip
    return BoilDay(now, stored, rate, pans, fire, plan)


def plan_as_json(plan: BoilPlan) -> tuple[dict[str, Any], ...]:
    """Return what is to be done with each lot in the manner of the machine interface."""
    return tuple(
        {
            "vessel": step.name,
            "verdict": step.verdict,
            "by": step.by.isoformat(),
            **({} if step.volume_gal is None else {"volume_gal": round(step.volume_gal, 3)}),
            "age_h": round(step.age_h, 2),
        }
        for step in plan.steps
    )


def in_store(season: Season) -> list[VesselState]:
    """Return the vessels with sap of known age, and the sap carried as if it were in one.

    Beside those vessels little that is carried is what was told in round figures.
    """
    held = rule_inputs.vessels_with_sap(season)
    carried = season.carried
    if carried and not (held and (carried.volume_gal or _ROUNDED_GAL) < _ROUNDED_GAL):
        held = [*held, carried]
    return [
        vessel
        for vessel in held
        if vessel.oldest_at is not None
        and (vessel.volume_gal is None or vessel.volume_gal >= _DREGS_GAL)
    ]


def going_boil(season: Season, now: datetime) -> BoilState | None:
    """Return the boil going on, None when the fire is out, or sap was put in a pan unlit."""
    last = season.boilings[-1] if season.boilings else None
    if last is None or last.ended_at is not None or lit_at(last, season) is None:
        return None
    return None if now - last.started_at > _FIRE_LASTS else last


def lit_at(boil: BoilState, season: Season) -> datetime | None:
    """Return when a fire was first heard of; None where sap was only poured into the pan.

    "Boiled twenty gallons" and "put twenty gallons on" are noted alike: both tell of a fire, if no
    other word on it is older.
    """
    noted = [(at, act) for at, act in season.boils if at >= boil.started_at]
    lit = [at for at, act in noted if act.phase == "start"]
    fed = [at for at, act in noted if act.phase is None]
    seen = boil.draws or boil.agents or boil.levels
    return next(iter([*lit, *fed]), boil.boiling_at) or (boil.started_at if seen else None)


def _waiting_in_pan(season: Season) -> Stored | None:
    """Return the sap that was put in the pan under which no fire was lit yet."""
    last = season.boilings[-1] if season.boilings else None
    if last is None or last.ended_at is not None or not last.sap_gal:
        return None
    if lit_at(last, season) is not None:
        return None
    lot = SapLot(last.oldest_at or last.started_at, sap=last.sap)
    return Stored(PAN, (lot,), last.sap_gal, last.sap, likely_brix(last.brix))


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


def _stored(vessel: VesselState) -> Stored:
    return Stored(
        name=vessel.name,
        lots=rule_inputs.lots_of(vessel),
        volume_gal=vessel.volume_gal,
        sap=vessel.sap,
        brix=likely_brix(vessel.brix),
        outdoors=not vessel.insulated,
        capacity_gal=vessel.capacity_gal,
    )


def _pans(season: Season, settings: Settings, rate: PanRate, fire: BoilState | None) -> Pans:
    """Return all pans as one: sap in a tank may feed each of them."""
    gal_h, areas = rate.gal_h, settings.pans_ft2.values()
    if areas:
        an_ft2 = gal_h / rate.ft2 if rate.source == "own boils" else settings.boil_rate_gal_ft2_h
        gal_h = max(0.1, sum(areas)) * an_ft2
    said_ft2 = min(areas, default=None) or season.pan_ft2 or settings.pan_ft2
    least = LEAST_GAL if said_ft2 is None else least_batch_gal(min(500.0, max(0.25, said_ft2)))
    busy = None
    if fire is not None:
        lit = (lit_at(fire, season) or fire.started_at) + timedelta(hours=START_UP_H)
        busy = (fire.boiling_at or lit) + timedelta(hours=water_of(fire) / gal_h)
    return Pans(gal_h, START_UP_H, said_least_gal(season, settings) or least, busy)


def said_least_gal(season: Season, settings: Settings) -> float | None:
    """Return the sap that the household lights a fire for: as said, else as set."""
    return season.least_gal or settings.least_batch_gal


def step_of(day: BoilDay, name: str) -> Step | None:
    """Return what is to be done with one vessel; None where the book has no sap in it."""
    return next((step for step in day.plan.steps if step.name == name), None)
