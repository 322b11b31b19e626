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
    return meaning


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
