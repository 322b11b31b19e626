"""What is offered while one types: the likeliest first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue.likely import likely

if TYPE_CHECKING:
    from fieldvoice.nlu import Interpreter
    from tests.dialogue.conftest import Talk


def offered(talk: Talk, understander: Interpreter, begun: str, count: int = 3) -> list[str]:
    sentences = likely(talk.book, talk.book.season(), talk.now)
    return understander.next_words(begun, talk.conversation.names(), sentences)[:count]


def test_an_empty_book_offers_what_is_said_most(talk: Talk, understander: Interpreter) -> None:
    """By the weights of the grammar, not the alphabet."""
    assert "tree" in offered(talk, understander, "")
    assert offered(talk, understander, "how", 1) == ["many"]


def test_the_answer_to_the_open_question_comes_first(talk: Talk, understander: Interpreter) -> None:
    talk.say("tank two is half full", "poured eleven gallons")
    assert offered(talk, understander, "", 1) == ["tank"]
    assert offered(talk, understander, "tank", 1) == ["two"]


def test_on_a_round_the_next_tree_comes_first(talk: Talk, understander: Interpreter) -> None:
    talk.say("starting a round", "tree seven is full", "tree nine is full", "tree four is full",
             "that's the round")  # fmt: skip
    talk.wait(days=1)
    talk.say("starting a round", "tree seven is full")
    assert offered(talk, understander, "tree", 2) == ["nine", "four"]


def test_what_this_household_says_after_such_a_note_comes_first(
    talk: Talk, understander: Interpreter
) -> None:
    """The same words begin and go on as they did before."""
    talk.say("poured ten gallons into tank two", "washed the felt filter")
    talk.wait(hours=1)
    talk.say("tree nine two gallons", "poured twelve gallons into tank two")
    assert offered(talk, understander, "", 1) == ["washed"]
    assert offered(talk, understander, "washed the", 1) == ["felt"]
