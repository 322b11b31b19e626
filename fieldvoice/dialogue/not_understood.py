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
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.nlu.second_reader import SecondReading


def greeted_back(moment: TurnContext, text: str) -> Turn | None:
    """Return the turn of a greeting, which is given back; None for other words."""
    back = greeted(text)
    return None if back is None else Turn("done", (fact(back),), focus=moment.focus)


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
