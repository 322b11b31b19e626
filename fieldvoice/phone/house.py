"""The house as phones see it: what they send goes the way of all speech; and the day is shown.

It runs in a process of its own: the recognisers lock the interpreter, and a recording from outside
is decoded here and nowhere else.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from fieldvoice.asr import hear_memo, read_audio
from fieldvoice.errors import RangeError, UnreadableAudioError
from fieldvoice.phone.ahead import Ahead, HeardBefore
from fieldvoice.phone.day import Day, said
from fieldvoice.phone.note import LONGEST_S
from fieldvoice.transcript import AudioSpan, Transcript, typed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from datetime import datetime

    from fieldvoice.asr import Recogniser, Recording
    from fieldvoice.book import Book
    from fieldvoice.dialogue import Conversation, Settings
    from fieldvoice.phone.note import Note
    from fieldvoice.reply import Reply

#: A recording that is shorter than the phone recorded by more than this lost its end, in seconds:
#: browsers round to whole chunks and drop what an encoder still held.
_LOST_S = 1.5

Receipt = dict[str, Any]


class House:
    """One book with what hears for it. ``talk`` must have been made with ``clock``."""

    def __init__(
        self,
        talk: Conversation,
        book: Book,
        settings: Settings,
        recogniser: Recogniser,
        clock: Callable[[], datetime],
    ) -> None:
        self._talk, self._book, self._clock = talk, book, clock
        self._recogniser, self._ahead = HeardBefore(recogniser), Ahead()
        self._day = Day(book, settings, clock)

    def warm_up(self) -> None:
        """Read a sentence and look at the day, so that the first phone waits no longer than others.

        Raises:
            BookError: the book cannot be read.
        """
        self._talk.prefetch(typed("how many trees did we do in the front yard"))
        self.look()

    def ahead(self, name: str, piece: bytes) -> None:
        """Hear what is finished of a note that is still being recorded.

        Raises:
            BookError: the book cannot be read.
        """
        for sound in self._ahead.feed(name, piece):
            self._recogniser.learn(self._talk.names())
            heard = self._recogniser.recognise(sound)
            if heard.text:
                self._talk.prefetch(heard)

    def take(self, note: Note, *, unreadable: bool = False) -> Receipt:
        """Put a note into the book, and return what came of it: whatever was taken is not again.

        ``unreadable`` tells that its recording brought the program down before.

        Raises:
            BookError: the book cannot be read or written.
        """
        self._ahead.close(note.name)
        if note.settles is not None:
            return self._settled(note, self._words(note, unreadable=unreadable))
        if note.text is not None:
            if not self._book.delivered(note.name):
                self._of(note).hear(
                    typed(note.text), source="phone", at=note.at, unheard=note.unheard
                )
            return self._receipt(note)
        return self._recording(note, unreadable=unreadable)

    def look(self) -> dict[str, Any]:
        """Return the day as all phones show it.

        Raises:
            BookError: the book cannot be read.
        """
        try:
            return self._day.shown()
        except RangeError as fault:
            return {"fault": str(fault)}

    def last_of(self, phone: str) -> dict[str, Any] | None:
        """Return what a phone said last, with the question that may be open; None for nothing."""
        last = self._book.in_conversation(_talk_of(phone)).last_utterance()
        return None if last is None else said(last)

    def _of(self, note: Note, part: int | None = None) -> Conversation:
        name = note.name if part is None else f"{note.name}.{part}"
        return self._talk.named(_talk_of(note.phone), by=note.by, delivery=name)

    def _receipt(self, note: Note, told: str | None = None) -> Receipt:
        came = self._book.delivered(note.name).values()
        return {"name": note.name, "said": [said(one) for one in came], "told": told}

    # Recordings.

    def _recording(self, note: Note, *, unreadable: bool) -> Receipt:
        assert note.sound is not None
        recording = None if unreadable else _read(note)
        if recording is None:
            return self._unreadable(note)
        if self._book.memo_taken(recording.sha256):
            told = None if self._book.delivered(note.name) else "That is in the book already."
            return self._receipt(note, told)
        known = self._book.delivered(note.name)
        cut = _is_cut(recording, note)
        for heard, is_last in _with_last(self._heard(recording, note)):
            start_s = heard.audio.start_s if heard.audio else 0.0
            part = round(1000 * start_s)
            if f"{note.name}.{part}" in known:
                continue
            talk, at = self._of(note, part), note.at + timedelta(seconds=round(start_s))
            if cut and is_last:
                talk.keep(heard, source="phone", at=at)
            else:
                talk.hear(heard, source="phone", at=at, unheard=note.unheard)
        self._book.finish_memo(
            recording.sha256,
            str(note.sound),
            self._clock(),
            sound=recording.sound,
            shape=recording.shape,
        )
        receipt = self._receipt(note)
        return receipt if receipt["said"] else {**receipt, "told": "I heard nobody speak."}

    def _heard(self, recording: Recording, note: Note) -> Iterator[Transcript]:
        self._recogniser.learn(self._of(note).names())
        return hear_memo(recording, self._recogniser, self._talk.is_unfinished)

    def _unreadable(self, note: Note) -> Receipt:
        """Keep a recording that cannot be read for people to listen to: something was said."""
        assert note.sound is not None
        if not self._book.delivered(note.name):
            sha256 = hashlib.sha256(note.sound.read_bytes()).hexdigest()
            span = AudioSpan(note.sound.name, sha256, 0.0, note.length_s or 0.0)
            self._of(note).keep(
                Transcript(text="", confidence=0.0, recogniser="none", audio=span),
                source="phone",
                told="That recording cannot be read; its sound is kept. Say it again",
                at=note.at,
            )
        return self._receipt(note)

    # What waits for review.

    def _words(self, note: Note, *, unreadable: bool) -> Transcript:
        if note.text is not None:
            return typed(note.text)
        recording = None if unreadable else _read(note)
        if recording is None:
            return Transcript(text="")
        heard = list(self._heard(recording, note))
        return replace(heard[0], text=" ".join(one.text for one in heard)) if heard else typed("")

    def _settled(self, note: Note, heard: Transcript) -> Receipt:
        """Take words as what something kept was; what is not understood leaves it waiting."""
        if self._book.delivered(note.name):
            return self._receipt(note)
        kept = next((one for one in self._book.kept() if one.id == note.settles), None)
        if kept is None:
            return self._receipt(note, "That is settled already.")
        talk = self._of(note)
        command = talk.commanded(replace(heard, fit=None)) if heard.text else None
        match command.do if command is not None else None:
            case "throw_away":
                talk.drop(kept)
            case "as_remark" if kept.text:
                talk.keep_as_remark(kept)
            case _:
                reply = talk.review(kept, heard, source="phone")
                if not self._book.delivered(note.name):
                    return self._receipt(note, _left_waiting(reply))
        return self._receipt(note)


def _talk_of(phone: str) -> str:
    return f"phone {phone}"


def _read(note: Note) -> Recording | None:
    assert note.sound is not None
    try:
        return read_audio(note.sound, longest_s=LONGEST_S)
    except UnreadableAudioError:
        return None


def _is_cut(recording: Recording, note: Note) -> bool:
    short = note.length_s is not None and recording.duration_s < note.length_s - _LOST_S
    return note.cut or recording.cut_off or short


def _with_last(heard: Iterable[Transcript]) -> Iterator[tuple[Transcript, bool]]:
    """Yield each with whether it is the last."""
    before = None
    for one in heard:
        if before is not None:
            yield before, False
        before = one
    if before is not None:
        yield before, True


def _left_waiting(reply: Reply) -> str:
    if reply.outcome == "asked":
        return f"{reply.text} Say the whole of it."
    return "I didn't get that; it still waits. Say the whole of it."
