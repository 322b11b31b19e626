"""Dictation: "make a note", and then words of any kind, or none, or only a "that"."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers import answer_to
from fieldvoice.dialogue.context import Turn
from fieldvoice.dialogue.follow_ups import is_recent, recent
from fieldvoice.dialogue.prompts import Prompt
from fieldvoice.dialogue.readback import told as read_back
from fieldvoice.dialogue.saving import save
from fieldvoice.nlg.written import Style, written
from fieldvoice.nlu.normalise import text_of, words_of
from fieldvoice.schema.acts import Remark, Remind
from fieldvoice.schema.slot import slots_of
from fieldvoice.segments import fact, prompt

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.second_reader import SecondReading
    from fieldvoice.schema import Meaning

#: Words that point or ask politely, and are nothing to note.
_HOLLOW = frozenset(
    "that this it of to down will would can could you please me us for thanks thank now just there "
    "here a the note too as well so one somewhere in book ok okay then and about those these "
    "kindly up something self myself".split()
)
_POINTING = frozenset({"that", "this", "it", "those", "these"})
#: Verbs of noting; the second ones only with the word beside them ("put it down").
_NOTING = frozenset("note record log write jot save remember".split())
_NOTING_WITH = (("make", "note"), ("take", "note"), ("put", "down"), ("get", "down"))
#: A question that is asked as a thing to be reminded of.
_REMIND = re.compile(
    r"\s*(?:(?:please|can you|could you|would you|will you|and|hey)\s+)*remind (?:me|us)\s+"
    r"(?:of |about )?(?=(?:what|how|who|whose|which|why|when|where)\b)",
    re.IGNORECASE,
)
#: After these somebody may want to be reminded at a time or a place, which is a remark.
_MAY_BE_A_TIME = ("when", "where")


def is_hollow(remark: Remark) -> bool:
    """Whether a remark says nothing: "make a note of that, will you"."""
    about = remark.tree is not None or remark.vessel is not None
    return not about and _HOLLOW.issuperset(_words(remark.text or ""))


def without_hollow(meanings: tuple[Meaning, ...]) -> tuple[Meaning, ...]:
    """Return ``meanings`` with hollow remarks and reminders without a text: it is asked for."""
    return tuple(
        one.replace(text=None)
        if (isinstance(one, Remark) and is_hollow(one)) or _reminds_of_nothing(one)
        else one
        for one in meanings
    )


def _reminds_of_nothing(meaning: Meaning) -> bool:
    """Whether a reminder has a time and nothing to be reminded of: "remind me in an hour"."""
    if not isinstance(meaning, Remind) or meaning.text is None:
        return False
    return (_HOLLOW | _BEFORE_TIME).issuperset(_words(meaning.text))


_BEFORE_TIME = frozenset({"in", "at", "on", "by", "half"})


def with_words(reading: SecondReading, text: str, named: Sequence[Span]) -> SecondReading:
    """Return what the second reader takes for a remark with the words of it, where it has none."""
    rest = words_beside_name(text, named)
    if _HOLLOW.issuperset(set(_words(rest)) - _NOTING - {"make", "take"}):
        return reading
    meanings = tuple(
        one.replace(text=rest) if isinstance(one, Remark) and _is_all_of(rest, one.text) else one
        for one in reading.meanings
    )
    return replace(reading, meanings=meanings)


def _is_all_of(rest: str, text: str | None) -> bool:
    """Whether a remark is all that stands beside its name: of "has a hole in it" not a part."""
    if not text:
        return True
    before, found, after = rest.partition(text)
    beside = {*_words(before), *_words(after)}
    return bool(found) and len(beside) <= _FEW and beside.isdisjoint(_NOTING | {"please", "you"})


#: So many words beside a remark's own belong to it.
_FEW = 2


def words_beside_name(text: str, named: Sequence[Span]) -> str:
    """Return ``text`` without the tree or vessel it begins with: "dripping" of tree nine."""
    words = list(words_of(text))
    first = next(iter(named), None)
    if first is not None and first.start == 0:
        del words[: first.end + (words[first.end : first.end + 1] == ["is"])]
    return text_of(words)


def wants_that_noted(text: str) -> bool:
    """Whether somebody wants noted what was said before: "write that down, please"."""
    said = _words(text)
    verbs = _NOTING.intersection(said) or any(set(pair).issubset(said) for pair in _NOTING_WITH)
    others = set(said) - _NOTING - {word for pair in _NOTING_WITH for word in pair}
    return bool(verbs) and not _POINTING.isdisjoint(said) and _HOLLOW.issuperset(others)


def question_in(text: str) -> str | None:
    """Return the question in "remind me what day it is"; None where none is asked so."""
    found = _REMIND.match(text)
    return text[found.end() :] if found else None


def may_be_a_remark(question: str) -> bool:
    """Whether what one wants to be reminded of may be a time to come: "when the tank is full"."""
    return question.lower().startswith(_MAY_BE_A_TIME)


def noting_that(moment: TurnContext) -> Turn:
    """Return the turn that notes what was last said or told; where nothing was, it is asked for.

    Words that were not understood are kept as a remark, an answer as it was told. What is in the
    book already is not written twice.
    """
    last = moment.last
    if last is not None and last.outcome == "kept" and last.text and is_recent(last, moment):
        saved = save(moment, (Remark(text=last.text),))
        return replace(saved, resolves=last.id, focus=moment.focus)
    before = recent(moment)
    if before.utterance is None:
        return what_to_note(moment)
    if before.acts:
        already = fact("That is in the book already")
        return Turn("done", (already, *map(read_back, before.acts)), focus=moment.focus)
    told_then = (one for ask in before.asks for one in answer_to(ask, moment).told)
    text = written(tuple(told_then), Style(moment.settings.metric, moment.season.names))
    return replace(save(moment, (Remark(text=text),)), focus=moment.focus)


def what_to_note(moment: TurnContext) -> Turn:
    """Return the turn that asks for the words of a remark."""
    empty = (Remark(),)
    asks = (prompt(slots_of(Remark)["text"].ask),)
    question = Prompt("slot", asks, (empty,), slot="text")
    return Turn("asked", asks, empty, question=question, focus=moment.focus)


def _words(text: str) -> list[str]:
    return re.findall(r"[\w']+", text.lower())
