"""The boil plan as a promise, in conversation: asked morning and evening over a week.

Without a new note a verdict never goes back, a deadline never moves, and the clock alone dumps
nothing. Twelve sugarhouses, each written down before the plan was; the pan is 8 square feet.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.dialogue import Settings
from fieldvoice.dialogue.board import board

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.dialogue.conftest import Talk

_ORDER = ("can wait", "boil", "dump")


def plan(talk: Talk) -> dict[str, dict[str, Any]]:
    """Return the plan by vessel, as a program hears it."""
    told = talk.say("what should i boil today").as_json()["plan"]
    assert len({one["vessel"] for one in told}) == len(told)
    return {one["vessel"]: one for one in told}


def by(one: dict[str, Any]) -> datetime:
    return datetime.fromisoformat(one["by"])


def asked(
    talk: Talk, days: int = 7, settings: Settings | None = None
) -> Iterator[tuple[dict[str, dict[str, Any]], str]]:
    """Ask now and every twelve hours; check the promises; yield plan and words."""
    before: dict[str, dict[str, Any]] = {}
    for _ in range(2 * days + 1):
        now = plan(talk)
        for vessel, one in before.items():
            assert now[vessel]["by"] == one["by"], (vessel, talk.now)
            assert _ORDER.index(now[vessel]["verdict"]) >= _ORDER.index(one["verdict"]), talk.now
            assert (now[vessel]["verdict"] == "dump") == (one["verdict"] == "dump"), talk.now
        shown = board(talk.book.season(), settings or Settings(), talk.now).as_json()["plan"]
        assert {one["vessel"]: one for one in shown} == now
        yield now, talk.say("what should i boil today").text
        before = now
        talk.wait(hours=12)


def test_forty_gallons_over_a_week(talk: Talk) -> None:
    """Two days at 38 °F from Friday 9:10 end on Sunday 9:10; 4.9 h before that is Saturday."""
    talk.say("poured forty gallons into tank one", "tank one is at thirty eight degrees")
    heard = list(asked(talk))
    assert [one["tank 1"]["verdict"] for one, _ in heard[:4]] == [
        "can wait", "can wait", "boil", "boil",
    ]  # fmt: skip
    deadline = by(heard[0][0]["tank 1"])
    assert datetime.fromisoformat("2027-03-06T15:00-05:00") <= deadline
    assert deadline <= datetime.fromisoformat("2027-03-06T17:00-05:00")
    assert "tomorrow" in heard[0][1]
    assert "was due yesterday" in heard[4][1]
    assert "dark" in heard[4][1]
    assert "taste" in heard[-1][1] or "smell" in heard[-1][1]
    assert not any("dump" in words for _, words in heard)
    assert not any("keep till tomorrow" in words for _, words in heard[4:])


def test_no_temperature_was_read(talk: Talk) -> None:
    """Forty degrees are taken from the day it came, and not drawn anew each day."""
    talk.say("poured forty gallons into tank one")
    heard = list(asked(talk))
    assert by(heard[0][0]["tank 1"]) < datetime.fromisoformat("2027-03-06T16:00-05:00")


def test_a_cold_week_was_told(talk: Talk) -> None:
    """Freezing air keeps it longer than the taken forty; days not told are not made colder."""
    talk.say("poured forty gallons into tank one")
    first = by(plan(talk)["tank 1"])
    talk.say(
        "low of fifteen and high of thirty tomorrow", "low of fifteen and high of thirty on sunday"
    )
    assert by(plan(talk)["tank 1"]) > first
    list(asked(talk))


def test_gathered_and_never_poured(talk: Talk) -> None:
    """It is in the plan, ages like any sap, and is asked about."""
    talk.say("gathered twenty gallons from tree nine", "yes")
    reply = talk.say("what should i boil today")
    assert reply.as_json()["plan"][0]["vessel"] == "gathered sap"
    assert "?" in reply.text
    assert "gathered" in reply.text
    heard = list(asked(talk))
    assert heard[-1][0]["gathered sap"]["volume_gal"] == 20


def test_a_small_lot_waits_for_more_but_never_past_its_time(talk: Talk) -> None:
    """Five gallons: five more are waited for, until the last hour; then a pot."""
    talk.say("poured five gallons into tank one", "tank one is at thirty six degrees")
    heard = list(asked(talk))
    assert heard[0][0]["tank 1"]["verdict"] == "can wait"
    assert "5 gal more" in heard[0][1]
    last = by(heard[0][0]["tank 1"])
    for words in (heard[0][1], heard[1][1]):
        assert "till" in words
    boiled = [words for one, words in heard if one["tank 1"]["verdict"] == "boil"]
    assert all("pot" in words for words in boiled)
    assert last < talk.now


def test_a_cloudy_sample(talk: Talk) -> None:
    """A sign brings the deadline near at once; the clock dumps nothing."""
    talk.say("poured forty gallons into tank one", "tank one is at thirty four degrees")
    clear = by(plan(talk)["tank 1"])
    talk.wait(hours=12)
    talk.say("the sap in tank one is cloudy")
    one = plan(talk)["tank 1"]
    assert one["verdict"] == "boil"
    assert by(one) < clear
    list(asked(talk))


def test_fresh_sap_on_old(talk: Talk) -> None:
    """The oldest sap sets the age; more to boil makes the last hour earlier, never later."""
    talk.say("poured thirty gallons into tank one", "tank one is at thirty six degrees")
    old = by(plan(talk)["tank 1"])
    talk.wait(hours=23)
    talk.say("poured twenty gallons into tank one")
    mixed = plan(talk)["tank 1"]
    assert by(mixed) < old
    assert mixed["volume_gal"] == 50
    assert mixed["age_h"] == pytest.approx(23, abs=0.1)
    list(asked(talk))


def test_part_is_taken_out(talk: Talk) -> None:
    """Twenty of forty gallons gone: what is left is no younger, and takes 2.4 h less to boil."""
    talk.say("poured forty gallons into tank one", "tank one is at thirty eight degrees")
    whole = by(plan(talk)["tank 1"])
    talk.wait(hours=5)
    talk.say("moved twenty gallons from tank one into tank two")
    parted = plan(talk)
    assert {one["age_h"] for one in parted.values()} == {5.0}
    assert by(parted["tank 1"]) <= whole + timedelta(hours=2.5)
    list(asked(talk))


def test_two_tanks_share_one_pan(talk: Talk) -> None:
    """The older first; its last hour leaves room for both. A reminder says the same hour."""
    talk.say("poured sixty gallons into tank one", "tank one is at thirty eight degrees")
    talk.wait(hours=6)
    talk.say("poured fifty gallons into tank two", "tank two is at thirty eight degrees")
    heard = list(asked(talk, days=1))
    assert list(heard[0][0]) == ["tank 1", "tank 2"]
    first, second = (by(heard[0][0][name]) for name in ("tank 1", "tank 2"))
    assert first < second
    later = (first - timedelta(minutes=58) - talk.now).total_seconds()
    due = [one for one in talk.due(seconds=later) if "fire" in one]
    assert len(due) == 1
    assert "tank 1" in due[0]


def test_ice_keeps_it_longer(talk: Talk) -> None:
    """Sap with ice in it stands at the freezing point; the ice lifted off, it is less."""
    talk.say("poured thirty gallons into tank one")
    open_ = by(plan(talk)["tank 1"])
    talk.say("the sap in tank one is frozen")
    frozen = by(plan(talk)["tank 1"])
    assert frozen > open_ + timedelta(hours=10)
    list(asked(talk, days=2))
    talk.say("took ten gallons of ice out of tank one")
    assert plan(talk)["tank 1"]["volume_gal"] == 20
    list(asked(talk, days=5))


def test_a_warm_spell_to_come(talk: Talk) -> None:
    """Weather told makes haste, once; the plan then stands again."""
    talk.say("poured forty gallons into tank one", "tank one is at thirty four degrees")
    cold = by(plan(talk)["tank 1"])
    talk.wait(hours=10)
    talk.say("low of forty five and high of sixty five tomorrow")
    warm = plan(talk)["tank 1"]
    assert by(warm) < cold
    list(asked(talk))


def test_signs_dump_and_the_clock_does_not(talk_with: Callable[..., Talk]) -> None:
    """Sour sap is dumped from the first asking to the last, clear sap of twelve days never."""
    pans = Settings(pans_ft2={"front pan": 6, "back pan": 4})
    talk = talk_with(pans)
    talk.say("poured thirty gallons of sour sap into tank one")
    talk.say("poured thirty gallons of clear sap into tank two")
    heard = list(asked(talk, 12, pans))
    assert {one["tank 1"]["verdict"] for one, _ in heard} == {"dump"}
    assert {one["tank 2"]["verdict"] for one, _ in heard} <= {"can wait", "boil"}
    assert all("tank 1: dump" in words for _, words in heard)


#: Households' days: hours since the last thing said, and what is said then. Between, they ask.
HOUSEHOLDS = {
    "sap over three days": (
        Settings(),
        (
            (0, "poured thirty gallons into tank one"),
            (24, "gathered twenty five gallons", "poured it into tank two"),
            (24, "poured forty gallons into tote one"),
            (30, ""),
        ),
    ),
    "a cold night and a warm day told": (
        Settings(),
        (
            (0, "poured fifty gallons into tank one", "tank one is at thirty six degrees"),
            (10, "low of twenty two high of thirty eight"),
            (14, "low of forty and high of sixty tomorrow"),
            (40, ""),
        ),
    ),
    "cloudy after a day": (
        Settings(),
        (
            (0, "poured twenty gallons into tank one", "poured thirty gallons into tank two"),
            (20, "tank two is cloudy"),
            (40, ""),
        ),
    ),
    "ice lifted off": (
        Settings(),
        (
            (0, "poured forty gallons into tank one", "the sap in tank one is frozen"),
            (12, "took ten gallons of ice out of tank one"),
            (72, ""),
        ),
    ),
    "two pans": (
        Settings(pans_ft2={"front pan": 12, "back pan": 6}),
        (
            (0, "poured eighty gallons into tank one", "poured forty gallons into tank two"),
            (60, ""),
        ),
    ),
    "a fire burning": (
        Settings(),
        (
            (0, "poured sixty gallons into tank one", "poured thirty gallons into tank two"),
            (16, "started boiling tank one"),
            (6, "the fire is out"),
            (36, ""),
        ),
    ),
    "in the pan since the morning": (
        Settings(),
        (
            (0, "poured fifteen gallons into the pan"),
            (10, "poured twenty gallons into tank one"),
            (40, ""),
        ),
    ),
    "small lots": (
        Settings(),
        (
            (0, "we don't light for less than fifteen gallons", "poured six gallons into tank one"),
            (12, "poured four gallons into tank one"),
            (40, ""),
        ),
    ),
    "concentrate": (
        Settings(),
        (
            (0, "poured forty gallons into tank one"),
            (0, "tank one is eight percent", "yes"),
            (48, ""),
        ),
    ),
    "a metric book": (
        Settings(metric=True),
        (
            (0, "poured a hundred fifty liters into tank one", "tank one is at four degrees"),
            (10, "low minus two high twelve tomorrow"),
            (48, ""),
        ),
    ),
    "sour and clear": (
        Settings(),
        (
            (0, "poured thirty gallons into tank one", "poured thirty gallons into tank two"),
            (20, "tank one smells sour"),
            (48, ""),
        ),
    ),
    "moved and drawn down": (
        Settings(),
        (
            (0, "poured forty gallons into tank one", "tank one is at thirty eight degrees"),
            (12, "moved ten gallons from tank one into tank two"),
            (12, "put twenty gallons from tank one on the pan"),
            (30, ""),
        ),
    ),
}


@pytest.mark.parametrize("household", HOUSEHOLDS)
def test_between_notes_the_plan_stands(household: str, talk_with: Callable[..., Talk]) -> None:
    """Asked every six hours: nothing goes back, board and JSON agree, what is past is owned to."""
    own, days = HOUSEHOLDS[household]
    talk = talk_with(own)
    for hours, *lines in days:
        stands: dict[str, dict[str, Any]] = {}
        for _ in range(hours // 6):
            stands = _stands(talk, stands, own)
            talk.wait(hours=6)
        talk.wait(hours=hours % 6)
        for line in filter(None, lines):
            assert talk.say(line).outcome in ("saved", "asked"), line


def _stands(
    talk: Talk, before: dict[str, dict[str, Any]], own: Settings
) -> dict[str, dict[str, Any]]:
    reply = talk.say("what should i boil today")
    now = {one["vessel"]: one for one in reply.as_json()["plan"]}
    for vessel, was in before.items():
        if vessel in now:
            assert by(now[vessel]) <= by(was), (vessel, talk.now)
            assert _ORDER.index(now[vessel]["verdict"]) >= _ORDER.index(was["verdict"])
    shown = board(talk.book.season(), own, talk.now).as_json()["plan"]
    assert {one["vessel"]: one for one in shown} == now
    late = [one for one in now.values() if one["verdict"] == "boil" and by(one) < talk.now]
    cloudy = "cloudy: boil it" in reply.text
    assert not late or "was due" in reply.text or ", due " in reply.text or cloudy, reply.text
    first = next((one for one in now.values() if one["verdict"] != "dump"), None)
    if first is not None and by(first) > talk.now + timedelta(hours=2):
        later = (by(first) - timedelta(minutes=58) - talk.now).total_seconds()
        lit = talk.book.season().boilings
        assert lit or any("Light the fire" in one for one in talk.due(seconds=later)), reply.text
    return now
