"""The question that is open: what is asked, what is dictated to it, when it is said again."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue import policy
from fieldvoice.dialogue.carrying_out import carried_out
from fieldvoice.dialogue.context import Turn, TurnContext
from fieldvoice.dialogue.naming import options_named
from fieldvoice.dialogue.policy import Clarify, Reject
from fieldvoice.dialogue.prompts import Prompt
from fieldvoice.dialogue.weighing import weigh
from fieldvoice.schema import Act, Command, Meaning
from fieldvoice.segments import prompt

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.book import Utterance
    from fieldvoice.transcript import Transcript


def dictated(
    moment: TurnContext, heard: Transcript, decided: policy.Decision, question: Prompt
) -> Turn:
    """Return the turn of the words that were asked for, if they are no plain note themselves."""
    if isinstance(decided, Reject | Clarify):
        filled = list(question.options[0])
        filled[question.index] = filled[question.index].replace(text=heard.text)
        decided = policy.decide_meant(weigh(tuple(filled), moment))
    turn = carried_out(moment, decided)
    if turn.outcome == "saved":
        return replace(turn, resolves=question.asked_by)
    return with_open(question, turn)


def which_of_two(moment: TurnContext, question: Prompt) -> Turn:
    """Return the turn that asks again which of two was meant: a yes does not tell."""
    one, other = options_named(question)
    again = replace(question, asks=(prompt("Which:", one, "or", other),), asked_at=None)
    return Turn("asked", again.asks, question.options[0], question=again, focus=moment.focus)


def with_open(question: Prompt, turn: Turn) -> Turn:
    """Return ``turn`` with the open question said again: once, and then it lapses to the review.

    Asked to hear it again, it is said as often as that.
    """
    if not _leaves_open(turn) or question.kind == "season":
        return turn
    if any(one.role == "prompt" for one in turn.told):
        return replace(turn, question=question)
    if question.repeated:
        return turn
    again = replace(question, repeated=True)
    return replace(turn, told=turn.told + question.asks, question=again)


def _leaves_open(turn: Turn) -> bool:
    """Whether an open question goes on waiting after this: nothing was noted, nothing taken up."""
    if turn.question is not None or turn.notes or turn.voids:
        return False
    if turn.outcome in ("kept", "answered"):
        return True
    return all(
        isinstance(meaning, Command) and meaning.do in ("repeat", "help", "quiet")
        for meaning in turn.meanings
    )


def said_at(meaning: Meaning, kept: Utterance) -> Meaning:
    """Return a note with the time of what was kept, unless it says its own."""
    if not isinstance(meaning, Act) or meaning.at is not None:
        return meaning
    dated: Meaning = meaning.replace(at=kept.at.isoformat())
    return dated


def at_time_of(turn: Turn, kept: Utterance) -> Turn:
    """Return a turn whose notes have the time of what was kept, unless they say their own."""
    meanings = tuple(said_at(one, kept) for one in turn.meanings)
    notes = tuple(one.replace(at=one.at or kept.at.isoformat()) for one in turn.notes)
    return replace(turn, notes=notes, meanings=meanings)


def asked_about(kept: Utterance, pending: Mapping[str, Any] | None) -> Prompt | None:
    """Return the question that is open about what was kept, its notes at the time of ``kept``."""
    waiting = pending or kept.pending
    if waiting is None or (pending is None and kept.outcome != "asked"):
        return None
    question = Prompt.from_json(waiting, asked_by=kept.id)
    dated = (tuple(said_at(one, kept) for one in option) for option in question.options)
    return replace(question, options=tuple(dated))
