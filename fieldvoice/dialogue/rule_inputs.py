"""Facts from the book in the form that the rules take them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from datetime import datetime, time
from typing import TYPE_CHECKING

from fieldvoice.rules.growth import Growth, growth_between
from fieldvoice.rules.hydrometer import sap_sugar
from fieldvoice.rules.pulling import CLOSES_YEARS
from fieldvoice.rules.refractometer import refractometer_sugar
from fieldvoice.rules.sap_clock import SapLot, clock_of, keeps_until
from fieldvoice.rules.spacing import OldHole
from fieldvoice.rules.storage import StorageAge, aged, sap_limit
from fieldvoice.rules.tapping_zone import TappingZone, tapping_zone
from fieldvoice.rules.taps import TapLimit, rules_out_tapping, tap_limit
from fieldvoice.rules.weather import Day
from fieldvoice.schema.acts import Health, Measure

if TYPE_CHECKING:
    from datetime import date, tzinfo

    from fieldvoice.book import Season, TreeState, VesselState
    from fieldvoice.book.season import DayWeather
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.dialogue.settings import Settings
    from fieldvoice.rules.finding import Finding

#: Two measurings of a trunk tell its growth when they are at least so many years apart (a choice).
GROWTH_YEARS = 3.0
#: The least ring that one tap a year needs, taken where a trunk was measured but once (inches).
USUAL_RING_IN = 0.06
#: A spile set longer ago than this was forgotten to be noted as pulled.
LONGEST_SEASON_WEEKS = 30

#: Taken for sap that was never tested; "about two percent" is common for sugar maple.
USUAL_BRIX = 2.0
#: Between the low and the high of a day in the season (a choice: 25 and 45 °F make a good one).
_SWING_F = 20.0


def holds_sap(vessel: VesselState) -> bool:
    """Whether there is, or may be, sap in a vessel."""
    return bool(vessel.parcels) or bool(vessel.volume_gal) or bool(vessel.fill)


def vessels_with_sap(season: Season) -> list[VesselState]:
    """Return the vessels that hold sap, by name."""
    ordered = (season.vessels[name] for name in sorted(season.vessels))
    return [vessel for vessel in ordered if holds_sap(vessel)]


def hours(earlier: datetime, now: datetime) -> float:
    """Return the hours from ``earlier`` to ``now``, never negative."""
    return max(0.0, (now - earlier).total_seconds() / 3600)


def lots_of(vessel: VesselState) -> tuple[SapLot, ...]:
    """Return the sap in a vessel lot by lot, for the clock; rain is none."""
    lots = {
        SapLot(parcel.at, parcel.temps, parcel.sap, parcel.turned_at)
        for parcel in vessel.parcels
        if not parcel.rain
    }
    if not lots and vessel.oldest_at is not None:
        lots = {SapLot(vessel.oldest_at)}
    return tuple(sorted(lots, key=lambda lot: lot.gathered_at))


def air_of(season: Season, zone: tzinfo | None) -> tuple[tuple[datetime, float], ...]:
    """Return the means of the days of which a low or a high was told, at their noons."""
    means = ((day.day, _mean_f(day)) for day in season.weather)
    return tuple(
        (datetime.combine(day, time(12), zone), mean_f)
        for day, mean_f in means
        if mean_f is not None
    )


def _mean_f(day: DayWeather) -> float | None:
    """Return a day's mean; of a day half told it is half a usual day's swing from what was."""
    if day.low_f is not None and day.high_f is not None:
        return (day.low_f + day.high_f) / 2 if day.low_f <= day.high_f else None
    if day.high_f is not None:
        return day.high_f - _SWING_F / 2
    return None if day.low_f is None else day.low_f + _SWING_F / 2


def age_of_sap(vessel: VesselState, moment: TurnContext) -> StorageAge | None:
    """Return the age of the sap in a vessel that keeps least; None when there is none.

    Raises:
        RangeError: for a limit that the rule does not know.
    """
    limit_name, now = moment.settings.sap_limit, moment.now
    days = sap_limit(limit_name).boil_by_days
    air = () if vessel.insulated else air_of(moment.season, (vessel.oldest_at or now).tzinfo)
    clocks = [(lot, clock_of(lot, air, vessel.brix or USUAL_BRIX)) for lot in lots_of(vessel)]
    if not clocks:
        return None
    lot, clock = min(clocks, key=lambda one: keeps_until(one[0], one[1], days))
    age_h = hours(lot.gathered_at, now)
    return aged(clock, age_h, assumed=not lot.readings, limit_name=limit_name)


def with_reading(vessel: VesselState, now: datetime, temp_f: float) -> VesselState:
    """Return a vessel as it is with a temperature just read of it."""
    read = (now, temp_f)
    parcels = tuple(replace(parcel, temps=(*parcel.temps, read)) for parcel in vessel.parcels)
    return replace(vessel, temps=(*vessel.temps, read), parcels=parcels)


def sugar_of(vessel: VesselState | None) -> tuple[float, bool]:
    """Return a vessel's Brix, and whether it was taken for want of a test."""
    if vessel is None or vessel.brix is None:
        return USUAL_BRIX, True
    return vessel.brix, False


def limit_of(tree: TreeState, settings: Settings) -> TapLimit | None:
    """Return how many taps a tree may carry; None while its diameter is not known.

    Raises:
        RangeError: for a diameter or a schedule that the rule does not know.
    """
    if tree.diameter_in is None:
        return None
    return tap_limit(
        tree.diameter_in,
        condition=tree.condition,  # type: ignore[arg-type]  # the book keeps it as plain text
        dieback_percent=dieback_of(tree),
        species=tree.species,
        growing_well=None if (grown := growth_of(tree)) is None else grown.enough,
        yard=is_yard_tree(tree),
        schedule=settings.schedule,
    )


def is_to_rest(tree: TreeState) -> bool:
    """Whether a tree's health forbids a tap; known also of one that was never measured."""
    return rules_out_tapping(tree.condition, dieback_of(tree))  # type: ignore[arg-type]  # as above


def dieback_of(tree: TreeState) -> float | None:
    """Return the dead share of a crown in percent, as last noted."""
    seen = [act.dieback for _, act in tree.noted(Health)]
    return next((dead for dead in reversed(seen) if dead is not None), None)


def is_yard_tree(tree: TreeState) -> bool:
    """Whether a tree is kept for its looks."""
    return any(act.yard for _, act in tree.noted(Measure))


def growth_of(tree: TreeState) -> Growth | None:
    """Return a trunk's growth between its first and last measuring; None when too near in time.

    A tape shows a tenth of an inch, and a slow trunk gains less than that in a year.
    """
    sizes = sizes_of(tree)
    if len(sizes) < 2:
        return None
    (first_at, first_in), (last_at, last_in) = sizes[0], sizes[-1]
    years = (last_at - first_at).days / 365.25
    if years < GROWTH_YEARS or last_in < first_in:
        return None
    return growth_between(first_in, last_in, years)


def sizes_of(tree: TreeState) -> list[tuple[datetime, float]]:
    """Return a trunk's measurings, in inches across, the oldest first."""
    measured = tree.noted(Measure)
    return [(at, act.diameter_in) for at, act in measured if act.diameter_in is not None]


def zone_of(tree: TreeState, taps: int) -> TappingZone | None:
    """Return what so many taps a year do to the wood in reach; None where nobody can tell.

    Raises:
        RangeError: for a trunk or a count of taps that the rule does not know.
    """
    if tree.diameter_in is None or not taps:
        return None
    grown = growth_of(tree)
    return tapping_zone(
        tree.diameter_in, taps, max(grown.ring_in, 0.005) if grown else USUAL_RING_IN
    )


@dataclass(frozen=True, slots=True)
class HoleAges:
    """How many holes are of this year, of the years in which holes close, and older."""

    this_year: int
    closing: int
    older: int


def hole_ages(tree: TreeState, this_year: int) -> HoleAges:
    """Return the holes noted of a tree by their age."""
    ages = Counter[bool | None]()
    for hole in tree.taps:
        years = this_year - hole.at.year
        ages[None if years == 0 else years <= CLOSES_YEARS] += hole.count
    return HoleAges(ages[None], ages[True], ages[False])


def old_holes(tree: TreeState | None) -> list[OldHole]:
    """Return the holes noted of a tree, in all its years."""
    if tree is None:
        return []
    return [OldHole(hole.side, hole.height_ft, hole.at.year) for hole in tree.taps]


def weeks_open(tree: TreeState, now: datetime) -> float | None:
    """Return the weeks since the oldest spile still in a tree was set; None when there is none."""
    if tree.taps_in <= 0:
        return None
    in_tree = [hole.at for hole in tree.taps][-tree.taps_in :]
    weeks = hours(min(in_tree), now) / (24 * 7)
    return weeks if weeks <= LONGEST_SEASON_WEEKS else None


def days(season: Season, after: date | None = None, until: date | None = None) -> list[Day]:
    """Return the days of which both low and high are known, oldest first.

    Only those after ``after``, and up to and with ``until``, where given.
    """
    return [
        Day(day.low_f, day.high_f)
        for day in season.weather
        if day.low_f is not None
        and day.high_f is not None
        and day.low_f <= day.high_f
        and (after is None or day.day > after)
        and (until is None or day.day <= until)
    ]


def sugar_read(
    reading_brix: float, temp_f: float, settings: Settings, gauge: str | None = None
) -> tuple[Finding, ...]:
    """Return what a reading of sap comes to, by the instrument named or else the one that is used.

    Raises:
        RangeError: for a reading or a temperature outside that of the instrument's rule.
    """
    instrument = settings.sap_instrument
    if gauge is not None and not instrument.startswith(gauge):
        # Named, and not the household's own: most handheld ones correct themselves (from memory).
        instrument = "hydrometer" if gauge == "hydrometer" else "refractometer atc"
    if instrument == "hydrometer":
        return sap_sugar(
            reading_brix,
            temp_f,
            made_for_f=settings.sap_hydrometer_f,
            reads_high_by=settings.sap_hydrometer_reads_high,
        ).findings
    compensates, zeroed = instrument.endswith("atc"), instrument.endswith("zeroed")
    return refractometer_sugar(
        reading_brix, temp_f, compensates=compensates, zeroed_here=zeroed
    ).findings
