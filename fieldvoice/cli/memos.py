"""``fieldvoice memos``: recorded memos become records."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fieldvoice.cli.faults import UNREADABLE, complain, say_aside
from fieldvoice.cli.options import book_option, clock_of, engine_option, json_option, now_option
from fieldvoice.errors import UnreadableAudioError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.asr import Recogniser, Recording
    from fieldvoice.cli.app import AppContext
    from fieldvoice.cli.recognisers import Engine


@click.command("memos")
@click.argument("paths", nargs=-1, required=True, type=click.Path())
@engine_option
@json_option
@book_option
@now_option
@click.option("--dry-run", is_flag=True, help="Hear and understand, but save nothing.")
def command(
    paths: tuple[str, ...],
    engine: Engine,
    as_json: bool,
    book: Path | None,
    now: datetime | None,
    dry_run: bool,
) -> int:
    r"""Hear recorded memos: files, or folders of them.

    \b
    fieldvoice memos ~/recordings
    fieldvoice memos monday.m4a tuesday.m4a --dry-run
    """
    from fieldvoice.cli.app import conversation
    from fieldvoice.cli.recognisers import ears, sound_of_words, tell_of_second

    status = 0
    with conversation(book, clock_of(now), dry_run=dry_run, phones=sound_of_words) as desk:
        recogniser: Recogniser | None = None
        for path in recordings(paths):
            try:
                recording = _opened(path)
            except UnreadableAudioError as error:
                complain(str(error))
                status = UNREADABLE
                continue
            if desk.book.memo_taken(recording.sha256):
                say_aside(f"{recording.name}: already in the book; not taken twice.")
                continue
            if recogniser is None:
                tell_of_second(engine)
                recogniser = ears(desk.grammar, engine)
            take(recording, desk, recogniser, as_json=as_json, place=path)
    return status


def take(
    recording: Recording,
    desk: AppContext,
    recogniser: Recogniser,
    *,
    as_json: bool,
    place: Path | None = None,
) -> None:
    """Handle each utterance of a recording that the book does not have yet, and show the reply.

    The book keeps ``place``, where the recording lies, so that the review can play it.
    """
    from fieldvoice.asr import hear_memo
    from fieldvoice.cli.show import show

    known = desk.book.heard_spans(recording.sha256)
    heard_any = False
    recogniser.learn(desk.conversation.names())
    for heard in hear_memo(recording, recogniser):
        heard_any = True
        if heard.audio is not None and round(heard.audio.start_s * 1000) in known:
            continue
        show(desk.conversation.hear(heard, source="memo"), as_json=as_json)
        recogniser.learn(desk.conversation.names())
    if not heard_any:
        say_aside(f"{recording.name}: nobody speaks in it.")
    name = recording.name if place is None else str(place.resolve())
    desk.book.finish_memo(recording.sha256, name, desk.clock())


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


def _opened(path: Path) -> Recording:
    from fieldvoice.asr import read_audio

    return read_audio(path)
