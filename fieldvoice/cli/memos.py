"""``fieldvoice memos``: recorded memos become records."""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.faults import UNREADABLE, complain, say_aside
from fieldvoice.cli.options import (
    Moment,
    OfFiles,
    book_option,
    clock_of,
    conversation_option,
    engine_option,
    examples,
    json_option,
    now_option,
)
from fieldvoice.errors import UnreadableAudioError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.asr import Recogniser, Recording
    from fieldvoice.cli.app import AppContext
    from fieldvoice.cli.recognisers import Engine
    from fieldvoice.dialogue import Conversation
    from fieldvoice.transcript import Transcript

#: A file that was written to less than so many seconds ago may still be on its way.
_STILL_S = 2.0
#: Recordings longer than this are summed up at their end, in seconds.
_LONG_S = 300.0


@click.command(
    "memos",
    cls=OfFiles,
    epilog=examples(
        "fieldvoice memos ~/recordings",
        "fieldvoice memos monday.m4a tuesday.m4a --dry-run",
    ),
)
@click.argument("paths", nargs=-1, required=True, type=click.Path(readable=False))
@engine_option
@json_option
@book_option
@now_option
@conversation_option
@click.option("--dry-run", is_flag=True, help="Hear and understand, but save nothing.")
@click.option("--spoken", type=Moment(), help="When they were begun, where they do not tell.")
@click.option("--cut-off", is_flag=True, help="Take those too that break off in the middle.")
def command(
    paths: tuple[str, ...],
    engine: Engine,
    as_json: bool,
    book: Path | None,
    now: datetime | None,
    conversation: str | None,
    dry_run: bool,
    spoken: datetime | None,
    cut_off: bool,
) -> int:
    """Hear recorded memos: files, or folders of them.

    A note is of the time when it was spoken: by the recording's tag, its name, or its file. Each
    recording is taken once; one that is still being copied is left for the next time.
    """
    from fieldvoice.cli.app import conversation as talk
    from fieldvoice.cli.recognisers import ears, sound_of_words, tell_of_second

    status = 0
    clock = clock_of(now)
    with talk(book, clock, dry_run=dry_run, phones=sound_of_words) as desk:
        recogniser: Recogniser | None = None
        for path in recordings(paths):
            memo = Memo(path, desk, conversation)
            try:
                if not memo.open(spoken, fixed=now is not None, cut_off=cut_off):
                    continue
            except UnreadableAudioError as error:
                complain(str(error))
                status = UNREADABLE
                continue
            if recogniser is None:
                tell_of_second(engine)
                recogniser = ears(desk.grammar, engine)
            memo.take(recogniser, as_json=as_json)
    return status


@dataclass(slots=True)
class Memo:
    """One recording on its way into the book; ``place`` is where it lies."""

    place: Path
    desk: AppContext
    conversation: str | None = None
    recording: Recording | None = None
    spoken: datetime | None = None
    double_of: str | None = None
    outcomes: Counter[str] = field(default_factory=Counter)

    def open(self, spoken: datetime | None, *, fixed: bool, cut_off: bool) -> bool:
        """Read it, and find out when it was spoken; return whether it is still to be taken.

        Raises:
            UnreadableAudioError: it cannot be read, is not all there yet, or says two times.
        """
        from fieldvoice.asr import read_audio
        from fieldvoice.harmless import harmless

        name = harmless(self.place.name)
        before = _settled(self.place)
        self.recording = recording = read_audio(self.place)
        if self.desk.book.memo_taken(recording.sha256, recording.sound):
            say_aside(f"{name}: already in the book; not taken twice.")
            return False
        if before != _state(self.place):
            raise UnreadableAudioError(f"{name}: still being copied; left for the next time")
        if recording.cut_off and not cut_off:
            raise UnreadableAudioError(
                f"{name}: its end is missing; left for the next time "
                "(--cut-off takes what is there)"
            )
        self.spoken = spoken or self._spoken(fixed=fixed)
        self.double_of = self.desk.book.memo_like(recording.shape)
        return True

    def _spoken(self, *, fixed: bool) -> datetime | None:
        from fieldvoice.asr.spoken_at import spoken_at

        assert self.recording is not None
        recording, now = self.recording, self.desk.clock()
        found = spoken_at(self.place, recording.tags, recording.duration_s, now, fixed=fixed)
        if found is None:
            return None
        if found.but is not None:
            raise UnreadableAudioError(
                f"{recording.name}: {found.but}; say when it was begun: --spoken 2027-03-10T08:15"
            )
        say_aside(f"{recording.name}: spoken {found.at:%Y-%m-%d %H:%M}, by {found.by}.")
        return found.at

    def take(self, recogniser: Recogniser, *, as_json: bool) -> None:
        """Handle each utterance that the book does not have yet, and show the reply.

        The book keeps where the recording lies, so that the review can play it.
        """
        from fieldvoice.cli.hearing import heard_in, nobody_in
        from fieldvoice.harmless import harmless

        assert self.recording is not None
        recording, book = self.recording, self.desk.book
        folder = harmless(str(self.place.resolve().parent))
        talk = self.desk.conversation.named(self.conversation or f"memos {folder}")
        known = book.heard_spans(recording.sha256)
        recogniser.learn(talk.names())
        for heard in heard_in(recording, recogniser, talk.is_unfinished):
            self.outcomes["heard"] += 1
            if heard.audio is not None and round(heard.audio.start_s * 1000) in known:
                continue
            self._handle(heard, talk, as_json=as_json)
            recogniser.learn(talk.names())
        if not self.outcomes["heard"]:
            say_aside(nobody_in(recording))
        elif recording.duration_s > _LONG_S:
            say_aside(f"{recording.name}: {self._summary()}.")
        place = harmless(str(self.place.resolve()))
        book.finish_memo(
            recording.sha256, place, self.desk.clock(), sound=recording.sound, shape=recording.shape
        )

    def _handle(self, heard: Transcript, talk: Conversation, *, as_json: bool) -> None:
        from fieldvoice.cli.show import show

        start_s = heard.audio.start_s if heard.audio else 0.0
        at = self.spoken + timedelta(seconds=round(start_s)) if self.spoken else None
        if self.double_of is not None:
            told = f"That sounds like {self.double_of}, which is in the book; kept for review"
            reply = talk.keep(heard, source="memo", told=told, at=at)
        else:
            reply = talk.hear(heard, source="memo", at=at)
        self.outcomes[reply.outcome] += 1
        show(reply, as_json=as_json)

    def _summary(self) -> str:
        counts = [f"{self.outcomes[kind]} {kind}" for kind in ("heard", "saved", "answered",
                  "done", "asked", "kept") if self.outcomes[kind]]  # fmt: skip
        return ", ".join(counts)


def recordings(paths: tuple[str, ...]) -> Iterator[Path]:
    """Yield the files named, and the recordings in folders named, in order of name."""
    from pathlib import Path

    from fieldvoice.asr.audio import AUDIO_SUFFIXES

    for path in map(Path, paths):
        if not path.is_dir():
            yield path
            continue
        found = sorted(one for one in path.rglob("*") if one.suffix.lower() in AUDIO_SUFFIXES)
        if not found:
            say_aside(f"{path}: no recordings in this folder.")
        yield from found


def _state(path: Path) -> tuple[int, int] | None:
    """Return what changes of a file while it is written to."""
    try:
        now = path.stat()
    except OSError:
        return None
    return now.st_size, now.st_mtime_ns


def _settled(path: Path) -> tuple[int, int] | None:
    """Return the state of a file, after a moment if it was written to just now."""
    before = _state(path)
    age = _STILL_S if before is None else time.time() - before[1] / 1e9
    if 0 <= age < _STILL_S and path.is_file():
        time.sleep(_STILL_S - age)
    return before
