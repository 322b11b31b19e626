"""What was decided, carried out: commands, notes and answers, and what is told of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue import policy
from fieldvoice.dialogue.answers import answer_to
from fieldvoice.dialogue.checks import check
from fieldvoice.dialogue.commands import carry_out
from fieldvoice.dialogue.context import Turn, TurnContext, by_rule
from fieldvoice.dialogue.focus import named_in
from fieldvoice.dialogue.naming import options_named, subjects
from fieldvoice.dialogue.policy import (
    Answer,
    Clarify,
    Commit,
    Execute,
    Reject,
    ScoredHypothesis,
)
from fieldvoice.dialogue.prompts import Prompt
from fieldvoice.dialogue.readback import with_its_sound
from fieldvoice.dialogue.saving import save
from fieldvoice.handbook.card import finding_of
from fieldvoice.schema import Act, Ask, Command, EntityMention, Meaning, meaning_from
from fieldvoice.segments import (
    Example,
    Told,
    TreeRef,
    VesselRef,
    fact,
    prompt,
    rules_told,
    segments_in,
    whether,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.dialogue.prompts import Meanings
    from fieldvoice.handbook.card import Card
    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.rules.finding import Finding
    from fieldvoice.segments import Sentence


def carried_out(moment: TurnContext, decided: policy.Decision) -> Turn:
    """Return the turn of what was decided, with what it saves, asks or tells."""
    match decided:
        case Reject():
            told = (fact("Not understood; kept for review"),)
            return Turn("kept", told, focus=moment.focus)
        case Clarify(question):
            asked = _named_apart(question)
            said = asked.options[-1 if asked.kind == "choice" and asked.settles else 0]
            found = _spoken_against(said, asked.asks, moment)
            return Turn("asked", asked.asks, said, found, question=asked, focus=moment.focus)
        case Commit(candidate, by_sound=True):
            turn = one_by_one(moment, candidate.meanings)
            return replace(turn, told=(with_its_sound(turn.notes[0]),))
        case Commit(candidate) if candidate.left_out:
            turn = one_by_one(moment, candidate.meanings)
            return replace(turn, told=(*turn.told, fact(*policy.not_got(candidate))))
        case Answer(candidate, echo=True):
            turn = one_by_one(moment, candidate.meanings)
            return replace(turn, told=_with_echo(turn.told, candidate.meanings))
        case Execute(candidate) | Commit(candidate) | Answer(candidate):
            return one_by_one(moment, candidate.meanings)


def one_by_one(moment: TurnContext, meanings: Meanings) -> Turn:
    """Return the turn of a breath that may hold commands, notes and questions, in this order."""
    turns = [
        carry_out(moment, meaning)
        for meaning in meanings
        if isinstance(meaning, Command | EntityMention)
    ]
    acts = tuple(meaning for meaning in meanings if isinstance(meaning, Act))
    if acts:
        turns.append(save(moment, acts))
    after = replace(moment, noted=acts)
    answers = [_answer(after, meaning) for meaning in meanings if isinstance(meaning, Ask)]
    said = rules_told(sentence for one in answers for sentence in one.told)
    turns = [*(_without(turn, said) for turn in turns), *answers]
    whole = turns[0]
    for turn in turns[1:]:
        whole = whole.then(turn)
    outcome = "saved" if acts else turns[-1].outcome
    return replace(whole, outcome=outcome, told=_said_once(whole.told))


def _answer(moment: TurnContext, ask: Ask) -> Turn:
    answered = answer_to(ask, moment)
    focus = moment.focus.after((ask,), moment.now)
    return Turn(
        "answered", answered.told, (ask,), answered.findings, focus=focus, metric=answered.metric,
        question=answered.question, plan=answered.plan,
    )  # fmt: skip


def _without(turn: Turn, said: set[tuple[str, str]]) -> Turn:
    """Return a turn without the warnings that are told by an answer after it."""
    told = tuple(one for one in turn.told if not (rules_told((one,)) & said))
    return replace(turn, told=told)


def _said_once(told: tuple[Sentence, ...]) -> tuple[Sentence, ...]:
    """Return sentences without those that stand again later on."""
    return tuple(one for at, one in enumerate(told) if one not in told[at + 1 :] or not one.parts)


def _spoken_against(
    meanings: Sequence[Meaning], asks: Sequence[Sentence], moment: TurnContext
) -> tuple[Finding, ...]:
    """Return what the rules have against a note that is asked about, as far as it is told."""
    told = rules_told(asks)
    found = [one for act in meanings if isinstance(act, Act) for one in check(act, moment)]
    return tuple(one for one in found if (one.rule, one.text) in told)


def _with_echo(told: tuple[Sentence, ...], meanings: Meanings) -> tuple[Sentence, ...]:
    """Return an answer to words that were taken freely: first what it is about.

    An answer that begins with the thing asked about says so by itself: "Tank 1: 13 gal."
    """
    if any(isinstance(sentence.parts, Told) and sentence.parts.head for sentence in told):
        return told
    begins = next((next(segments_in((one,)), None) for one in told if one.parts), None)
    if isinstance(begins, TreeRef | VesselRef) and _is_named(begins, meanings):
        return told
    first = next(index for index, sentence in enumerate(told) if sentence.parts)
    named = tuple(segments_in(told))
    about = subjects((meaning for meaning in meanings if isinstance(meaning, Ask)), named)
    return (*told[:first], replace(told[first], about=about), *told[first + 1 :])


def _is_named(thing: TreeRef | VesselRef, meanings: Meanings) -> bool:
    """Whether questions name the tree or vessel that their answer begins with."""
    named = [named_in(meaning) for meaning in meanings]
    if isinstance(thing, VesselRef):
        return any(one.get("vessel") == thing.name for one in named)
    return any(one.get("tree") in thing.trees for one in named)


def _named_apart(question: Prompt) -> Prompt:
    if question.kind != "choice" or question.slot is not None:
        return question
    one, other = question.options
    labels = options_named(question)
    asks = policy.either(labels)
    if _kinds(one) != _kinds(other):
        asks = prompt("Did you mean", labels[0], ", or", labels[1])
    return replace(question, asks=(asks,))


def _kinds(meanings: Meanings) -> list[str]:
    return [meaning.ask for meaning in meanings if isinstance(meaning, Ask)]


def first_of_all(card: Card, note: ScoredHypothesis | None, moment: TurnContext) -> Turn:
    """Return the answer to an emergency: nothing is saved, and a ``note`` beside it is asked."""
    finding = finding_of(card, moment.settings.numbers)
    asked = (meaning_from({"ask": "advice", "topic": card.id}),)
    turn = Turn("answered", (by_rule(finding),), asked, (finding,), focus=moment.focus)
    if note is None:
        return turn
    question = policy.yes_or_no(note, (whether(note.label),))
    return replace(turn, told=(*turn.told, *question.asks), question=question)


def season_asked(turn: Turn, moment: TurnContext) -> Turn:
    """Return a turn with the question that belongs to a new season's first note, asked once.

    Taps left in and sap left over would go on counting; the book takes both as gone.
    """
    begun = moment.season.year
    is_first = begun is not None and begun < moment.now.year and bool(turn.notes)
    is_first &= not moment.season.goes_on
    if turn.outcome != "saved" or not is_first or moment.source == "memo":
        return turn
    asked = prompt("A new season: last year's taps all out, all vessels empty")
    question = Prompt("season", (asked,), (turn.meanings,))
    return replace(turn, told=(*turn.told, asked), question=question)


def season_answered(moment: TurnContext, near: Sequence[Hypothesis]) -> Turn | None:
    """Return the turn of a yes or no to a new season; None where it is no answer."""
    said = near[0].meanings if near else ()
    if len(said) != 1 or not isinstance(said[0], Command) or said[0].do not in ("confirm", "deny"):
        return None
    told = fact("All begins empty")
    if said[0].do == "deny":
        told = fact("Then say what is still in:", Example("tank one has five gallons"))
    return Turn("done", (told,), said, focus=moment.focus)
