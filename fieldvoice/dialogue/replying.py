"""A turn as the reply to what was heard."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue.proposals import example_of
from fieldvoice.nlg.written import Style
from fieldvoice.reply import Reply
from fieldvoice.schema import Act, Ask, Meaning
from fieldvoice.schema.acts import Name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.dialogue.context import Turn, TurnContext
    from fieldvoice.dialogue.prompts import (
        Prompt,
    )
    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.transcript import Transcript


def reply_to(
    heard: Transcript,
    readings: Sequence[Hypothesis],
    turn: Turn,
    records: tuple[str, ...],
    moment: TurnContext,
) -> Reply:
    """Return what is told of a turn; ``records`` are the entries that were written for it."""
    told_in = style(turn, moment)
    return Reply(
        heard=heard,
        outcome=turn.outcome,
        told=turn.told,
        meanings=turn.meanings,
        confidence=heard.confidence if turn.is_by_wording else _confidence(heard, readings),
        findings=turn.findings,
        records=records,
        pending=turn.question.as_json(moment.now, told_in) if turn.question else None,
        style=told_in,
        nearest=_nearest(turn),
        plan=turn.plan,
    )


def style(turn: Turn, moment: TurnContext) -> Style:
    """Return how a turn is told: with the names that were given.

    A question keeps the numbers, which are what is in doubt, and so does a name being given.
    """
    naming = any(isinstance(meaning, Name) for meaning in turn.meanings)
    by_number = turn.outcome == "asked" or naming
    metric = moment.settings.metric if turn.metric is None else turn.metric
    return Style(metric, None if by_number else moment.season.names)


def _nearest(turn: Turn) -> tuple[dict[str, Any], ...]:
    """Return the things that are near what was said, each with words that say the like."""
    near = turn.nearest or _options(turn.question)
    return tuple({"meaning": one.json_fields(), "example": words} for one, words in near)


def _options(question: Prompt | None) -> tuple[tuple[Meaning, str], ...]:
    """Return the two readings that are put to a choice, where they are of different kinds."""
    if question is None or question.kind != "choice" or question.settles:
        return ()
    one, other = question.options
    apart = (
        next((m for m in mine if m not in yours), None)
        for mine, yours in ((one, other), (other, one))
    )
    return tuple(
        (meaning, example_of(meaning)) for meaning in apart if isinstance(meaning, Act | Ask)
    )


def _confidence(heard: Transcript, readings: Sequence[Hypothesis]) -> float:
    """Return how sure the meaning is, 0 to 1: that of hearing, less for every liberty taken."""
    if not readings:
        return 0.0
    # What the moment makes likely costs less than nothing: a yes to a question.
    return heard.confidence / (1 + max(readings[0].cost, 0.0) / 4)
