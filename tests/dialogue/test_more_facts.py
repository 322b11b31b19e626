"""Checks, answers and corrections that need facts of several kinds to come together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.dialogue import Settings
from fieldvoice.dialogue.fields import changed, number_into
from fieldvoice.dialogue.naming import labels_apart
from fieldvoice.nlg.written import phrase
from fieldvoice.nlu import Hypothesis
from fieldvoice.schema import meaning_from

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.dialogue.conftest import Talk


def meant(*fields: dict[str, Any]) -> dict[str, tuple[Hypothesis, ...]]:
    """Return the readings of one saying, "x", that means ``fields``."""
    return {"x": (Hypothesis(tuple(map(meaning_from, fields)), 0.0, "x"),)}


POURED = ["poured ten gallons into tank one", "poured thirty gallons into tank two"]

STORED: list[tuple[list[str], dict[str, Any], str]] = [
    (POURED, {"ask": "vessel_level"}, "In all 40 gal: 10 gal in tank 1 and 30 gal in tank 2."),
    ([], {"ask": "vessel_level"}, "The book has no sap in store."),
    (POURED, {"ask": "sap_age"}, "Tank 1 under an hour and tank 2 under an hour."),
    ([], {"ask": "sap_age"}, "The book has no sap in store."),
    # All forty gallons: at 2 and 3 % in shares of 10 and 30 that is 2.75 %.
    (
        [*POURED, "tank one tests two percent", "tank two tests three percent"],
        {"ask": "syrup_estimate"},
        "From 2.8 % sugar.",
    ),
    ([*POURED, "tank one tests two percent"], {"ask": "syrup_estimate"}, "I took 2 % sugar; 1.5"),
    ([], {"ask": "syrup_estimate"}, "tell me the gallons"),
    (["tank three is half full"], {"ask": "vessel_level", "vessel": "tank 3"}, "half full"),
    (["washed tank three"], {"ask": "vessel_level", "vessel": "tank 3"}, "no sap in tank 3"),
    ([], {"ask": "sap_advice"}, "Tell me how it looks"),
    (["tree nine is cloudy"], {"ask": "sap_advice"}, "Keep it out of the tank."),
    (["tank one is cloudy"], {"ask": "sap_advice"}, "Boil it now, by itself"),
    (["drew off two gallons at two nineteen"], {"ask": "stock"}, "2 gal drawn off, none packed."),
    (["packed four two fifty milliliter"], {"ask": "stock"}, "4 jars of 250 ml"),
    (["tree nine two gallons"], {"ask": "sap_total", "since": "2027-03-05"}, "2 gal today."),
]


@pytest.mark.parametrize(("before", "ask", "told"), STORED)
def test_answers_about_all_there_is(
    talk: Talk, talk_with: Callable[..., Talk], before: list[str], ask: dict[str, Any], told: str
) -> None:
    """Without a vessel named, all of them are meant; what is in hand counts as named."""
    for line in before:
        assert talk.say(line).outcome == "saved", line
    talk.wait(minutes=0 if ask["ask"] == "sap_advice" else 30)
    asking = talk_with(readings=meant(ask))
    asking.now = talk.now
    assert told in asking.say("x").text


def test_room_is_told_where_the_capacity_is_known(talk_with: Callable[..., Talk]) -> None:
    """Fifty less ten is forty."""
    talk = talk_with(Settings(capacities_gal={"tank 1": 50}))
    talk.say("poured ten gallons into tank one")
    assert "room for 40 gal" in talk.say("how full is tank one").text


def test_none_today_but_some_before(talk: Talk) -> None:
    """The sum so far is the useful answer."""
    talk.say("tree nine two gallons")
    talk.wait(days=1)
    assert talk.say("how much sap did we collect today").text == "None today; 2 gal in all."


def test_since_a_day_in_the_season(talk: Talk) -> None:
    """What came before that day is left out."""
    talk.say("tree nine three gallons")
    talk.wait(days=4)
    talk.say("tree nine two gallons")
    assert talk.say("how much sap have we gathered since sunday").text == "2 gal since March 7."


CHECKED: list[tuple[list[str], dict[str, Any], str]] = [
    ([], {"act": "store", "vessel": "tank 1", "volume_gal": 5.0, "sap": "hazy"}, "sap-hazy"),
    ([], {"act": "reading", "vessel": "tank 1", "sap": "ropey"}, "sap-ropey"),
    (
        ["poured ten gallons into tank one"],
        {"act": "reading", "vessel": "tank 1", "temp_f": 50.0},
        "storage-warm",
    ),
    (
        ["tree nine is fourteen inches across", "tree nine two taps on the south side"],
        {"act": "health", "tree": 9, "condition": "dying"},
        "over-tapped",
    ),
    (
        ["tree nine is fourteen inches across"],
        {"act": "health", "tree": 9, "condition": "stressed"},
        "tap-stressed",
    ),
    ([], {"act": "draw", "syrup_gal": 1.0, "brix": 60.0, "temp_f": 211.0}, "density"),
    ([], {"act": "equipment", "item": "bucket", "solder": True}, "container-solder"),
    ([], {"act": "tap", "trees": [3, 4], "depth_in": 2.5}, "hole-depth"),
]


@pytest.mark.parametrize(("before", "note", "rule"), CHECKED)
def test_checks(
    talk: Talk, talk_with: Callable[..., Talk], before: list[str], note: dict[str, Any], rule: str
) -> None:
    """Each kind of note goes to the rules that watch it, with the book's facts."""
    for line in before:
        assert talk.say(line).outcome == "saved", line
    reply = talk_with(readings=meant(note)).say("x")
    assert rule in {finding.rule for finding in reply.findings}


def test_a_draw_is_checked_where_the_elevation_is_known(talk_with: Callable[..., Talk]) -> None:
    """At 1,500 ft syrup boils about 3 °F lower than at the sea."""
    talk = talk_with(Settings(elevation_ft=1500))
    early = talk.say("drew off a quart at two fourteen")
    assert "draw-check" in {finding.rule for finding in early.findings}
    assert early.text.endswith("°F to go.")


NO_RULE = [
    {"act": "inspect", "tree": 9, "fill": 0.5},
    {"act": "measure", "trees": [3, 4], "species": "red"},
    {"act": "weather", "low_f": 24.0},
    {"act": "remark", "text": "the gate needs a hinge"},
]


@pytest.mark.parametrize("note", NO_RULE)
def test_notes_that_no_rule_watches(talk_with: Callable[..., Talk], note: dict[str, Any]) -> None:
    """They are saved without findings."""
    reply = talk_with(readings=meant(note)).say("x")
    assert (reply.outcome, reply.findings) == ("saved", ())


def test_a_value_beyond_the_rules_is_saved_after_a_yes(talk_with: Callable[..., Talk]) -> None:
    """A rule that does not reach so far has nothing to say, and stops nobody."""
    giant = {"act": "measure", "tree": 9, "diameter_in": 130.0}
    yes = (Hypothesis((meaning_from({"do": "confirm"}),), 0.0, "yes"),)
    talk = talk_with(readings={**meant(giant), "yes": yes})
    assert talk.say("x").outcome == "asked"
    reply = talk.say("yes")
    assert (reply.outcome, reply.findings) == ("saved", ())


def test_a_note_and_a_question_in_one_breath(talk_with: Callable[..., Talk]) -> None:
    """The note is saved and the question answered; the reply has both."""
    both = meant(
        {"act": "inspect", "tree": 9, "fill": 1.0}, {"ask": "tap_limit", "diameter_in": 14.0}
    )
    reply = talk_with(readings=both).say("x")
    assert reply.outcome == "saved"
    assert reply.text == "Tree 9: full. One tap, at 14 inches across."


def test_several_trees_named_before_the_note(talk_with: Callable[..., Talk]) -> None:
    """ "Trees ten and eleven: empty" in two parts is one note about both."""
    parts = meant({"mention": {"trees": [10, 11]}}, {"act": "inspect", "fill": 0.0})
    talk = talk_with(readings=parts)
    assert talk.say("x").text == "Trees 10 and 11: empty."
    assert talk.notes == [{"act": "inspect", "trees": [10, 11], "fill": 0.0}]


def test_several_trees_named_alone(talk: Talk) -> None:
    """They are repeated, and none of them is in hand."""
    assert talk.say("trees ten through twelve").text == "Trees 10 to 12."
    assert talk.say("half full").outcome == "asked"


def test_a_vessel_named_alone(talk: Talk) -> None:
    """It comes in hand."""
    assert talk.say("tank two").text == "Tank 2."
    talk.say("poured nine gallons")
    assert talk.notes == [{"act": "store", "vessel": "tank 2", "volume_gal": 9.0}]


def test_one_known_tank_is_not_guessed(talk: Talk) -> None:
    """Sap poured without saying where may have gone into a new one."""
    talk.say("tank one is half full")
    talk.wait(hours=1)
    assert talk.say("poured nine gallons").text == "Which tank?"


def test_the_end_of_a_round(talk: Talk) -> None:
    """Trees seen, sap gathered, and those missed."""
    talk.say("tree three two gallons", "tree five a gallon", "tree seven is full")
    talk.wait(days=1)
    talk.say("tree three two gallons", "tree five a gallon and a half")
    reply = talk.say("that's the round")
    assert reply.text == "Round done: 2 trees, 3.5 gal. Missed: tree 7."
    assert talk.say("half full").outcome == "asked"


def test_nothing_to_repeat(talk: Talk) -> None:
    """In a new book nothing was said yet."""
    assert talk.say("say that again").text == "Nothing has been said yet."


def test_many_trees_gathered_at_once_are_judged_by_each(talk_with: Callable[..., Talk]) -> None:
    """Sixty gallons from two trees is a slip; ten from two is not."""
    for gallons, outcome in ((60.0, "asked"), (10.0, "saved")):
        note = {"act": "gather", "trees": [3, 4], "volume_gal": gallons}
        assert talk_with(readings=meant(note)).say("x").outcome == outcome


def test_many_buckets_dumped_at_once_are_asked_about(talk_with: Callable[..., Talk]) -> None:
    """One bucket is small; a row of them is not."""
    row = {"act": "dump", "trees": [3, 4, 5]}
    assert talk_with(readings=meant(row)).say("x").text == (
        "Dump the sap on trees 3 to 5: yes or no?"
    )


CHANGED = [
    ({"act": "measure", "tree": 9, "diameter_in": 14.0}, {"length_in": 15.0},
     {"act": "measure", "tree": 9, "diameter_in": 15.0}),
    ({"act": "tap", "tree": 9, "depth_in": 1.5}, {"length_in": 2.0},
     {"act": "tap", "tree": 9, "depth_in": 2.0}),
    ({"ask": "density_check", "reading_brix": 59.0}, {"brix": 60.0},
     {"ask": "density_check", "reading_brix": 60.0}),
    ({"mention": {"tree": 9}}, {"tree": 10}, {"mention": {"tree": 10}}),
    ({"act": "inspect", "tree": 9, "fill": 0.5}, {"temp_f": 40.0}, None),
    ({"act": "inspect", "tree": 9, "fill": 0.5}, {"fill": 3.0}, None),
    ({"act": "inspect", "tree": 9, "fill": 0.5}, {}, None),
    ({"do": "undo"}, {"tree": 9}, None),
]  # fmt: skip


@pytest.mark.parametrize(("meaning", "fields", "wanted"), CHANGED)
def test_changed_fields(
    meaning: dict[str, Any], fields: dict[str, Any], wanted: dict[str, Any] | None
) -> None:
    """Each value finds its place in the meaning, or there is no place for it."""
    new = changed(meaning_from(meaning), fields)
    assert (None if new is None else new.json_fields()) == wanted


NUMBERS = [
    ("tree", 12, {"tree": 12}),
    ("tree", 2.5, {}),
    ("count", 3, {"count": 3}),
    ("vessel", 2, {"vessel": "tank 2"}),
    ("vessel", 1.5, {}),
    ("volume_gal", 2.5, {"volume_gal": 2.5}),
]


@pytest.mark.parametrize(("slot", "number", "fields"), NUMBERS)
def test_a_bare_number_fills_the_slot_asked_for(
    slot: str, number: float, fields: dict[str, Any]
) -> None:
    """Trees and tanks are whole numbers; amounts need not be."""
    note = meaning_from({"act": "store", "volume_gal": 1.0})
    assert number_into(slot, number, note) == fields


def test_a_bare_number_keeps_the_kind_of_vessel() -> None:
    """ "Which tote?" "Two." """
    note = meaning_from({"act": "store", "vessel": "tote", "volume_gal": 1.0})
    assert number_into("vessel", 2, note) == {"vessel": "tote 2"}


LABELS: list[tuple[dict[str, Any], dict[str, Any], tuple[str, str]]] = [
    ({"act": "inspect", "tree": 13, "fill": 0.5}, {"act": "inspect", "tree": 30, "fill": 0.5},
     ("tree 13", "tree 30")),
    ({"act": "gather", "tree": 9, "volume_gal": 1.0}, {"act": "gather", "tree": 9, "fill": 1.0},
     ("1 gal", "full")),
    ({"act": "store", "vessel": "tote 2", "volume_gal": 35.0},
     {"act": "store", "vessel": "bucket 2", "volume_gal": 35.0}, ("tote 2", "bucket 2")),
    ({"act": "inspect", "trees": [1, 4], "sap": "clear"},
     {"act": "inspect", "tree": 104, "sap": "clear"}, ("trees 1 and 4", "tree 104")),
    ({"act": "boil", "vessel": "tank 2", "phase": "start"},
     {"act": "boil", "vessel": "tank 2", "phase": "stop"},
     ("boil started, tank 2", "boil stopped, tank 2")),
    ({"do": "undo"}, {"do": "correct", "tree": 9},
     ("take back the last note", "change the last note to tree 9")),
    ({"mention": {"trees": [3, 4]}}, {"ask": "tap_limit", "tree": 4},
     ("trees 3 and 4", "how many taps a tree can take, tree 4")),
    ({"ask": "advice", "topic": "pan-low"}, {"ask": "density_check", "reading_brix": 59.0},
     ("the pan is running low", "how dense the syrup is, 59 Brix")),
    ({"ask": "missed_trees"}, {"ask": "trees_seen", "sap": "cloudy"},
     ("which trees were missed", "which trees were seen so, cloudy")),
    ({"act": "store", "vessel": "tote 2", "volume_gal": 35.0},
     {"act": "reading", "vessel": "tote 2", "volume_gal": 35.0},
     ("35 gal poured into tote 2", "tote 2 holds 35 gal")),
    ({"act": "gather", "vessel": "tote 2", "volume_gal": 35.0},
     {"act": "store", "vessel": "tote 2", "volume_gal": 3.5},
     ("35 gal gathered into tote 2", "3.5 gal poured into tote 2")),
    ({"mention": {"vessel": "tank 2"}}, {"mention": {"tree": 2}}, ("tank 2", "tree 2")),
]  # fmt: skip


@pytest.mark.parametrize(("one", "other", "labels"), LABELS)
def test_two_readings_are_told_apart_in_few_words(
    one: dict[str, Any], other: dict[str, Any], labels: tuple[str, str]
) -> None:
    """The question names what differs."""
    apart = labels_apart((meaning_from(one),), (meaning_from(other),))
    assert tuple(map(phrase, apart)) == labels
