"""The review by voice: what was kept is played one by one, and each is said anew.

It is one more conversation for the live loop. A kept note goes on waiting until what was said of it
is understood, or it is thrown away; everything else leaves it where it is.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue.waiting import counted, is_note, notes_first
from fieldvoice.reply import Reply
from fieldvoice.segments import Count, Example, Sentence, When, fact, whether

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import datetime
    from typing import Any

    from fieldvoice.book import Utterance
    from fieldvoice.dialogue import Conversation
    from fieldvoice.dialogue.reminders import Reminder
    from fieldvoice.live.dialogue_port import SaidAt
    from fieldvoice.schema import Command
    from fieldvoice.transcript import AudioSpan, Transcript
    from fieldvoice.tts import Sound

#: What can be said, at the beginning and when help is asked for.
HOW = fact(
    *("Say what it was, or", Example("skip this one"), ",", Example("keep it as a remark"), ","),
    *(Example("throw it away"), ",", Example("say it again"), ",", Example("stop the review")),
)
_CUT_OFF = fact("That was cut off. Say it again")
_SAY_IT = fact("Then say what it was")
#: Short commands fit the sound of speech badly even when they are heard word for word. These do no
#: harm when nobody said them: what is kept goes on waiting, or its words are kept as they are.
_HARMLESS = frozenset({"next", "stop", "repeat", "help", "as_remark"})
#: The commands about the voice itself: they are carried out, and nothing else changes.
_OF_THE_VOICE = frozenset({"louder", "softer", "slower", "faster", "quiet"})


class ReviewTalk:
    """The review of ``waiting``, of which there is one at least, as the live loop talks.

    Questions that were not understood come last and are counted in no total.

    ``conversation`` must have been made with ``clock``; ``sound_of`` finds the sound of what was
    kept, None where it is gone. Nobody has to be called in a review: whatever is said in it is
    meant.
    """

    def __init__(
        self,
        conversation: Conversation,
        waiting: Sequence[Utterance],
        clock: SaidAt,
        sound_of: Callable[[AudioSpan], Sound | None],
    ) -> None:
        self._conversation, self._waiting, self._clock = conversation, notes_first(waiting), clock
        self._sound_of = sound_of
        self._at = 0
        self._left: list[Utterance] = []
        self._pending: Mapping[str, Any] | None = None
        self._settled: Utterance | None = None
        self._to_play: Sound | None = None
        self._throwing_away = False
        self.finished = False

    def opening(self) -> tuple[tuple[Sentence, ...], Sound | None]:
        """Return what is said first, and the sound of the first one."""
        told = (counted(self._waiting), HOW, *self._introduced())
        return told, self._taken()

    def hear(self, heard: Transcript, at: datetime, *, sure: bool) -> Reply | None:
        """See ``Talk``."""
        self._clock.at = at
        try:
            if self.finished:
                return None
            if self._throwing_away:
                return self._thrown_away(heard)
            command = self._commanded(heard)
            steered = self._steered(command, heard) if command is not None else None
            return steered or self._said_anew(heard)
        finally:
            self._clock.at = None

    def prefetch(self, heard: Transcript) -> None:
        """See ``Talk``."""
        self._conversation.prefetch(heard)

    def is_unfinished(self, text: str) -> bool:
        """See ``Talk``."""
        return self._conversation.is_unfinished(text)

    def keep(self, heard: Transcript, at: datetime) -> Reply:
        """See ``Talk``. What is being reviewed waits anyway."""
        return Reply(heard=heard, outcome="kept", told=(_CUT_OFF,))

    def played_after(self, reply: Reply) -> Sound | None:
        """See ``Talk``: the sound of what comes next."""
        return self._taken()

    def due(self, now: datetime) -> list[Reminder]:
        """See ``Talk``. A review is not interrupted."""
        return []

    def needed_sounds(self) -> set[str]:
        """See ``Talk``."""
        return {one.audio.file for one in self._waiting if one.audio is not None}

    def _commanded(self, heard: Transcript) -> Command | None:
        """Return the command that this is; "throw it away" is asked about when it is in doubt."""
        command = self._conversation.commanded(heard)
        if command is not None or heard.fit is None:
            return command
        doubtful = self._conversation.commanded(replace(heard, fit=None))
        if doubtful is None or doubtful.do not in _HARMLESS | {"throw_away"}:
            return None
        self._throwing_away = doubtful.do == "throw_away"
        return doubtful

    def _thrown_away(self, heard: Transcript) -> Reply:
        """Return what comes of the answer to whether it is to be thrown away."""
        self._throwing_away = False
        answer = self._conversation.commanded(replace(heard, fit=None))
        if answer is not None and answer.do in ("confirm", "throw_away"):
            return self._go_on(self._conversation.drop(self._kept))
        return Reply(heard=heard, outcome="done", told=(_SAY_IT,))

    def _steered(self, command: Command, heard: Transcript) -> Reply | None:
        """Return what comes of a command about the review; None where it may be the note itself."""
        done = Reply(heard=heard, outcome="done", told=(), meanings=(command,))
        match command.do:
            case "next":
                self._left.append(self._kept)
                return self._go_on(replace(done, told=(fact("Left for later"),)))
            case "throw_away" if self._throwing_away:
                return replace(done, outcome="asked", told=(whether("Throw it away"),))
            case "throw_away":
                return self._go_on(self._conversation.drop(self._kept))
            case "as_remark":
                return self._as_remark(done)
            case "undo":
                return self._undone(heard)
            case "stop" | "finish_round":
                return self._stopped(done)
        told = self._told(command.do)
        return replace(done, told=told) if told else None

    def _told(self, do: str) -> tuple[Sentence, ...]:
        """Return the answer to a command that leaves everything where it is."""
        if do == "repeat":
            return self._introduced()
        if do == "help":
            return (HOW,)
        if do in _OF_THE_VOICE:
            return (fact(do),)
        if do == "correct" and self._pending is None:
            return (fact("Say", Example("scratch that"), ", and then the note"),)
        if do == "deny" and self._pending is not None:
            self._pending = None
            return (_SAY_IT,)
        if do in ("deny", "confirm") and not self._is_asked():
            return (fact("Say what it was"),)
        return ()

    def _is_asked(self) -> bool:
        """Whether a question is open that a yes or a no answers."""
        question = self._pending or self._kept.pending
        return question is not None and question["kind"] == "yes_no"

    def _said_anew(self, heard: Transcript) -> Reply:
        reply = self._conversation.review(self._kept, heard, self._pending, source="live")
        if reply.outcome == "kept":
            again = fact("Not understood. Say it another way, or", Example("skip"))
            return replace(reply, told=(again,))
        self._pending = reply.pending
        return reply if reply.outcome == "asked" else self._go_on(reply)

    def _as_remark(self, done: Reply) -> Reply:
        if not self._kept.text:
            return replace(done, told=(fact("It has no words. Say them"),))
        return self._go_on(self._conversation.keep_as_remark(self._kept))

    def _undone(self, heard: Transcript) -> Reply:
        """Take back what was settled last, and go back to it."""
        if self._settled is None:
            nothing = fact("Nothing to take back in this review")
            return Reply(heard=heard, outcome="done", told=(nothing,))
        reply = self._conversation.hear(heard, source="live")
        self._at -= 1
        self._settled = self._pending = None
        return replace(reply, told=reply.told + self._introduced())

    def _stopped(self, done: Reply) -> Reply:
        self.finished = True
        waiting = [*self._waiting[self._at :], *self._left]
        return replace(done, told=(fact("Stopped"), _still(waiting)))

    def _go_on(self, reply: Reply) -> Reply:
        """Return ``reply`` with what is next."""
        self._settled = self._kept if reply.records else None
        self._at += 1
        self._pending = None
        if self._at < len(self._waiting):
            return replace(reply, told=reply.told + self._introduced())
        self.finished = True
        last = (fact("That was the last"), _still(self._left))
        return replace(reply, told=reply.told + last)

    @property
    def _kept(self) -> Utterance:
        return self._waiting[self._at]

    def _introduced(self) -> tuple[Sentence, ...]:
        """Return how the one at hand is announced; its sound comes after that.

        Without a sound its words are told, which were not what was said perhaps.
        """
        kept = self._kept
        sound = self._sound_of(kept.audio) if kept.audio is not None else None
        self._to_play = sound
        told = [fact(When(kept.at, self._clock.clock(), "ago"))]
        if sound is None:
            told.append(fact("I heard:", kept.text or "no words"))
        if kept.outcome == "asked":
            told.append(fact("I asked:", kept.reply))
        return tuple(told)

    def _taken(self) -> Sound | None:
        sound, self._to_play = self._to_play, None
        return sound


def _still(waiting: Sequence[Utterance]) -> Sentence:
    count = sum(map(is_note, waiting))
    if not count:
        return fact("Nothing waits" if not waiting else "No note waits")
    return fact(Count(count, "still waits", "still wait"))
