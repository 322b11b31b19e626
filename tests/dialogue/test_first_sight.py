"""Notes in plain words, typed, that were once saved wrong or lost a word.

With the net, the grammar and the wordings as they come along.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.cli.app import is_english
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.wordings import come_along
from tests.dialogue.conftest import Talk
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from fieldvoice.book import Book

#: What is saved, in all its fields but the time.
SAVED: dict[str, list[dict[str, Any]]] = {
    "tree fifty, one third full": [{"act": "inspect", "tree": 50, "fill": 0.3333}],
    "tree 50 one third full": [{"act": "inspect", "tree": 50, "fill": 0.3333}],
    "tree twenty two thirds full": [{"act": "inspect", "tree": 20, "fill": 0.6667}],
    "two taps in tree nine depth one and a half inches": [
        {"act": "tap", "tree": 9, "count": 2, "depth_in": 1.5}
    ],
    "lit the fire at 8:52": [{"act": "boil", "phase": "start", "at": "2027-03-05T08:52:00-05:00"}],
    "emptied tree nine at 8:05, two gallons": [
        {"act": "gather", "tree": 9, "volume_gal": 2.0, "at": "2027-03-05T08:05:00-05:00"}
    ],
    "draw 2: three quarts at 219": [{"act": "draw", "syrup_gal": 0.75, "temp_f": 219.0}],
    "three gallon and a quart out of nine": [{"act": "gather", "tree": 9, "volume_gal": 3.25}],
    "trees 1 to 4 stand along the road": [
        {"act": "stand", "trees": [1, 2, 3, 4], "site": "along the road"}
    ],
    "finished off the last of tank two in the pan": [{"act": "boil", "vessel": "tank 2"}],
    "we have a forty gallon tank": [{"act": "vessel", "vessel": "tank", "capacity_gal": 40.0}],
    "foam came up, dab of butter took care of it": [{"act": "defoam", "agent": "butter"}],
    "tree six, no bucket, the wind took it": [
        {"act": "hang", "tree": 6, "item": "bucket", "gone": True}
    ],
    "moved 15.5 gal tank 1 -> tank 2": [
        {"act": "transfer", "vessel": "tank 1", "into": "tank 2", "volume_gal": 15.5}
    ],
    "barometer 29.61 inhg": [{"act": "water", "pressure_inhg": 29.61}],
    "fire's been going since eight": [
        {"act": "boil", "at": "2027-03-05T08:00:00-05:00", "phase": "start"}
    ],
    "couldnt get to 9, snow too deep": [{"act": "skip", "tree": 9}],
    "no bucket on six": [{"act": "hang", "tree": 6, "item": "bucket", "gone": True}],
    "we shut down at about nine, dog tired": [
        {"act": "boil", "at": "2027-03-05T09:00:00-05:00", "phase": "stop"}
    ],
    "pumped ten gallons from tank one into the grey bin": [
        {"act": "transfer", "vessel": "tank 1", "into": "grey bin", "volume_gal": 10.0}
    ],
    "tree nine gave a gallon and a third": [{"act": "gather", "tree": 9, "volume_gal": 1.3333}],
    "tree 12 gallon and a half": [{"act": "gather", "tree": 12, "volume_gal": 1.5}],
    "tree nine gave two liters and a half": [{"act": "gather", "tree": 9, "volume_gal": 0.6604}],
    "from tree three five liters and a half": [{"act": "gather", "tree": 3, "volume_gal": 1.4529}],
    "tree nine two gallons and half full": [
        {"act": "gather", "tree": 9, "volume_gal": 2.0},
        {"act": "inspect", "tree": 9, "fill": 0.5},
    ],
    "trees 20 to 24 at 60 percent full": [
        {"act": "inspect", "trees": [20, 21, 22, 23, 24], "fill": 0.6}
    ],
    "trees 15 until 17 are empty": [{"act": "inspect", "trees": [15, 16, 17], "fill": 0.0}],
    "would you write down that the strainer is missing": [
        {"act": "remark", "text": "the strainer is missing"}
    ],
    "can you start a round": [{"act": "round", "phase": "start"}],
    "make a note call the wood man on monday about the pump": [
        {"act": "remark", "text": "call the wood man on monday about the pump"}
    ],
    "note that um the gate is open": [{"act": "remark", "text": "that the gate is open"}],
}
#: What is read as it was meant, and put to the speaker at least.
PUT: dict[str, list[dict[str, Any]]] = {
    "drew off a quart, pan depth two inches": [
        {"act": "draw", "syrup_gal": 0.25},
        {"act": "pan", "depth_in": 2.0},
    ],
    "number nine gallon and a quart": [{"act": "gather", "tree": 9, "volume_gal": 1.25}],
}
#: What is asked back, and never kept as it was first read.
ASKED = {
    "tree fifty one third full": "Tree 50 or tree 51?",
    "number thirty one fifth full": "Tree 30 or tree 31?",
    "remind me in an hour": "Remind you of what?",
    "remind me tomorrow": "Remind you of what?",
    "remind me in half an hour": "Remind you of what?",
    "reminder tomorrow": "Remind you of what?",
    "timer please": "When?",
}
#: Reminders: what of, and when.
REMINDED = {
    "timer two minutes": ("time is up", "2027-03-05T09:12"),
    "ten minute timer please": ("time is up", "2027-03-05T09:20"),
    "can you set a timer for ten minutes?": ("time is up", "2027-03-05T09:20"),
    "could you please remind me tomorrow to buy lids": ("buy lids", "2027-03-06"),
    "remind me sat 2 get gas": ("get gas", "2027-03-06"),
    "remind me tmrw 2 check the lids": ("check the lids", "2027-03-06"),
    "reminder, buy lids tomorrow": ("buy lids", "2027-03-06"),
    "tell me tomorrow to check nine": ("check nine", "2027-03-06"),
    "remind me tomorrow to call the jar man": ("call the jar man", "2027-03-06"),
    "remind me tomorrow to check the pan please": ("check the pan", "2027-03-06"),
}
#: A number below zero put right by itself.
COLDER = {
    ("low of minus five last night", "No, minus four"): {"low_f": -4.0},
    ("low was minus two celsius", "no, minus four"): {"low_f": 24.8},
    ("high of minus two yesterday", "no, minus one"): {"high_f": -1.0},
    ("tank one is at 33 degrees", "no, minus 2 celsius"): {"temp_f": 28.4},
}


@pytest.fixture(scope="module")
def reader() -> Interpreter:
    second = SecondReader(GRAMMAR.words, lambda: shipped().cards)
    return Interpreter(GRAMMAR, sound_of_words(GRAMMAR), is_english, second, come_along)


@pytest.fixture
def talk(book: Book, reader: Interpreter) -> Talk:
    return Talk(book, reader)


@pytest.mark.parametrize("text", SAVED)
def test_it_is_saved_as_it_was_meant(text: str, talk: Talk) -> None:
    reply = talk.say(text)
    assert reply.outcome == "saved"
    assert [one.json_fields() for one in reply.meanings] == SAVED[text]


@pytest.mark.parametrize("text", PUT)
def test_it_is_put_as_it_was_meant(text: str, talk: Talk) -> None:
    reply = talk.say(text)
    assert reply.outcome in ("saved", "asked")
    assert [one.json_fields() for one in reply.meanings] == PUT[text]


@pytest.mark.parametrize("text", ASKED)
def test_what_may_be_two_things_or_lacks_one_is_asked(text: str, talk: Talk) -> None:
    reply = talk.say(text)
    assert reply.outcome == "asked"
    assert ASKED[text] in reply.text
    assert not talk.book.newest_entries(1)


@pytest.mark.parametrize("text", REMINDED)
def test_a_reminder_has_its_words_and_its_time(text: str, talk: Talk) -> None:
    reply = talk.say(text)
    (act,) = (one.json_fields() for one in reply.meanings)
    what, when = REMINDED[text]
    assert (reply.outcome, act["act"], act["text"]) == ("saved", "remind", what)
    assert act["due"].startswith(when)


@pytest.mark.parametrize(("told", "right"), COLDER)
def test_degrees_below_zero_are_put_right(told: str, right: str, talk: Talk) -> None:
    talk.say(told)
    reply = talk.say(right)
    assert reply.outcome == "done"
    (entry,) = talk.book.newest_entries(5)
    told_now = entry.act.json_fields()
    for name, value in COLDER[told, right].items():
        assert told_now[name] == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "at"),
    {
        "drew off a quart at 2:20": "2027-03-05T14:20",
        "drew off a quart at 2:15": "2027-03-05T14:15",
        "drew off a quart yesterday at 2:20": "2027-03-04T14:20",
        "packed six pints at 1:50": "2027-03-05T13:50",
        "drew off at 2:30, a quart": "2027-03-05T14:30",
    }.items(),
)
def test_an_hour_in_figures_is_no_heat(text: str, at: str, talk: Talk) -> None:
    talk.wait(hours=10)
    reply = talk.say(text)
    (told,) = (one.json_fields() for one in reply.meanings)
    assert told["at"].startswith(at)
    assert "temp_f" not in told


def test_half_an_inch_of_ice_is_no_half_of_the_barrel(talk: Talk) -> None:
    reply = talk.say("there was half an inch of ice on the blue barrel, pulled it")
    assert reply.outcome == "asked"
    assert all("fill" not in one.json_fields() for one in reply.meanings)


def test_the_others_are_asked_of_what_was_noted(talk: Talk) -> None:
    """After a test of sugar the sweetest trees, after sap those still to be seen."""
    assert talk.say("tree nine two point two percent", "and the others").text.startswith("Sweetest")
    talk.say("tree nine two gallons")
    (ask,) = talk.say("what about the others").meanings
    assert ask.json_fields()["ask"] == "missed_trees"


def test_what_was_done_to_it_beside_is_not_passed_over(talk: Talk) -> None:
    reply = talk.say("tree six smells like vinegar, i threw it away")
    assert reply.meanings[0].json_fields() == {"act": "inspect", "tree": 6, "smell": "vinegar"}
    is_read = [one.json_fields()["act"] for one in reply.meanings[1:]] == ["dump"]
    assert is_read or 'I did not get "i threw it away"' in reply.text


@pytest.mark.parametrize(
    "text",
    [
        "tree four has two taps, one is dry",
        "two of them were full",
        "tank one has nine inches left to fill",
        "tank one is six inches from the top",
        "cut tree nine back",
        "done with tank one, on to tank two",
        "remind me at 5 or 6 to check the pan",
    ],
)
def test_a_part_of_what_was_told_is_not_saved(text: str, talk: Talk) -> None:
    assert talk.say(text).outcome in ("asked", "kept")
    assert not talk.book.newest_entries(1)


def test_who_came_by_is_a_name_without_that(talk: Talk) -> None:
    reply = talk.say("packed six quarts", "my neighbor came by and bought a quart for 18 dollars")
    (act,) = (one.json_fields() for one in reply.meanings)
    assert (act["to"], act["count"], act["price"]) == ("neighbor", 1, 18.0)


@pytest.mark.parametrize(
    ("told", "then", "item"),
    [
        ("bag on tree 6 ripped", "swapped it for a bucket", "bucket"),
        ("tree six lost its pail", "hung it back up", "pail"),
        ("the lid is off tree six", "put it back on", None),
    ],
)
def test_what_fell_hangs_there_again(told: str, then: str, item: str | None, talk: Talk) -> None:
    (act,) = (one.json_fields() for one in talk.say(told, then).meanings)
    assert (act["act"], act["tree"], act.get("item")) == ("hang", 6, item)


@pytest.mark.parametrize(
    ("text", "phase", "at"),
    [
        ("we make fire since six o'clock", "start", "2027-03-05T06:00"),
        ("kept the fire going until seven", "stop", "2027-03-05T07:00"),
        ("we cooked until ten in the night and then stopped", "stop", "2027-03-04T22:00"),
    ],
)
def test_a_fire_since_or_until_an_hour(text: str, phase: str, at: str, talk: Talk) -> None:
    (act,) = (one.json_fields() for one in talk.say(text).meanings)
    assert (act["act"], act["phase"]) == ("boil", phase)
    assert act["at"].startswith(at)


@pytest.mark.parametrize(
    ("told", "more", "volume_gal"),
    [
        ("started boiling five gallons from tank one", "dumped in another 2 gal", 2.0),
        ("started boiling five gallons from tank one", "tipped in three gallons", 3.0),
    ],
)
def test_more_goes_in_the_pan(told: str, more: str, volume_gal: float, talk: Talk) -> None:
    (act,) = (one.json_fields() for one in talk.say(told, more).meanings)
    assert (act["act"], act["volume_gal"]) == ("boil", volume_gal)


@pytest.mark.parametrize(
    "text", ["t9-12 2g ea", "trees 9 to 12 two gallons per tree", "9-12, 2 gal/tree"]
)
def test_of_each_is_no_total(text: str, talk: Talk) -> None:
    acts = [one.json_fields() for one in talk.say(text).meanings]
    assert [(one["tree"], one["volume_gal"]) for one in acts] == [(at, 2.0) for at in range(9, 13)]


def test_jars_gone_bad_went_to_nobody(talk: Talk) -> None:
    reply = talk.say("two of the quarts went moldy, i'm sorry to say")
    assert all("to" not in one.json_fields() for one in reply.meanings)
