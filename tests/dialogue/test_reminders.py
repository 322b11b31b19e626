"""What is said unasked. Eight square feet: an inch is 8 × 144 / 231 = 5.0 gal; 8 gal an hour."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from fieldvoice.dialogue import Settings

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.dialogue.conftest import Talk


@pytest.fixture
def boiling(talk_with: Callable[..., Talk]) -> Talk:
    """Thirty gallons on the pan since 9:10, at the boil since 9:34."""
    talk = talk_with(Settings(pan_ft2=8))
    talk.say("poured thirty gallons into tank one", "boiling tank one")
    talk.wait(minutes=24)
    talk.say("the pan is rolling")
    return talk


def told(talk: Talk, minutes: float) -> list[str]:
    """Return what is due so many minutes from now."""
    return talk.due(minutes=minutes)


def test_the_pan_runs_low_by_its_rate(boiling: Talk) -> None:
    """Three inches: two of them, 10 gal, are gone in 75 minutes; told twenty before."""
    reply = boiling.say("the pan is at three inches")
    assert reply.text == "Pan: 3 in deep. An inch left in 1 hour at this rate."
    assert told(boiling, 50) == []
    assert told(boiling, 56) == ["Check the pan: at this rate an inch left in 20 minutes."]


def test_sap_poured_in_puts_it_off(boiling: Talk) -> None:
    """Five more gallons are another inch: 37 minutes more."""
    boiling.say("the pan is at three inches")
    boiling.wait(minutes=5)
    boiling.say("put five gallons of sap in the pan")
    assert told(boiling, 56) == []
    assert told(boiling, 56 + 37.5 - 5 + 1) != []


def test_nobody_misses_the_syrup(boiling: Talk) -> None:
    """29.3 gal of water are gone in 3 h 40: at 13:14; told a quarter of an hour before."""
    assert told(boiling, 200) == []
    (text,) = told(boiling, 206)
    assert text.startswith("By this rate it is syrup at 1:10 pm")


def test_once_the_fire_is_out_nothing_is_said(boiling: Talk) -> None:
    boiling.say("the pan is at three inches", "stopped boiling")
    assert told(boiling, 56) == []


def test_jars_are_stood_up_again(talk: Talk) -> None:
    """After ten minutes on their side."""
    talk.say("packed five pints at one eighty five")
    assert told(talk, 9) == []
    assert told(talk, 11) == ["Stand the jars up again."]


def test_the_fire_is_to_be_lit_in_time(talk: Talk) -> None:
    """30 gal of yesterday: an hour before the latest start, by the plan's own word."""
    talk.wait(days=-1)
    talk.say("poured thirty gallons into tank one", "tank one is at thirty eight degrees")
    talk.wait(days=1)
    assert "By 5:40 pm" in talk.say("when must i start").text
    assert told(talk, 6 * 60) == []
    assert told(talk, 7.6 * 60) == ["Light the fire by 5:40 pm, or tank 1 won't be done in time."]


def test_a_timer_calls_at_its_moment_and_once(talk: Talk) -> None:
    """Also between two looks into the book; what was called is not told again with a reply."""

    def called(**later: float) -> list[str]:
        return [one.text for one in talk.conversation.calls(talk.now + timedelta(**later))]

    talk.say("check the pan in ten minutes")
    assert called(minutes=9, seconds=55) == []
    assert called(minutes=9, seconds=59) == []
    assert called(minutes=10) == ["Reminder: check the pan."]
    assert called(minutes=11) == []
    talk.wait(minutes=12)
    assert talk.say("tree nine two gallons").text == "Tree 9: 2 gal."


@pytest.mark.parametrize(
    ("later", "left"),
    [
        ({"minutes": 1}, "9 minutes: check the pan."),
        ({"minutes": 6, "seconds": 20}, "4 minutes: check the pan."),
        ({"minutes": 9, "seconds": 20}, "Less than a minute: check the pan."),
    ],
)
def test_how_long_a_timer_runs_is_told_to_the_minute(
    talk: Talk, later: dict[str, float], left: str
) -> None:
    talk.say("check the pan in ten minutes")
    talk.wait(**later)
    assert talk.say("how long on the timer").text == left


def test_a_timer_taken_back_does_not_call(talk: Talk) -> None:
    talk.say("check the pan in ten minutes", "scratch that")
    assert talk.due(minutes=11) == []
    talk.say("check the pan in ten minutes", "cancel the timer")
    assert talk.due(minutes=11) == []


def test_a_timer_that_nobody_was_there_to_hear_is_told_later(talk: Talk) -> None:
    """By the next command, hours later too; on another day it means nothing any more."""
    talk.say("check the pan in ten minutes")
    talk.wait(hours=5)
    assert talk.say("tree nine two gallons").text == "Tree 9: 2 gal. Reminder: check the pan."
    talk.wait(hours=19)
    assert talk.say("tree nine two gallons").text == "Tree 9: 2 gal."


@pytest.mark.parametrize(
    ("at", "said", "due"),
    [
        (14, "wake me at six", "2027-03-05T18:00:00-05:00"),
        (21, "wake me at six", "2027-03-06T06:00:00-05:00"),
        (22, "remind me at eleven to bank the fire", "2027-03-05T23:00:00-05:00"),
        (20, "remind me at three to boil", "2027-03-06T15:00:00-05:00"),
        (9, "remind me at noon to check the pan", "2027-03-05T12:00:00-05:00"),
        (13, "remind me at noon to check the pan", "2027-03-06T12:00:00-05:00"),
        (9, "wake me at midnight", "2027-03-06T00:00:00-05:00"),
        (9, "remind me in the morning to boil", "2027-03-06T08:00:00-05:00"),
        (9, "remind me this afternoon to boil", "2027-03-05T15:00:00-05:00"),
        (16, "remind me this afternoon to boil", "2027-03-05T15:00:00-05:00"),
        (9, "set a timer for ninety seconds", "2027-03-05T09:01:30-05:00"),
    ],
)
def test_an_hour_to_come_is_the_next_that_could_be_meant(
    talk: Talk, at: int, said: str, due: str
) -> None:
    talk.now = talk.now.replace(hour=at, minute=0)
    talk.say(said)
    assert talk.notes[-1]["due"] == due
