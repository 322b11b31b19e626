"""Words that fit the sound badly: what is put to the speaker of them, what is left alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.transcript import Freely, NBestEntry, Transcript
from tests.one_grammar import GRAMMAR

NOW = datetime(2027, 3, 5, 10, tzinfo=UTC)
#: No wording of the grammar, and a note for certain to the second reader.
NOTE = "number nine had about two gallons in it and i took that"


@pytest.fixture(scope="module")
def reader() -> Interpreter:
    return Interpreter(GRAMMAR, second=SecondReader(GRAMMAR.words, lambda: shipped().cards))


def heard(
    fit: float, confidence: float = 0.9, text: str = NOTE, freely: Freely | None = None
) -> Transcript:
    return Transcript(
        text, confidence=confidence, fit=fit, freely=freely, recogniser="an engine"
    )  # fmt: skip


def test_a_note_that_fits_badly_is_put_and_not_saved(reader: Interpreter) -> None:
    with Book.in_memory_copy() as book:
        reply = Conversation(book, reader, clock=lambda: NOW).hear(heard(-0.0006))
        assert reply.outcome == "asked"
        assert [one.json_fields()["act"] for one in reply.meanings] == ["gather"]
        assert not book.entries()


@pytest.mark.parametrize(("fit", "confidence"), [(-0.002, 0.9), (-0.0006, 0.5)])
def test_what_fits_worse_or_was_heard_unsurely_is_kept(
    reader: Interpreter, fit: float, confidence: float
) -> None:
    with Book.in_memory_copy() as book:
        talk = Conversation(book, reader, clock=lambda: NOW)
        assert talk.hear(heard(fit, confidence)).outcome == "kept"


def test_it_is_left_alone_where_nobody_called(reader: Interpreter) -> None:
    with Book.in_memory_copy() as book:
        talk = Conversation(book, reader, clock=lambda: NOW)
        assert talk.hear_unaddressed(heard(-0.0006), source="live") is None


#: What the grammar makes of a question in own words, which fits worse than anything that is read.
MADE_OF_IT = "walk with it cost me to start and small"
ASKED = "what would it cost me to start out small"


def test_what_was_surely_heard_freely_is_answered_however_badly_the_grammar_fits(
    reader: Interpreter,
) -> None:
    said = heard(-0.0012, 0.3, MADE_OF_IT, Freely(ASKED, 0.99))
    with Book.in_memory_copy() as book:
        reply = Conversation(book, reader, clock=lambda: NOW).hear(said)
        assert reply.outcome == "answered"
        assert reply.meanings[0].json_fields() == {"ask": "advice", "topic": "start-cost"}


def test_a_note_heard_freely_is_put_and_not_saved(reader: Interpreter) -> None:
    with Book.in_memory_copy() as book:
        talk = Conversation(book, reader, clock=lambda: NOW)
        reply = talk.hear(heard(-0.0012, 0.3, "number nine in a buck at", Freely(NOTE, 0.99)))
        assert reply.outcome == "asked"
        assert not book.entries()


def test_what_was_hardly_heard_freely_is_kept(reader: Interpreter) -> None:
    with Book.in_memory_copy() as book:
        talk = Conversation(book, reader, clock=lambda: NOW)
        said = heard(-0.0012, 0.3, MADE_OF_IT, Freely(ASKED, 0.5))
        assert talk.hear(said).outcome == "kept"


def test_what_was_heard_freely_is_left_alone_where_nobody_called(reader: Interpreter) -> None:
    with Book.in_memory_copy() as book:
        talk = Conversation(book, reader, clock=lambda: NOW)
        said = heard(-0.0012, 0.3, MADE_OF_IT, Freely(ASKED, 0.99))
        assert talk.hear_unaddressed(said, source="live") is None


@pytest.mark.parametrize(
    "talk",
    [
        "did you see the game last night",
        "who pulled the plug on the radio",
        "put your boots by the door and hang up that wet code",
        "the baby slacked until seven for the first time in weeks",
    ],
)
def test_talk_heard_freely_is_kept(reader: Interpreter, talk: str) -> None:
    with Book.in_memory_copy() as book:
        said = heard(-0.0012, 0.3, "tapped the pan", Freely(talk, 0.99))
        assert Conversation(book, reader, clock=lambda: NOW).hear(said).outcome == "kept"


def test_what_neither_listener_heard_is_asked_about(reader: Interpreter) -> None:
    said = Transcript(
        "pints total",
        confidence=0.57,
        alternatives=(NBestEntry("pints total", 0.0), NBestEntry("high of two", -2.0)),
        fit=0.0,
        freely=Freely("pints total", 0.87),
        recogniser="an engine",
    )
    with Book.in_memory_copy() as book:
        asked = Conversation(book, reader, clock=lambda: NOW).hear(said)
        assert asked.outcome != "saved"
    with Book.in_memory_copy() as book:
        first_alone = replace(said, freely=None)
        assert Conversation(book, reader, clock=lambda: NOW).hear(first_alone).outcome == "saved"
