"""Times as people say them, at a fixed clock."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest

from fieldvoice.grammar import load_grammar
from fieldvoice.heard import typed
from fieldvoice.understanding import Understander
from fieldvoice.understanding.dates import dated, moment_of

UNDERSTANDER = Understander(load_grammar())
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
