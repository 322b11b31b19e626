"""The turn that words make: read by all readers, decided, and carried out."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from fieldvoice.dialogue import policy
from fieldvoice.dialogue.as_asked import in_measure_asked, with_dates
from fieldvoice.dialogue.as_typed import as_typed
from fieldvoice.dialogue.bare_figures import by_unit
from fieldvoice.dialogue.beside_note import parts_of
from fieldvoice.dialogue.carrying_out import (
    carried_out,
    first_of_all,
    season_answered,
    season_asked,
)
from fieldvoice.dialogue.cautions import with_caution
from fieldvoice.dialogue.clock_guard import denied, with_clock_in_doubt
from fieldvoice.dialogue.context import Turn, TurnContext
from fieldvoice.dialogue.conversions import with_conversion
from fieldvoice.dialogue.deciding import (
    Decider,
    asked_first,
    is_asked,
    is_card,
    is_unannounced,
)
from fieldvoice.dialogue.dictation import (
    may_be_a_remark,
    noting_that,
    question_in,
    wants_that_noted,
)
from fieldvoice.dialogue.fields import changed
from fieldvoice.dialogue.filled import filled_from
from fieldvoice.dialogue.focus import (
    Focus,
    goes_on,
    is_of_another,
    is_of_several,
    is_whole_yard,
    tells_more,
)
from fieldvoice.dialogue.follow_ups import is_recent, recent
from fieldvoice.dialogue.going_on import of_trade_before
from fieldvoice.dialogue.greetings import is_farewell
from fieldvoice.dialogue.in_danger import told_before
from fieldvoice.dialogue.in_full import (
    OF_SYRUP,
    Around,
    in_full,
    is_and_what,
    is_round_done,
    of_the_others,
    pointed_out,
    thing_in_hand,
    unit_in,
    with_names,
    with_vessels,
)
from fieldvoice.dialogue.late_sap import noted_of_that_day
from fieldvoice.dialogue.learning import going_by, may_be_learnt, taught_by_yes
from fieldvoice.dialogue.like_before import amount_in_words, anew_like, is_likewise
from fieldvoice.dialogue.narrowed import known_thing, narrowed
from fieldvoice.dialogue.new_vessel import as_told, may_be_mistyped, new_vessel_in, with_vessel
from fieldvoice.dialogue.not_understood import greeted_back, left_for_review
from fieldvoice.dialogue.note_and_question import note_and_question
from fieldvoice.dialogue.of_remarks import of_a_remark
from fieldvoice.dialogue.open_question import dictated, which_of_two, with_open
from fieldvoice.dialogue.pan_degrees import told_of_the_pan
from fieldvoice.dialogue.pointing import by_size, plainly, with_both
from fieldvoice.dialogue.policy import (
    Answer,
    Clarify,
    Commit,
    Execute,
    Reject,
    ScoredHypothesis,
)
from fieldvoice.dialogue.prompts import Prompt, Settled, Unchosen, Withdrawn, answer
from fieldvoice.dialogue.proposals import BANDS, proposed, with_second
from fieldvoice.dialogue.put_right import in_place_of, put_right, told_anew
from fieldvoice.dialogue.round import open_round
from fieldvoice.dialogue.thumbs import with_half_of_day, written_out
from fieldvoice.dialogue.to_remind import with_reminders
from fieldvoice.dialogue.told_otherwise import has_no_rule, is_of_all, told_otherwise
from fieldvoice.dialogue.unreadable import is_pasted
from fieldvoice.dialogue.waiting import is_question, is_surely_question
from fieldvoice.dialogue.weighing import (
    COST_OF_TAIL,
    or_gallons,
    sounding_alike,
    weigh,
    weigh_reading,
)
from fieldvoice.handbook.emergency import emergency_in
from fieldvoice.nlu.normalise import words_of
from fieldvoice.schema import Act, Ask, EntityMention, Meaning
from fieldvoice.schema.acts import Gather, Inspect, Remark, StockOut
from fieldvoice.schema.asks.boiling import DrawCheck
from fieldvoice.schema.asks.sap import VesselLevel
from fieldvoice.schema.asks.trees import TreeHistory
from fieldvoice.schema.names import VesselName
from fieldvoice.schema.slot import slots_of
from fieldvoice.segments import fact

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.dialogue.reader import Reader
    from fieldvoice.dialogue.reminders import Calls
    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.transcript import Transcript

#: A vessel by its looks too, known or not: "the blue barrel".
_ANY_VESSEL = "spans.vessel_span"
#: What leads to the thing that was asked for: "it's the big tank", "into tank two".
_LEADS = re.compile(
    r"^(?:oh,? )?(?:(?:(?:it|that|this|they|these|those)(?:'s|'re| is| are| was| were)"
    r"|i mea?nt?|call it|just)\s+)?(?:(?:in|into|to|with|of)\s+)?",
    re.I,
)


class Turns:
    """The turns of one talk: what is answered, asked, noted or kept of what was said."""

    def __init__(self, decider: Decider, calls: Calls) -> None:
        self._decider, self._calls = decider, calls

    @property
    def _reader(self) -> Reader:
        return self._decider.reader

    def considered(
        self, moment: TurnContext, heard: Transcript
    ) -> tuple[Sequence[Hypothesis], Turn]:
        """Return how ``heard`` is read, cheapest first, and what comes of it."""
        moment = replace(
            moment,
            of_several=is_of_several(heard.text),
            of_another=is_of_another(heard.text),
            goes_on=goes_on(heard.text),
            tells_more=tells_more(heard.text),
        )
        if is_pasted(heard.text):
            return (), left_for_review(
                carried_out(moment, Reject("a text pasted in")), heard.text, None
            )
        hurt = emergency_in(heard)
        heard = _in_given_names(heard, moment)
        if is_question(heard.text):
            dated = with_dates(heard.text, moment.now.date())
            heard = replace(heard, text=by_size(dated, _sizes(moment)))
        new = new_vessel_in(heard.text, moment.names)
        if new is not None:
            doubtful = may_be_mistyped(new, moment.names)
            names = with_vessel(moment.names, new)
            moment = replace(moment, names=names, is_name_doubtful=doubtful)
        if hurt is not None:
            return (), first_of_all(hurt, self._note_beside(moment, heard), moment)
        question = moment.question
        expecting = question.expects if question else None
        asked = question_in(heard.text)
        if asked is not None:
            readings, turn = self.considered(moment, heard.saying(asked))
            if any(isinstance(meaning, Ask) for meaning in turn.meanings):
                return readings, turn
            if not may_be_a_remark(asked):
                return (), left_for_review(
                    carried_out(moment, Reject("nobody knows")), heard.text, None
                )
        readings = self._reader.read(heard, expecting=expecting, names=moment.names)
        turn = with_conversion(self._turn(moment, heard, readings, question), heard.text)
        turn = in_measure_asked(turn, heard.text)
        turn = with_clock_in_doubt(turn, moment)
        return readings, with_reminders(with_caution(turn, moment), moment, self._calls.said)

    def _turn(
        self,
        moment: TurnContext,
        heard: Transcript,
        readings: Sequence[Hypothesis],
        question: Prompt | None,
    ) -> Turn:
        if wants_that_noted(heard.text) and (question is None or question.slot == "text"):
            return replace(noting_that(moment), resolves=question.asked_by if question else None)
        turn = self._put_right(moment, heard, question)
        if question is not None:
            turn = turn or self.answering(moment, heard, readings, question)
            turn = turn or self._filling(moment, heard, question)
        if turn is not None:
            return turn
        candidates = [weigh_reading(reading, moment) for reading in readings]
        candidates += sounding_alike(candidates, moment)
        decided, wording = self._decider.by_all(moment, candidates, heard)
        if question is not None and question.slot == "text":
            return dictated(moment, heard, decided, question)
        other = self._no_plain_note(moment, heard, decided, question) if wording is None else None
        if other is not None:
            return other
        second = None
        if wording is None or is_asked(decided, heard):
            decided, second, wording = *self._decider.by_second(moment, heard, decided), None
        else:
            decided = asked_first(decided, heard)
        decided = of_trade_before(decided, heard, moment, self._reader)
        decided = self._of_thing_in_hand(moment, heard, decided)
        decided = of_a_remark(moment, heard, decided)
        decided = self._of_thing_named(moment, heard, decided)
        decided = or_gallons(_of_size_in_hand(decided, moment), moment, heard)
        decided = as_typed(noted_of_that_day(decided, moment), heard)
        if moment.is_name_doubtful and isinstance(decided, Commit):
            decided = proposed(decided.candidate)
        if not _is_certain(decided) and (danger := told_before(heard.text, moment)) is not None:
            return first_of_all(danger, None, moment)
        turn = season_asked(going_by(carried_out(moment, decided), wording), moment)
        turn = self._decider.in_hand_after(moment, heard, turn)
        if isinstance(decided, Reject):
            turn = left_for_review(turn, heard.text, second)
        return with_open(question, turn) if question is not None else turn

    def _put_right(
        self, moment: TurnContext, heard: Transcript, question: Prompt | None
    ) -> Turn | None:
        """Return the turn of a note put right by its thing and its day; None where none is."""
        is_text = question is not None and question.slot == "text"
        if not heard.is_plain or is_text or is_question(heard.text):
            return None
        pieces = partial(self._reader.pieces, heard.text, moment.names)
        command = put_right(heard.text, moment, pieces)
        if command is None or self._reader.opening(heard.text):
            return None
        return carried_out(moment, policy.decide_meant(weigh((command,), moment)))

    def _no_plain_note(
        self,
        moment: TurnContext,
        heard: Transcript,
        decided: policy.Decision,
        question: Prompt | None,
    ) -> Turn | None:
        """Return the turn of a greeting, a note with a question, or what was said in short."""
        greeting = None if _is_certain(decided) else greeted_back(moment, heard.text)
        if greeting is not None:
            if question is None or is_farewell(heard.text):
                return greeting
            return with_open(question, greeting)
        by_rule = None if _is_certain(decided) else self._told_in_passing(moment, heard)
        if by_rule is not None:
            return carried_out(moment, by_rule)
        both = note_and_question(self._decider, moment, heard, decided)
        if both is not None:
            return both
        fuller = self._in_full(moment, heard, decided)
        return self._decider.in_hand_after(moment, heard, fuller) if fuller is not None else None

    def _told_in_passing(self, moment: TurnContext, heard: Transcript) -> policy.Decision | None:
        """Return what is to be done about degrees of the pan, or about one vessel filled."""
        before = [one for one in recent(moment).asks[-1:] if isinstance(one, DrawCheck)]
        before_f = before[0].temp_f if before else None
        metric = moment.settings.metric
        pan = told_of_the_pan(heard.text, moment.season, before_f, metric=metric)
        if pan is not None:
            return Answer(weigh((pan,), moment))
        filled = filled_from(heard.text, moment.season) if heard.is_plain else None
        return None if filled is None else proposed(weigh((filled,), moment))

    def answering(
        self,
        moment: TurnContext,
        heard: Transcript,
        readings: Sequence[Hypothesis],
        question: Prompt,
    ) -> Turn | None:
        """Return what comes of an answer to the open question; None when it is no answer."""
        if question.slot == "tree" and is_whole_yard(heard.text):
            asked, rest = question.options[0][question.index], question.options[0][1:]
            if not rest and "all" in type(asked).model_fields:
                whole = policy.decide_meant(weigh((asked.replace(all=True),), moment))
                return replace(carried_out(moment, whole), resolves=question.asked_by)
        unit = by_unit(question.options, words_of(heard.text))
        if unit is not None:
            turn = carried_out(moment, policy.decide_meant(weigh(unit, moment)))
            return replace(turn, resolves=question.asked_by)
        near = policy.believable(readings, heard, self._decider.margins)
        if question.kind == "season":
            return season_answered(moment, near)
        metric = moment.settings.metric
        answers = [answer(question, reading.meanings, metric=metric) for reading in near]
        if not answers or answers[0] is None:
            return None
        answered, said = answers[0], near[0].meanings
        if isinstance(answered, Withdrawn):
            left = (fact("Left out"),)
            turn = Turn("done", left, said, resolves=question.asked_by, focus=moment.focus)
            return denied(question, turn, moment)
        if isinstance(answered, Unchosen):
            return which_of_two(moment, question)
        meant = weigh(answered.meanings, moment)
        rivals = [
            other
            for other in answers[1:]
            if isinstance(other, Settled) and other.meanings != answered.meanings
        ]
        if rivals:
            decided: policy.Decision = Clarify(
                policy.choice(meant, weigh(rivals[0].meanings, moment))
            )
        else:
            decided = policy.decide_meant(meant, settled=answered.sure and question.settles)
        carried = season_asked(carried_out(moment, decided), moment)
        turn = replace(carried, resolves=question.asked_by)
        if turn.outcome != "saved":
            return turn
        taught = taught_by_yes(moment, self._reader, question, said, moment.names, weigh)
        return replace(turn, taught=taught)

    def _filling(self, moment: TurnContext, heard: Transcript, question: Prompt) -> Turn | None:
        """Return the turn of what was asked for, by its own rule or in a sentence: "it's pints"."""
        if question.kind != "slot" or question.slot in (None, "text"):
            return None
        if not policy.may_be_read(heard):
            return None
        short = _LEADS.sub("", heard.text)
        filled = self._by_its_rule(moment, question, short)
        if filled is not None:
            turn = carried_out(moment, policy.decide_meant(weigh(filled, moment)))
            return replace(season_asked(turn, moment), resolves=question.asked_by)
        if short == heard.text:
            return None
        alone = heard.saying(short)
        readings = self._reader.read(alone, expecting=question.expects, names=moment.names)
        return self.answering(moment, alone, readings, question)

    def _by_its_rule(
        self, moment: TurnContext, question: Prompt, said: str
    ) -> tuple[Meaning, ...] | None:
        """Return what was asked about, with the slot that ``said`` fills by the slot's own rule."""
        about, name = question.options[0], question.slot or ""
        slot = slots_of(type(about[question.index])).get(name)
        if slot is None or not slot.rule:
            return None
        rules = (slot.rule, *([_ANY_VESSEL] if name in ("vessel", "into") else []))
        values = (self._reader.value_by(rule, name, said, moment.names) for rule in rules)
        value = next((one for one in values if one is not None), None)
        new = None if value is None else changed(about[question.index], {name: value})
        if new is None:
            return None
        return (*about[: question.index], new, *about[question.index + 1 :])

    def _in_full(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> Turn | None:
        """Return the turn of words said in short, as they are known when said in full.

        What was not heard plainly is only answered so, never noted: its words are in doubt.
        """
        is_free = isinstance(decided, Answer) and decided.echo
        is_short = is_likewise(heard.text) and (_only_names(decided) or _lacks_look(decided))
        is_syrup = _lacks_tree(decided) and isinstance(_last_noted(moment), OF_SYRUP)
        is_sum = _lacks_tree(decided) and is_of_all(heard.text)
        if not (is_free or is_short or is_syrup or is_sum or may_be_learnt(decided, heard)):
            return None
        asks = is_question(heard.text) and not is_round_done(heard.text)
        asks = asks or is_and_what(heard.text)
        if not asks and not heard.is_plain:
            return None
        for text in in_full(heard.text, _around(moment, asks=asks), is_question=asks):
            one = heard.saying(text)
            candidates = self._decider.weighed(moment, one)
            known, wording = self._decider.by_all(moment, candidates, one)
            if not asks and heard.is_plain and has_no_rule(text) and text != heard.text:
                known, _ = self._decider.by_second(moment, one, known)
            is_note = isinstance(known, Commit | Execute) or (
                isinstance(known, Clarify) and not known.question.is_about_words
            )
            is_known = isinstance(known, Answer) and not known.echo and asks
            if is_known or (is_note and heard.is_plain and not asks and not _only_names(known)):
                pieces = partial(self._reader.pieces, text, moment.names)
                known = narrowed(known, text, moment, pieces)
                known = asked_first(or_gallons(known, moment, one), heard)
                if isinstance(known, Reject):
                    continue
                return season_asked(going_by(carried_out(moment, known), wording), moment)
        return None if asks or is_short else self._anew_or_beside(moment, heard, decided)

    def _anew_or_beside(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> Turn | None:
        """Return the turn of a note told in the place of another, or with other words beside it."""
        anew = told_anew(heard.text)
        if anew is not None:
            before = recent(moment)
            said = before.utterance.text if before.utterance is not None else ""
            like = (one for act in before.acts[-1:] for one in anew_like(anew, act, said))
            for way in (anew, *like):
                known = self._known(moment, heard.saying(way))
                command = in_place_of(known.meanings, moment) if known is not None else None
                if command is not None:
                    return carried_out(moment, policy.decide_meant(weigh((command,), moment)))
            return None
        for note, beside in parts_of(heard.text):
            ways = (note, *told_otherwise(note, None, moment.focus.vessel))
            tried = (self._known(moment, heard.saying(way)) for way in ways)
            # A remark would be cut in the middle.
            known = next((one for one in tried if one is not None and not _is_remark(one)), None)
            if known is None or known.gap is not None or known.doubt is not None:
                continue
            if is_question(beside) or self._says_more(moment, heard.saying(beside)):
                continue
            told = asked_first(Commit(replace(known, left_out=beside)), heard)
            if isinstance(told, Reject):
                continue
            return season_asked(carried_out(moment, told), moment)
        return None

    def _known(self, moment: TurnContext, heard: Transcript) -> ScoredHypothesis | None:
        """Return the notes that words are for certain; None where they are something else."""
        candidates = self._decider.weighed(moment, heard)
        decided = self._decider.by_words(moment, candidates, heard)
        is_plain = candidates and min(one.cost for one in candidates) <= COST_OF_TAIL
        if not is_plain or not isinstance(decided, Commit | Clarify):
            return None
        if is_unannounced(decided, heard, self._reader.opening(heard.text)):
            decided, _ = self._decider.by_all(moment, candidates, heard)
        if isinstance(decided, Commit):
            return decided.candidate
        return min(candidates, key=lambda one: one.total)

    def _says_more(self, moment: TurnContext, heard: Transcript) -> bool:
        """Whether words beside a note are a note or may be one, name a thing or have a value."""
        if self._reader.named(heard.text, moment.names):
            return True
        readings = self._reader.read(heard, names=moment.names)
        if any(one.cost <= policy.COST_TO_SAVE for one in readings[:1]):
            return True
        if self._reader.tells_a_value(heard.text, moment.names):
            return True
        second = self._reader.second(heard, moment.names)
        if second is None or not second.meanings or second.chance < BANDS.note:
            return False
        return any(isinstance(one, Act) and not isinstance(one, Remark) for one in second.meanings)

    def _of_thing_in_hand(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> policy.Decision:
        """Return what to do about a question that nobody knows, asked of the thing in hand."""
        if not isinstance(decided, Reject) or not is_question(heard.text):
            return decided
        text = pointed_out(heard.text, _thing_meant(moment, asks=True))
        if text == heard.text:
            return decided
        second = self._decider.second(moment, heard.saying(text), decided)
        again = with_second(decided, second, partial(weigh, moment=moment))
        # A card found by the name of a can is about cans.
        is_own = isinstance(again, Answer) and not is_card(again.candidate.meanings)
        return again if is_own else decided

    def _of_thing_named(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> policy.Decision:
        """Return what the book has of the one thing that a question names which nobody knows."""
        if not isinstance(decided, Reject) or not is_surely_question(heard.text):
            return decided
        if not heard.is_plain and not may_be_learnt(decided, heard):
            return decided
        thing = known_thing(self._reader.named(heard.text, moment.names), moment)
        if not thing:
            return decided
        ask = TreeHistory(**thing) if "tree" in thing else VesselLevel(**thing)
        return Answer(weigh((ask,), moment), echo=True)

    def _note_beside(self, moment: TurnContext, heard: Transcript) -> ScoredHypothesis | None:
        """Return the note that stands in the same breath as an emergency, or was taken for one.

        It has a number in it: cries have none, and are read as notes of a fire or of cleaning.
        """
        candidates = self._decider.weighed(moment, heard)
        decided = self._decider.by_words(moment, candidates, heard)
        second = self._decider.second(moment, heard, decided)
        match with_second(decided, second, partial(weigh, moment=moment)):
            case Commit(note) if _has_a_number(note.meanings):
                return note
            case Clarify(Prompt(kind="yes_no", options=((*meant,),))) if _has_a_number(meant):
                return weigh(tuple(meant), moment)
        return None


def _of_size_in_hand(decided: policy.Decision, moment: TurnContext) -> policy.Decision:
    """Return jars given away without their size put as those just packed, or of the only size."""
    if not isinstance(decided, Clarify) or decided.question.slot != "size":
        return decided
    (*before, gone), size = decided.question.options[0], _around(moment, asks=False).size
    if size is None or before or not isinstance(gone, StockOut):
        return decided
    return proposed(weigh((gone.replace(size=size),), moment))


def _around(moment: TurnContext, *, asks: bool) -> Around:
    """Return what is known where something is said in short."""
    told = recent(moment)
    unit = None
    if told.field("volume_gal") is not None:
        said = (unit_in(one.text) for one in reversed(moment.book.utterances(newest=4)))
        unit = next(filter(None, said), None)
    left: Counter[str] = Counter()
    for lot in moment.season.pantry:
        left[lot.size] += max(0, lot.left)
    sizes = [size for size, count in left.items() if count > 0]
    size = sizes[0] if len(sizes) == 1 else told.field("size")
    last = told.acts[-1] if told.acts else _last_noted(moment)
    return Around(
        thing=_thing_meant(moment, asks=asks),
        vessel=moment.focus.vessel,
        unit=unit,
        size=size,
        walks=open_round(moment.season, moment.now) is not None,
        left=left[size or ""],
        last=last,
        asks_tree=any("tree" in one.json_fields() for one in told.asks),
        asked=told.asks[-1] if told.asks else None,
        said=told.utterance.text if told.utterance is not None else "",
        seen=partial(_seen_today, moment),
        other=_other_vessel(getattr(last, "vessel", None), moment),
    )


def _seen_today(moment: TurnContext) -> dict[str, str]:
    """Return what each tree gave or looked like when it was last seen to today, in words."""
    today = moment.now.date()
    unit = "liters" if moment.settings.metric else None
    found: dict[str, str] = {}
    for tree in moment.season.trees.values():
        given = [
            (at, amount_in_words(act.volume_gal, unit))
            for at, act in tree.noted(Gather)
            if act.tree is not None and act.volume_gal is not None
        ]
        looks = [(at, _FILLS[act.fill]) for at, act in tree.noted(Inspect) if act.fill in _FILLS]
        at, told = max((*given, *looks), default=(None, ""))
        if at is not None and at.astimezone(moment.now.tzinfo).date() == today:
            name = moment.season.names.of_tree(tree.id)
            found |= {one: told for one in (str(tree.id), name) if one is not None}
    return found


#: How full, in words of the grammar.
_FILLS = {
    1.0: "full", 0.9: "nearly full", 0.75: "three quarters full", 0.5: "half full",
    0.25: "a quarter full", 0.1: "nearly empty", 0.0: "empty",
}  # fmt: skip


def _other_vessel(vessel: str | None, moment: TurnContext) -> str | None:
    """Return the one vessel of the same kind beside ``vessel``; None where there are more."""
    if vessel is None:
        return None
    kind = VesselName.of(vessel).kind
    others = [
        one for one in moment.season.vessels if one != vessel and VesselName.of(one).kind == kind
    ]
    return others[0] if len(others) == 1 else None


def _thing_meant(moment: TurnContext, *, asks: bool) -> str | None:
    """Return how the thing in hand is called, or for a question the vessel last told of."""
    hand = moment.focus
    if not hand and asks:
        hand = Focus(vessel=recent(moment).field("vessel"))
    return thing_in_hand(hand.tree, hand.vessel)


def _last_noted(moment: TurnContext) -> Act | None:
    """Return the newest note, where it is no longer ago than a thing stays in hand."""
    newest = moment.book.newest_entries(1)
    return newest[0].act if newest and is_recent(newest[0], moment) else None


def _lacks_look(decided: policy.Decision) -> bool:
    """Whether it is asked how full a bucket is that is said to be like another."""
    return isinstance(decided, Clarify) and decided.question.slot == "fill"


def _lacks_tree(decided: policy.Decision) -> bool:
    """Whether it is asked which tree an amount is from."""
    return isinstance(decided, Clarify) and decided.question.slot == "tree"


def _only_names(decided: policy.Decision) -> bool:
    """Whether a thing would be taken in hand, and nothing else done."""
    return isinstance(decided, Execute) and all(
        isinstance(one, EntityMention) for one in decided.candidate.meanings
    )


def _in_given_names(heard: Transcript, moment: TurnContext) -> Transcript:
    """Return plain words with names in full, and what is shortened or told loosely in words."""
    if not heard.is_plain:
        return heard
    text = written_out(heard.text) or heard.text if heard.is_typed else heard.text
    text = with_half_of_day(text, moment.now)
    named = with_vessels(with_names(text, moment.names), moment.season.vessels)
    both = with_both(plainly(named), moment.season.vessels)
    told = recent(moment)
    both = of_the_others(both, told.acts, told.asks)
    full = as_told(both, _sizes(moment), metric=moment.settings.metric)
    return heard if full == heard.text else heard.saying(full)


def _sizes(moment: TurnContext) -> dict[str, float | None]:
    """Return what each vessel of the book holds when full, where that is known."""
    return {name: one.capacity_gal for name, one in moment.season.vessels.items()}


def _is_remark(candidate: ScoredHypothesis) -> bool:
    return any(isinstance(one, Remark) for one in candidate.meanings)


def _is_certain(decided: policy.Decision) -> bool:
    """Whether the exact parser knew what was said."""
    return not isinstance(decided, Reject) and not (isinstance(decided, Answer) and decided.echo)


def _has_a_number(meanings: Sequence[Meaning]) -> bool:
    """Whether these are notes, one of them with a number: of a tree, a tank, an amount."""
    acts = [one for one in meanings if isinstance(one, Act)]
    values = [value for act in acts for value in act.json_fields().values()]
    return len(acts) == len(meanings) and any(isinstance(one, int | float) for one in values)
