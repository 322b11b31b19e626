"""Two conversations on one book: what is in hand is each one's own, the book is shared."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from fieldvoice.dialogue import Conversation
    from tests.dialogue.conftest import Talk


@pytest.fixture
def two(talk: Talk) -> tuple[Conversation, Conversation]:
    return talk.conversation.named("porch"), talk.conversation.named("woods")


def say(one: Conversation, words: str) -> str:
    return one.hear(typed(words)).text


def test_what_is_in_hand_is_each_ones_own(talk: Talk, two: tuple[Conversation, ...]) -> None:
    porch, woods = two
    say(porch, "tree three half full")
    say(woods, "tree nine half full")
    say(porch, "sap cloudy")
    say(woods, "sap clear")
    told = [(note["tree"], note["sap"]) for note in talk.notes if "sap" in note]
    assert told == [(3, "cloudy"), (9, "clear")]


def test_a_question_is_answered_where_it_was_asked(
    talk: Talk, two: tuple[Conversation, ...]
) -> None:
    porch, woods = two
    assert porch.hear(typed("dump tank one")).outcome == "asked"
    assert say(woods, "yes") == "There is no question open."
    assert talk.book.kept() == []
    assert porch.hear(typed("yes")).outcome == "saved"


def test_undo_is_about_what_was_said_here(talk: Talk, two: tuple[Conversation, ...]) -> None:
    porch, woods = two
    say(porch, "tree three half full")
    say(woods, "tree nine half full")
    assert "Tree 3" in say(porch, "scratch that")
    assert [note["tree"] for note in talk.notes] == [9]
    assert say(porch, "scratch that") == "Nothing to take back."
    assert "Tree 9: full" in say(woods, "no, full")


def test_what_one_saved_the_other_sees_at_once(two: tuple[Conversation, ...]) -> None:
    porch, woods = two
    say(porch, "put thirteen gallons in tank one")
    assert say(woods, "how much is in tank one") == "Tank 1: 13 gal."
    say(woods, "put seven gallons in tank one")
    assert say(porch, "how much is in tank one") == "Tank 1: 20 gal."


def test_who_names_none_share_one(talk: Talk) -> None:
    """A note from before there were conversations is the last one of these."""
    talk.say("tree three half full")
    assert "Tree 3" in say(talk.conversation.named("default"), "scratch that")
