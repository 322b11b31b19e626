"""``fieldvoice review``: what was kept because it was not understood, and putting it right."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, clock_of, json_option, now_option

if TYPE_CHECKING:
    from datetime import datetime
    from typing import Any

    from fieldvoice.book import Utterance
    from fieldvoice.cli.playback import Sounds
    from fieldvoice.dialogue import Conversation


@click.command("review")
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
    r"""Go through what was not understood, with its sound, or say what UTTERANCE was.

    \b
    fieldvoice review
    fieldvoice review --aloud
    fieldvoice review u12 tree nine half full
    fieldvoice review u12 --drop
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
        if drop:
            show(desk.conversation.drop(kept), as_json=as_json)
        else:
            show(desk.conversation.review(kept, said), as_json=as_json)
    return 0


def _list(talk: Conversation, kept: list[Utterance], sounds: Sounds, as_json: bool) -> int:
    from fieldvoice.cli.show import show_json

    if as_json:
        for one in kept:
            show_json(_fields(one))
    elif not kept:
        click.echo("Nothing waits for review.")
    elif sys.stdin.isatty() and sys.stdout.isatty():
        _one_by_one(talk, kept, sounds)
    else:
        for one in kept:
            click.echo(_line(one))
    return 0


_HOW = """\
Type what it was. Enter leaves it for later. "drop" drops it, "note" keeps the words as a remark,
"again" plays the sound again, Ctrl-C ends."""


def _one_by_one(talk: Conversation, kept: list[Utterance], sounds: Sounds) -> None:
    """Show, play and ask about each, until it is settled or left for later."""
    click.echo(f"{len(kept)} to review. {_HOW}")
    for number, one in enumerate(kept, start=1):
        _introduce(one, f"{number} of {len(kept)}", sounds)
        try:
            _settle(talk, one, sounds)
        except (click.Abort, EOFError):
            click.echo()
            return


def _introduce(kept: Utterance, place: str, sounds: Sounds) -> None:
    from fieldvoice.cli.show import show_line

    click.echo(f"\n{place}  {kept.id}  {kept.at:%Y-%m-%d %H:%M}")
    show_line("heard", kept.text or "(no words)")
    if kept.outcome == "asked":
        show_line("asks", kept.reply)
    if kept.audio is not None:
        show_line("sound", sounds.play(kept.audio))


def _settle(talk: Conversation, kept: Utterance, sounds: Sounds) -> None:
    from fieldvoice.cli.show import show_line, show_typed

    pending = None
    while said := click.prompt(
        "it was", default="", show_default=False, prompt_suffix="> "
    ).strip():
        if said == "again":
            heard = kept.audio
            show_line("sound", sounds.play(heard) if heard else "There is no sound; it was typed.")
            continue
        if said == "drop":
            reply = talk.drop(kept)
        elif said == "note":
            reply = talk.review(kept, f"make a note {kept.text}")
        else:
            reply = talk.review(kept, said, pending)
        show_typed(reply)
        if reply.outcome not in ("asked", "kept"):
            return
        pending = reply.pending


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
