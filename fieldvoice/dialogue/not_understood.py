"""What is told of words that nobody understood."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue import unreadable
from fieldvoice.dialogue.context import Turn
from fieldvoice.dialogue.greetings import greeted
from fieldvoice.dialogue.proposals import examples_of
from fieldvoice.segments import (
    Example,
    fact,
    listed,
)

if TYPE_CHECKING:
    from fieldvoice.nlu.second_reader import SecondReading


def greeted_or_kept(turn: Turn, text: str, second: SecondReading | None) -> Turn:
    """Return the turn of words that nobody understood; a greeting is given back."""
    back = greeted(text)
    if back is not None:
        return Turn("done", (fact(back),), focus=turn.focus)
    return left_for_review(turn, text, second)


def left_for_review(turn: Turn, text: str, second: SecondReading | None) -> Turn:
    """Return a turn of words that are kept, with the nearest things that are known."""
    unread = tuple(unreadable.told_of(text))
    if unread:
        return replace(turn, told=unread)
    near = tuple(examples_of(second))
    told = [fact("I didn't get that; your words are kept")]
    if near:
        named = listed([(Example(words),) for _, words in near], "or")
        told.append(fact("What I know is like", named))
    return replace(turn, told=tuple(told), nearest=near)
