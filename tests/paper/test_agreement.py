"""Figures on the page are those that the spoken answers give: a test asks both."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation, Settings
from fieldvoice.nlu import Interpreter
from fieldvoice.paper import tables
from fieldvoice.paper.page import page
from fieldvoice.paper.sheet import sheet_of
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR
from tests.paper.conftest import FIRST, on, read, write

#: What the book has of earlier seasons.
EARLIER = (
    on(-1098, "measure", tree=1, diameter_in=16), on(-1098, "tap", tree=1, side="east", count=1),
    on(-1097, "gather", tree=1, volume_gal=2), on(-366, "tap", tree=1, side="north", count=1),
    on(-360, "gather", tree=1, volume_gal=3.25), on(-359, "gather", tree=2, volume_gal=2.5),
    on(-359, "draw", syrup_gal=0.125),
)  # fmt: skip

#: What was said, a line a minute on the days given.
SAID = {
    0: ["tree one is seventeen inches across",
        "tank one can hold sixty gallons", "we have a two by four pan",
        "tree one one tap on the south side", "tree two two taps on the west side",
        "tree three one tap", "tree four one tap",
        "low of twenty four and high of forty five fahrenheit"],
    1: ["two and a half gallons from tree one", "five and a quarter gallons from tree two",
        "tree three one quart", "three gallons from tree four",
        "tree three bucket half full sap cloudy", "dump tree three",
        "poured eleven gallons into tank one"],
    2: ["three gallons from tree one", "seven gallons from tree two", "two gallons from tree four",
        "poured twelve gallons into tank one", "tank one tests two point two percent",
        "tank one is at twenty two gallons"],
    3: ["lit the arch", "boiling tank one", "the pan is rolling"],
    3.2: ["drew off three pints at two nineteen fahrenheit", "stopped boiling",
          "burned four cubic feet of wood",
          "packed two pints of amber at one eighty six fahrenheit",
          "packed two half pints of amber at one eighty six fahrenheit",
          "gave one pint of amber to the neighbors"],
}  # fmt: skip

#: Questions whose every figure stands on the page.
ASKED = (
    "how is the season going", "where did the sap go", "how much syrup do we have",
    "how did the boil go", "which trees give the most", "which trees are slow",
    "how much sap have we gathered this season", "how does this year compare",
    "how much did we make in march", "how much did we make in march last year",
    "whom did the syrup go to", "how much has tree one grown", "are the holes on tree one healed",
    "how many trees do i have", "how much has tree two given", "how fast does my pan boil",
)  # fmt: skip

_FIGURE = re.compile(
    r"\d[\d,]*(?:\.\d+)?(?: "
    r"(?:gal|qt|pt|L|%|in|cm|cords?|trees?|holes?|boils?|pints?|half pints?|to one))"
)


@pytest.fixture(scope="module", params=[False, True], ids=["gallons", "litres"])
def asked(request):
    """The page's text, and the spoken answers in writing, of the same book."""
    clock = {"now": FIRST}
    settings = Settings(metric=request.param)
    with Book.in_memory_copy() as book:
        write(book, *EARLIER)
        talk = Conversation(book, Interpreter(GRAMMAR), settings, clock=lambda: clock["now"])
        for day, lines in SAID.items():
            clock["now"] = FIRST + timedelta(days=day)
            for words in lines:
                reply = talk.hear(typed(words))
                assert reply.outcome == "saved", (words, reply.text)
                clock["now"] += timedelta(minutes=1)
        answers = {question: talk.hear(typed(question)) for question in ASKED}
        with book.years(settings.capacities_gal) as years:
            sheet = sheet_of(years, 2027, settings)
    return read(page(sheet, clock["now"])).text, answers


@pytest.mark.parametrize("question", ASKED)
def test_every_figure_that_is_said_is_on_the_page(asked, question):
    """To the last digit, with its unit; what is only told on the way is not looked for."""
    text, answers = asked
    reply = answers[question]
    assert reply.outcome == "answered", reply.text
    figures = _FIGURE.findall(reply.text)
    assert figures, reply.text
    told = text.replace("\N{NO-BREAK SPACE}", " ")
    for figure in figures:
        amount = figure.replace(" of sap to one", "").removesuffix(" to one")
        assert amount in told, (reply.text, figure)


def test_what_was_warned_about_is_told_with_what_came_of_it(asked):
    """The cloudy bucket was dumped a minute later."""
    text, _ = asked
    assert "Keep it out of the tank. Stop , once: dumped." in text
    assert "Tree 3: half full, cloudy Tree 3: dumped (1 min later)" in text


@pytest.mark.parametrize(("days", "came"), [(1, "nothing noted yet"), (15, "in two weeks")])
def test_what_may_still_come_of_a_warning_is_not_told_as_missed(tmp_path, days, came):
    """Two weeks are to pass before it is said that they did."""
    with Book.open(tmp_path / "b.db") as book:
        talk = Conversation(book, Interpreter(GRAMMAR), clock=lambda: FIRST)
        talk.hear(typed("tree three is cloudy"))
        with book.years({}) as years:
            sheet = sheet_of(years, FIRST.year, Settings())
    (warned,) = tables.warned(sheet, FIRST + timedelta(days=days))
    assert came in warned.summed
    assert came in warned.table.rows[0][-1]
