"""A figure told of a tree without a unit: sugar, but perhaps gallons on a round of gathering."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.transcript import typed
from tests.dialogue.conftest import MORNING
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.reply import Reply


@pytest.fixture(scope="module")
def reader() -> Interpreter:
    return Interpreter(GRAMMAR, second=SecondReader(GRAMMAR.words, lambda: shipped().cards))


@pytest.fixture
def talk(reader: Interpreter) -> Iterator[Conversation]:
    with Book.in_memory_copy() as book:
        yield Conversation(book, reader, clock=lambda: MORNING)


def last(talk: Conversation, *said: str) -> Reply:
    """Return the reply to the last of the words."""
    return [talk.hear(typed(words)) for words in said][-1]


def fields(reply: Reply) -> list[dict[str, object]]:
    return [meaning.json_fields() for meaning in reply.meanings]


def test_by_itself_it_is_sugar(talk: Conversation) -> None:
    reply = last(talk, "t5 2.2")
    assert reply.outcome == "saved"
    assert fields(reply) == [{"act": "sweetness", "tree": 5, "brix": 2.2}]


@pytest.mark.parametrize(
    ("answer", "meant"),
    [
        ("gallons", {"act": "gather", "tree": 2, "volume_gal": 1.5}),
        ("it was gallons", {"act": "gather", "tree": 2, "volume_gal": 1.5}),
        ("1.5 gallons", {"act": "gather", "tree": 2, "volume_gal": 1.5}),
        ("sugar", {"act": "sweetness", "tree": 2, "brix": 1.5}),
        ("percent", {"act": "sweetness", "tree": 2, "brix": 1.5}),
    ],
)
def test_after_gallons_it_is_asked_about(
    talk: Conversation, answer: str, meant: dict[str, object]
) -> None:
    asked = last(talk, "t1 2 gal", "t2 1.5")
    assert asked.outcome == "asked"
    assert asked.text == "Tree 2, 1.5 gal, or tree 2, 1.5 % sugar?"
    reply = last(talk, answer)
    assert reply.outcome == "saved"
    assert fields(reply) == [meant]


def test_with_its_unit_it_is_not_asked_about(talk: Conversation) -> None:
    reply = last(talk, "t1 2 gal", "t2 1.5 brix")
    assert fields(reply) == [{"act": "sweetness", "tree": 2, "brix": 1.5}]


def test_after_sugar_it_is_sugar(talk: Conversation) -> None:
    reply = last(talk, "t1 2 gal", "t1 2 percent", "t2 1.5")
    assert fields(reply) == [{"act": "sweetness", "tree": 2, "brix": 1.5}]
