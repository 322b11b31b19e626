"""Words that two listeners heard alike, one of them held to no grammar: as good as typed."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.wordings import come_along
from fieldvoice.transcript import PLAIN, Freely, NBestEntry, Transcript, typed
from tests.one_grammar import GRAMMAR

NOW = datetime(2027, 3, 5, 10, tzinfo=UTC)


@pytest.fixture(scope="module")
def reader() -> Interpreter:
    second = SecondReader(GRAMMAR.words, lambda: shipped().cards)
    return Interpreter(GRAMMAR, second=second, wordings=come_along)


def heard(text: str, sure: float, *others: str, fit: float = -0.0012) -> Transcript:
    alternatives = [NBestEntry(text, 0.0), *(NBestEntry(other, -2.0) for other in others)]
    return Transcript(
        text, confidence=0.6, alternatives=tuple(alternatives), fit=fit,
        freely=Freely(text, sure), recogniser="an engine",
    )  # fmt: skip


@pytest.mark.parametrize(
    "words",
    [
        "it holds four gallons",
        "no the high was forty",
        "tree nine two gallons",
        "can she have another tap",
        "how long does it take for ten liters",
    ],
)
def test_what_was_heard_alike_comes_out_as_if_it_were_typed(
    reader: Interpreter, words: str
) -> None:
    outcomes = []
    for said in (typed(words), heard(words, 0.99)):
        with Book.in_memory_copy() as book:
            talk = Conversation(book, reader, clock=lambda: NOW)
            talk.hear(typed("tree nine is twenty inches across"))
            talk.hear(typed("the high was thirty"))
            talk.hear(typed("tree nine half full"))
            reply = talk.hear(said)
            outcomes.append((reply.outcome, reply.text, len(book.entries())))
    by_keys, by_voice = outcomes
    assert by_keys[0] != "kept"
    assert by_voice == by_keys


def test_less_surely_it_is_not(reader: Interpreter) -> None:
    with Book.in_memory_copy() as book:
        talk = Conversation(book, reader, clock=lambda: NOW)
        assert talk.hear(heard("tree nine two gallons", PLAIN - 0.1)).outcome != "saved"
        assert talk.hear(heard("tree nine two gallons", PLAIN)).outcome == "saved"


def test_another_number_that_is_near_is_asked_about_all_the_same(reader: Interpreter) -> None:
    with Book.in_memory_copy() as book:
        talk = Conversation(book, reader, clock=lambda: NOW)
        poured, other = (
            "poured thirteen gallons into tank one",
            "poured thirty gallons into tank one",
        )
        reply = talk.hear(heard(poured, 0.99, other, fit=0.0))
        assert reply.outcome == "asked"
        assert "30" in reply.text
        assert not book.entries()


def test_talk_is_heard_as_plainly_and_left_alone_where_nobody_called(reader: Interpreter) -> None:
    with Book.in_memory_copy() as book:
        talk = Conversation(book, reader, clock=lambda: NOW)
        said = heard("no the high was forty", 0.99)
        assert talk.hear_unaddressed(said, source="live") is None
        assert not book.entries()
