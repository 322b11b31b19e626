"""What waits: notes first, questions last and apart; and what is noted, asked or left out."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest

from fieldvoice.dialogue import dictation
from fieldvoice.dialogue.focus import is_of_several
from fieldvoice.dialogue.note_and_question import halves
from fieldvoice.dialogue.waiting import counted, is_note, is_question, notes_first
from fieldvoice.nlg.written import written

if TYPE_CHECKING:
    from tests.dialogue.conftest import Talk


@pytest.mark.parametrize(
    "text",
    [
        "what colour is the moon made of", "so how's the frumious one doing", "Is it?",
        "tell me about squirrels", "can anybody gyre", "and where did the gimble go",
        "remind me what day it is",
    ],
)  # fmt: skip
def test_questions_are_known_by_how_they_begin_or_end(text: str) -> None:
    assert is_question(text)


@pytest.mark.parametrize(
    "text", ["the frumious thing at tree four", "tree nine whatsit", "", "island tree is full"]
)
def test_what_asks_nothing_is_no_question(text: str) -> None:
    assert not is_question(text)


def test_the_review_has_questions_last_and_in_no_total(talk: Talk) -> None:
    talk.say("what colour is the moon made of", "the frumious thing at tree four", "half full")
    talk.wait(minutes=5)
    talk.say("tank one is at forty degrees", "12", "sorry, ten")
    kept = notes_first(talk.book.kept())
    assert [one.text for one in kept] == [
        "the frumious thing at tree four", "half full", "what colour is the moon made of", "12",
        "sorry, ten",
    ]  # fmt: skip
    assert [is_note(one) for one in kept] == [True, True, False, False, False]
    assert written((counted(kept),)) == "2 to review and 3 questions that were not understood."


def test_a_remark_from_the_review_has_the_time_it_was_said(talk: Talk) -> None:
    """Whatever its words are: "make a note that" would be none."""
    talk.say("that")
    said_at = talk.now
    talk.wait(hours=2)
    reply = talk.conversation.keep_as_remark(talk.book.kept()[0])
    assert (reply.outcome, reply.text) == ("saved", "Noted: that.")
    assert talk.book.entries()[0].at == said_at
    assert talk.book.kept() == []


@pytest.mark.parametrize(
    "text",
    ["make a note of that, will you", "jot that down for me", "write it down please", "save that"],
)
def test_who_wants_that_noted(text: str) -> None:
    assert dictation.wants_that_noted(text)


@pytest.mark.parametrize(
    "text",
    [
        "make a note", "note that the gate is loose", "put it back", "take that back",
        "keep it as a remark", "put the bucket down", "remember to strain it",
    ],
)  # fmt: skip
def test_who_does_not(text: str) -> None:
    assert not dictation.wants_that_noted(text)


def test_we_and_today_are_not_one_trees() -> None:
    assert is_of_several("we got two gallons")
    assert is_of_several("two gallons today")
    assert not is_of_several("we emptied it")
    assert not is_of_several("two gallons")


def test_where_a_question_may_begin() -> None:
    text = "nine's pail smells off and looks milky, should i dump it"
    assert ("nine's pail smells off and looks milky", "should i dump it") in list(halves(text))
    assert len(list(halves("is it, " * 500))) <= 6


@pytest.mark.parametrize(
    "text",
    [
        "", "   ", "🍁🍁🍁", "12", "-3 1/2 0.5", "ведро полное", "l'érable est plein",
        "word " * 10_000, "nine " * 60, "1 2 3 4 5 6 7 8 9 " * 7, "a" * 50_000, "1" * 20_000,
        "(" * 1_000, "id,date,amount\n" + "".join(f"{n},2027-03-01,2.5\n" for n in range(200)),
        "def f(x):\n    return x * 2\n" * 50, "\x00\x01\x02", "'\"; DROP TABLE notes",
    ],
    ids=lambda text: repr(text[:12]),
)  # fmt: skip
def test_what_cannot_be_read_saves_nothing_and_takes_no_time(talk: Talk, text: str) -> None:
    began = time.process_time()
    reply = talk.say(text)
    assert time.process_time() - began < 1
    assert reply.outcome == "kept"
    assert reply.text
    assert talk.notes == []
