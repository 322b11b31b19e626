"""Answers to questions: short, the answer first and the reason after, from rules and the book."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.conversation.answers import (
    advice,
    pantry,
    plan,
    said,
    sugarbush,
    tapping,
    totals,
    trade,
    trees,
    vessels,
)
from fieldvoice.conversation.answers.answered import Answered, answer
from fieldvoice.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.conversation.turn import Moment
    from fieldvoice.meaning import Ask

__all__ = ["ANSWERS", "Answered", "answer_to"]

#: Who answers which question.
ANSWERS: dict[str, Callable[[Ask, Moment], Answered]] = {
    **trees.ANSWERS, **sugarbush.ANSWERS, **vessels.ANSWERS, **totals.ANSWERS, **trade.ANSWERS,
    **tapping.ANSWERS, **advice.ANSWERS, **said.ANSWERS, **plan.ANSWERS, **pantry.ANSWERS,
}  # fmt: skip


def answer_to(ask: Ask, moment: Moment) -> Answered:
    """Return the answer to ``ask``.

    Where the facts are missing it says which; where a value is outside what the rule covers it
    says the range. Nothing is guessed.
    """
    try:
        return ANSWERS[ask.ask](ask, moment)
    except RangeError as fault:
        return answer(str(fault))
