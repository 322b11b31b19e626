"""From "yesterday", "monday" and "this season" to the dates they mean when they are said."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from fieldvoice.meaning import Ask
from fieldvoice.meaning.acts import Weather

if TYPE_CHECKING:
    from fieldvoice.meaning import Meaning

_WEEKDAYS = (
    "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday",
)  # fmt: skip


def dated(meaning: Meaning, now: datetime) -> Meaning:
    """Return ``meaning`` with its day or span as an ISO date."""
    if isinstance(meaning, Weather) and meaning.day is not None:
        dated_weather: Meaning = meaning.replace(day=date_of(meaning.day, now.date()).isoformat())
        return dated_weather
    if isinstance(meaning, Ask) and meaning.since is not None:
        dated_ask: Meaning = meaning.replace(since=date_of(meaning.since, now.date()).isoformat())
        return dated_ask
    if isinstance(meaning, Ask) and (meaning.until is not None or meaning.until_h is not None):
        until = until_of(meaning.until, meaning.until_h, now)
        dated_until: Meaning = meaning.replace(until=until, until_h=None)
        return dated_until
    return meaning


def until_of(day: str | None, hour: float | None, now: datetime) -> str:
    """Return the ISO date or time that "till Saturday" or "till half past six" means at ``now``.

    A day is the next of its name, never today; an hour of the clock the next one that comes round;
    "tonight" is seven in the evening.
    """
    if day == "tonight":
        return now.replace(hour=19, minute=0, second=0, microsecond=0).isoformat()
    if day in _WEEKDAYS:
        ahead = (_WEEKDAYS.index(day) - now.weekday() - 1) % 7 + 1
        return (now.date() + timedelta(days=ahead)).isoformat()
    if day is not None:
        return day if "T" in day else date_of(day, now.date()).isoformat()
    said = now.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(hours=hour or 0.0)
    while said <= now:
        said += timedelta(hours=12)
    return said.isoformat()


def date_of(said: str, today: date) -> date:
    """Return the day that a word or an ISO date means; a weekday is the last one, today included.

    "Week" begins on Monday and "season" on 1 January. An unknown word means today.
    """
    days_back = {"today": 0, "yesterday": 1, "tomorrow": -1, "week": today.weekday()}
    if said in _WEEKDAYS:
        return today - timedelta(days=(today.weekday() - _WEEKDAYS.index(said)) % 7)
    if said in days_back:
        return today - timedelta(days=days_back[said])
    if said == "season":
        return date(today.year, 1, 1)
    try:
        return datetime.fromisoformat(said).date()
    except ValueError:
        return today
