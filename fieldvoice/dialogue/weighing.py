"""Readings completed from the conversation and weighed against the book."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise, takewhile
from typing import TYPE_CHECKING

from fieldvoice.dialogue import policy
from fieldvoice.dialogue.answers import answer_to
from fieldvoice.dialogue.bare_figures import sap_or_sugar
from fieldvoice.dialogue.book_units import names_degrees
from fieldvoice.dialogue.corrections import PutRight, doubt_about_undo, to_correct, without
from fieldvoice.dialogue.dictation import without_hollow
from fieldvoice.dialogue.focus import Focus
from fieldvoice.dialogue.follow_ups import pointed
from fieldvoice.dialogue.naming import label
from fieldvoice.dialogue.plausibility import (
    LACKING,
    UNKNOWN_TREE,
    doubt_about,
    doubt_about_question,
    is_far_apart,
    known_twin,
    run_together,
    strangeness,
    strangers,
)
from fieldvoice.dialogue.policy import MARGINS, Clarify, ScoredHypothesis
from fieldvoice.dialogue.readback import as_said
from fieldvoice.dialogue.resolve import completed
from fieldvoice.dialogue.same import poured_at_once, simplest
from fieldvoice.nlg.written import written
from fieldvoice.nlu import costs
from fieldvoice.nlu.binder import NUMBER_WORDS
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.times import may_be_ahead
from fieldvoice.schema import Act, Ask, Command, Meaning
from fieldvoice.schema.acts import IceOut, Pack
from fieldvoice.schema.asks.season import Why

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.dialogue.prompts import Meanings
    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.transcript import Transcript


#: What another number that sounds alike costs: a little more than the unknown tree heard, on which
#: the book puts its price, so that the margin between the two stays too narrow to decide.
ALIKE = UNKNOWN_TREE + MARGINS.mended / 2


#: A question after a note is read this nearly word for word, or it is none.
COST_OF_TAIL = 0.6


def weigh_reading(reading: Hypothesis, moment: TurnContext) -> ScoredHypothesis:
    """Return a reading weighed, with the words that it goes by."""
    named = replace(moment, degrees_named=names_degrees(reading.text))
    weighed = weigh(reading.meanings, named, reading.cost)
    asks = [isinstance(one, Ask) for one in reading.meanings]
    is_tail = any(asks) and not all(asks)
    if reading.cost > COST_OF_TAIL and (
        is_tail or any(isinstance(one, Why) for one in reading.meanings)
    ):
        # "Why is it dark" asks more than why; "sixty two around inches" asks nothing of inches.
        weighed = replace(weighed, cost=reading.cost + policy.COST_TO_ASK)
    if _is_hardly_packed(reading):
        weighed = replace(weighed, cost=reading.cost + policy.COST_TO_ASK)
    if _is_part_of_that(reading):
        weighed = replace(weighed, cost=reading.cost + policy.COST_TO_ASK)
    elif _denies_unsaid(reading, moment):
        weighed = replace(weighed, cost=reading.cost + costs.DOUBTFUL)
    words = policy.words_of(reading)
    return replace(weighed, words=words, nouns=reading.nouns, left_out=reading.left_out)


def _is_hardly_packed(reading: Hypothesis) -> bool:
    """Whether an amount after another note was taken for jars: "the ice off tank one, two gallons".

    Jars may be added to jars without a word; after anything else some word tells of them.
    """
    after = [two for one, two in pairwise(reading.meanings) if not isinstance(one, Pack)]
    return any(isinstance(one, Pack) for one in after) and _TELLS_JARS.search(reading.text) is None


def _is_part_of_that(reading: Hypothesis) -> bool:
    """Whether a note is put right by a part of what it was: "half that" is no half full bucket."""
    corrected = [one.fields for one in reading.meanings if isinstance(one, Command)]
    is_part = any("fill" in one or 0 < one.get("number", 1) < 1 for one in corrected)
    return is_part and "that" in reading.skipped


def _denies_unsaid(reading: Hypothesis, moment: TurnContext) -> bool:
    """Whether a correction takes back a number that nobody told lately: "seven, not eight"."""
    if not any(isinstance(one, Command) and one.do == "correct" for one in reading.meanings):
        return False
    words = words_of(reading.text)
    at = words.index("not") + 1 if "not" in words else len(words)
    denied = tuple(takewhile(NUMBER_WORDS.__contains__, words[at:]))
    if not denied:
        return False
    told = (" ".join(words_of(one.text)) for one in moment.book.utterances(newest=_LATELY))
    return not any(f" {' '.join(denied)} " in f" {one} " for one in told)


#: So many things said count as lately.
_LATELY = 6

_TELLS_JARS = re.compile(
    r"\b(?:pack|bottl|cann(?:ed|ing)|can\b|jar|fill|put|amber|golden|dark|half pint|seal|cap)",
    re.IGNORECASE,
)


def weigh(meanings: Meanings, moment: TurnContext, cost: float = 0.0) -> ScoredHypothesis:
    """Return a reading completed from the conversation and weighed against the book."""
    full = pointed(poured_at_once(without_hollow(meanings)), moment)
    is_of_all = moment.of_several and any(
        isinstance(one, Act) and not isinstance(one, IceOut) for one in full
    )
    hand = Focus(vessel=moment.focus.vessel) if is_of_all else moment.focus
    full, gap = completed(full, hand, moment.season, moment.settings, moment.now)
    if gap is None:
        full = simplest(full)
    named = label(as_said(full, moment.said_at), moment.now)
    doubts = [doubt for index, one in enumerate(full) if (doubt := _doubt(one, index, moment))]
    if gap is None and not doubts and (is_far_apart(full) or _may_be_to_come(meanings, moment)):
        doubts = [policy.Confirmation((), does=named)]
    return ScoredHypothesis(
        meanings=full,
        cost=cost,
        price=strangeness(full, moment) + (LACKING if gap else 0.0),
        gap=gap,
        doubt=policy.as_one(doubts) if doubts else None,
        label=named,
        strangers=strangers(full, moment.season),
    )


def _may_be_to_come(meanings: Meanings, moment: TurnContext) -> bool:
    """Whether a note tells an hour of today that has not been yet: "fire lit at 3 pm", at two."""
    acts = [one for one in meanings if isinstance(one, Act)]
    return any(one.at is not None and may_be_ahead(one.at, moment.now) for one in acts)


def _doubt(meaning: Meaning, index: int, moment: TurnContext) -> policy.Confirmation | None:
    if isinstance(meaning, Act):
        return doubt_about(meaning, index, moment)
    if isinstance(meaning, Ask):
        return doubt_about_question(meaning, index, moment)
    if isinstance(meaning, Command) and meaning.do == "undo":
        return doubt_about_undo(moment, meaning)
    if isinstance(meaning, Command) and meaning.do == "correct":
        put_right = to_correct(moment, meaning)
        if isinstance(put_right, PutRight):
            return doubt_about(put_right.acts[-1], index, without(put_right.entries, moment))
    return None


def sounding_alike(
    candidates: Sequence[ScoredHypothesis], moment: TurnContext
) -> list[ScoredHypothesis]:
    """Return what was heard with a known tree in place of one that only sounds like it.

    It costs as much as the words did: the book's price on the unknown tree then makes it a choice
    between the two, and never a silent change. The same holds for one tree whose digits were heard
    as two trees.
    """
    if moment.source == "typed":
        return []
    alike = []
    for one in candidates:
        text = str(next(iter(one.words), ""))
        twin = known_twin(one.meanings, moment.season) or run_together(
            one.meanings, text, moment.season
        )
        if twin is not None:
            weighed = weigh(twin, moment, one.cost + ALIKE)
            alike.append(replace(weighed, words=("alike", *one.words)))
    return alike


def or_gallons(decided: policy.Decision, moment: TurnContext, heard: Transcript) -> policy.Decision:
    """Return the choice between sugar and gallons where a bare figure may be either."""
    told = policy.noted_alone(decided)
    either = sap_or_sugar(told, words_of(heard.text), moment.last)
    if either is None:
        return decided
    sap, sugar = (weigh((one,), moment) for one in either)
    return Clarify(policy.choice(sap, sugar))


def answered_alike(moment: TurnContext, one: ScoredHypothesis, other: ScoredHypothesis) -> bool:
    """Whether two readings of nothing but whole questions are given the same answer."""
    if one.gap is not None or other.gap is not None:
        return False
    answers = [
        [written(answer_to(ask, moment).told) for ask in each.meanings if isinstance(ask, Ask)]
        for each in (one, other)
    ]
    return answers[0] == answers[1]
