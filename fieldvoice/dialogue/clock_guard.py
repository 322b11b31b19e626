"""Is the clock right? A note much later or earlier than the last ones is asked about, once.

A laptop whose battery for the clock is empty begins in another year; its notes would lie in a
season of their own. After a no they wait in the review until the clock is set.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from fieldvoice.dialogue.context import Turn
from fieldvoice.dialogue.prompts import Prompt
from fieldvoice.segments import fact, prompt

if TYPE_CHECKING:
    from fieldvoice.book import Utterance
    from fieldvoice.dialogue.context import TurnContext

#: From one season's last note to the next one's first pass no more than so many days (a design
#: choice: the sap runs at the same time of every year, give or take five weeks).
_TO_NEXT_SEASON = timedelta(days=400)
#: Clocks of several machines, and time zones, differ by less.
_BACK = timedelta(days=1)
#: The slot that this question is known by.
SLOT = "clock"
#: Utterances looked through for a question that was answered with no.
_LOOK_BACK = 30

_WAITS = "kept for review. Set the clock, then go through it in the review"


def with_clock_in_doubt(turn: Turn, moment: TurnContext) -> Turn:
    """Return ``turn``, or where its notes are at odds with the clock, what is to be asked first."""
    if turn.outcome != "saved" or turn.voids or moment.source in ("memo", "import"):
        return turn
    if all(act.act == "measure" for act in turn.notes):
        return turn  # trunks are measured years apart
    if _is_asked(moment.last) and not moment.unheard:
        return turn  # this is the yes
    times = moment.book.times_of_notes(_LOOK_BACK)
    if not times or any(-_BACK <= moment.now - at <= _TO_NEXT_SEASON for at in times):
        return turn
    date = f"{moment.now:%B} {moment.now.day}, {moment.now.year}"
    if _was_denied(moment):
        told = (fact(f"Your clock says {date};", _WAITS),)
        return Turn("kept", told, focus=moment.focus)
    last = max(times)
    near = (last.year, last.month) == (moment.now.year, moment.now.month)
    day = f" {last.day}," if near else ""
    asks = prompt(f"Your clock says {date}, and the last notes are of {last:%B}{day} {last.year}."
                  " Is the clock right?")  # fmt: skip
    question = Prompt("yes_no", (asks,), (turn.meanings,), slot=SLOT, settles=True)
    return Turn("asked", question.asks, turn.meanings, question=question, focus=moment.focus)


def denied(question: Prompt, turn: Turn, moment: TurnContext) -> Turn:
    """Return the turn of a no: what was asked about the clock waits, and nothing is dropped."""
    if question.slot != SLOT:
        return turn
    return replace(turn, told=(fact("Your note is", _WAITS),), resolves=None, focus=moment.focus)


def dated(kept: Utterance, now: datetime) -> Utterance:
    """Return words under review at a time that can be; the clock was ahead when they were said."""
    return replace(kept, at=now) if kept.at - now > _BACK else kept


def _is_asked(last: Utterance | None) -> bool:
    return last is not None and (last.pending or {}).get("slot") == SLOT


def _was_denied(moment: TurnContext) -> bool:
    """Whether the question was put lately, at about this time of the clock, and not with a yes."""
    lately = moment.book.utterances(_LOOK_BACK)
    return any(_is_asked(one) and abs(moment.now - one.at) <= _TO_NEXT_SEASON for one in lately)
