"""One utterance in, one reply out: read, completed, decided, carried out and written down."""

from __future__ import annotations

import gc
from copy import copy
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

from fieldvoice.calendar_ends import with_room
from fieldvoice.dialogue import policy, reasons
from fieldvoice.dialogue.carrying_out import carried_out
from fieldvoice.dialogue.clock_guard import dated
from fieldvoice.dialogue.context import Turn, TurnContext
from fieldvoice.dialogue.deciding import Decider
from fieldvoice.dialogue.focus import Focus
from fieldvoice.dialogue.household import Household
from fieldvoice.dialogue.learning import forgetting, taught_by_retelling
from fieldvoice.dialogue.names_in_use import names_in_use
from fieldvoice.dialogue.open_question import asked_about, at_time_of, said_at
from fieldvoice.dialogue.policy import (
    MARGINS,
    Clarify,
    ConfidenceMargins,
    Execute,
    ScoredHypothesis,
)
from fieldvoice.dialogue.reminders import Calls, Reminder, reminders
from fieldvoice.dialogue.replying import reply_to, style
from fieldvoice.dialogue.saving import save
from fieldvoice.dialogue.settings import Settings
from fieldvoice.dialogue.turns import Turns
from fieldvoice.dialogue.weighing import sounding_alike, weigh_reading
from fieldvoice.handbook.emergency import emergency_in
from fieldvoice.nlg.written import written
from fieldvoice.schema import Act, Ask, Command
from fieldvoice.schema.acts import Remark
from fieldvoice.segments import fact
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import datetime

    from fieldvoice.book import Book, Season, Source, Utterance
    from fieldvoice.dialogue.reader import Reader
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.reply import Reply
    from fieldvoice.transcript import AudioSpan, Transcript


#: What comes of a command, or of a tree named alone, as what kept words were.
_NO_NOTE = Turn("kept", (fact("That alone is no note. Say the whole of it"),))


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
        self._by, self._name = by, name
        self._delivery: str | None = None
        self._calls = Calls(self.reminders)
        self._decider = Decider(self._household, margins)
        self._turns = Turns(self._decider, self._calls)

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
        readings, turn = self._turns.considered(moment, heard)
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
        heard = heard.overheard()
        moment = replace(self._moment(source, audio=heard.audio), is_called=False)
        readings, turn = self._turns.considered(moment, heard)
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
        question = asked_about(kept, pending)
        expecting = question.expects if question else None
        readings = [
            replace(reading, meanings=tuple(said_at(one, kept) for one in reading.meanings))
            for reading in self._understander.read(heard, expecting=expecting, names=moment.names)
        ]
        turn = self._turns.answering(moment, heard, readings, question) if question else None
        if turn is None:
            candidates = [weigh_reading(reading, moment) for reading in readings]
            candidates += sounding_alike(candidates, moment)
            decided = self._decider.by_words(moment, candidates, heard)
            decided, _ = self._decider.by_second(moment, heard, decided)
            turn = carried_out(moment, decided) if _may_be_a_note(decided) else _NO_NOTE
            turn = at_time_of(turn, kept)
        if turn.outcome in ("asked", "kept"):
            return reply_to(heard, readings, turn, (), moment)
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
        candidates = self._decider.weighed(moment, heard)
        match policy.decide(candidates, heard, self._decider.margins):
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
        now = with_room(self._clock())
        season = self._book.season(self._settings.capacities_gal, now)
        return season.at((now if at is None else at).year)

    def _moment(
        self,
        source: Source,
        focus: Focus | None = None,
        audio: AudioSpan | None = None,
        at: datetime | None = None,
    ) -> TurnContext:
        now = with_room(self._clock() if at is None else at)
        last = self._book.last_utterance()
        in_hand = Focus.carried(last, now, source, audio) if focus is None else focus
        season = self._season(now)
        names = names_in_use(season, self._settings)
        return TurnContext(now, source, self._book, season, self._settings, in_hand, last, names)

    def _write(
        self, moment: TurnContext, heard: Transcript, readings: Sequence[Hypothesis], turn: Turn
    ) -> Reply:
        told_in = style(turn, moment)
        taken = self._book.take(
            at=moment.now,
            source=moment.source,
            heard=heard,
            outcome=turn.outcome,
            meanings=turn.meanings,
            reply=written(turn.told, told_in),
            notes=turn.notes,
            voids=turn.voids,
            pending=turn.question.as_json(moment.now, told_in) if turn.question else None,
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
        return reply_to(heard, readings, turn, taken.records, moment)


@cache
def _keep_what_was_loaded() -> None:
    """Take what the first utterance loaded (grammar, cards) out of the rounds of the collector.

    It stays as long as the program does, and going through it took a tenth of a second each time.
    """
    gc.freeze()


def _may_be_a_note(decided: policy.Decision) -> bool:
    """Whether something would be written or answered by this, now or after a question."""
    if isinstance(decided, Clarify):
        meant = [one for option in decided.question.options for one in option]
        return any(isinstance(one, Act | Ask) for one in meant)
    return not isinstance(decided, Execute)
