"""``fieldvoice review``: what was kept because it was not understood, and putting it right."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.faults import say_aside
from fieldvoice.cli.options import book_option, clock_of, examples, json_option, now_option
from fieldvoice.cli.terminal import indented

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from typing import Any

    from fieldvoice.book import Utterance
    from fieldvoice.cli.playback import Sounds
    from fieldvoice.dialogue import Conversation
    from fieldvoice.reply import Reply


@click.command(
    "review",
    epilog=examples(
        "fieldvoice review",
        "fieldvoice review --aloud",
        "fieldvoice review u12 tree nine half full",
        "fieldvoice review u12 --drop",
    ),
)
@click.argument("utterance", required=False)
@click.argument("text", nargs=-1)
@click.option("--drop", is_flag=True, help="Drop UTTERANCE: it was no note.")
@click.option(
    "--from",
    "folders",
    multiple=True,
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="Look for the recordings in this folder too.",
)
@click.option("--aloud", is_flag=True, help="By voice: each is played, and said anew.")
@click.option("--microphone", help="With --aloud: a part of the microphone's name.")
@click.option("--speaker", help="With --aloud: a part of the loudspeaker's name.")
@click.option("--voice", help="With --aloud: the voice to speak with, hibari or pico.")
@click.option("--states", is_flag=True, help="With --aloud --json: also tell when it listens.")
@json_option
@book_option
@now_option
def command(
    utterance: str | None,
    text: tuple[str, ...],
    drop: bool,
    folders: tuple[Path, ...],
    aloud: bool,
    microphone: str | None,
    speaker: str | None,
    voice: str | None,
    states: bool,
    as_json: bool,
    book: Path | None,
    now: datetime | None,
) -> int:
    """Go through what was not understood, with its sound.

    With UTTERANCE and TEXT: say what that one was.
    """
    from fieldvoice.cli.app import conversation, default_book
    from fieldvoice.cli.playback import Sounds
    from fieldvoice.cli.show import show

    if aloud:
        if utterance is not None:
            raise click.UsageError("With --aloud everything that waits is gone through.")
        from fieldvoice.cli.review_aloud import review_aloud

        review_aloud(book, now, folders, microphone, speaker, voice, as_json=as_json, states=states)
        return 0
    said = " ".join(text).strip()
    if drop and (said or utterance is None):
        raise click.UsageError("Name what to drop: fieldvoice review u12 --drop")
    if utterance is not None and not drop and not said:
        raise click.UsageError(
            f"Say what it was: fieldvoice review {utterance} tree nine half full"
        )
    with conversation(book, clock_of(now)) as desk:
        if utterance is None:
            sounds = Sounds(desk.book, (book or default_book()).parent, folders)
            return _list(desk.conversation, desk.book.kept(), sounds, as_json)
        kept = desk.book.utterance(utterance)
        reply = desk.conversation.drop(kept) if drop else _settled(desk.conversation, kept, said)
        if reply is None:
            click.echo("Left for later.", err=as_json)
        else:
            show(reply, as_json=as_json)
            if reply.outcome == "asked":
                say_aside("To answer, tell the whole of it, or go through all: fieldvoice review")
    return 0


def _list(talk: Conversation, waiting: list[Utterance], sounds: Sounds, as_json: bool) -> int:
    from fieldvoice.cli.show import show_json
    from fieldvoice.dialogue.waiting import is_note, notes_first

    kept = notes_first(waiting)
    if as_json:
        for one in kept:
            show_json(_fields(one))
    elif not kept:
        click.echo("Nothing waits for review.")
    elif sys.stdin.isatty() and sys.stdout.isatty():
        _OneByOne(talk, kept, sounds).run()
    else:
        notes = [one for one in kept if is_note(one)]
        for one in notes:
            click.echo(_line(one))
        if len(notes) < len(kept):
            click.echo("Questions that were not understood:")
        for one in kept[len(notes) :]:
            click.echo(_line(one))
    return 0


_HOW = (
    'Type what it was, or "skip", "throw it away", "keep it as a remark", "say it again" (plays '
    'the sound again), "scratch that" (takes back the last), "stop". Enter skips too.'
)

#: Shorter words for the same.
_SHORT = {"drop": "throw it away", "note": "keep it as a remark", "again": "say it again"}


class _OneByOne:
    """Shows, plays and asks about each of ``kept``, until it is settled or left for later."""

    def __init__(self, talk: Conversation, kept: list[Utterance], sounds: Sounds) -> None:
        self._talk, self._kept, self._sounds = talk, kept, sounds
        self._at = 0
        self._pending: Mapping[str, Any] | None = None
        self._can_undo = False

    def run(self) -> None:
        """Go through them, until the last, "stop", Ctrl-C or Ctrl-D."""
        from fieldvoice.dialogue.waiting import counted
        from fieldvoice.nlg.written import written

        click.echo(indented(f"{written((counted(self._kept),))} {_HOW}", 0))
        introduced = None
        while self._at < len(self._kept):
            if self._at != introduced:
                introduced = self._at
                _introduce(self._one, f"{introduced + 1} of {len(self._kept)}", self._sounds)
            try:
                said = click.prompt(
                    "it was", default="", show_default=False, prompt_suffix="> "
                ).strip()
            except (click.Abort, EOFError):
                click.echo()
                return
            self._hear(said)

    @property
    def _one(self) -> Utterance:
        return self._kept[self._at]

    def _hear(self, said: str) -> None:
        from fieldvoice.cli.show import show_line

        match _command(self._talk, said) if said else "next":
            case "next":
                self._go_on()
            case "stop":
                self._at = len(self._kept)
            case "repeat":
                heard = self._one.audio
                there_is = self._sounds.play(heard) if heard else "There is no sound; it was typed."
                show_line("sound", there_is)
            case "help":
                click.echo(indented(_HOW, 0))
            case "deny" | "undo" if self._pending is not None:
                self._pending = None
                show_line("reply", "Then say what it was.")
            case "undo":
                self._undo(said)
            case _:
                self._settle(said)

    def _settle(self, said: str) -> None:
        from fieldvoice.cli.show import show_typed

        reply = _settled(self._talk, self._one, said, self._pending)
        if reply is None:
            return self._go_on()
        show_typed(reply)
        self._pending = reply.pending
        if reply.outcome not in ("asked", "kept"):
            self._go_on(can_undo=bool(reply.records))
        return None

    def _undo(self, said: str) -> None:
        """Take back what was settled last, and go back to it."""
        from fieldvoice.cli.show import show_line, show_typed
        from fieldvoice.transcript import typed

        if not self._can_undo:
            return show_line("reply", "Nothing to take back in this review.")
        show_typed(self._talk.hear(typed(said)))
        self._at -= 1
        self._can_undo = False
        return None

    def _go_on(self, *, can_undo: bool = False) -> None:
        self._at += 1
        self._pending, self._can_undo = None, can_undo


def _introduce(kept: Utterance, place: str, sounds: Sounds) -> None:
    from fieldvoice.cli.show import show_line

    click.echo(f"\n{place}  {kept.id}  {kept.at:%Y-%m-%d %H:%M}")
    show_line("heard", kept.text or "(no words)")
    if kept.outcome == "asked":
        show_line("asks", kept.reply)
    if kept.audio is not None:
        show_line("sound", sounds.play(kept.audio))


def _settled(
    talk: Conversation, kept: Utterance, said: str, pending: Mapping[str, Any] | None = None
) -> Reply | None:
    """Return what comes of ``said`` about what was kept; None where it is left for later."""
    match _command(talk, said):
        case "throw_away":
            return talk.drop(kept)
        case "as_remark":
            return talk.keep_as_remark(kept)
        case "next":
            return None
    return talk.review(kept, said, pending)


def _command(talk: Conversation, said: str) -> str | None:
    from fieldvoice.transcript import typed

    command = talk.commanded(typed(_SHORT.get(said, said)))
    return None if command is None else command.do


def _line(kept: Utterance) -> str:
    where = ""
    if kept.audio is not None:
        where = f"  [{kept.audio.file} {kept.audio.start_s:.1f}-{kept.audio.end_s:.1f} s]"
    asked = f"  (asked: {kept.reply})" if kept.outcome == "asked" else ""
    return f"{kept.id}  {kept.at:%Y-%m-%d %H:%M}  {kept.text}{asked}{where}"


def _fields(kept: Utterance) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "utterance": kept.id,
        "at": kept.at.isoformat(),
        "heard": kept.text,
        "outcome": kept.outcome,
        "reply": kept.reply,
        "meanings": list(kept.meanings),
    }
    if kept.audio is not None:
        fields["audio"] = {
            "file": kept.audio.file,
            "start_s": round(kept.audio.start_s, 2),
            "end_s": round(kept.audio.end_s, 2),
        }
    return fields
