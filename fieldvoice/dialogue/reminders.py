"""What is said unasked, and when: the pan running low, the boil near its end, a timer that rings.

Reminders are values worked out from the book; ``Calls`` gives each key once. A reminder not spoken
within ``LASTS`` of its time is out of date and left out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from fieldvoice.dialogue.boil_day import boil_day, going_boil, pan_rate, water_of
from fieldvoice.dialogue.to_remind import awaited, key_of
from fieldvoice.errors import RangeError
from fieldvoice.nlg.written import PLAIN, Style, written
from fieldvoice.segments import Count, VesselRef, When, fact, parts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from fieldvoice.book import BoilState, Season
    from fieldvoice.dialogue.settings import Settings
    from fieldvoice.segments import Sentence

#: How often the book is looked into for what is to be said unasked, if nothing is due before.
LOOK_EVERY = timedelta(seconds=20)
#: How long a reminder is worth saying after its time.
LASTS = timedelta(minutes=15)
#: A pan this deep is low; it is told so long before.
_LOW_IN = 1.0
_LOW_AHEAD = timedelta(minutes=20)
#: So long before the sap should be syrup, somebody should stand by.
_DONE_AHEAD = timedelta(minutes=15)
#: So long before the fire has to be lit.
_LIGHT_AHEAD = timedelta(hours=1)
#: What was asked for is said until it is done.
_ASKED_LASTS = timedelta(days=3650)
#: Hot jars lie on their sides so long (Ontario Ministry of Agriculture: 5 to 10 minutes).
_JARS_LIE = timedelta(minutes=10)
_CUBIC_IN_PER_GAL = 231.0
_STAND_BY = ": stand by and watch the temperature"


@dataclass(frozen=True, slots=True)
class Reminder:
    """What to say, and from when on. ``key`` tells the same reminder from a new one.

    ``asked_for``: by somebody, as a timer is; the rest the book tells.
    """

    key: str
    due: datetime
    told: Sentence
    style: Style = PLAIN
    lasts: timedelta = LASTS
    asked_for: bool = False

    def is_due(self, now: datetime) -> bool:
        """Whether it is to be said at ``now``."""
        return self.due <= now < self.due + self.lasts

    @property
    def text(self) -> str:
        """The reminder as it is read."""
        return written((self.told,), self.style)

    @property
    def spoken(self) -> str:
        """The reminder as a voice says it."""
        from fieldvoice.nlg.spoken import spoken  # as in ``Reply``

        return spoken((self.told,), self.style)


def reminders(season: Season, settings: Settings, now: datetime) -> tuple[Reminder, ...]:
    """Return what will have to be said, the soonest first, as far as the book tells by now."""
    try:
        found = [
            *_of_the_boil(season, settings, now),
            *_of_the_jars(season),
            *_to_light(season, settings, now),
        ]
    except RangeError:
        found = []  # a value in the book that no rule speaks of: there is nothing to go by
    found += _asked_for(season, now)
    style = Style(settings.metric, season.names)
    return tuple(replace(one, style=style) for one in sorted(found, key=lambda one: one.due))


class Calls:
    """What is to be said unasked, each once; ``look`` returns the reminders that there are."""

    def __init__(self, look: Callable[[datetime], tuple[Reminder, ...]]) -> None:
        self._look = look
        self._looked_at: datetime | None = None
        self._look_at: datetime | None = None
        self.said: set[str] = set()

    def at(self, now: datetime) -> list[Reminder]:
        """Return what is to be said at ``now``.

        The book is looked into every ``LOOK_EVERY``, and when something known is due.

        Raises:
            BookError: the book cannot be read.
        """
        if self._looked_at and self._look_at and self._looked_at <= now < self._look_at:
            return []
        known = self._look(now)
        self._looked_at = now
        self._look_at = min([now + LOOK_EVERY, *(one.due for one in known if one.due > now)])
        fresh = [one for one in known if one.is_due(now) and one.key not in self.said]
        self.said.update(one.key for one in fresh)
        return fresh


def _asked_for(season: Season, now: datetime) -> Iterator[Reminder]:
    """Remind of what somebody asked for, on each day until it is done."""
    for one in awaited(season, now):
        told = fact("Reminder:", one.text)
        yield Reminder(
            key_of(one, now), one.comes_up(now.tzinfo), told, lasts=_ASKED_LASTS, asked_for=True
        )


def _of_the_boil(season: Season, settings: Settings, now: datetime) -> Iterator[Reminder]:
    boil = going_boil(season, now)
    if boil is None:
        return
    rate = pan_rate(season, settings)
    low_at = reaches(boil, _LOW_IN, rate.gal_h, rate.ft2)
    if low_at is not None:
        at, last = low_at, boil.levels[-1][0]
        warn = max(last, at - _LOW_AHEAD)
        minutes = round((at - warn).total_seconds() / 60)
        soon = parts("an inch left in", Count(minutes, "minute"))
        left = soon if minutes > 1 else "less than an inch left"
        yield Reminder(
            f"pan low {last:%d %H:%M:%S} {len(boil.feeds)}",
            warn,
            fact("Check the pan: at this rate", left),
        )
    if boil.boiling_at is not None and boil.sap_gal:
        done = boil.boiling_at + timedelta(hours=water_of(boil) / rate.gal_h)
        yield Reminder(
            f"near syrup {boil.started_at:%d %H:%M} {boil.sap_gal:.0f}",
            done - _DONE_AHEAD,
            fact("By this rate it is syrup at", When(done, now, "clock"), _STAND_BY),
        )


def reaches(boil: BoilState, depth_in: float, gal_h: float, ft2: float) -> datetime | None:
    """Return when the pan stands only ``depth_in`` deep, by the last depth read and the rate."""
    if not boil.levels:
        return None
    inches_per_gal = _CUBIC_IN_PER_GAL / (ft2 * 144)
    read_at, deep = boil.levels[-1]
    deep += sum(gallons for at, gallons in boil.feeds if at > read_at) * inches_per_gal
    hours = max(0.0, deep - depth_in) / (gal_h * inches_per_gal)
    return read_at + timedelta(hours=hours)


def _of_the_jars(season: Season) -> Iterator[Reminder]:
    if season.pantry:
        lot = season.pantry[-1]
        yield Reminder(f"jars {lot.code}", lot.at + _JARS_LIE, fact("Stand the jars up again"))


def _to_light(season: Season, settings: Settings, now: datetime) -> Iterator[Reminder]:
    """Remind of each last hour to light the fire, while the fire is out."""
    day = boil_day(season, settings, now)
    if day.fire is not None:
        return
    for step in day.plan.boiled:
        if step.by < now:
            continue
        light = parts("Light the fire by", When(step.by, now, "clock"))
        yield Reminder(
            f"light {step.name} {step.by:%Y-%m-%d %H:%M}",
            step.by - _LIGHT_AHEAD,
            fact(light, ", or", VesselRef(step.name), "won't be done in time"),
        )
