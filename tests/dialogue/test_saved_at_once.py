"""What is typed in own words and saved at once, and what is so near to it and must not be.

With the net, the grammar and the wordings as they come along.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.cli.app import is_english
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.dialogue import Conversation
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.wordings import come_along
from fieldvoice.schema import Act
from fieldvoice.transcript import Transcript, typed
from tests.dialogue.conftest import MORNING
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from fieldvoice.book import Book

#: Denied, asked, heard of, not yet, or somebody else's.
NEAR_MISSES = """
don't save two gallons for tree nine, it was empty
did you get two gallons from tree nine
tomorrow i'll take two gallons off tree nine
the neighbors pulled two gallons off their tree nine
tree nine would be two gallons if it hadn't leaked
all of it but eight gallons went into the barrel
all but two gallons went into tank one
should have sold two pints of amber for twenty dollars
we haven't sold the two pints yet
did i sell two pints to the vet
she is going to give two half pints to the vet
didn't pull the tap on nine
he pulled all the taps on his place
when do i pull the taps on nine
we'll pull both taps on twelve on friday
never moved six gallons from tank one to tank two
did somebody move forty gallons from tank one to tank two
dad wants to move forty gallons from tank one to tank two
tank three can't hold sixty gallons
i wish tank three held sixty gallons
their white drum holds thirty gallons
two gallons, no, i don't know how much, from tree nine
tree nine two gallons, no wait, that's wrong
tree nine had nothing but trouble last year
it looks like rain on tree nine
tree nine looks full but isn't
nine's full again they say
is tree nine full again
tree nine won't be full again
we should filter it through the felt
he told me all told forty gallons at his place
burn a third of a cord or so tomorrow
i thought tree seven had two gallons, no, three
was it two gallons, no, three from tree seven
maybe three, no, four gallons in the milk can tomorrow
he says two, no, three gallons
nobody emptied tree five
if tank one had thirty gallons we could boil
somebody else's tree thirty is a sugar maple
the spout off tree ninety
nobody gave us a gallon from tree nine
next year i want to put two taps in tree nine
would you sell two pints for twelve dollars each
i'd give my sister a quart if i had one
never put butter in the foam
when it gets to two nineteen draw off two quarts
maybe tree nine has two gallons
trees like number nine give two gallons
last year tank one held forty gallons
it could hit fifty tomorrow with a low of thirty
that's it for boiling tonight, fire's down
""".strip().splitlines()

AT_ONCE = {
    "just emptied sixteen, almost two gallons in there": "gather",
    "tree fifteen two gallons no make that one and a half": "gather",
    "ran the syrup through the felt filter": "filter",
    "sold one pint of golden, eleven dollars": "stock_out",
    "nothing from tree twenty, bone dry": "inspect",
}


#: A word was lost or misspelt, or two changed places: a noun, a unit, what was counted, a number.
HARMED = """
put a in tree fifty
hung a on tree nine
bottled eight half pints of at one ninety
burned a of a cord
tree nine two thirds nice and
tree thirty a cloudy
emptied tree fourteen, got three
okay we tapped tree twenty five taps white shavings
tapped tree nine side one point five inches deep white shavings
tree thirty circumference one hundred two forty centimeters
tree thirty three is sixty two around inches
the pan is twelve feet
all dpne boiling for today
""".strip().splitlines()

#: Heard otherwise than said: a number, half an hour, inches.
MISHEARD = """
tree seven done point five gallons
add wood in has an hour
tree eleven fifty six ounces around
tree twelve is eighteen ounces and looks healthy
""".strip().splitlines()

#: Asked with a number that has no place, that nobody measures, or of a tank named by it alone.
NOT_ANSWERED = """
should i pull seven tree yet
check the density one sixty at one eighty
is eighteen syrup with water at two eleven
when did we tank fill two
""".strip().splitlines()


@pytest.fixture(scope="module")
def reader() -> Interpreter:
    second = SecondReader(GRAMMAR.words, lambda: shipped().cards)
    return Interpreter(GRAMMAR, sound_of_words(GRAMMAR), is_english, second, come_along)


@pytest.mark.parametrize("text", NEAR_MISSES)
def test_what_is_no_note_is_not_saved(text: str, book: Book, reader: Interpreter) -> None:
    talk = Conversation(book, reader, clock=lambda: MORNING)
    talk.hear(typed("packed six pints of golden"))
    before = book.newest_entries(9)
    reply = talk.hear(typed(text))
    assert reply.outcome != "saved", reply.text
    assert book.newest_entries(9) == before


@pytest.mark.parametrize("text", HARMED)
def test_what_lost_a_word_is_asked_about(text: str, book: Book, reader: Interpreter) -> None:
    reply = Conversation(book, reader, clock=lambda: MORNING).hear(typed(text))
    assert reply.outcome in ("asked", "kept"), reply.text


@pytest.mark.parametrize("text", MISHEARD)
def test_what_may_be_misheard_is_asked_about(text: str, book: Book, reader: Interpreter) -> None:
    talk = Conversation(book, reader, clock=lambda: MORNING)
    reply = talk.hear(Transcript(text, recogniser="trial"))
    assert reply.outcome in ("asked", "kept"), reply.text


@pytest.mark.parametrize("text", NOT_ANSWERED)
def test_a_number_without_its_place_is_not_answered(
    text: str, book: Book, reader: Interpreter
) -> None:
    reply = Conversation(book, reader, clock=lambda: MORNING).hear(typed(text))
    assert reply.outcome in ("asked", "kept"), reply.text


def test_a_slip_in_what_a_thing_is_called_is_put_right(book: Book, reader: Interpreter) -> None:
    reply = Conversation(book, reader, clock=lambda: MORNING).hear(typed("is tnak two cold enough"))
    (asked,) = reply.meanings
    assert asked.json_fields() == {"ask": "vessel_temp", "vessel": "tank 2"}


def test_a_yes_answers_what_was_asked_with_an_odd_number(book: Book, reader: Interpreter) -> None:
    talk = Conversation(book, reader, clock=lambda: MORNING)
    asked = talk.hear(typed("is eighteen syrup with water at two eleven"))
    assert asked.text == "Did you say the pan at 18 °F?"
    assert talk.hear(typed("yes")).outcome == "answered"


@pytest.mark.parametrize(("text", "act"), AT_ONCE.items(), ids=AT_ONCE.values())
def test_what_is_certain_is_saved_at_once(
    text: str, act: str, book: Book, reader: Interpreter
) -> None:
    talk = Conversation(book, reader, clock=lambda: MORNING)
    talk.hear(typed("packed six pints of golden"))
    reply = talk.hear(typed(text))
    assert reply.outcome == "saved", reply.text
    assert [one.act for one in reply.meanings if isinstance(one, Act)] == [act]
