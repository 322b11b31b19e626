"""Questions about one's own book in people's own words, with all readers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.dialogue.as_asked import with_dates
from fieldvoice.dialogue.of_remarks import remarked
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.wordings import come_along
from tests.dialogue.conftest import MORNING, Talk
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from fieldvoice.book import Book

#: What the book has: told at the clock's ten past nine on a Friday.
TOLD = (
    "tree one is a sugar maple sixty inches around",
    "tree twelve is a sugar maple thirty inches around",
    "tapped tree one two taps",
    "tapped tree three on the south side",
    "collected two gallons from tree one",
    "poured two gallons into tank one",
    "bought a cord of wood for one hundred eighty dollars",
    "burned a quarter cord",
    "packed three pints of golden",
    "gave a pint to the neighbors",
    "sold one pint to my sister for fourteen dollars",
    "tree three is damaged",
    "make a note the pump at tank one is leaking",
)


@pytest.fixture(scope="module")
def everybody() -> Interpreter:
    second = SecondReader(GRAMMAR.words, lambda: shipped().cards)
    return Interpreter(GRAMMAR, second=second, wordings=come_along)


@pytest.fixture
def told(book: Book, everybody: Interpreter) -> Talk:
    talk = Talk(book, everybody)
    talk.say(*TOLD)
    return talk


@pytest.mark.parametrize(
    ("question", "answer"),
    [
        ("how much wood do i have left", "0.75 cords of wood left"),
        ("how many of my trees are over fifteen inches", "1 tree over 15 in across: tree 1."),
        ("which trees are under twelve inches", "1 tree under 12 in across: tree 12."),
        ("which trees have two taps", "1 tree with 2 taps in: tree 1."),
        ("what's 40 f in c", "40 °F is 4.4 °C."),
        ("convert 220 fahrenheit", "220 °F is 104 °C."),
        ("what is minus 5 celsius in fahrenheit", "-5 °C is 23 °F."),
        ("what's 212 in celsius", "212 °F is 100 °C."),
        ("how many gallons is twenty liters", "20 L is 5.3 gal."),
        ("how many inches is 30 centimetres", "30 cm is 11.8 in."),
        ("57 inches around, how thick is that", "18.1 in across, 57 in around: 2 taps."),
        ("it's 66 inches round, how many across would that be", "21 in across, 66 in around"),
        ("where's the tap on tree three", "on the south side"),
        ("which trees are damaged", "Tree 3: damaged."),
        ("how many liters did we get this week", "7.6 L"),
        ("did i write anything about the pump", "the pump at tank one is leaking"),
        ("which tank is fullest", "Tank 1: 2 gal"),
        ("which vessel has the most in it", "Tank 1: 2 gal"),
        ("what did i pay for that cord", "180 dollars"),
        ("is two percent good", "Around two percent"),
        ("how full are the buckets", "empty: tree 1"),
        ("what did we sell on friday", "1 pint to sister"),
        ("did we sell any syrup", "1 pint to sister"),
        ("who got a jar from us", "1 pint to neighbors"),
        ("what have we taken in for syrup", "14 dollars"),
        ("did tree three give us anything today", "Tree 3: no sap"),
        ("how much sap did we get since we started", "this season"),
        ("how many of our trees have got two taps in them", "tree 1"),
        ("tank one how full", "Tank 1: 2 gal"),
        ("tree 1 tapped when", "Tree 1 was tapped"),
        ("taps tree one", "2 taps"),
        ("what did mommy write about the pump", "is leaking"),
        ("what did we write down this morning", "is leaking"),
        ("list trees", "trees 1, 3 and 12"),
        ("tree one gave how much more than tree three", "tree 3"),
        ("i am not sure how much my sister paid", "14 dollars"),
        ("why is tank one cloudy", "About cloudy sap"),
        ("not emptied today", "none that the book knows"),
        ("tank one empty?", "Tank 1: 2 gal"),
        ("is this year beating last year", "2 gal of sap"),
        ("how many pints did we give away", "1 pint to neighbors"),
        ("tapped trees", "trees 1 and 3"),
        ("what hangs on tree one", "What hangs on tree 1 is not in the book"),
        ("does tree twelve have a spile", "Tree 12: 9.6 in across"),
        ("who made the note with the pump", "is leaking"),
    ],
)
def test_what_the_book_has_is_answered(told: Talk, question: str, answer: str) -> None:
    assert answer in told.say(question).text


@pytest.mark.parametrize(
    ("question", "words"),
    [
        ("what had to be done about the chain saw", "chain saw"),
        ("which lid is it that's cracked", "crack lid"),
        ("how much sap is in the tank", None),
        ("where did the saw go that uncle lent us for cutting ice", None),
    ],
)
def test_a_remark_is_found_by_its_words(question: str, words: str | None) -> None:
    """The common words of the trade find none, nor does one word among many others."""
    remarks = ["the sap in the tank looked odd", "a lid is cracked", "the chain saw is blunt"]
    assert remarked(question, remarks) == words


def test_who_got_syrup_is_asked_by_name(told: Talk) -> None:
    """Words that no reader knows name somebody that a note has; others are not told of."""
    sister = told.say("how much money did my sister pay us").text
    assert "14 dollars" in sister
    assert "neighbors" not in sister


def test_words_that_know_all_of_a_question_go_before_those_that_pass_over_some(told: Talk) -> None:
    """The grammar would pass over "since", and tell of Saturday alone."""
    asked = told.say("how much sap have we gotten since saturday").meanings
    assert [one.json_fields()["ask"] for one in asked] == ["sap_total"]


def test_a_number_goes_on_with_the_tree_asked_of(told: Talk) -> None:
    told.say("when did i tap tree three")
    assert told.say("and one").text.startswith("Tree 1 was tapped")


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("what did we get on the fourth", "what did we get on the fourth of March"),
        ("how much since the 28th", "how much since the twenty eighth of February"),
        ("what did i say about nine in 2026", "what did i say about nine last year"),
        ("when was the first boil", "when was the first boil"),
        ("what came in on the thirty first", "what came in on the thirty first"),
    ],
)
def test_a_day_and_a_year_told_by_number_alone(said: str, meant: str) -> None:
    """There is no thirty first of February."""
    assert with_dates(said, MORNING.date()) == meant


@pytest.mark.parametrize(
    ("words", "outcome"),
    [
        ("let me tell you what happened at the store yesterday", "kept"),
        ("where should i put the couch", "kept"),
        ("what did we haul in last tuesday", "answered"),
        ("how much sap on the sixth of march", "answered"),
    ],
)
def test_words_of_a_question_among_others_are_weighed_by_all(
    told: Talk, words: str, outcome: str
) -> None:
    """The grammar passes over words in each; only the second reader knows talk from questions."""
    assert told.say(words).outcome == outcome


@pytest.mark.parametrize(
    "words",
    [
        "what degrees do i stop if water boils at 209",
        "when do i pull it if my water boils at 209",
        "water starts boiling at two oh nine up here, when is it syrup",
    ],
)
def test_when_to_draw_off_goes_by_the_water_that_was_told(told: Talk, words: str) -> None:
    """7.1 above it for 66 Brix (``RISE_7_1``), and never the 219.1 of sea level."""
    assert "216.1 °F" in told.say(words).text


@pytest.mark.parametrize(
    "words", ["can i drink it", "may the kids drink it", "is it okay to drink"]
)
def test_bad_sap_is_never_called_fit_to_drink(told: Talk, words: str) -> None:
    told.say("tree three is cloudy")
    assert "Never drink cloudy or sour sap" in told.say(words).text


@pytest.mark.parametrize(
    ("words", "minded"),
    [
        ("the pan is half an inch deep", "flood it with sap now"),
        ("the pan is bone dry", "nothing cold into it"),
        ("i'm going to pour gas on the fire", "Never gasoline or oil on a fire"),
        ("off to do the gathering round", "Mind the ice"),
    ],
)
def test_what_is_told_of_the_pan_or_the_fire_is_warned_of(
    told: Talk, words: str, minded: str
) -> None:
    assert minded in told.say(words).text


@pytest.mark.parametrize(
    ("asked", "then", "topic"),
    [
        ("can i freeze sap", "and syrup", "freezing-syrup"),
        ("how long does syrup keep", "and in the freezer", "freezing-syrup"),
        ("how deep do i drill", "how high", "hole-height"),
        ("can i use a galvanized bucket", "and for boiling", "boil-galvanized"),
    ],
)
def test_a_few_words_go_on_with_what_was_asked_of_the_trade(
    told: Talk, asked: str, then: str, topic: str
) -> None:
    told.say(asked)
    assert [one.json_fields() for one in told.say(then).meanings] == [
        {"ask": "advice", "topic": topic}
    ]


@pytest.mark.parametrize(
    ("before", "answer"),
    [
        ("can i freeze sap", "ask it whole"),
        ("low tonight twenty four high forty one", "ask it whole"),
        ("packed two pints of amber", "How long packed syrup keeps"),
        ("lit the fire", "the boil takes"),
    ],
)
def test_how_long_is_of_what_was_told_before_or_asked_whole(
    told: Talk, before: str, answer: str
) -> None:
    told.say(before)
    assert answer.lower() in told.say("how long").text.lower()


def test_what_about_a_number_is_of_another_tree_or_vessel(told: Talk) -> None:
    """The grammar has degrees in it: "what about forty"."""
    told.say("poured one gallon into tank two", "how much is in tank two")
    assert told.say("what about one").text.startswith("Tank 1: ")
    told.say("when did i tap tree three")
    assert told.say("what about one").text.startswith("Tree 1 was tapped")


@pytest.mark.parametrize("words", ["bottled eleven pints of", "tree one gave two gallons from the"])
def test_a_note_that_breaks_off_is_put_to_the_speaker(told: Talk, words: str) -> None:
    assert told.say(words).outcome == "asked"
    assert told.say("make a note the gate is the one to see to").outcome == "saved"


@pytest.mark.parametrize(
    "words", ["it got down to minus twelve at my sister's", "a low of ten at my uncle's place"]
)
def test_the_weather_at_somebody_elses_place_is_not_noted_unasked(told: Talk, words: str) -> None:
    assert told.say(words).outcome in ("asked", "kept")
