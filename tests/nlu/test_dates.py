"""Times as people say them, at a fixed clock."""

from __future__ import annotations

import time
from datetime import datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.times import dated, due_of, moment_of
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

UNDERSTANDER = Interpreter(GRAMMAR)
EASTERN = timezone(timedelta(hours=-5))
#: A Friday.
NOW = datetime(2027, 3, 5, 9, 10, tzinfo=EASTERN)


def at(text: str) -> object:
    (meaning, *_) = UNDERSTANDER.read(typed(text))[0].meanings
    return dated(meaning, NOW).json_fields().get("at")


@pytest.mark.parametrize(
    ("said", "moment"),
    [
        ("yesterday", "2027-03-04T12:00:00-05:00"),
        ("yesterday at four", "2027-03-04T16:00:00-05:00"),
        ("yesterday morning", "2027-03-04T08:00:00-05:00"),
        ("this morning", "2027-03-05T08:00:00-05:00"),
        ("this morning at seven", "2027-03-05T07:00:00-05:00"),
        ("last night", "2027-03-04T21:00:00-05:00"),
        ("three days ago", "2027-03-02T12:00:00-05:00"),
        ("on tuesday", "2027-03-02T12:00:00-05:00"),
        ("two hours ago", "2027-03-05T07:10:00-05:00"),
        ("half an hour ago", "2027-03-05T08:40:00-05:00"),
        ("the day before yesterday", "2027-03-03T12:00:00-05:00"),
        ("yesterday at four thirty", "2027-03-04T16:30:00-05:00"),
    ],
)
def test_when_a_note_says_it_was(said: str, moment: str) -> None:
    assert at(f"collected two gallons from tree nine {said}") == moment
    assert at(f"{said} we collected two gallons from tree nine") == moment


def test_today_is_now_and_leaves_the_time_to_the_clock() -> None:
    assert at("collected two gallons from tree nine today") is None


def test_an_hour_alone_is_the_likelier_one_that_is_past() -> None:
    assert at("lit the fire at seven") == "2027-03-05T07:00:00-05:00"
    assert at("poured last night's sap into tank two") == "2027-03-04T21:00:00-05:00"


@pytest.mark.parametrize("said", ["evening", "night", "noon", "afternoon 4:00", "monday", "4:00"])
def test_nothing_that_was_done_lies_in_the_future(said: str) -> None:
    assert moment_of(said, NOW) <= NOW


def test_an_iso_time_is_left_alone() -> None:
    assert moment_of("2027-02-01T10:00:00-05:00", NOW).isoformat() == "2027-02-01T10:00:00-05:00"


@pytest.mark.parametrize(
    ("said", "since"),
    [
        ("since tuesday", "2027-03-02"),
        ("since yesterday", "2027-03-04"),
        ("in the last three days", "2027-03-02"),
        ("this week", "2027-03-01"),
        ("this season", "2027-01-01"),
    ],
)
def test_from_when_on_a_question_asks(said: str, since: str) -> None:
    readings = UNDERSTANDER.read(typed(f"how much sap have we collected {said}"))
    assert dated(readings[0].meanings[0], NOW).json_fields() == {"ask": "sap_total", "since": since}


moments = st.datetimes(
    datetime(2026, 1, 1), datetime(2032, 12, 31), timezones=st.just(EASTERN)
).map(lambda moment: moment.replace(second=0, microsecond=0))

#: Hours of the clock with the part of the day that says which of the two is meant.
PARTS = {"morning": range(1, 12), "afternoon": range(13, 18), "evening": range(17, 23)}

WEEKDAYS = "monday tuesday wednesday thursday friday saturday sunday".split()


def moment_told(said: str, now: datetime) -> datetime:
    """Return the time of a note that says when it was."""
    (meaning, *_) = UNDERSTANDER.read(typed(f"collected two gallons from tree nine {said}"))[
        0
    ].meanings
    return datetime.fromisoformat(str(dated(meaning, now).json_fields()["at"]))


@settings(max_examples=80, deadline=None)
@given(moments, st.integers(1, 12), st.sampled_from(["", "fifteen", "thirty", "forty five"]))
def test_yesterday_at_an_hour_is_that_hour_of_the_day_before(
    now: datetime, hour: int, minutes: str
) -> None:
    """Of the two hours of that name it is the later one that lies between six and eleven."""
    told = moment_told(f"yesterday at {num2words(hour)} {minutes}".strip(), now)
    assert told.date() == now.date() - timedelta(days=1)
    assert told.hour == (11 if hour == 11 else hour % 12 + 12)
    assert told.minute == {"": 0, "fifteen": 15, "thirty": 30, "forty five": 45}[minutes]


@settings(max_examples=60, deadline=None)
@given(moments, st.integers(2, 6))
def test_days_ago_are_days_of_the_calendar(now: datetime, days: int) -> None:
    told = moment_told(f"{num2words(days)} days ago", now)
    assert told.date() == now.date() - timedelta(days=days)


@settings(max_examples=60, deadline=None)
@given(moments, st.integers(2, 6))
def test_hours_ago_are_so_many_hours(now: datetime, hours: int) -> None:
    assert moment_told(f"{num2words(hours)} hours ago", now) == now - timedelta(hours=hours)


@settings(max_examples=60, deadline=None)
@given(moments, st.sampled_from(WEEKDAYS))
def test_a_weekday_is_the_last_one_of_that_name(now: datetime, day: str) -> None:
    told = moment_told(f"on {day}", now)
    assert told.weekday() == WEEKDAYS.index(day)
    assert timedelta(0) <= now.date() - told.date() < timedelta(days=7)
    assert told <= now


@settings(max_examples=80, deadline=None)
@given(moments, st.sampled_from(["yesterday", "on monday", "three days ago"]), st.data())
def test_a_part_of_the_day_says_which_half_an_hour_is_of(
    now: datetime, day: str, data: st.DataObject
) -> None:
    part = data.draw(st.sampled_from(sorted(PARTS)))
    hour = data.draw(st.sampled_from(PARTS[part]))
    told = moment_told(f"{day} at {num2words((hour - 1) % 12 + 1)} in the {part}", now)
    assert told.hour == hour or told == now
    assert told <= now


@settings(max_examples=150, deadline=None)
@given(
    moments,
    st.sampled_from(["", *WEEKDAYS, "yesterday"]),
    st.integers(0, 12),
    st.sampled_from(["", "morning", "noon", "afternoon", "evening", "night"]),
)
def test_no_moment_lies_in_the_future(now: datetime, day: str, hour: int, part: str) -> None:
    said = " ".join(word for word in (day, part, f"{hour}:00" if hour else "") if word)
    assert moment_of(said, now) <= now


SUMMER_TIME = [
    ("tomorrow 7:00 morning", "2027-03-13T20:00:00-05:00", "2027-03-14T07:00:00-04:00"),
    ("sunday morning", "2027-03-13T20:00:00-05:00", "2027-03-14T08:00:00-04:00"),
    ("7:00", "2027-11-06T20:00:00-04:00", "2027-11-07T07:00:00-05:00"),
    ("in 12 hours", "2027-03-13T20:00:00-05:00", "2027-03-14T08:00:00-05:00"),
    ("tomorrow 7:00 morning", "2027-03-13T20:00:00-08:00", "2027-03-14T07:00:00-08:00"),
]


@pytest.fixture
def _in_new_york(monkeypatch):
    monkeypatch.setenv("TZ", "America/New_York")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("_in_new_york")
@pytest.mark.skipif(not hasattr(time, "tzset"), reason="this system's zone cannot be set")
@pytest.mark.parametrize(("said", "now", "due"), SUMMER_TIME)
def test_an_hour_is_by_the_clock_on_the_wall(said, now, due):
    """Summer time begins or ends in between; hours ahead are hours, and elsewhere nobody knows."""
    assert due_of(said, datetime.fromisoformat(now)) == due


@pytest.mark.usefixtures("_in_new_york")
@pytest.mark.skipif(not hasattr(time, "tzset"), reason="this system's zone cannot be set")
def test_what_was_done_before_the_clocks_went_forward_is_an_hour_less_ago():
    now = datetime.fromisoformat("2027-03-14T09:00:00-04:00")
    done = moment_of("yesterday afternoon 4:00", now)
    assert done.isoformat() == "2027-03-13T16:00:00-05:00"
    assert now - done == timedelta(hours=16)
