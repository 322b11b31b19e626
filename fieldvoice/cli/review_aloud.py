"""``fieldvoice review --aloud``: the review by voice, with the live loop."""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING

import click

from fieldvoice.book.backups import sound_of
from fieldvoice.cli.listen import Choices, Lasting, alone_at, far_ear, live
from fieldvoice.cli.options import clock_of
from fieldvoice.nlg.spoken import spoken
from fieldvoice.nlg.written import written

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

#: The folder in that of a book's recordings where the review's own are. Those of ``listen`` that
#: the book does not know are taken up at its next start; what was said here is answered here.
_FOLDER = "review"
#: Room for them: they are of use only while the note that came of one is in doubt.
_ROOM_MB = 50.0
#: Somebody who listens to a recording and looks back thinks for longer than at a tree.
_PAUSE_S = 1.0
#: A loudspeaker may still hold so much of the last words when all have been handed to it.
_LAST_WORDS_S = 2.0
_HOW = 'Say what it was; or "skip this one", "throw it away", "stop the review".'


def review_aloud(
    book: Path | None,
    now: datetime | None,
    folders: tuple[Path, ...],
    microphone: str | None,
    speaker: str | None,
    voice: str | None,
    *,
    as_json: bool,
    states: bool = False,
) -> None:
    """Go through what was kept by voice, until the last one or until the user ends it."""
    from fieldvoice.cli.app import conversation, default_book
    from fieldvoice.cli.playback import Sounds
    from fieldvoice.cli.recognisers import sound_of_words
    from fieldvoice.cli.settings_file import read_live_settings
    from fieldvoice.live import BookDialogue, Recorder, ReviewTalk, SaidAt

    clock, path = SaidAt(clock_of(now)), book or default_book()
    usual = read_live_settings(path.with_suffix(".toml"))
    settings = replace(
        usual,
        listening="open",
        pause_s=max(_PAUSE_S, usual.pause_s),
        microphone=microphone or usual.microphone,
        loudspeaker=speaker or usual.loudspeaker,
        voice=voice or usual.voice,
    )
    chosen = Choices(settings, as_json=as_json, states=states)
    with conversation(path, clock, phones=sound_of_words) as desk:
        waiting = desk.book.kept()
        if not waiting:
            click.echo("Nothing waits for review.")
            return
        sounds = Sounds(desk.book, path.parent, folders)
        talk = ReviewTalk(desk.conversation, waiting, clock, sounds.words)
        tape = Recorder(sound_of(path) / _FOLDER, _ROOM_MB)
        with alone_at(path), far_ear(chosen) as ear:
            ear.names = desk.conversation.names
            lasting = Lasting(path.with_suffix(".toml"), chosen, ear)
            with live(lasting, desk, tape, talk, ear, lambda: _HOW) as ready, ready.screen:
                told, sound = talk.opening()
                ready.screen.aside(written(told))
                ready.mouth.say(spoken(told))
                if sound is not None:
                    ready.mouth.play(sound)
                ready.until(lambda: talk.finished)
                time.sleep(_LAST_WORDS_S)
        tape.make_room(BookDialogue(desk.conversation, desk.book, clock).needed_sounds())
