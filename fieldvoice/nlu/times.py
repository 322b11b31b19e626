"""From "yesterday at four", "monday" and "this season" to the times they mean when they are said.

The search leaves a time as it was said, in a few fixed words ("yesterday afternoon 4:00", "3 days
ago"); here, where the clock is known, it becomes ISO 8601 with the clock's offset.
"""

from __future__ import annotations

import re
from calendar import monthrange
from contextlib import suppress
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from fieldvoice.schema import Act, Ask
from fieldvoice.schema.acts import Remind, Weather

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.schema import Meaning

#: By their numbers in ``date.weekday``.
WEEKDAYS = (
    "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday",
)  # fmt: skip

#: The hour that a part of the day stands for where none was said.
_HOURS = {"morning": 8, "noon": 12, "afternoon": 15, "evening": 19, "night": 21}
#: A past day without an hour; and the hours in which people are taken to work in the woods.
_MIDDAY = 12
#: An hour so little ahead of now is now, and one so far ahead surely yesterday's (choices).
_ROUNDED, _FAR_AHEAD = timedelta(minutes=15), timedelta(hours=6)
_WORKING = range(6, 23)
#: The hours that are meant by one to come without its half of the day, unless it comes soon.
_AWAKE = range(4, 24)
_SOON = timedelta(hours=4)

_AGO = re.compile(r"([\d.]+) (day|hour)s ago")
_AHEAD = re.compile(r"in ([\d.]+) (day|hour|minute|second)s")
_CLOCK = re.compile(r"(\d{1,2}):(\d\d)")
_MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_DATE = re.compile(rf"({'|'.join(_MONTHS)}) (\d{{1,2}})(?!\d|:)")
#: Between two times said in one breath that differ.
_OR = " or "


def time_said(fields: Mapping[str, Any]) -> str:
    """Return a time as said, from what the grammar sets, in the words that ``moment_of`` reads."""
    if "hours_ago" in fields:
        return f"{fields['hours_ago']} hours ago"
    words = [fields["day"]] if "day" in fields else []
    if "month_day" in fields:
        words.append(f"{fields['month']} {fields['month_day']}")
    if "days_ago" in fields:
        words.append(f"{fields['days_ago']} days ago")
    if "part" in fields:
        words.append(fields["part"])
    if "hour" in fields:
        words.append(f"{fields['hour']}:{fields.get('minute', 0):02}")
    return " ".join(words)


def joined_times(one: str, other: str) -> str:
    """Return what two times said in one breath mean together: "at seven", "this morning".

    Times that differ stay both, for the speaker to choose from: "at seven", "at eight".
    """
    first, second = _parts_of(one), _parts_of(other)
    ways = ({**second, **first}, {**first, **second})
    told = [" ".join(way[kind] for kind in ("day", "part", "hour") if kind in way) for way in ways]
    return _OR.join(dict.fromkeys(told))


def times_in(said: str) -> list[str]:
    """Return the times between which one has to choose: one, unless two were said that differ."""
    return said.split(_OR)


def _parts_of(said: str) -> dict[str, str]:
    """Return the day, the part of the day and the hour in a time as said."""
    parts: dict[str, str] = {}
    ago = _AGO.search(said)
    if ago is not None:
        parts["hour" if ago[2] == "hour" else "day"] = ago[0]
    dated_day = _DATE.search(said)
    if dated_day is not None:
        parts["day"] = dated_day[0]
    clock = _CLOCK.search(said)
    if clock is not None:
        parts["hour"] = clock[0]
    for word in said.split():
        if word in (*WEEKDAYS, "yesterday"):
            parts["day"] = word
        elif word in _HOURS:
            parts["part"] = word
    return parts


def due_said(fields: Mapping[str, Any]) -> str:
    """Return a time to come as said, from what the grammar sets, in words that ``due_of`` reads."""
    for unit in ("hour", "minute", "second"):
        if f"{unit}s_ahead" in fields:
            return f"in {fields[f'{unit}s_ahead']} {unit}s"
    if "days_ahead" in fields:
        return time_said({**fields, "day": f"in {fields['days_ahead']} days"})
    return time_said(fields)


def due_of(said: str, now: datetime) -> str:
    """Return the ISO day, or time where an hour was said, that a time to come means at ``now``.

    A weekday is the next of its name, today if nobody could mean it any more than another; an hour
    without its half of the day is the next at which people are up, or that comes soon; "in the
    morning", said in the afternoon, is tomorrow's. What is ISO already stays.
    """
    if said[:4].isdigit():
        return said
    ahead = _AHEAD.search(said)
    if ahead is not None and ahead[2] != "day":
        later = now + timedelta(**{f"{ahead[2]}s": float(ahead[1])})
        return later.replace(microsecond=0).isoformat()
    day = _day_ahead(said, now.date())
    clock = _CLOCK.search(said)
    part = next((word for word in said.split() if word in _HOURS), None)
    if clock is None:
        if part is None:
            return day.isoformat()
        at = _on_day(day, _HOURS[part], 0, now)
        gone = at <= now and day == now.date() and "today" not in said
        return _on_day(day + timedelta(days=gone), _HOURS[part], 0, now).isoformat()
    hour, minute = int(clock[1]) % 12, int(clock[2])
    halves = {"morning": (0,), None: (0, 12)}.get(part, (12,))
    days = [day, day + timedelta(days=1)] if day == now.date() else [day]
    times = [_on_day(one, hour + half, minute, now) for one in days for half in halves]
    fit = [at for at in times if at > now and (part or at.hour in _AWAKE or at - now < _SOON)]
    return (fit or [times[-1]])[0].isoformat()


def _on_day(day: date, hour: int, minute: int, now: datetime) -> datetime:
    """Return an hour of a day by the clock of the place, which summer time may set in between.

    That is known of the place where the program runs alone.
    """
    with suppress(OverflowError, OSError, ValueError):  # at the ends of the system's own calendar
        if now.astimezone().utcoffset() == now.utcoffset():
            return datetime.combine(day, time(hour, minute)).astimezone()
    return datetime.combine(day, time(hour, minute), now.tzinfo)


def _day_ahead(said: str, today: date) -> date:
    """Return the day to come that words name; today where they name none."""
    ahead = _AHEAD.search(said)
    if ahead is not None:
        return today + timedelta(days=float(ahead[1]))
    if named := _DATE.search(said):
        return _next(_MONTHS.index(named[1]) + 1, int(named[2]), today)
    for number, name in enumerate(WEEKDAYS):
        if name in said.split():
            return today + timedelta(days=(number - today.weekday() - 1) % 7 + 1)
    return today + timedelta(days="tomorrow" in said.split())


def span_said(fields: Mapping[str, Any]) -> str:
    """Return a time to look back on as said, in words that ``span_of`` reads."""
    if fields.keys() & {"day", "days_ago", "month_day"}:
        return time_said({key: one for key, one in fields.items() if key != "part"})
    return " ".join(str(fields[key]) for key in ("month", "year") if key in fields)


def span_of(said: str, today: date) -> str:
    """Return the year ("2027"), month ("2027-03"), day or days that words to look back mean.

    Days are ISO 8601's interval ("2027-03-01/2027-03-07"): a week begins on Monday, and this one
    ends today. ISO stays.
    """
    if said[:4].isdigit() or said == BEFORE_THAT:
        return said
    if said in ("last", "this", "season"):
        return str(today.year - (said == "last"))
    if said.endswith("week"):
        monday = today - timedelta(days=today.weekday())
        last = said.startswith("last")
        first = monday - timedelta(days=7) if last else monday
        return f"{first}/{first + timedelta(days=6) if last else today}"
    if _is_of_a_day(said):
        return date_of(_of_the_day(said), today).isoformat()
    if said.endswith(" month"):
        first = today.replace(day=1)
        return f"{first if said == 'this month' else first - timedelta(days=1):%Y-%m}"
    month, _, year = said.partition(" ")
    number = _MONTHS.index(month) + 1
    of_year = today.year - (number > today.month)
    return f"{of_year if year != 'last' else today.year - 1}-{number:02}"


def _is_of_a_day(said: str) -> bool:
    """Whether a time as said means one day, or a part of it, or an hour."""
    word = said.partition(" ")[0]
    return word not in (*_MONTHS, "this", "last") or _DATE.search(said) is not None


def _of_the_day(said: str) -> str:
    """Return a time as said without what is no day of it: the part of the day, the hour."""
    return _parts_of(said).get("day", "today")


def days_of(span: str) -> tuple[date, date]:
    """Return the first and last day of a time to look back on, as ``span_of`` returns it."""
    first, _, last = span.partition("/")
    if last:
        return date.fromisoformat(first), date.fromisoformat(last)
    year, month, day = (int(one) if one else 0 for one in (*first.split("-"), "", "")[:3])
    if day:
        return date(year, month, day), date(year, month, day)
    if month:
        return date(year, month, 1), date(year, month, monthrange(year, month)[1])
    return date(year, 1, 1), date(year, 12, 31)


#: The time before the one that was asked about, until the conversation knows which.
BEFORE_THAT = "before"


def before_that(span: str) -> str:
    """Return the time as long just before one: the day, the week, the month or the year."""
    first, last = days_of(span)
    day = timedelta(days=1)
    if "/" in span:
        return f"{first - (last - first) - day}/{first - day}"
    ended = f"{first - day}"
    return ended[: len(span)]


def dated(meaning: Meaning, now: datetime) -> Meaning:
    """Return ``meaning`` with its time, day or span in ISO 8601, as meant at ``now``."""
    if isinstance(meaning, Weather) and meaning.day is not None:
        day = date_of(meaning.day, now.date())
        meaning = meaning.replace(day=day.isoformat())
    if isinstance(meaning, Act) and meaning.at is not None:
        act: Meaning = meaning.replace(at=moment_of(meaning.at, now).isoformat())
        return act
    if isinstance(meaning, Remind) and meaning.due is not None:
        meaning = meaning.replace(due=due_of(meaning.due, now))
    return _asked_at(meaning, now) if isinstance(meaning, Ask) else meaning


def _asked_at(ask: Ask, now: datetime) -> Meaning:
    said = ask.json_fields()
    if "since" in said and "T" not in said["since"]:  # an hour is ISO already
        said["since"] = date_of(said["since"], now.date()).isoformat()
    if "span" in said:
        said["span"] = span_of(said["span"], now.date())
    if "until" in said or "until_h" in said:
        said["until"] = until_of(said.get("until"), said.pop("until_h", None), now)
    return type(ask).model_validate(said)


def until_of(day: str | None, hour: float | None, now: datetime) -> str:
    """Return the ISO date or time that "till Saturday" or "till half past six" means at ``now``.

    A day is the next of its name, never today; an hour of the clock the next one that comes round;
    "tonight" is seven in the evening.
    """
    if day == "tonight":
        return now.replace(hour=19, minute=0, second=0, microsecond=0).isoformat()
    if day in WEEKDAYS:
        ahead = (WEEKDAYS.index(day) - now.weekday() - 1) % 7 + 1
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
    days_back = {
        "today": 0, "yesterday": 1, "tomorrow": -1,
        "week": today.weekday(), "last week": today.weekday() + 7,
    }  # fmt: skip
    ago = _AGO.fullmatch(said)
    if said in WEEKDAYS:
        return today - timedelta(days=(today.weekday() - WEEKDAYS.index(said)) % 7)
    if said in days_back:
        return today - timedelta(days=days_back[said])
    if ago is not None:
        return today - timedelta(days=float(ago[1]))
    if said == "season":
        return date(today.year, 1, 1)
    if named := _DATE.fullmatch(said):
        return _last(_MONTHS.index(named[1]) + 1, int(named[2]), today)
    try:
        return datetime.fromisoformat(said).date()
    except ValueError:
        return today


def is_a_date(month: str, day: int) -> bool:
    """Whether a month has such a day: "february thirtieth" is none."""
    leap_year = 2028
    try:
        date(leap_year, _MONTHS.index(month) + 1, day)
    except ValueError:
        return False
    return True


def _last(month: int, day: int, today: date) -> date:
    """Return the last such day that is not ahead; 29 February is looked for in leap years."""
    for year in range(today.year, today.year - 9, -1):
        try:
            found = date(year, month, day)
        except ValueError:
            continue
        if found <= today:
            return found
    return today


def _next(month: int, day: int, today: date) -> date:
    """Return the first such day that is not past; 29 February is looked for in leap years."""
    for year in range(today.year, today.year + 9):
        try:
            found = date(year, month, day)
        except ValueError:
            continue
        if found >= today:
            return found
    return today


def moment_of(said: str, now: datetime) -> datetime:
    """Return the moment that a time as said means; an ISO 8601 time is returned as it is.

    Nothing that was done lies in the future: "at four", said in the morning, is four in the
    morning, "at eleven pm" was yesterday, and "this evening" is now at the latest.
    """
    try:
        return datetime.fromisoformat(said)
    except ValueError:
        pass
    ago = _AGO.search(said)
    if ago is not None and ago[2] == "hour":
        return now - timedelta(hours=float(ago[1]))
    at = _at_hour(said, now)
    if at is not None:
        # "At eleven pm", said in the morning, was last night's.
        return at - timedelta(days=1) if at - now > _ROUNDED else min(at, now)
    part = next((word for word in said.split() if word in (*_HOURS, "earlier")), None)
    day = _day_in(said, now.date())
    if (part is None and day == now.date()) or part == "earlier":
        return now
    hour = _HOURS[part] if part is not None else _MIDDAY
    return min(_on_day(day, hour, 0, now), now)


def may_be_ahead(said: str, now: datetime) -> bool:
    """Whether an hour was said that is soon to come today, so that it may not have been at all."""
    if "T" in said or _AGO.search(said):
        return False
    at = _at_hour(said, now)
    return at is not None and _ROUNDED < at - now <= _FAR_AHEAD


def _at_hour(said: str, now: datetime) -> datetime | None:
    """Return the hour that was said, on the day that was said or else today; None for no hour."""
    clock, day = _CLOCK.search(said), _day_in(said, now.date())
    part = next((word for word in said.split() if word in _HOURS), None)
    if clock is not None:
        return _at_clock(day, int(clock[1]), int(clock[2]), part, now)
    return _on_day(day, _HOURS["noon"], 0, now) if part == "noon" else None


def _day_in(said: str, today: date) -> date:
    ago = _AGO.search(said)
    if ago is not None:
        return date_of(ago[0], today)
    if on_a_date := _DATE.search(said):
        return date_of(on_a_date[0], today)
    named = next((word for word in said.split() if word in (*WEEKDAYS, "yesterday")), "today")
    return date_of(named, today)


def _at_clock(day: date, hour: int, minute: int, part: str | None, now: datetime) -> datetime:
    """Return an hour of the twelve on its half of the day: the one said, else the likelier."""
    morning = _on_day(day, hour % 12, minute, now)
    evening = _on_day(day, hour % 12 + 12, minute, now)
    if part == "morning":
        return morning
    if part in ("afternoon", "evening", "night"):
        return evening
    past = [moment for moment in (morning, evening) if moment <= now] or [morning]
    working = [moment for moment in past if moment.hour in _WORKING]
    return (working or past)[-1]
