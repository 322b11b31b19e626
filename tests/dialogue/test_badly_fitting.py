"""Words that fit the sound badly: what is put to the speaker of them, what is left alone."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.transcript import Transcript
from tests.one_grammar import GRAMMAR

NOW = datetime(2027, 3, 5, 10, tzinfo=UTC)
#: No wording of the grammar, and a note for certain to the second reader.
NOTE = "number nine had about two gallons in it and i took that"


@pytest.fixture(scope="module")
def reader() -> Interpreter:
    return Interpreter(GRAMMAR, second=SecondReader(GRAMMAR.words, lambda: shipped().cards))


def heard(fit: float, confidence: float = 0.9) -> Transcript:
    return Transcript(NOTE, confidence=confidence, fit=fit, recogniser="an engine")


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
