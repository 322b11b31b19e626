"""Phrases of the trade as they are spoken: each is saved, answered, done, or asked about once.

``spoken_phrases.txt`` has one a line, with what comes of it in a conversation in which one note was
made before.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldvoice.book import Book
from fieldvoice.cli.app import is_english
from fieldvoice.dialogue import Conversation
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.wordings import come_along
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

UNDERSTANDER = Interpreter(
    GRAMMAR, None, is_english, SecondReader(GRAMMAR.words, lambda: shipped().cards), come_along
)
NOW = datetime(2027, 3, 5, 9, 10, tzinfo=UTC)
TABLE = Path(__file__).parent / "spoken_phrases.txt"
PHRASES = [
    tuple(line.split(": ", 1))
    for line in TABLE.read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize(("outcome", "phrase"), PHRASES)
def test_a_spoken_phrase_leads_to_what_the_table_says(outcome: str, phrase: str) -> None:
    with Book.in_memory_copy() as book:
        conversation = Conversation(book, UNDERSTANDER, clock=lambda: NOW)
        if phrase.startswith(("Change", "No,")):
            conversation.hear(typed("tree nine tests two percent"))
        reply = conversation.hear(typed(phrase))
    assert reply.outcome == outcome, reply.text
    assert reply.text


def test_none_is_kept() -> None:
    assert not [phrase for outcome, phrase in PHRASES if outcome == "kept"]


def test_signs_in_a_row_after_a_note_are_no_remark() -> None:
    """Found by odd lines: a remark of which no word was left."""
    line = "jot 714 all pulled eighty's -3 down tree down %s%n jot the tap tree -3"
    with Book.in_memory_copy() as book:
        reply = Conversation(book, UNDERSTANDER, clock=lambda: NOW).hear(typed(line))
    assert reply.outcome in ("asked", "kept")
