"""A note and a question about it in one breath: "tank one smells off, should I dump it"."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers import answer_to
from fieldvoice.dialogue.carrying_out import carried_out, one_by_one
from fieldvoice.dialogue.deciding import Decider, is_card
from fieldvoice.dialogue.dictation import words_beside_name
from fieldvoice.dialogue.learning import going_by, may_be_learnt
from fieldvoice.dialogue.policy import Answer, Clarify, Commit, Reject
from fieldvoice.dialogue.proposals import OF_NOTE, proposed, with_second
from fieldvoice.dialogue.weighing import COST_OF_TAIL, weigh
from fieldvoice.schema import Act, Ask, Meaning, meaning_from
from fieldvoice.schema.acts import Remark

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.dialogue import policy
    from fieldvoice.dialogue.context import Turn, TurnContext
    from fieldvoice.transcript import Transcript


_THINGS = ("tree", "trees", "vessel")
#: How a thing is told of that any other may stand for.
_ANY = {"tree": "the tree", "vessel": "the tank"}

#: Where one part of a breath may end and a question begin: a stop, or a word that asks.
_STOP = re.compile(r"\s*[,;.!?\n]+\s*(?:(?:and|so|but)\s+)?(?=\S)")
_ASKING = re.compile(
    r"\s+(?=(?:is|are|was|can|could|should|must|do|does|will|would|how|what|why|which|when)\b)",
    re.IGNORECASE,
)
#: Fewer words than this before the question are no note.
_LEAST = 2
#: So many places are tried: a breath has few parts, a pasted file has many.
_MOST = 6


def note_and_question(
    decider: Decider, moment: TurnContext, heard: Transcript, decided: policy.Decision
) -> Turn | None:
    """Return the turn of a note and a question about it in one breath; None if it is not that.

    The note goes the usual way, by all readers; the question is read word for word. A thing
    told of a tree or vessel that is no note but has a card is answered, and put as a remark.
    """
    if not may_be_learnt(decided, heard):
        return None
    for head, tail in halves(heard.text):
        asked = next(iter(decider.reader.read(heard.saying(tail), names=moment.names)), None)
        if asked is None or asked.cost > COST_OF_TAIL:
            continue
        asks = tuple(one for one in asked.meanings if isinstance(one, Ask))
        if asks and len(asks) == len(asked.meanings):
            return _both(decider, moment, heard, head, asks)
    return None


def _both(
    decider: Decider, moment: TurnContext, heard: Transcript, head: str, asks: tuple[Ask, ...]
) -> Turn | None:
    first = heard.saying(head)
    candidates = decider.weighed(moment, first)
    decided, wording = decider.by_all(moment, candidates, first)
    weighing = partial(weigh, moment=moment)
    if wording is None:
        decided = with_second(decided, decider.second(moment, first, decided), weighing)
    turn = None
    match decided:
        case Commit(candidate):
            if all(map(_is_of_no_rule, candidate.meanings)):
                asks = _asked_of_card(decider, moment, heard) or asks
            whole = weigh((*candidate.meanings, *asks), moment)
            turn = one_by_one(moment, whole.meanings) if whole.gap is None else None
        case Clarify(question) if question.slot == "text":
            pass  # it is something, but no note that is known
        case Clarify(question) if all(isinstance(one, Act) for one in question.options[0]):
            turn = _answering(moment, carried_out(moment, decided), asks)
            if all(map(_is_of_no_rule, question.options[0])):
                turn = _by_card(decider, moment, heard, first) or turn  # no rule knows it
        case Answer():
            return _answered_and_put(decider, moment, first, decided)
    if turn is not None:
        return decider.in_hand_after(moment, first, going_by(turn, wording))
    return _by_card(decider, moment, heard, first)


def _by_card(
    decider: Decider, moment: TurnContext, heard: Transcript, first: Transcript
) -> Turn | None:
    """Return what a card answers to the whole, and the first half put as a remark."""
    return _answered_and_put(decider, moment, first, _of_card(decider, moment, heard))


def _of_card(decider: Decider, moment: TurnContext, heard: Transcript) -> policy.Decision:
    """Return what a card answers to the whole, whichever tree or vessel it names."""
    named = decider.reader.named(heard.text, moment.names)
    beside = words_beside_name(heard.text, named) if named else heard.text
    if beside != heard.text and named[0].sort in _ANY:
        heard = heard.saying(f"{_ANY[named[0].sort]} {beside}")
    second = decider.reader.second(heard, moment.names, cards_only=True)
    return with_second(Reject(""), second, partial(weigh, moment=moment), OF_NOTE)


def _asked_of_card(decider: Decider, moment: TurnContext, heard: Transcript) -> tuple[Ask, ...]:
    """Return the question that a card answers of the whole; none where none does surely."""
    decided = _of_card(decider, moment, heard)
    asked = decided.candidate.meanings if isinstance(decided, Answer) else ()
    return tuple(one for one in asked if isinstance(one, Ask)) if is_card(asked) else ()


def _answered_and_put(
    decider: Decider, moment: TurnContext, first: Transcript, decided: policy.Decision
) -> Turn | None:
    """Return a card's answer, and the question whether to note what it was asked about."""
    if not isinstance(decided, Answer) or not is_card(decided.candidate.meanings):
        return None
    named = decider.reader.named(first.text, moment.names)
    if len({(one.sort, str(one.value)) for one in named}) != 1 or named[0].sort == "trees":
        return None
    text = words_beside_name(first.text, named)
    remark = meaning_from({"act": "remark", "text": text, named[0].sort: named[0].value})
    put = carried_out(moment, proposed(weigh((remark,), moment)))
    answered = carried_out(moment, decided)
    return replace(put, told=answered.told + put.told, findings=answered.findings)


def _answering(moment: TurnContext, turn: Turn, asks: tuple[Ask, ...]) -> Turn:
    """Return a turn that puts notes to the speaker, with the answers about them before it."""
    notes = tuple(one for one in turn.meanings if isinstance(one, Act))
    whole = weigh((*notes, *asks), moment)
    if whole.gap is not None:
        return turn
    about = replace(moment, noted=notes)
    answers = [
        answer_to(one, about) for one in whole.meanings[len(notes) :] if isinstance(one, Ask)
    ]
    told = tuple(sentence for one in answers for sentence in one.told)
    found = tuple(finding for one in answers for finding in one.findings)
    return replace(turn, told=told + turn.told, findings=found + turn.findings)


def _is_of_no_rule(meaning: Meaning) -> bool:
    """Whether a note is a remark, or names a thing and says nothing of it."""
    return isinstance(meaning, Remark) or meaning.json_fields().keys() <= {"act", "at", *_THINGS}


def halves(text: str) -> Iterator[tuple[str, str]]:
    """Yield the parts before and after each place where a question may begin, the first first."""
    places = [(found.start(), found.end()) for found in _STOP.finditer(text)]
    places += [(found.start(), found.end()) for found in _ASKING.finditer(text)]
    for end, start in sorted(places)[:_MOST]:
        if len(text[:end].split()) >= _LEAST:
            yield text[:end], text[start:]
