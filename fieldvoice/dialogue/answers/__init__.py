"""Answers to questions: short, the answer first and the reason after, from rules and the book."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from fieldvoice.dialogue.waiting import still_waits
from fieldvoice.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from fieldvoice.dialogue.answers.answered import Answered
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import Ask
    from fieldvoice.schema.registry import Registry

__all__ = ["answer_to", "answers"]


@cache
def answers() -> Registry[Callable[[Any, TurnContext], Answered]]:
    """Return who answers which question; loaded with the first one, for a note needs none of it."""
    from fieldvoice.dialogue.answers import (  # noqa: F401 - each registers its answers
        advice,
        follow_ups,
        looking_back,
        pantry,
        past,
        places,
        plan,
        said,
        sap_days,
        stores,
        sugarbush,
        tapping,
        totals,
        trade,
        tree_sums,
        trees,
        vessels,
    )
    from fieldvoice.dialogue.answers.answered import answers

    return answers


def answer_to(ask: Ask, moment: TurnContext) -> Answered:
    """Return the answer to ``ask``.

    Where the facts are missing it says which; where a value is outside what the rule covers it
    says the range. Nothing is guessed.
    """
    answering = answers().of(ask)
    assert answering is not None, f"nobody answers {ask.ask}"
    try:
        answered = answering(ask, moment)
    except RangeError as fault:
        from fieldvoice.dialogue.answers.answered import answer

        return answer(str(fault))
    if not ask.spec.sums_up:
        return answered
    return replace(answered, told=(*answered.told, still_waits(moment, ask.ask)))
