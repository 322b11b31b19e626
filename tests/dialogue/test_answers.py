"""Answers: the answer first, the reason after, and honest words where facts are missing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.dialogue import Settings

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.dialogue.conftest import Talk

IGNORANT = [
    (
        "how many taps can tree seven take",
        "How big is tree 7?",
    ),
    ("what should i boil today", "no sap in store"),
    ("how old is the sap in tank two", "no sap in tank 2"),
    ("how full is tank two", "Tank 2 isn't in the book."),
    ("how long to boil tank two", "I don't know how much is in tank 2; tell me that."),
    ("how much syrup will tank two make", "I don't know how much is in tank 2"),
    ("how much sap did we collect today", "No sap is in the book yet."),
    ("which trees have i missed", "No trees are in the book yet."),
    ("when was tree fifty last emptied", "Tree 50 isn't in the book."),
    ("which trees are slow", "I can't tell yet"),
    ("tell me about tree seventeen", "Tree 17 isn't in the book."),
    ("is my syrup heavy", "Tell me the hydrometer's reading"),
    ("what grade is my syrup", "Tell me the light it lets through"),
    ("is it time to tap", "Tell me the lows and highs"),
    ("will it run tomorrow", "I have no weather for today"),
    ("how much syrup do we have", "No syrup is in the book yet."),
    ("how is the season going", "Nothing gathered or boiled is in the book yet."),
]


@pytest.mark.parametrize(("said", "told"), IGNORANT)
def test_an_empty_book_is_admitted(talk: Talk, said: str, told: str) -> None:
    """The answer says what is missing, makes nothing up, and counts as an answer."""
    reply = talk.say(said)
    assert reply.outcome == "answered"
    assert told in reply.text
    assert talk.notes == []


ANSWERED = [
    # 20 in is over 18: two taps by the conservative schedule (Ober, Ohio State University
    # Extension, 2013, and others); 14 in is one.
    (["tree seven is twenty inches across"], "how many taps can tree seven take",
     "Tree 7: two taps at most"),
    ([], "how many taps can a fourteen inch tree take", "One tap, at 14 inches across."),
    (["tree seven is twenty inches across", "tree seven two taps"],
     "how many taps can tree seven take", "It has 2 now."),
    (["tree seven is twenty inches across", "tree seven lost a big limb"],
     "how many taps can tree seven take", "none this year"),
    # 86 / 2 = 43 gal of sap to one of syrup by the rule of 86; 40 gal make a little under one.
    ([], "how much syrup will forty gallons make at two percent", "About 0.9"),
    ([], "how much syrup will forty gallons make",
     "I took 2 % sugar; 1.5 to 2.5 % would make 2.8 qt to 1.2 gal."),
    (["poured forty gallons into tank two", "tank two tests two point five percent"],
     "how much syrup will tank two make", "From 2.5 % sugar."),
    (["poured forty gallons into tank two"], "how long to boil tank two",
     "That is a pan of 8 square feet taken; set your own."),
    (["poured eleven gallons into tank one"], "how full is tank one", "Tank 1: 11 gal."),
    ([], "what temperature do i draw off at", "Draw at 219.1 °F."),
    # 7.1 °F over water's boil for 66 Brix (the rule has its own tests).
    ([], "water boils at two ten what do i draw off at", "Draw at 217.1 °F."),
    # Vermont's chart has 59.0 at 211 °F for 66.9 Brix, which is within the US 66 to 68.9.
    ([], "the hydrometer reads fifty nine at two eleven is it light", "It's syrup."),
    # USDA 2015: amber from 50 % transmittance.
    ([], "what grade is sixty percent transmittance", "Amber"),
    ([], "what do i do with ropey sap", "Dump it"),
    (["tree nine is cloudy"], "can i use an old galvanized bucket", "Test the seams for lead"),
    (["low of twenty four and high of forty five today"], "will it run today",
     "Today: it should run well."),
    (["low of twenty four and high of forty five today"], "is it time to tap", "Tap now"),
    ([], "where should i drill tree forty", "Tree 40: five-sixteenths bit"),
    (["tree nine is fourteen inches across", "tree nine one tap on the south side"],
     "where should i drill tree nine", "No more holes there."),
]  # fmt: skip


@pytest.mark.parametrize(("before", "said", "told"), ANSWERED)
def test_answers(talk: Talk, before: list[str], said: str, told: str) -> None:
    """From the rules, with the book's facts where there are any."""
    for line in before:
        assert talk.say(line).outcome == "saved", line
    reply = talk.say(said)
    assert reply.outcome == "answered"
    assert told in reply.text


def test_an_answer_from_a_rule_carries_reason_and_source(talk: Talk) -> None:
    """The words are short; the reasoning is behind them for whoever wants it."""
    reply = talk.say("how many taps can a fourteen inch tree take")
    assert reply.findings[0].rule == "tap-limit"
    assert "12" in reply.findings[0].why
    assert reply.findings[0].source


def test_a_value_no_rule_covers_is_told_with_the_range(talk: Talk) -> None:
    """ "I can't" with the reason, not a number out of the air."""
    reply = talk.say("how many taps can a two hundred inch tree take")
    assert reply.outcome == "answered"
    assert "from 1 to 100 inches" in reply.text


def test_what_spoils_first_is_boiled_first(talk: Talk) -> None:
    """The older sap goes first; the reason names its age."""
    talk.say("poured ten gallons into tank one")
    talk.wait(days=1)
    talk.say("poured ten gallons into tank two")
    talk.wait(hours=1)
    reply = talk.say("what should i boil today")
    assert reply.text.startswith("Boil tank 1 first today: light the fire by 7:20 pm.")
    assert "Tank 2 can wait till tomorrow 7:20 pm." in reply.text
    assert "25 hours old" in reply.text


def test_the_day_before_and_the_day_are_told_apart(talk: Talk) -> None:
    """Three gallons yesterday and two today."""
    talk.say("tree nine three gallons")
    talk.wait(days=1)
    talk.say("tree nine two gallons")
    assert talk.say("how much sap did we collect today").text == "2 gal today."
    assert talk.say("how much sap did we collect yesterday").text == "3 gal yesterday, 2 gal today."
    assert talk.say("how much sap have we gathered this season").text == "5 gal this season."


def test_a_span_becomes_a_date(talk: Talk) -> None:
    """5 March 2027 is a Friday, so that Monday was the first."""
    reply = talk.say("how much sap have we gathered since monday")
    assert reply.as_json()["meanings"] == [{"ask": "sap_total", "since": "2027-03-01"}]


def test_missed_trees_are_those_of_the_round_not_seen_today(talk: Talk) -> None:
    """A tree whose spile is pulled is not missed."""
    talk.say("tree three is full", "tree five is full", "tree seven is full")
    talk.say("pulled the spile on tree seven")
    talk.wait(days=1)
    talk.say("tree three is empty")
    assert talk.say("which trees have i missed").text == "1 left: tree 5."
    talk.say("tree five is empty")
    assert talk.say("which trees have i missed").text == "None; every tree was seen."


def test_on_the_first_round_the_book_does_not_know_every_tree(talk: Talk) -> None:
    """What it has no note of yet may well be left."""
    talk.say("starting a round", "tree three is full", "tree five is full")
    told = talk.say("which trees have i missed").text
    assert told == "None that the book knows; this is the first round."


def test_a_slow_tree_gives_less_than_half_of_the_usual(talk: Talk) -> None:
    """Of 4, 4, 3 and 1 gallons the middle is 3.5, and half of that is more than one."""
    talk.say("tree one four gallons", "tree two four gallons", "tree three three gallons")
    talk.say("tree four one gallon")
    assert talk.say("which trees are slow").text == "Tree 4: under half of the usual 3.5 gal a tap."


def test_the_season_in_a_sentence(talk: Talk) -> None:
    """Sums that anyone can do: 2 + 3 gallons of sap; 43 to one would be another matter."""
    talk.say("tree nine two gallons", "tree ten three gallons", "started boiling tank one")
    talk.say("drew off a quart at two nineteen", "packed two half pints at one eighty five")
    told = talk.say("how is the season going").text
    assert "5 gal of sap from 2 trees" in told
    assert "1 boil" in told
    assert "20 of sap to one of syrup" in told
    assert "2 half pints" in told


def test_the_history_of_a_tree(talk: Talk) -> None:
    """What is known of it, and how it was last seen."""
    talk.say("tree nine is fourteen inches across", "tree nine one tap on the south side")
    talk.say("tree nine two gallons", "tree nine tests two point two percent")
    assert talk.say("tell me about tree nine").text == (
        "Tree 9: 14 in across, 1 tap, 2 gal so far, 2.2 % sugar. Last emptied just now."
    )


def test_help_comes_from_the_grammar(talk: Talk) -> None:
    """Its examples are sayings that are understood."""
    told = talk.say("what can i say").text
    assert "tree twelve, bucket nearly full, sap cloudy" in told.lower()


def test_settings_change_answers(talk_with: Callable[..., Talk]) -> None:
    """Another schedule (10 to 15 in one tap, over 15 two), another place, another pan."""
    talk = talk_with(
        Settings(schedule="traditional", jurisdiction="vermont", elevation_ft=1500, pan_ft2=16)
    )
    assert talk.say("how many taps can a sixteen inch tree take").text.startswith("Two taps")
    # 1,500 ft boils water about 2.8 °F lower; Vermont's 66.9 Brix is 7.5 °F above that.
    assert "Draw at 216." in talk.say("what temperature do i draw off at").text
    assert "a pan of 16 square feet." in talk.say("how long to boil forty gallons").text
