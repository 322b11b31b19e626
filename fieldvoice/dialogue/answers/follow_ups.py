"""Answers that stay with what was last told: is that bad, who says so, say more, in other units."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

from fieldvoice.book.rounds import trees_in
from fieldvoice.dialogue import reasons, rule_inputs
from fieldvoice.dialogue.answers import answer_to
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, from_findings, told_gal
from fieldvoice.dialogue.answers.sugarbush import usual_gal, usual_share
from fieldvoice.dialogue.answers.trees import teller
from fieldvoice.dialogue.checks import check
from fieldvoice.dialogue.context import by_rule, rule_text
from fieldvoice.dialogue.follow_ups import LastTold, last_told, recent
from fieldvoice.dialogue.sums import gathered_gal
from fieldvoice.dialogue.waiting import is_note
from fieldvoice.handbook.card import finding_of
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlg.metric import in_metric
from fieldvoice.nlg.wording import figure
from fieldvoice.rules.rule import warnings
from fieldvoice.rules.sap import sap_advice, sap_noticed, worst_sap
from fieldvoice.schema.acts import (
    Gather,
    Health,
    Inspect,
    Reading,
    Remark,
    Store,
    Sweetness,
    Transfer,
)
from fieldvoice.schema.asks.follow_ups import (
    AmountThen,
    InUnits,
    More,
    OfThat,
    SaysWho,
    SpanThen,
    Verdict,
    Waiting,
    WhatIf,
)
from fieldvoice.schema.asks.sap import SapAge, SapAverage, SapTotal, VesselLevel
from fieldvoice.schema.asks.season import Advice, SeasonSummary
from fieldvoice.schema.asks.trees import TreeHistory, TreeSap
from fieldvoice.segments import (
    Count,
    Quantity,
    Quote,
    RuleText,
    Sentence,
    Text,
    Told,
    TreeRef,
    fact,
    listed,
    parts,
    segments_in,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fieldvoice.book import TreeState, Utterance
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.rules.finding import Finding, Level
    from fieldvoice.schema import Act
    from fieldvoice.segments import Piece, Segment

_NOTHING_TOLD = "Nothing has been said that I could go on from"
_CANT_TELL = (
    "I can't tell from that. Say how it looks or smells: clear, cloudy, yellow, ropey, sour"
)
#: A sugar over this is no sap's.
_SAP_BRIX = 20.0
#: Sap looked at so long before it was gathered is the same sap.
_SAME_ROUND = timedelta(hours=2)
_UNKNOWN = "I don't know what that is about. Say the tree or the tank with it"

# ---- is that bad --------------------------------------------------------------------------------

#: What these tell of sap no rule can judge: how it looks was not said, or only in free words.
_TELLS_NOTHING = (Gather, Inspect, Reading, Remark, Store, Transfer)

#: What these tell is not of the sap: how that looked has no part in it.
_NOT_OF_SAP = (Health, Remark)

#: The word before a rule's sentence, by what was asked and how bad it is; none where either is
#: possible, and the sentence says which.
_BY_LEVEL: Mapping[tuple[str, Level], str] = {
    ("worry", "stop"): "Yes", ("worry", "care"): "A little", ("worry", "note"): "No",
    ("fine", "stop"): "No", ("fine", "care"): "Not quite", ("fine", "note"): "Yes",
}  # fmt: skip
#: The same by what the sap's condition asks for.
_BY_ACTION: Mapping[tuple[str, str], str] = {
    ("dump", "dump and wash"): "Yes", ("dump", "boil now"): "",
    ("boil", "dump and wash"): "No", ("boil", "keep"): "Yes", ("boil", "leave"): "Yes",
    ("boil", "boil first"): "Yes", ("boil", "boil now"): "Yes", ("boil", "boil apart"): "Yes",
}  # fmt: skip


@answers(Verdict)
def _verdict(ask: Verdict, moment: TurnContext) -> Answered:
    use = ask.use or "worry"
    sugar = None if ask.sap or ask.smell else _of_sugar(moment.noted or recent(moment).acts, moment)
    if sugar is not None and use in ("worry", "fine"):
        return sugar
    is_of_sap = not moment.noted or not all(isinstance(act, _NOT_OF_SAP) for act in moment.noted)
    condition = sap_noticed(ask.sap, ask.smell)
    condition = condition or (_condition_known(ask, moment) if is_of_sap else None)
    aged = _aged(ask, moment)
    if condition is not None and not _is_worse(aged, condition):
        return _of_sap(condition, use, in_vessel=ask.vessel is not None)
    if aged:
        return _judged(aged, use)
    if any(isinstance(act, _TELLS_NOTHING) for act in moment.noted):
        return answer(_CANT_TELL)
    if moment.noted:
        return _of_findings(tuple(one for act in moment.noted for one in check(act, moment)), use)
    told = recent(moment)
    if told.utterance is None:
        return answer(_UNKNOWN)
    if not told.acts and (beside := _beside_usual(told, moment)) is not None:
        return beside
    if not told.acts:
        found = reasons.reasons(told.utterance)[:1]
        return _of_findings(found, use, about_a_note=False)
    if any(isinstance(act, _TELLS_NOTHING) for act in told.acts):
        return answer(_CANT_TELL)
    return _of_findings(reasons.found(told.utterance), use)


def _of_sugar(acts: Sequence[Act], moment: TurnContext) -> Answered | None:
    """Return what sugar is usual, where only how sweet sap is was told; None for anything else."""
    card = shipped().card("usual-sap-sugar")
    of_sap = [act for act in acts if isinstance(act, Sweetness) and (act.brix or 0) <= _SAP_BRIX]
    if card is None or not acts or len(of_sap) < len(acts):
        return None
    return from_findings((finding_of(card, moment.settings.numbers),))


def _beside_usual(told: LastTold, moment: TurnContext) -> Answered | None:
    """Return how much what was told is beside the usual: a tree's among ours, ours among others'.

    None where no amount of sap was told.
    """
    if any(isinstance(one, TreeHistory | TreeSap) for one in told.asks):
        tree = told.field("tree")
        share = None if tree is None else usual_share(tree, moment)
        if share is None:
            return None
        usual = usual_gal(moment)
        of = parts("the usual tap's", None if usual is None else told_gal(usual))
        if share < LITTLE:
            return answer("Little: a tap of", TreeRef((tree,)), "gave", _times(share), of)
        word = "Yes: a tap of" if share > MUCH else "About usual: a tap of"
        return answer(word, TreeRef((tree,)), "gave", _times(share), of)
    if any(isinstance(one, SapTotal | SapAverage | SeasonSummary) for one in told.asks):
        card = shipped().card("yield-a-tap")
        taps = sum(one.taps_in for one in moment.season.standing)
        if card is None or not taps:
            return None
        each = told_gal(gathered_gal(moment.season) / taps)
        ours = fact("We have", each, "a tap so far")
        return from_findings((finding_of(card, moment.settings.numbers),), before=ours)
    return None


#: Of the usual, less is little and more is much (design choices).
LITTLE, MUCH = 0.67, 1.5


def _times(share: float) -> str:
    return f"{round(share * 100)} % of"


def _condition_known(ask: Verdict, moment: TurnContext) -> str | None:
    """Return how the sap was when it was last looked at, in the tree's bucket or the vessel."""
    tree = moment.season.trees.get(ask.tree) if ask.tree is not None else None
    vessel = moment.season.vessels.get(ask.vessel) if ask.vessel is not None else None
    if tree is not None:
        return tree.sap or _seen_before_it_was_gathered(tree, moment)
    return None if vessel is None else vessel.sap


def _seen_before_it_was_gathered(tree: TreeState, moment: TurnContext) -> str | None:
    """Return how the sap looked that was gathered from a tree just now; None where nobody said."""
    noted = [note for walked in moment.season.rounds for note in walked.notes]
    of_tree = [(at, act) for at, act in noted if tree.id in trees_in(act)]
    lately = [act for at, act in of_tree if moment.now - at <= _SAME_ROUND]
    if not lately or not isinstance(lately[-1], Gather):
        return None
    looks = [act for act in lately if isinstance(act, Inspect | Gather)]
    return worst_sap(
        sap_noticed(act.sap, act.smell if isinstance(act, Inspect) else None) for act in looks
    )


def _aged(ask: Verdict, moment: TurnContext) -> tuple[Finding, ...]:
    vessel = moment.season.vessels.get(ask.vessel) if ask.vessel is not None else None
    if vessel is None or not rule_inputs.holds_sap(vessel):
        return ()
    aged = rule_inputs.age_of_sap(vessel, moment)
    return () if aged is None else aged.findings


def _is_worse(aged: Sequence[Finding], condition: str) -> bool:
    """Whether how old sap is speaks more against it than how it looks."""
    return bool(warnings(tuple(aged[:1]))) and not warnings(sap_advice(condition).findings)


def _of_sap(condition: str, use: str, *, in_vessel: bool) -> Answered:
    advice = sap_advice(condition, where="vessel" if in_vessel else "bucket")
    if use in ("dump", "boil", "do") and advice.action == "boil now":
        advice = sap_advice(condition, where="vessel")  # what may be done with it, not where it is
    level = advice.findings[0].level
    word = _BY_LEVEL.get((use, level), _BY_ACTION.get((use, advice.action)))
    if word is None:
        word = "No" if use == "dump" else ""
    return Answered((_with_word(word, advice.findings[0]),), advice.findings)


def _judged(findings: tuple[Finding, ...], use: str) -> Answered:
    """Return the worst of findings as an answer: yes or no, and what it says."""
    worst = (warnings(findings) or findings)[0]
    return Answered((_with_word(_BY_LEVEL.get((use, worst.level), ""), worst),), findings)


def _of_findings(findings: tuple[Finding, ...], use: str, *, about_a_note: bool = True) -> Answered:
    """Return what rules or a card said as an answer; a card that is no warning vouches for nothing.

    What it says was told already, so that its reason is told now.
    """
    told = tuple(one for one in findings if not one.rule.startswith("caution-"))
    if not told:
        return answer("No rule that I know speaks against it" if about_a_note else _CANT_TELL)
    if warnings(told):
        return _judged(told, use)
    return Answered((fact(told[0].why),), told)


def _with_word(word: str, finding: Finding) -> Sentence:
    sentence = by_rule(finding)
    if not word:
        return sentence
    return replace(sentence, parts=Told((Text(word),), (rule_text(finding),)))


# ---- how much, how long, what if ----------------------------------------------------------------


@answers(OfThat)
def _of_that(ask: OfThat, moment: TurnContext) -> Answered:
    if ask.of_it is None:
        return answer("I don't know of what; ask it whole")
    return answer("I don't know how much that is; tell me the gallons, or the tank")


@answers(WhatIf)
def _what_if(ask: WhatIf, moment: TurnContext) -> Answered:
    told = last_told(moment)
    if told.utterance is None:
        return answer(_NOTHING_TOLD)
    return answer("I can't reckon that on. Ask it whole, with the temperature")


@answers(SpanThen)
def _span_then(ask: SpanThen, moment: TurnContext) -> Answered:
    return answer("I don't know what to tell of then; ask it whole")


@answers(InUnits)
def _in_units(ask: InUnits, moment: TurnContext) -> Answered:
    """Return what was last told once more, in the units asked for."""
    told = last_told(moment)
    if told.utterance is None:
        return answer(_NOTHING_TOLD)
    metric = ask.units == "metric"
    before = [Sentence("fact", act.told()) for act in told.acts]
    findings: tuple[Finding, ...] = ()
    for one in told.asks:
        answered = answer_to(one, moment)
        before += answered.told
        findings += answered.findings
    if not before:
        return answer(told.utterance.reply)
    sentences = tuple(_with_each(one, _converted) if metric else one for one in before)
    has_amount = any(isinstance(one, Quantity) for one in segments_in(before))
    if not has_amount and sentences == tuple(before):
        return answer("There is no amount in that", findings=findings)
    if ask.units in _TO_A_GALLON:
        sentences = tuple(_with_each(one, partial(_in_measure, ask.units)) for one in sentences)
    return Answered(sentences, findings, metric=metric)


#: So many of a measure make a US gallon.
_TO_A_GALLON = {"quarts": 4, "pints": 8}


def _in_measure(measure: str, segment: Segment) -> Segment:
    """Return an amount of sap or syrup in a measure of its own."""
    if not isinstance(segment, Quantity) or segment.unit not in ("gal", "syrup gal"):
        return segment
    count = figure(segment.value * _TO_A_GALLON[measure], 1)
    return Text(f"{count} {measure.removesuffix('s') if count == '1' else measure}")


def _with_each(sentence: Sentence, change: Callable[[Segment], Segment]) -> Sentence:
    """Return a sentence with each of its segments changed."""
    if isinstance(sentence.parts, Told):
        told = sentence.parts
        details = tuple(tuple(map(change, one)) for one in told.details)
        return replace(sentence, parts=Told(told.head, details))
    return replace(sentence, parts=tuple(map(change, sentence.parts)))


def _converted(segment: Segment) -> Segment:
    """Return a rule's own words with the amounts in them in metric units."""
    if isinstance(segment, RuleText) and not segment.told:
        return replace(segment, told=(Text(in_metric(segment.text)),))
    return segment


# ---- how much then ------------------------------------------------------------------------------

_AMOUNT = re.compile(
    r"\d|\b(half|drops?|cups?|ounces?|spoons?|teaspoons?|tablespoons?|inch(es)?|gallons?|quarts?|"
    r"pints?|percent|pounds?|hours?|days?|pinch)\b"
)
_SENTENCE = re.compile(r"(?<=[.?!])\s+")


@answers(AmountThen)
def _amount_then(ask: AmountThen, moment: TurnContext) -> Answered:
    """Return the amounts in what was last told: of a card all that it knows of them."""
    told = last_told(moment)
    if told.utterance is None:
        return answer(_NOTHING_TOLD)
    found = reasons.found(told.utterance)
    if not all(isinstance(one, Advice) for one in told.asks):
        found = ()  # what was reckoned is told again as it was
    of_rules = [
        fact(sentence)
        for one in found[:1]
        for sentence in (*_SENTENCE.split(one.text), *_SENTENCE.split(one.why))
        if _AMOUNT.search(sentence)
    ]
    if of_rules:
        return Answered(tuple(of_rules[:3]), found)
    again = [answer_to(one, moment) for one in told.asks]
    amounts = [one for one in again if any(map(_is_amount, segments_in(one.told)))]
    if amounts:
        return amounts[0]
    sentences = tuple(Sentence("fact", act.told()) for act in told.acts)
    if any(map(_is_amount, segments_in(sentences))):
        return Answered(sentences)
    return answer("I know no amount for that")


def _is_amount(segment: object) -> bool:
    return isinstance(segment, Quantity)


# ---- what is open -------------------------------------------------------------------------------

#: So many of what waits are named, and so many words of each: more cannot be followed by ear.
_MOST_NAMED, _MOST_WORDS = 3, 9


@answers(Waiting)
def _waiting(ask: Waiting, moment: TurnContext) -> Answered:
    """Return what is open: what waits for review, notes first, and the question just asked."""
    kept = moment.book.kept()
    notes = [one for one in kept if is_note(one)]
    others = [one for one in kept if not is_note(one)]
    question = moment.question
    told = (
        _named(notes, "note waits for review", "notes wait for review"),
        _named(others, "question was not understood", "questions were not understood"),
        *(question.asks if question is not None else ()),
    )
    if not any(one.parts for one in told):
        return answer("Nothing is open, and nothing waits for review")
    return Answered(told)


def _named(waiting: Sequence[Utterance], one: str, many: str) -> Sentence:
    if not waiting:
        return fact()
    named: list[Piece] = [Quote(_shortened(kept.text)) for kept in waiting[:_MOST_NAMED]]
    more = len(waiting) - _MOST_NAMED
    named += [Count(more, "more", "more")] if more > 0 else []
    return fact(Count(len(waiting), one, many), ":", listed(named))


def _shortened(text: str) -> str:
    words = text.split()
    return " ".join(words[:_MOST_WORDS]) + (" …" if len(words) > _MOST_WORDS else "")


# ---- who says so, say more ----------------------------------------------------------------------


@answers(SaysWho)
def _says_who(ask: SaysWho, moment: TurnContext) -> Answered:
    told = last_told(moment)
    if told.utterance is None:
        return answer(_NOTHING_TOLD)
    found = reasons.reasons(told.utterance)
    if not found:
        without = answer(reasons.WITHOUT_A_RULE[told.utterance.outcome])
        return Answered((*without.told, *_told_by(told, moment)))
    sources = dict.fromkeys(reasons.sureness(one) for one in found)
    return Answered(tuple(map(fact, sources)), found)


def _told_by(told: LastTold, moment: TurnContext) -> tuple[Sentence, ...]:
    """Return whose the newest note of the tree is that was told of, where several people tell."""
    tree = moment.season.trees.get(told.field("tree"))
    who = teller(tree, moment) if tree is not None else None
    return (fact("The newest of", TreeRef((tree.id,)), "is from", who),) if tree and who else ()


@answers(More)
def _more(ask: More, moment: TurnContext) -> Answered:
    """Return the next thing that there is to say of what was last told, and nothing twice."""
    told = last_told(moment)
    if told.utterance is None:
        return answer(_NOTHING_TOLD)
    found = reasons.reasons(told.utterance)
    if not found:
        return _of_the_thing(told, moment)
    pieces = [reasons.in_sentences(found), *_unsaid(told.utterance)]
    already = _asked_since(told.utterance, moment)
    if already < len(pieces):
        return answer(pieces[already], findings=found)
    return answer("That is all I have on it", findings=found)


def _unsaid(utterance: Utterance) -> list[str]:
    """Return the other findings, those that speak of the work in general left out."""
    explained = reasons.reasons(utterance)
    others = [one for one in reasons.found(utterance) if one not in explained]
    return [f"{one.text} {one.why}" for one in others if not one.rule.startswith("caution-")]


def _asked_since(utterance: Utterance, moment: TurnContext) -> int:
    """Return how often more, or why, was asked since."""
    newest_first = reversed(moment.book.utterances(40))
    count = 0
    for one in newest_first:
        if one.id == utterance.id:
            break
        count += any(fields.get("ask") in ("more", "why") for fields in one.meanings)
    return count


def _of_the_thing(told: LastTold, moment: TurnContext) -> Answered:
    """Return what the book knows of the tree or the vessel that was told of."""
    tree, vessel = told.field("tree"), told.field("vessel")
    if tree is not None:
        return answer_to(TreeHistory(tree=tree), moment)
    if vessel is not None:
        level = answer_to(VesselLevel(vessel=vessel), moment)
        age = answer_to(SapAge(vessel=vessel), moment)
        return Answered(level.told + age.told, level.findings + age.findings)
    return answer("That is all the book has of it")
