"""How long sap keeps: the time used up along its temperatures, from when it was gathered on.

A clock is made of facts alone (when it was gathered, what was read, what weather was told), each
at its own point in time, so that asking again later draws the same line and finds the same end.
What nobody read or told is taken once, from the first moment on, and never drawn anew.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

REFERENCE_F = 38.0
#: Taken for sap whose temperature nobody read: the upper limit of "keep it cold".
ASSUMED_F = 40.0
#: Sap with ice in it stands here, and no colder: ice keeps, but it thaws.
FREEZING_F = 32.0
#: A day's mean tells of sap outside up to here; a hotter day warms a tank no further (a choice).
WARMEST_AIR_F = 70.0
#: Sap is as sweet as this by nature; what is sweeter was concentrated, and spoils sooner.
NATURAL_BRIX = 3.0
#: However sweet, no more than so many times as fast (a choice).
_FASTEST_PACE = 4.0
#: Days at 38 °F that are left once a sign is seen: cloudy is boiled at once (choices).
_LEFT_AFTER: Mapping[str | None, float] = {"hazy": 1.0, "yellow": 1.0, "cloudy": 0.0}
#: Readings that no sap can have are left out (a choice).
_LIKELY_F = (0.0, 100.0)

#: (when, °F): a temperature read of sap, or a day's mean at its noon.
At = tuple[datetime, float]


@dataclass(frozen=True, slots=True)
class SapLot:
    """Sap gathered together: what was read of it, its condition and since when it has that."""

    gathered_at: datetime
    readings: tuple[At, ...] = ()
    sap: str | None = None
    turned_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class SapClock:
    """The line of temperatures of sap: (hours since it was gathered, °F), even in between.

    After the last point it is held at ``held_f``. ``pace`` is how many times as fast as plain sap
    it spoils.
    """

    points: tuple[tuple[float, float], ...]
    held_f: float
    pace: float = 1.0

    def worn_at(self, hours: float) -> float:
        """Return the days at 38 °F used up so many hours after it was gathered (exact integral)."""
        worn = 0.0
        for (begin, first), (end, last) in pairwise(self.points):
            if hours <= begin:
                return worn / 24
            share = min(1.0, (hours - begin) / (end - begin))
            worn += self._aged_h(share * (end - begin), first, first + share * (last - first))
        last_h = self.points[-1][0]
        return (worn + self._aged_h(max(0.0, hours - last_h), self.held_f, self.held_f)) / 24

    def reaches(self, days: float) -> float:
        """Return how many hours after it was gathered so many days at 38 °F are used up."""
        left = days * 24
        for (begin, first), (end, last) in pairwise(self.points):
            whole = self._aged_h(end - begin, first, last)
            if left <= whole:
                return begin + self._into(left, end - begin, first, last)
            left -= whole
        return self.points[-1][0] + left / (self.pace * relative_rate(self.held_f))

    def temp_at(self, hours: float) -> float:
        """Return the temperature so many hours after it was gathered."""
        for (begin, first), (end, last) in pairwise(self.points):
            if begin <= hours < end:
                return first + (hours - begin) / (end - begin) * (last - first)
        return self.held_f if hours >= self.points[-1][0] else self.points[0][1]

    def _aged_h(self, hours: float, first_f: float, last_f: float) -> float:
        """Return hours at 38 °F equal to a stretch of evenly changing temperature."""
        first, last = _root(first_f), _root(last_f)
        mean_square = (first * first + first * last + last * last) / 3
        return self.pace * hours * mean_square / _root(REFERENCE_F) ** 2

    def _into(self, aged_h: float, hours: float, first_f: float, last_f: float) -> float:
        """Return how far into a stretch so many hours at 38 °F are used up."""
        first, rise = _root(first_f), (_root(last_f) - _root(first_f)) / hours
        wanted = aged_h * _root(REFERENCE_F) ** 2 / self.pace
        if abs(rise) * hours < 1e-9:
            return wanted / first**2
        return (math.cbrt(first**3 + 3 * rise * wanted) - first) / rise


def relative_rate(temp_f: float) -> float:
    """Return how many times faster sap ages than at 38 °F; at and below freezing as with ice."""
    return (_root(temp_f) / _root(REFERENCE_F)) ** 2


def pace_of(brix: float) -> float:
    """Return how many times as fast as plain sap that of so much sugar spoils.

    Even up to 3 Brix; twice as fast at 4, which small producers are told to boil the same day
    (Cornell Small Farms 2017), and so on: the line itself is a choice.
    """
    return min(_FASTEST_PACE, 1.0 + max(0.0, brix - NATURAL_BRIX))


def clock_of(lot: SapLot, air: Sequence[At] = (), brix: float = NATURAL_BRIX) -> SapClock:
    """Return the clock of a lot; ``air`` are days' means at their noons, for sap outside.

    Between readings it changes evenly; after the last it stays so until the day of which weather
    was told, from whose midnight on it goes to the day's mean at noon. What is told of a day says
    nothing of the days before it, so that no later word colours the past. Days not told are as warm
    as the last that was, or as last read, whichever is warmer; sap of which nothing was read counts
    as 40 °F.
    """
    likely = {at: temp_f for at, temp_f in lot.readings if _is_likely(temp_f)}
    read = sorted(likely.items())
    base = read[-1][1] if read else (FREEZING_F if lot.sap == "frozen" else ASSUMED_F)
    begin = lot.gathered_at
    points = [(begin, _at_start(begin, read, air, base))]
    points += [(at, temp_f) for at, temp_f in read if at > begin]
    for noon, mean_f in sorted(air):
        if noon > points[-1][0]:
            points += _until(noon - _HALF_DAY, points[-1], base)
            points.append((noon, min(WARMEST_AIR_F, mean_f)))
    held = max(FREEZING_F, base, points[-1][1])
    points += _until(None, points[-1], base)
    track = [((at - begin) / timedelta(hours=1), max(FREEZING_F, f)) for at, f in points]
    return SapClock(tuple(track), held, pace_of(brix))


_HALF_DAY = timedelta(hours=12)
#: What is taken for a day not told comes on over an hour, for a line has no step.
_COMES_ON = timedelta(hours=1)


def _until(midnight: datetime | None, last: At, base: float) -> list[At]:
    """Return what comes between a point and the midnight before a day told of, None for no day.

    The day of the point keeps its warmth to its own midnight; days not told are no colder than
    ``base``.
    """
    at, temp_f = last
    day_ends = at.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)
    warm = max(base, temp_f)
    between = [(day_ends, temp_f), (day_ends + _COMES_ON, warm)]
    if midnight is None:
        return between
    if midnight <= at:
        return []
    if midnight < day_ends + _COMES_ON:
        return [(midnight, temp_f)]
    return [*between, (midnight, warm)] if midnight > between[-1][0] else between


def keeps_until(lot: SapLot, clock: SapClock, days: float) -> datetime:
    """Return when sap should be boiled by: ``days`` at 38 °F used up, sooner after a sign."""
    until = _after(lot, clock.reaches(days))
    left = _LEFT_AFTER.get(lot.sap)
    if left is None:
        return until
    turned_at = lot.turned_at or lot.gathered_at
    if left == 0:
        return min(until, turned_at)
    turned_h = max(0.0, (turned_at - lot.gathered_at) / timedelta(hours=1))
    return min(until, _after(lot, clock.reaches(clock.worn_at(turned_h) + left)))


def _after(lot: SapLot, hours: float) -> datetime:
    return lot.gathered_at + timedelta(hours=min(hours, _LONGEST_H))


#: Further ahead than any season lasts (a choice).
_LONGEST_H = 24.0 * 400


def _at_start(begin: datetime, read: Sequence[At], air: Sequence[At], base: float) -> float:
    """Return the temperature at gathering: as read around it, else that day's air, else taken."""
    before = [temp_f for at, temp_f in read if at <= begin]
    after = [(at, temp_f) for at, temp_f in read if at > begin]
    if before and after:
        earlier = max(at for at, _ in read if at <= begin)
        share = (begin - earlier) / (after[0][0] - earlier)
        return before[-1] + share * (after[0][1] - before[-1])
    if before or after:
        return before[-1] if before else after[0][1]
    outside = [mean_f for noon, mean_f in air if abs(noon - begin) <= timedelta(hours=12)]
    return min(WARMEST_AIR_F, outside[0]) if outside else base


def _is_likely(temp_f: float) -> bool:
    return _LIKELY_F[0] <= temp_f <= _LIKELY_F[1]


def _root(temp_f: float) -> float:
    """Return the square root of the growth rate (Tmin -10 °C); ice stands at freezing."""
    return max(0.0, 1 + 0.1 * (max(FREEZING_F, temp_f) - 32) / 1.8)
