"""The conversation with the book, as the live loop needs it; and what a crash left unheard."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldvoice.asr.audio import SAMPLE_RATE, read_audio
from fieldvoice.asr.endpoint import split_utterances
from fieldvoice.errors import UnreadableAudioError
from fieldvoice.handbook.loader import shipped

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from fieldvoice.asr import Samples
    from fieldvoice.asr.streaming import Hearing
    from fieldvoice.book import Book, Utterance
    from fieldvoice.dialogue import Conversation
    from fieldvoice.dialogue.reminders import Reminder
    from fieldvoice.live.recorder import Recorder
    from fieldvoice.live.wake_policy import Way
    from fieldvoice.reply import Reply
    from fieldvoice.transcript import Transcript

# Places in sound are exact to this.
_GRAIN_S = 0.01


@dataclass(slots=True)
class SaidAt:
    """A clock that stands at the time when what is being dealt with was said."""

    clock: Callable[[], datetime]
    at: datetime | None = None

    def __call__(self) -> datetime:
        """Return that time, or the present."""
        return self.at if self.at is not None else self.clock()


class BookDialogue:
    """A conversation that goes by the time at which things were said.

    ``conversation`` must have been made with ``clock``.
    """

    def __init__(self, conversation: Conversation, book: Book, clock: SaidAt) -> None:
        self._conversation, self._book, self._clock = conversation, book, clock

    def hear(self, heard: Transcript, at: datetime, *, sure: bool) -> Reply | None:
        """See ``Talk``."""
        self._clock.at = at
        try:
            if sure:
                return self._conversation.hear(heard, source="live")
            return self._conversation.hear_unaddressed(heard, source="live")
        finally:
            self._clock.at = None

    def prefetch(self, heard: Transcript) -> None:
        """See ``Talk``."""
        self._conversation.prefetch(heard)

    def is_unfinished(self, text: str) -> bool:
        """See ``Talk``."""
        return self._conversation.is_unfinished(text)

    def keep(self, heard: Transcript, at: datetime) -> Reply:
        """See ``Talk``."""
        self._clock.at = at
        try:
            return self._conversation.keep(heard, source="live")
        finally:
            self._clock.at = None

    def played_after(self, reply: Reply) -> None:
        """See ``Talk``. Here nothing is."""

    def due(self, now: datetime) -> list[Reminder]:
        """See ``Talk``."""
        return self._conversation.calls(now)

    def needed_sounds(self) -> set[str]:
        """See ``Talk``. The words of a remark are uncertain: its sound is what was said.

        Of an emergency the sound is kept too, whatever was made of it.
        """
        remarks = {one.utterance_id for one in self._book.entries_of("remark")}
        noted = [self._book.utterance(one) for one in remarks]
        # What was kept and became a remark in the review has its sound with the words kept.
        kept = [self._book.utterance(one.resolves) for one in noted if one.resolves is not None]
        cries = [one for one in self._book.heard_with("topic") if _is_cry(one)]
        needed = [*self._book.kept(), *noted, *kept, *cries]
        return {one.audio.file for one in needed if one.audio is not None}


def _is_cry(utterance: Utterance) -> bool:
    urgent = shipped().urgent
    return any(meaning.get("topic") in urgent for meaning in utterance.meanings)


def take_pending(
    tape: Recorder, book: Book, talk: BookDialogue, hearing: Hearing, way: Way
) -> Iterator[Reply]:
    """Deal with what was recorded but not dealt with when the program ended; yield the replies.

    Nothing is taken twice: the book knows what it took by its sound.
    """
    for taped in tape.unknown(book.sounds()):
        try:
            recording = read_audio(taped.path)
        except UnreadableAudioError:
            tape.pass_over(taped)  # the end came before its first sound
            continue
        needed = taped.overheard and way == "word"
        attended = hearing.attend(recording.samples, call_needed=needed).result()
        heard = attended.heard
        if heard is None or (taped.overheard and not attended.called and not heard.text):
            tape.discard(taped)
            continue
        placed = replace(heard, audio=taped.span(recording.duration_s))
        if not _ends_in_silence(recording.samples):
            yield talk.keep(placed, taped.at)
            continue
        reply = talk.hear(placed, taped.at, sure=attended.called or not taped.overheard)
        if reply is None:
            tape.pass_over(taped)
        else:
            yield reply


def _ends_in_silence(samples: Samples) -> bool:
    """Whether nobody was speaking any more at the end, so that what was said is whole."""
    spans = split_utterances(samples)
    return not spans or spans[-1].end_s < len(samples) / SAMPLE_RATE - _GRAIN_S
