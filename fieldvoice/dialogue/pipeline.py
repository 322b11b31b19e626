"""One utterance in, one reply out: read, completed, decided, carried out and written down."""

from __future__ import annotations

import gc
from copy import copy
from dataclasses import replace
from functools import cache, partial
from typing import TYPE_CHECKING, Any, Protocol

from fieldvoice.dialogue import policy, reasons, unreadable
from fieldvoice.dialogue.answers import answer_to
from fieldvoice.dialogue.bare_figures import as_gallons, by_unit
from fieldvoice.dialogue.book_units import names_degrees
from fieldvoice.dialogue.cautions import with_caution
from fieldvoice.dialogue.checks import check
from fieldvoice.dialogue.clock_guard import dated, denied, with_clock_in_doubt
from fieldvoice.dialogue.commands import carry_out
from fieldvoice.dialogue.context import Turn, TurnContext, by_rule
from fieldvoice.dialogue.corrections import PutRight, doubt_about_undo, to_correct, without
from fieldvoice.dialogue.dictation import (
    may_be_a_remark,
    noting_that,
    question_in,
    wants_that_noted,
    with_words,
    without_hollow,
    words_beside_name,
)
from fieldvoice.dialogue.focus import Focus, is_of_another, is_of_several, is_whole_yard, named_in
from fieldvoice.dialogue.follow_ups import pointed, recent
from fieldvoice.dialogue.greetings import greeted
from fieldvoice.dialogue.household import Household
from fieldvoice.dialogue.in_danger import told_before
from fieldvoice.dialogue.in_full import (
    Around,
    in_full,
    is_round_done,
    pointed_out,
    thing_in_hand,
    unit_in,
    with_names,
)
from fieldvoice.dialogue.learning import (
    Learner,
    forgetting,
    going_by,
    may_be_learnt,
    readings_by_wording,
    taught_by_retelling,
    taught_by_yes,
    with_wording,
)
from fieldvoice.dialogue.naming import label, options_named, subjects
from fieldvoice.dialogue.note_and_question import halves
from fieldvoice.dialogue.plausibility import (
    LACKING,
    UNKNOWN_TREE,
    doubt_about,
    is_far_apart,
    known_twin,
    run_together,
    strangeness,
    strangers,
)
from fieldvoice.dialogue.policy import (
    MARGINS,
    Answer,
    Clarify,
    Commit,
    ConfidenceMargins,
    Execute,
    Reject,
    ScoredHypothesis,
)
from fieldvoice.dialogue.prompts import (
    Prompt,
    Settled,
    Unchosen,
    Withdrawn,
    answer,
)
from fieldvoice.dialogue.proposals import example_of, examples_of, proposed, with_second
from fieldvoice.dialogue.readback import with_its_sound
from fieldvoice.dialogue.reminders import Calls, Reminder, reminders
from fieldvoice.dialogue.resolve import completed
from fieldvoice.dialogue.round import open_round
from fieldvoice.dialogue.same import simplest
from fieldvoice.dialogue.saving import save
from fieldvoice.dialogue.settings import Settings
from fieldvoice.dialogue.to_remind import with_reminders
from fieldvoice.dialogue.unreadable import is_pasted
from fieldvoice.dialogue.waiting import is_question
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.handbook.card import finding_of
from fieldvoice.handbook.emergency import emergency_in
from fieldvoice.nlg.written import Style, written
from fieldvoice.nlu.normalise import words_of
from fieldvoice.reply import Reply
from fieldvoice.schema import Act, Ask, Command, EntityMention, Meaning, meaning_from, plain_name
from fieldvoice.schema.acts import IceOut, Name, Remark
from fieldvoice.schema.asks.season import Advice, Why
from fieldvoice.segments import (
    Example,
    Told,
    TreeRef,
    VesselRef,
    fact,
    listed,
    prompt,
    rules_told,
    segments_in,
    whether,
)
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from datetime import datetime

    from fieldvoice.book import Book, Season, Source, Utterance
    from fieldvoice.handbook.card import Card
    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.nlu.second_reader import SecondReading
    from fieldvoice.nlu.wordings import Wording
    from fieldvoice.rules.finding import Finding
    from fieldvoice.schema import Names
    from fieldvoice.segments import Sentence
    from fieldvoice.transcript import AudioSpan, Transcript

Meanings = tuple[Meaning, ...]


#: What another number that sounds alike costs: a little more than the unknown tree heard, on which
#: the book puts its price, so that the margin between the two stays too narrow to decide.
ALIKE = UNKNOWN_TREE + MARGINS.mended / 2

#: A question after a note is read this nearly word for word, or it is none.
COST_OF_TAIL = 0.6

#: What comes of a command, or of a tree named alone, as what kept words were.
_NO_NOTE = Turn("kept", (fact("That alone is no note. Say the whole of it"),))


class Reader(Learner, Protocol):
    """What the conversation needs of understanding."""

    def read(
        self, heard: Transcript, *, expecting: str | None = None, names: EntityNames = ...
    ) -> Sequence[Hypothesis]:
        """Return the readings of what was heard, cheapest first."""
        ...

    def opening(self, text: str) -> int:
        """Return how many words of ``text`` begin a remark, after which anything may be said."""
        ...

    def is_unfinished(self, text: str, names: EntityNames = ...) -> bool:
        """See ``Interpreter.is_unfinished``."""
        ...

    def named(self, text: str, names: EntityNames = ...) -> Sequence[Span]:
        """Return the trees and vessels that ``text`` names, whatever it says of them."""
        ...


#: What anybody may ask, to have all of the second reader opened.
_ANY_WORDS = typed("what can i ask")


class Conversation:
    """The talk with one book. All memory is in the book, so that any process can go on with it.

    ``by`` is who talks and ``name`` what the talk is called, where they are known: the book keeps
    both with what is said. What is in hand, what was asked and what undo means belong to the talk
    of that name; those who name none share one. The book belongs to all. ``keep`` writes down a
    setting that is said.
    """

    def __init__(
        self,
        book: Book,
        understander: Reader,
        settings: Settings | None = None,
        *,
        clock: Callable[[], datetime],
        margins: ConfidenceMargins = MARGINS,
        by: str | None = None,
        name: str | None = None,
        keep: Callable[[str, bool], None] | None = None,
    ) -> None:
        self._book = book.in_conversation(name)
        self._household = Household(settings or Settings(), understander, keep)
        self._clock = clock
        self._margins = margins
        self._by, self._name = by, name
        self._delivery: str | None = None
        self._calls = Calls(self.reminders)

    @property
    def _settings(self) -> Settings:
        return self._household.settings

    @property
    def _understander(self) -> Reader:
        return self._household.reader

    @property
    def book(self) -> Book:
        """The book as this talk sees it."""
        return self._book

    def named(
        self, name: str, *, by: str | None = None, delivery: str | None = None
    ) -> Conversation:
        """Return the talk of another name with the same book, ``by`` somebody else if given.

        ``delivery`` is what the sender calls that which is said next in it: it is written down with
        what comes of it, or not at all (``Book.delivered``).
        """
        other = copy(self)
        other._book, other._name = self._book.in_conversation(name), name
        other._by, other._delivery = by or self._by, delivery
        return other

    def hear(
        self,
        heard: Transcript,
        *,
        source: Source = "typed",
        at: datetime | None = None,
        unheard: bool = False,
    ) -> Reply:
        """Deal with one utterance and write it into the journal, whatever comes of it.

        ``at`` is when it was said, if not now. ``unheard`` tells that whoever said it had not heard
        the reply before it, so that it answers no question.

        Raises:
            BookError: the book cannot be read or written.
        """
        moment = replace(self._moment(source, audio=heard.audio, at=at), unheard=unheard)
        readings, turn = self._considered(moment, heard)
        return self._write(moment, heard, readings, turn)

    def names(self) -> EntityNames:
        """Return what trees and vessels are called now, by the book and by the settings.

        Raises:
            BookError: the book cannot be read.
        """
        season = self._season()
        return names_in_use(season, self._settings)

    def hear_unaddressed(self, heard: Transcript, *, source: Source) -> Reply | None:
        """Deal with words that may not be meant for the assistant: it was not called.

        As ``hear``, but what is not understood is not written down, and the answer is None.

        Raises:
            BookError: the book cannot be read or written.
        """
        moment = self._moment(source, audio=heard.audio)
        readings, turn = self._considered(moment, heard)
        if turn.outcome == "kept" or not turn.meanings:  # a greeting was for somebody else
            return None
        return self._write(moment, heard, readings, turn)

    def calls(self, now: datetime) -> list[Reminder]:
        """Return what is to be said unasked at ``now``; each is returned once.

        Raises:
            BookError: the book cannot be read.
        """
        return self._calls.at(now)

    def reminders(self, now: datetime) -> tuple[Reminder, ...]:
        """Return what will have to be said unasked, as far as is known at ``now``.

        Raises:
            BookError: the book cannot be read.
        """
        return reminders(self._season(now), self._settings, now)

    def get_ready(self) -> None:
        """Open what is opened when it is first needed: the first words then wait no longer."""
        self._understander.second(_ANY_WORDS, cards_only=True)

    def prefetch(self, heard: Transcript) -> None:
        """Read words that are about to be handed in perhaps; ``hear`` then has less to do.

        Raises:
            BookError: the book cannot be read.
        """
        season = self._season()
        self._understander.read(heard, names=names_in_use(season, self._settings))

    def is_unfinished(self, text: str) -> bool:
        """Return whether something must still be said for ``text`` to be a sentence.

        Raises:
            BookError: the book cannot be read.
        """
        return self._understander.is_unfinished(text, names_in_use(self._season(), self._settings))

    def keep(
        self,
        heard: Transcript,
        *,
        source: Source,
        told: str = "That was cut off; kept for review. Say it again",
        at: datetime | None = None,
    ) -> Reply:
        """Write words down for review unread; ``told`` says why.

        Their end is missing, which may change them; or they are in the book already, perhaps.

        A cry for help is answered all the same.

        Raises:
            BookError: the book cannot be read or written.
        """
        if emergency_in(heard) is not None:
            return self.hear(heard, source=source)
        moment = self._moment(source, audio=heard.audio, at=at)
        return self._write(moment, heard, (), Turn("kept", (fact(told),), focus=moment.focus))

    def review(
        self,
        kept: Utterance,
        said: str | Transcript,
        pending: Mapping[str, Any] | None = None,
        *,
        source: Source = "typed",
    ) -> Reply:
        """Take ``said``, typed or heard, as what ``kept`` was, at the time it was said.

        It settles ``kept`` when it is a note or a question; the answer to the question that was
        asked about it is enough. When it is not, or something is missing in it, nothing is written
        and ``kept`` goes on waiting; ``pending`` of that reply, handed in with the next words, lets
        those be an answer.

        Raises:
            BookError: the book cannot be read or written.
        """
        heard = typed(said) if isinstance(said, str) else said
        moment = self._moment(source, Focus())
        kept = dated(kept, moment.now)
        moment = replace(moment, said_at=kept.at)
        question = _asked_about(kept, pending)
        expecting = question.expects if question else None
        readings = [
            replace(reading, meanings=tuple(_said_at(one, kept) for one in reading.meanings))
            for reading in self._understander.read(heard, expecting=expecting, names=moment.names)
        ]
        turn = self._answered(moment, heard, readings, question) if question else None
        if turn is None:
            candidates = [weigh_reading(reading, moment) for reading in readings]
            candidates += _sounding_alike(candidates, moment)
            decided = self._decided(moment, candidates, heard)
            turn = _carried_out(moment, decided) if _may_be_a_note(decided) else _NO_NOTE
        if turn.outcome in ("asked", "kept"):
            return _reply(heard, readings, turn, (), moment)
        in_hand = Focus.carried(moment.last, moment.now, source)
        settled = replace(turn, resolves=kept.id, focus=in_hand)
        if turn.outcome == "saved" and turn.taught is None:
            taught = taught_by_retelling(moment, self._understander, kept, turn.notes, moment.names)
            settled = replace(settled, taught=taught)
        return self._write(moment, heard, readings, settled)

    def commanded(self, heard: Transcript) -> Command | None:
        """Return the command that ``heard`` is for certain, if it is one and nothing else.

        Nothing is carried out or written down.

        Raises:
            BookError: the book cannot be read.
        """
        moment = self._moment("live", Focus())
        readings = self._understander.read(heard, names=moment.names)
        candidates = [weigh_reading(reading, moment) for reading in readings]
        match policy.decide(candidates, heard, self._margins):
            case Execute(ScoredHypothesis(meanings=(Command() as command,))):
                return command
        return None

    def drop(self, kept: Utterance) -> Reply:
        """Take ``kept`` out of the review: it was no note.

        Raises:
            BookError: the book cannot be read or written.
        """
        moment = self._moment("typed", Focus())
        in_hand = Focus.carried(moment.last, moment.now, "typed")
        denied = (Command(do="deny"),)
        turn = Turn("done", (fact("Dropped"),), denied, resolves=kept.id, focus=in_hand)
        return self._write(moment, typed(f"drop {kept.id}"), (), turn)

    def keep_as_remark(self, kept: Utterance) -> Reply:
        """Take the words of ``kept`` as a remark, whatever they are, at the time they were said.

        Raises:
            BookError: the book cannot be read or written.
        """
        moment = replace(self._moment("typed", Focus()), said_at=kept.at)
        remark = Remark(text=kept.text, at=kept.at.isoformat())
        in_hand = Focus.carried(moment.last, moment.now, "typed")
        turn = replace(save(moment, (remark,)), resolves=kept.id, focus=in_hand)
        return self._write(moment, typed(kept.text), (), turn)

    def forget(self, wording_id: str) -> Reply:
        """Have a wording forgotten: the words are asked about again. Its notes stay.

        Raises:
            BookError: the book cannot be read or written; it has no such wording, or no more.
        """
        moment = self._moment("typed")
        wording = self._book.wording(wording_id)
        turn = forgetting(moment, wording)
        return self._write(moment, typed(f"forget wording {wording_id}"), (), turn)

    def _season(self, at: datetime | None = None) -> Season:
        now = self._clock()
        season = self._book.season(self._settings.capacities_gal, now)
        return season.at((now if at is None else at).year)

    def _moment(
        self,
        source: Source,
        focus: Focus | None = None,
        audio: AudioSpan | None = None,
        at: datetime | None = None,
    ) -> TurnContext:
        now = self._clock() if at is None else at
        last = self._book.last_utterance()
        in_hand = Focus.carried(last, now, source, audio) if focus is None else focus
        season = self._season(now)
        names = names_in_use(season, self._settings)
        return TurnContext(now, source, self._book, season, self._settings, in_hand, last, names)

    def _considered(
        self, moment: TurnContext, heard: Transcript
    ) -> tuple[Sequence[Hypothesis], Turn]:
        moment = replace(
            moment, of_several=is_of_several(heard.text), of_another=is_of_another(heard.text)
        )
        if is_pasted(heard.text):
            return (), _kept(_carried_out(moment, Reject("a text pasted in")), heard.text, None)
        hurt = emergency_in(heard)
        heard = _in_given_names(heard, moment)
        if hurt is not None:
            return (), _first_of_all(hurt, self._note_beside(moment, heard), moment)
        question = moment.question
        expecting = question.expects if question else None
        asked = question_in(heard.text)
        if asked is not None:
            readings, turn = self._considered(moment, _only(heard, asked))
            if any(isinstance(meaning, Ask) for meaning in turn.meanings):
                return readings, turn
            if not may_be_a_remark(asked):
                return (), _kept(_carried_out(moment, Reject("nobody knows")), heard.text, None)
        readings = self._understander.read(heard, expecting=expecting, names=moment.names)
        turn = with_clock_in_doubt(self._turn(moment, heard, readings, question), moment)
        return readings, with_reminders(with_caution(turn, moment), moment, self._calls.said)

    def _in_full(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> Turn | None:
        """Return the turn of words said in short, as they are known when said in full.

        What was heard is only answered so, never noted: its words are in doubt by themselves.
        """
        is_free = isinstance(decided, Answer) and decided.echo
        if not is_free and not may_be_learnt(decided, heard):
            return None
        asks = is_question(heard.text) and not is_round_done(heard.text)
        if not asks and not heard.is_typed:
            return None
        for text in in_full(heard.text, _around(moment, asks=asks), is_question=asks):
            one = _only(heard, text)
            readings = self._understander.read(one, names=moment.names)
            candidates = [weigh_reading(reading, moment) for reading in readings]
            known, wording = self._decided_by_all(moment, candidates, one)
            is_note = isinstance(known, Commit | Execute) or (
                isinstance(known, Clarify) and not known.question.is_about_words
            )
            is_known = isinstance(known, Answer) and not known.echo and asks
            if is_known or (is_note and heard.is_typed and not asks):
                known = _or_gallons(known, moment, one)
                return _season_asked(going_by(_carried_out(moment, known), wording), moment)
        return None

    def _of_thing_in_hand(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> policy.Decision:
        """Return what to do about a question that nobody knows, asked of the thing in hand."""
        if not isinstance(decided, Reject) or not is_question(heard.text):
            return decided
        text = pointed_out(heard.text, _around(moment, asks=True).thing)
        if text == heard.text:
            return decided
        second = self._second(moment, _only(heard, text), decided)
        again = with_second(decided, second, partial(weigh, moment=moment))
        # A card found by the name of a can is about cans.
        is_own = isinstance(again, Answer) and not _is_card(again.candidate.meanings)
        return again if is_own else decided

    def _note_beside(self, moment: TurnContext, heard: Transcript) -> ScoredHypothesis | None:
        """Return the note that stands in the same breath as an emergency, or was taken for one.

        It has a number in it: cries have none, and are read as notes of a fire or of cleaning.
        """
        candidates = [
            weigh_reading(reading, moment)
            for reading in self._understander.read(heard, names=moment.names)
        ]
        decided = self._decided(moment, candidates, heard)
        second = self._second(moment, heard, decided)
        match with_second(decided, second, partial(weigh, moment=moment)):
            case Commit(note) if _has_a_number(note.meanings):
                return note
            case Clarify(Prompt(kind="yes_no", options=((*meant,),))) if _has_a_number(meant):
                return weigh(tuple(meant), moment)
        return None

    def _turn(
        self,
        moment: TurnContext,
        heard: Transcript,
        readings: Sequence[Hypothesis],
        question: Prompt | None,
    ) -> Turn:
        if wants_that_noted(heard.text) and (question is None or question.slot == "text"):
            return replace(noting_that(moment), resolves=question.asked_by if question else None)
        if question is not None:
            turn = self._answered(moment, heard, readings, question)
            if turn is not None:
                return turn
        candidates = [weigh_reading(reading, moment) for reading in readings]
        candidates += _sounding_alike(candidates, moment)
        decided, wording = self._decided_by_all(moment, candidates, heard)
        if question is not None and question.slot == "text":
            return _dictated(moment, heard, decided, question)
        both = self._note_and_question(moment, heard, decided) if wording is None else None
        if both is not None:
            return both
        fuller = self._in_full(moment, heard, decided) if wording is None else None
        if fuller is not None:
            return self._in_hand_after(moment, heard, fuller)
        second = None
        if wording is None or _is_asked(decided, heard):
            decided, second, wording = *self._by_second(moment, heard, decided), None
        decided = self._of_thing_in_hand(moment, heard, decided)
        decided = _or_gallons(decided, moment, heard)
        if not _is_certain(decided) and (danger := told_before(heard.text, moment)) is not None:
            return _first_of_all(danger, None, moment)
        turn = _season_asked(going_by(_carried_out(moment, decided), wording), moment)
        turn = self._in_hand_after(moment, heard, turn)
        if isinstance(decided, Reject):
            turn = _greeted_or_kept(turn, heard.text, second)
        return _with_open(question, turn) if question is not None else turn

    def _by_second(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> tuple[policy.Decision, SecondReading | None]:
        """Return what is to be done when the second reader was asked too, and what it read.

        What was typed with a question mark is never saved unasked.
        """
        if _is_asked(decided, heard):
            decided = Reject("asked, and no note")
        second = self._second(moment, heard, decided)
        decided = with_second(
            decided, second, partial(weigh, moment=moment), is_typed=heard.is_typed
        )
        if isinstance(decided, Commit) and _is_asked(decided, heard):
            decided = proposed(decided.candidate)
        return decided, second

    def _in_hand_after(self, moment: TurnContext, heard: Transcript, turn: Turn) -> Turn:
        """Return ``turn`` with nothing in hand where words not yet noted name something else.

        What is said next without a name may be of that.
        """
        if turn.outcome not in ("kept", "asked") or not turn.focus:
            return turn
        named = self._understander.named(heard.text, moment.names)
        is_other = any(not _is_in_hand(one, turn.focus, moment.season.names) for one in named)
        return replace(turn, focus=Focus()) if is_other else turn

    def _note_and_question(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> Turn | None:
        """Return the turn of a note and a question about it in one breath; None if it is not that.

        The note goes the usual way, by all readers; the question is read word for word. A thing
        told of a tree or vessel that is no note but has a card is answered, and put as a remark.
        """
        if not may_be_learnt(decided, heard):
            return None
        for head, tail in halves(heard.text):
            asked = next(
                iter(self._understander.read(_only(heard, tail), names=moment.names)), None
            )
            if asked is None or asked.cost > COST_OF_TAIL:
                continue
            asks = tuple(one for one in asked.meanings if isinstance(one, Ask))
            if asks and len(asks) == len(asked.meanings):
                return self._both(moment, heard, head, asks)
        return None

    def _both(
        self, moment: TurnContext, heard: Transcript, head: str, asks: tuple[Ask, ...]
    ) -> Turn | None:
        first = _only(heard, head)
        readings = self._understander.read(first, names=moment.names)
        candidates = [weigh_reading(reading, moment) for reading in readings]
        decided, wording = self._decided_by_all(moment, candidates, first)
        weighing = partial(weigh, moment=moment)
        if wording is None:
            decided = with_second(decided, self._second(moment, first, decided), weighing)
        turn = None
        match decided:
            case Commit(candidate):
                whole = weigh((*candidate.meanings, *asks), moment)
                turn = _one_by_one(moment, whole.meanings) if whole.gap is None else None
            case Clarify(question) if question.slot == "text":
                pass  # it is something, but no note that is known
            case Clarify(question) if all(isinstance(one, Act) for one in question.options[0]):
                turn = _answering(moment, _carried_out(moment, decided), asks)
                if all(map(_is_of_no_rule, question.options[0])):
                    turn = self._by_card(moment, heard, first) or turn  # no rule knows it
            case Answer():
                return self._answered_and_put(moment, first, decided)
        if turn is not None:
            return self._in_hand_after(moment, first, going_by(turn, wording))
        return self._by_card(moment, heard, first)

    def _by_card(self, moment: TurnContext, heard: Transcript, first: Transcript) -> Turn | None:
        """Return what a card answers to the whole, and the first half put as a remark."""
        second = self._understander.second(heard, moment.names, cards_only=True)
        decided = with_second(Reject(""), second, partial(weigh, moment=moment))
        return self._answered_and_put(moment, first, decided)

    def _answered_and_put(
        self, moment: TurnContext, first: Transcript, decided: policy.Decision
    ) -> Turn | None:
        """Return a card's answer, and the question whether to note what it was asked about."""
        if not isinstance(decided, Answer) or not _is_card(decided.candidate.meanings):
            return None
        named = self._understander.named(first.text, moment.names)
        if len({(one.sort, str(one.value)) for one in named}) != 1 or named[0].sort == "trees":
            return None
        text = words_beside_name(first.text, named)
        remark = meaning_from({"act": "remark", "text": text, named[0].sort: named[0].value})
        put = _carried_out(moment, proposed(weigh((remark,), moment)))
        answered = _carried_out(moment, decided)
        return replace(put, told=answered.told + put.told, findings=answered.findings)

    def _second(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> SecondReading | None:
        """Return what the second reader makes of words that the grammar does not have, or doubts.

        What does not sound like speech of the grammar is not read at all.
        """
        if not may_be_learnt(decided, heard):
            return None
        reading = self._understander.second(heard, moment.names)
        if reading is None or not any(isinstance(one, Remark) for one in reading.meanings):
            return reading
        named = self._understander.named(heard.text, moment.names)
        return with_words(reading, heard.text, named)

    def _decided_by_all(
        self, moment: TurnContext, candidates: Sequence[ScoredHypothesis], heard: Transcript
    ) -> tuple[policy.Decision, Wording | None]:
        """Return what to do by the exact readings, or else by the wordings learnt, and by which."""
        opening = self._understander.opening(heard.text)
        decided = self._decided(moment, candidates, heard, opening)
        if not may_be_learnt(decided, heard):
            return decided, None
        readings = readings_by_wording(self._book, self._understander, heard, moment.names)
        learnt = [
            (weigh_reading(one, moment), one.wording) for one in readings if one.wording is not None
        ]
        if not learnt:
            return decided, None
        told = [candidate for candidate, _ in learnt]
        everything = [*told, *_sounding_alike(told, moment), *candidates]
        return with_wording(self._decided(moment, everything, heard, opening), learnt)

    def _decided(
        self,
        moment: TurnContext,
        candidates: Sequence[ScoredHypothesis],
        heard: Transcript,
        opening: int = 0,
    ) -> policy.Decision:
        same_answer = partial(_answered_alike, moment)
        return policy.decide(candidates, heard, self._margins, opening, same_answer)

    def _answered(
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
                return replace(_carried_out(moment, whole), resolves=question.asked_by)
        unit = by_unit(question.options, words_of(heard.text))
        if unit is not None:
            turn = _carried_out(moment, policy.decide_meant(weigh(unit, moment)))
            return replace(turn, resolves=question.asked_by)
        near = policy.believable(readings, heard, self._margins)
        if question.kind == "season":
            return _season_answered(moment, near)
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
            return _which(moment, question)
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
        carried_out = _season_asked(_carried_out(moment, decided), moment)
        turn = replace(carried_out, resolves=question.asked_by)
        if turn.outcome != "saved":
            return turn
        taught = taught_by_yes(moment, self._understander, question, said, moment.names, weigh)
        return replace(turn, taught=taught)

    def _write(
        self, moment: TurnContext, heard: Transcript, readings: Sequence[Hypothesis], turn: Turn
    ) -> Reply:
        style = _style(turn, moment)
        taken = self._book.take(
            at=moment.now,
            source=moment.source,
            heard=heard,
            outcome=turn.outcome,
            meanings=turn.meanings,
            reply=written(turn.told, style),
            notes=turn.notes,
            voids=turn.voids,
            pending=turn.question.as_json(moment.now, style) if turn.question else None,
            focus=turn.focus.as_json(),
            resolves=turn.resolves,
            findings=reasons.kept(turn.findings, turn.told),
            by=self._by,
            conversation=self._name,
            taught=turn.taught,
            wording=turn.wording,
            forgets=turn.forgets,
            delivery=self._delivery,
        )
        _keep_what_was_loaded()
        if turn.outcome == "done":
            self._household.settle(turn.meanings)
        return _reply(heard, readings, turn, taken.records, moment)


@cache
def _keep_what_was_loaded() -> None:
    """Take what the first utterance loaded (grammar, cards) out of the rounds of the collector.

    It stays as long as the program does, and going through it took a tenth of a second each time.
    """
    gc.freeze()


def _around(moment: TurnContext, *, asks: bool) -> Around:
    """Return what is known where something is said in short; a question may mean a vessel told."""
    told = recent(moment)
    hand = moment.focus
    if not hand and asks:
        hand = Focus(vessel=told.field("vessel"))
    unit = None
    if told.field("volume_gal") is not None:
        said = (unit_in(one.text) for one in reversed(moment.book.utterances(newest=4)))
        unit = next(filter(None, said), None)
    sizes = {lot.size for lot in moment.season.pantry if lot.left > 0}
    return Around(
        thing_in_hand(hand.tree, hand.vessel),
        unit,
        next(iter(sizes)) if len(sizes) == 1 else None,
        open_round(moment.season, moment.now) is not None,
    )


def _in_given_names(heard: Transcript, moment: TurnContext) -> Transcript:
    """Return what was typed with the given names in full."""
    full = with_names(heard.text, moment.names) if heard.is_typed else heard.text
    return heard if full == heard.text else replace(heard, text=full)


def _only(heard: Transcript, text: str) -> Transcript:
    """Return a part of what was heard as if it were all."""
    return replace(heard, text=text, words=(), alternatives=())


def _is_in_hand(named: Span, hand: Focus, names: Names) -> bool:
    """Whether a thing named is the one in hand; "the tank" may be tank 1."""
    if named.sort == "trees":
        return False
    value = names.numbered({named.sort: named.value})[named.sort]
    if named.sort == "tree":
        return bool(value == hand.tree)
    return hand.vessel is not None and f"{hand.vessel} ".startswith(f"{value} ")


def _is_card(meanings: Meanings) -> bool:
    return len(meanings) == 1 and isinstance(meanings[0], Advice)


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


def _dictated(
    moment: TurnContext, heard: Transcript, decided: policy.Decision, question: Prompt
) -> Turn:
    """Return the turn of the words that were asked for, if they are no plain note themselves."""
    if isinstance(decided, Reject | Clarify):
        filled = list(question.options[0])
        filled[question.index] = filled[question.index].replace(text=heard.text)
        decided = policy.decide_meant(weigh(tuple(filled), moment))
    turn = _carried_out(moment, decided)
    if turn.outcome == "saved":
        return replace(turn, resolves=question.asked_by)
    return _with_open(question, turn)


#: A vessel of these is known by its number, or is the only one.
_KINDS_OF_VESSEL = frozenset(
    "tank tote barrel drum can jug pail bucket bag pan cooler vat bin tub pot keg".split()
)


def _called(vessels: Iterable[str]) -> Iterator[str]:
    """Yield the vessels that notes call by words of their own: "steel tank", "blue cooler"."""
    return (
        name for name in vessels if name.replace(" ", "").isalpha() and name not in _KINDS_OF_VESSEL
    )


def names_in_use(season: Season, settings: Settings) -> EntityNames:
    """Return what trees and vessels are called, by the book and by the settings."""
    return EntityNames(
        frozenset({*season.names.trees, *map(plain_name, settings.trees)}),
        frozenset(
            {*season.names.vessels, *map(plain_name, settings.vessels), *_called(season.vessels)}
        ),
    )


def weigh_reading(reading: Hypothesis, moment: TurnContext) -> ScoredHypothesis:
    """Return a reading weighed, with the words that it goes by."""
    named = replace(moment, degrees_named=names_degrees(reading.text))
    weighed = weigh(reading.meanings, named, reading.cost)
    if reading.cost > COST_OF_TAIL and any(isinstance(one, Why) for one in reading.meanings):
        # "Why is it dark" asks more than why.
        weighed = replace(weighed, cost=reading.cost + policy.COST_TO_ASK)
    words = policy.words_of(reading)
    return replace(weighed, words=words, nouns=reading.nouns, left_out=reading.left_out)


def weigh(meanings: Meanings, moment: TurnContext, cost: float = 0.0) -> ScoredHypothesis:
    """Return a reading completed from the conversation and weighed against the book."""
    full = pointed(without_hollow(meanings), moment)
    is_of_all = moment.of_several and any(
        isinstance(one, Act) and not isinstance(one, IceOut) for one in full
    )
    hand = Focus(vessel=moment.focus.vessel) if is_of_all else moment.focus
    full, gap = completed(full, hand, moment.season, moment.settings, moment.now)
    if gap is None:
        full = simplest(full)
    doubts = [doubt for index, one in enumerate(full) if (doubt := _doubt(one, index, moment))]
    if gap is None and not doubts and is_far_apart(full):
        doubts = [policy.Confirmation((), does=label(full, moment.now))]
    return ScoredHypothesis(
        meanings=full,
        cost=cost,
        price=strangeness(full, moment) + (LACKING if gap else 0.0),
        gap=gap,
        doubt=policy.as_one(doubts) if doubts else None,
        label=label(full, moment.now),
        strangers=strangers(full, moment.season),
    )


def _doubt(meaning: Meaning, index: int, moment: TurnContext) -> policy.Confirmation | None:
    if isinstance(meaning, Act):
        return doubt_about(meaning, index, moment)
    if isinstance(meaning, Command) and meaning.do == "undo":
        return doubt_about_undo(moment, meaning)
    if isinstance(meaning, Command) and meaning.do == "correct":
        put_right = to_correct(moment, meaning)
        if isinstance(put_right, PutRight):
            return doubt_about(put_right.acts[-1], index, without(put_right.entries, moment))
    return None


def _style(turn: Turn, moment: TurnContext) -> Style:
    """Return how a turn is told: with the names that were given.

    A question keeps the numbers, which are what is in doubt, and so does a name being given.
    """
    naming = any(isinstance(meaning, Name) for meaning in turn.meanings)
    by_number = turn.outcome == "asked" or naming
    metric = moment.settings.metric if turn.metric is None else turn.metric
    return Style(metric, None if by_number else moment.season.names)


def _sounding_alike(
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


def _or_gallons(
    decided: policy.Decision, moment: TurnContext, heard: Transcript
) -> policy.Decision:
    """Return the choice between sugar and gallons where a bare figure may be either."""
    if not isinstance(decided, Commit):
        return decided
    gathered = as_gallons(decided.candidate.meanings, words_of(heard.text), moment.last)
    if gathered is None:
        return decided
    return Clarify(policy.choice(weigh((gathered,), moment), decided.candidate))


def _carried_out(moment: TurnContext, decided: policy.Decision) -> Turn:
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
            turn = _one_by_one(moment, candidate.meanings)
            return replace(turn, told=(with_its_sound(turn.notes[0]),))
        case Commit(candidate) if candidate.left_out:
            turn = _one_by_one(moment, candidate.meanings)
            return replace(turn, told=(*turn.told, fact(*policy.not_got(candidate))))
        case Answer(candidate, echo=True):
            turn = _one_by_one(moment, candidate.meanings)
            return replace(turn, told=_with_echo(turn.told, candidate.meanings))
        case Execute(candidate) | Commit(candidate) | Answer(candidate):
            return _one_by_one(moment, candidate.meanings)


def _spoken_against(
    meanings: Sequence[Meaning], asks: Sequence[Sentence], moment: TurnContext
) -> tuple[Finding, ...]:
    """Return what the rules have against a note that is asked about, as far as it is told."""
    told = rules_told(asks)
    found = [one for act in meanings if isinstance(act, Act) for one in check(act, moment)]
    return tuple(one for one in found if (one.rule, one.text) in told)


def _season_asked(turn: Turn, moment: TurnContext) -> Turn:
    """Return a turn with the question that belongs to a new season's first note, asked once.

    Taps left in and sap left over would go on counting; the book takes both as gone.
    """
    begun = moment.season.year
    is_first = begun is not None and begun < moment.now.year and bool(turn.notes)
    if turn.outcome != "saved" or not is_first or moment.source == "memo":
        return turn
    asked = prompt("A new season: last year's taps all out, all vessels empty")
    question = Prompt("season", (asked,), (turn.meanings,))
    return replace(turn, told=(*turn.told, asked), question=question)


def _season_answered(moment: TurnContext, near: Sequence[Hypothesis]) -> Turn | None:
    """Return the turn of a yes or no to a new season; None where it is no answer."""
    said = near[0].meanings if near else ()
    if len(said) != 1 or not isinstance(said[0], Command) or said[0].do not in ("confirm", "deny"):
        return None
    told = fact("All begins empty")
    if said[0].do == "deny":
        told = fact("Then say what is still in:", Example("tank one has five gallons"))
    return Turn("done", (told,), said, focus=moment.focus)


def _first_of_all(card: Card, note: ScoredHypothesis | None, moment: TurnContext) -> Turn:
    """Return the answer to an emergency: nothing is saved, and a ``note`` beside it is asked."""
    finding = finding_of(card, moment.settings.numbers)
    asked = (meaning_from({"ask": "advice", "topic": card.id}),)
    turn = Turn("answered", (by_rule(finding),), asked, (finding,), focus=moment.focus)
    if note is None:
        return turn
    question = policy.yes_or_no(note, (whether(note.label),))
    return replace(turn, told=(*turn.told, *question.asks), question=question)


def _is_asked(decided: policy.Decision, heard: Transcript) -> bool:
    """Whether what would be saved was typed as a question."""
    if not isinstance(decided, Commit) or not heard.text.rstrip().endswith("?"):
        return False
    return heard.is_typed and all(isinstance(one, Act) for one in decided.candidate.meanings)


def _is_certain(decided: policy.Decision) -> bool:
    """Whether the exact parser knew what was said."""
    return not isinstance(decided, Reject) and not (isinstance(decided, Answer) and decided.echo)


def _has_a_number(meanings: Sequence[Meaning]) -> bool:
    """Whether these are notes, one of them with a number: of a tree, a tank, an amount."""
    acts = [one for one in meanings if isinstance(one, Act)]
    values = [value for act in acts for value in act.json_fields().values()]
    return len(acts) == len(meanings) and any(isinstance(one, int | float) for one in values)


def _is_of_no_rule(meaning: Meaning) -> bool:
    """Whether a note is a remark, or names a thing and says nothing of it."""
    return isinstance(meaning, Remark) or meaning.json_fields().keys() <= {"act", "at", *_THINGS}


_THINGS = ("tree", "trees", "vessel")


def _greeted_or_kept(turn: Turn, text: str, second: SecondReading | None) -> Turn:
    """Return the turn of words that nobody understood; a greeting is given back."""
    back = greeted(text)
    if back is not None:
        return Turn("done", (fact(back),), focus=turn.focus)
    return _kept(turn, text, second)


def _kept(turn: Turn, text: str, second: SecondReading | None) -> Turn:
    """Return a turn of words that are kept, with the nearest things that are known."""
    unread = tuple(unreadable.told_of(text))
    if unread:
        return replace(turn, told=unread)
    near = tuple(examples_of(second))
    told = [fact("I didn't get that; your words are kept")]
    if near:
        named = listed([(Example(words),) for _, words in near], "or")
        told.append(fact("What I know is like", named))
    return replace(turn, told=tuple(told), nearest=near)


def _with_echo(told: tuple[Sentence, ...], meanings: Meanings) -> tuple[Sentence, ...]:
    """Return an answer to words that were taken freely: first what it is about.

    An answer that begins with the thing asked about says so by itself: "Tank 1: 13 gal."
    """
    if any(isinstance(sentence.parts, Told) and sentence.parts.head for sentence in told):
        return told
    begins = next((next(segments_in((one,)), None) for one in told if one.parts), None)
    if isinstance(begins, TreeRef | VesselRef) and _is_named(begins, meanings):
        return told
    about = subjects(meaning for meaning in meanings if isinstance(meaning, Ask))
    first = next(index for index, sentence in enumerate(told) if sentence.parts)
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


def _answered_alike(moment: TurnContext, one: ScoredHypothesis, other: ScoredHypothesis) -> bool:
    """Whether two readings of nothing but whole questions are given the same answer."""
    if one.gap is not None or other.gap is not None:
        return False
    answers = [
        [written(answer_to(ask, moment).told) for ask in each.meanings if isinstance(ask, Ask)]
        for each in (one, other)
    ]
    return answers[0] == answers[1]


def _which(moment: TurnContext, question: Prompt) -> Turn:
    """Return the turn that asks again which of two was meant: a yes does not tell."""
    one, other = options_named(question)
    again = replace(question, asks=(prompt("Which:", one, "or", other),), asked_at=None)
    return Turn("asked", again.asks, question.options[0], question=again, focus=moment.focus)


def _one_by_one(moment: TurnContext, meanings: Meanings) -> Turn:
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


def _said_once(told: tuple[Sentence, ...]) -> tuple[Sentence, ...]:
    """Return sentences without those that stand again later on."""
    return tuple(one for at, one in enumerate(told) if one not in told[at + 1 :] or not one.parts)


def _without(turn: Turn, said: set[tuple[str, str]]) -> Turn:
    """Return a turn without the warnings that are told by an answer after it."""
    told = tuple(one for one in turn.told if not (rules_told((one,)) & said))
    return replace(turn, told=told)


def _answer(moment: TurnContext, ask: Ask) -> Turn:
    answered = answer_to(ask, moment)
    focus = moment.focus.after((ask,), moment.now)
    return Turn(
        "answered", answered.told, (ask,), answered.findings, focus=focus, metric=answered.metric,
        question=answered.question, plan=answered.plan,
    )  # fmt: skip


def _with_open(question: Prompt, turn: Turn) -> Turn:
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


def _may_be_a_note(decided: policy.Decision) -> bool:
    """Whether something would be written or answered by this, now or after a question."""
    if isinstance(decided, Clarify):
        meant = [one for option in decided.question.options for one in option]
        return any(isinstance(one, Act | Ask) for one in meant)
    return not isinstance(decided, Execute)


def _said_at(meaning: Meaning, kept: Utterance) -> Meaning:
    """Return a note with the time of what was kept, unless it says its own."""
    if not isinstance(meaning, Act) or meaning.at is not None:
        return meaning
    dated: Meaning = meaning.replace(at=kept.at.isoformat())
    return dated


def _asked_about(kept: Utterance, pending: Mapping[str, Any] | None) -> Prompt | None:
    """Return the question that is open about what was kept, its notes at the time of ``kept``."""
    waiting = pending or kept.pending
    if waiting is None or (pending is None and kept.outcome != "asked"):
        return None
    question = Prompt.from_json(waiting, asked_by=kept.id)
    dated = (tuple(_said_at(one, kept) for one in option) for option in question.options)
    return replace(question, options=tuple(dated))


def _reply(
    heard: Transcript,
    readings: Sequence[Hypothesis],
    turn: Turn,
    records: tuple[str, ...],
    moment: TurnContext,
) -> Reply:
    style = _style(turn, moment)
    return Reply(
        heard=heard,
        outcome=turn.outcome,
        told=turn.told,
        meanings=turn.meanings,
        confidence=heard.confidence if turn.is_by_wording else _confidence(heard, readings),
        findings=turn.findings,
        records=records,
        pending=turn.question.as_json(moment.now, style) if turn.question else None,
        style=style,
        nearest=_nearest(turn),
        plan=turn.plan,
    )


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
    return heard.confidence / (1 + readings[0].cost / 4)
