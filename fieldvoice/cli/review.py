"""``fieldvoice review``: what was kept because it was not understood, and putting it right."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

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
        _one_by_one(talk, kept, sounds)
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
    'the sound again), "stop". Enter skips too.'
)

#: Shorter words for the same.
_SHORT = {"drop": "throw it away", "note": "keep it as a remark", "again": "say it again"}


def _one_by_one(talk: Conversation, kept: list[Utterance], sounds: Sounds) -> None:
    """Show, play and ask about each, until it is settled or left for later."""
    from fieldvoice.dialogue.waiting import counted
    from fieldvoice.nlg.written import written

    click.echo(indented(f"{written((counted(kept),))} {_HOW}", 0))
    for number, one in enumerate(kept, start=1):
        _introduce(one, f"{number} of {len(kept)}", sounds)
        try:
            goes_on = _settle(talk, one, sounds)
        except (click.Abort, EOFError):
            click.echo()
            return
        if not goes_on:
            return


def _introduce(kept: Utterance, place: str, sounds: Sounds) -> None:
    from fieldvoice.cli.show import show_line

    click.echo(f"\n{place}  {kept.id}  {kept.at:%Y-%m-%d %H:%M}")
    show_line("heard", kept.text or "(no words)")
    if kept.outcome == "asked":
        show_line("asks", kept.reply)
    if kept.audio is not None:
        show_line("sound", sounds.play(kept.audio))


def _settle(talk: Conversation, kept: Utterance, sounds: Sounds) -> bool:
    """Ask what was kept was until it is settled or left; return whether the review goes on."""
    from fieldvoice.cli.show import show_line, show_typed

    pending = None
    while said := click.prompt(
        "it was", default="", show_default=False, prompt_suffix="> "
    ).strip():
        match _command(talk, said):
            case "next":
                return True
            case "stop":
                return False
            case "repeat":
                heard = kept.audio
                there_is = sounds.play(heard) if heard else "There is no sound; it was typed."
                show_line("sound", there_is)
                continue
            case "help":
                click.echo(indented(_HOW, 0))
                continue
        reply = _settled(talk, kept, said, pending)
        if reply is None:
            return True
        show_typed(reply)
        if reply.outcome not in ("asked", "kept"):
            return True
        pending = reply.pending
    return True


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
