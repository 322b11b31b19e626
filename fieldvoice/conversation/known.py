"""Facts from the book in the form that the rules take them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.rules.holes import OldHole
from fieldvoice.rules.storage import StorageAge, storage_age
from fieldvoice.rules.taps import TapLimit, tap_limit
from fieldvoice.rules.weather import Day

if TYPE_CHECKING:
    from datetime import date, datetime

    from fieldvoice.book import Season, TreeState, VesselState
    from fieldvoice.conversation.settings import Settings

#: Taken for sap that was never tested; "about two percent" is common for sugar maple.
USUAL_BRIX = 2.0


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


def age_of_sap(vessel: VesselState, now: datetime) -> StorageAge | None:
    """Return the age of the oldest sap in a vessel; None when nobody knows when it came in.

    Raises:
        RangeError: for an age or a temperature outside the rule's range.
    """
    if vessel.oldest_at is None:
        return None
    return storage_age(hours(vessel.oldest_at, now), temperatures(vessel, now))


def temperatures(vessel: VesselState, now: datetime) -> tuple[tuple[float, float], ...]:
    """Return a vessel's readings as (hours ago, °F), from a day before its oldest sap came in.

    A reading from long before this sap says nothing about it.
    """
    if vessel.oldest_at is None:
        return ()
    longest_h = hours(vessel.oldest_at, now) + 24
    readings = ((hours(at, now), temp_f) for at, temp_f in vessel.temps if at <= now)
    return tuple(reading for reading in readings if reading[0] <= longest_h)


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
        species=tree.species,
        schedule=settings.schedule,
    )


def old_holes(tree: TreeState | None) -> list[OldHole]:
    """Return the holes noted of a tree."""
    return [] if tree is None else [OldHole(hole.side, hole.height_ft) for hole in tree.taps]


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
