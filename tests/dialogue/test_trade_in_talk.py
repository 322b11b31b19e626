"""What the trade's sources say, asked as people ask it: dangers, trees and numbers.

Each line names who printed what is looked for. What is from memory or common practice says so.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import TYPE_CHECKING

import pytest

from fieldvoice.dialogue import Settings
from tests.dialogue.script import LOCAL

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.dialogue.conftest import Talk

US, METRIC = Settings(), Settings(metric=True)
ATC, NOT_ATC = (
    Settings(sap_instrument="refractometer atc"),
    Settings(sap_instrument="refractometer"),
)

#: What was said before, the question, words that must be in the reply, words that must not.
TOLD = [
    # Ontario's food-grade guidance and CFIA's manual 4.5.1: tin-lead solder before 1995.
    ((), "can i use a soldered pan", "lead", ""),
    (("the soldered bucket is rusty",), "why", "lead", ""),
    ((), "can i use an old stainless pan", "solder", ""),
    # What goes on from a card and cannot be reckoned leaves "why" with the card; Minnesota
    # Extension and common practice are named in few words, both.
    (("how old can sap be", "what if it is warmer"), "why", "as soon as you can", "own notes"),
    (("how many taps can i put in a tree",), "who says so", "on tree health, and others", "1976"),
    (("how old can sap be",), "who says so", "Minnesota Extension, and common practice", ";"),
    # Ontario producers: galvanized is not food grade; Food Code 4-101.15.
    ((), "can i boil in a galvanized pan", "Never", ""),
    # Common practice; a growers' forum (sugar without water burns).
    ((), "the pan is running dry what do i do", "nothing cold", "slowly"),
    ((), "the pan is scorching", "Stand back", "flood"),
    ((), "the pan is running low", "flood", ""),
    # UMaine 7038: 1 to 20 of 5.25 %; half a cup a gallon for today's 8.25 %.
    ((), "how much bleach in half a gallon of water", "quarter cup", "half a cup"),
    ((), "how much five and a quarter percent bleach in ten gallons of water", "2 quarts", ""),
    ((), "my bleach is eight and a quarter percent how much for five gallons", "2.5 cups", ""),
    # University of Vermont's off-flavour set; foam from a producer's note.
    (
        ("put 30 gal in tank 2", "tank 2 is ropey"), "started boiling tank two",
        "ropey; it foams over", "",
    ),
    (("put 30 gal in tank 2", "tank 2 is cloudy"), "started boiling tank two", "by itself", ""),
    (("put 30 gal in tank 2", "tank 2 is buddy"), "started boiling tank two", "apart", ""),
    # Wisconsin Extension 2021 (birch runs too); over 100 gal a gallon from memory.
    ((), "can i tap a birch", "after maple", "lows and highs"),
    ((), "how much sap from a birch for a gallon", "100", ""),
    ((), "can i tap a sycamore", "little", "lows and highs"),
    ((), "can i tap a walnut", "little", "lows and highs"),
    ((), "can i tap an oak", "No", "lows and highs"),
    ((), "can i tap a pine", "No", "lows and highs"),
    ((), "can i tap an ash tree", "No", "lows and highs"),
    ((), "tree five is a birch", "birch", "maple"),
    # Farming magazine: about a gallon a square foot an hour.
    ((), "how long to boil forty gallons in a two by three pan", "6.5 hours", ""),
    ((), "how long to boil forty gallons in a two by four pan", "5 hours", ""),
    ((), "how long to boil forty gallons in a three by five pan", "2.5 hours", ""),
    ((), "how long do thirty gallons take in a six square foot flat pan", "5 hours", "taken"),
    # The Vermont chart: 59.1 at 211 °F and 63.3 at 130 for 66.9; 0.9 less for 66.0.
    ((), "what should the hydrometer read at two eleven", "58.1", ""),
    ((), "what should the hydrometer read at one thirty", "62.4", ""),
    # Starzak and Peacock: syrup of 66.0 boils 7.1 above water, whatever water boils at today.
    (("water boils at two oh two point eight",), "is it syrup at two oh nine point nine",
     "That's syrup", "Still"),
    (("water boils at two oh eight",), "is it syrup at two fourteen", "Still", ""),
    ((), "is it syrup at two hundred", "Not boiling", "must be"),
    ((), "is it syrup at two twenty where water boils at two twelve", "Past syrup", ""),
    # Ohio State F-46-02: granulated 40 to 45 above water.
    ((), "what temperature for granulated sugar", "252 to 257", ""),
    (("water boils at two oh eight",), "what temperature for granulated sugar", "248 to 253", ""),
    ((), "what temperature for maple sugar", "blocks", ""),
    ((), "what temperature for candy", "244", ""),
    # N'guyen et al. 2018 (defects); ordinary flavours from memory.
    ((), "the syrup tastes like root beer", "ordinary", "ferment"),
    ((), "the syrup tastes like butterscotch", "ordinary", "foam"),
    ((), "the syrup tastes bitter and burnt", "Scorched", "bud"),
    ((), "the syrup tastes of burnt popcorn", "Scorched", "Metabolism"),
    ((), "the syrup tastes like butter", "fat", ""),
    # Common practice.
    ((), "how do i split wood", "Eyes covered", "Felling"),
]  # fmt: skip


@pytest.mark.parametrize(("before", "asked", "has", "lacks"), TOLD, ids=[one[1] for one in TOLD])
def test_what_is_answered(
    before: tuple[str, ...], asked: str, has: str, lacks: str, talk: Talk
) -> None:
    for line in before:
        talk.say(line)
    reply = talk.say(asked)
    assert reply.outcome != "kept"
    assert has.lower() in reply.text.lower(), reply.text
    assert not lacks or lacks.lower() not in reply.text.lower(), reply.text


@pytest.mark.parametrize("sap", ["ropey", "sour"])
def test_spoiled_sap_is_not_boiled_without_a_yes(sap: str, talk: Talk) -> None:
    talk.say("put 30 gal in tank 2", f"tank 2 is {sap}")
    reply = talk.say("started boiling tank two")
    assert reply.outcome == "asked"
    assert [one.level for one in reply.findings] == ["stop"]
    assert not [note for note in talk.notes if note["act"] == "boil"]
    assert talk.say("yes").outcome == "saved"


@pytest.mark.parametrize(
    ("day", "told"),
    [("2026-12-10", "Too early"), ("2026-10-20", "Too early"), ("2027-02-20", "Tap now"),
     ("2027-05-10", "Too late")],
)  # fmt: skip
def test_time_to_tap_goes_by_the_date(day: str, told: str, talk: Talk) -> None:
    """February to April; before 15 January and after 20 April are choices of this house."""
    talk.now = datetime.fromisoformat(f"{day}T09:00").replace(tzinfo=LOCAL)
    assert told in talk.say("low twenty five high forty two", "is it time to tap").text


def test_a_refractometer_is_read_as_one(talk_with: Callable[..., Talk]) -> None:
    """Makers' instructions: ATC needs no correction at 50 to 86 °F of the instrument."""
    talk = talk_with(US)
    told = talk.say("tank one two point two percent on the refractometer at sixty degrees").text
    assert "2.2 %" in told
    assert "really" not in told
    cold = talk.say("tank one two point two percent on the refractometer at forty five degrees")
    assert "Warm" in cold.text


@pytest.mark.parametrize(("own", "told"), [(ATC, "2.2 %"), (NOT_ATC, "really 1.8")])
def test_a_refractometer_that_is_set(
    own: Settings, told: str, talk_with: Callable[..., Talk]
) -> None:
    """Makers' instructions, and the sap table: −0.38 at 55 °F for one that was made for 68."""
    said = talk_with(own).say("tank one is two point two percent at fifty five degrees").text
    assert told in said
    assert ("really" in said) == (own is NOT_ATC)


def test_two_days_in_one_line(talk: Talk) -> None:
    """A spoken number is never cut in two: the grammar's own rule."""
    talk.say("low twenty four tonight and forty five tomorrow")
    assert [(one.get("low_f"), one.get("high_f")) for one in talk.notes] == [(24.0, 45.0)]
    talk.say("twenty six tonight and thirty tomorrow night")
    assert [one.get("low_f") for one in talk.notes[1:]] == [26.0, 30.0]


def test_bare_degrees_of_a_metric_book_are_celsius(talk_with: Callable[..., Talk]) -> None:
    """10 °C are 50 °F, where sap keeps 0.9 of a day (rate 2.25 of two days at 38 °F)."""
    talk = talk_with(METRIC)
    hours = re.search(r"within (\d+) hours", talk.say("how long does sap keep at ten degrees").text)
    assert hours
    assert 18 <= int(hours[1]) <= 24
    talk.say("low minus four high five")
    assert (talk.notes[-1]["low_f"], talk.notes[-1]["high_f"]) == (24.8, 41.0)
    assert "Too cool" not in talk.say("packed six pints at eighty five degrees").text
    assert talk.notes[-1]["temp_f"] == 185.0
    assert "That's syrup" in talk.say("is it syrup at one oh four").text


@pytest.mark.parametrize("across_in", range(12, 41, 4))
def test_the_place_proposed_is_not_called_too_close(across_in: int, talk: Talk) -> None:
    """Whatever the trunk, a hole drilled where it was proposed raises no stop (arithmetic)."""
    talk.now = talk.now.replace(year=2026)
    talk.say(f"tree four is {across_in} inches across")
    talk.say("tapped tree four on the south side three feet up")
    talk.now = talk.now.replace(year=2027)
    proposed = talk.say("where do i drill tree four").text
    assert "a hand to the right of last year's, a foot higher" in proposed
    side = proposed.partition("on the ")[2].split(" side")[0]
    noted = talk.say(f"tapped tree four on the {side} side four feet up")
    assert noted.outcome == "saved"
    assert "stop" not in [one.level for one in noted.findings], noted.text
