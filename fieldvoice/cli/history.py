"""``fieldvoice history``: every note as it was written, those put right and taken back included."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from fieldvoice.cli.options import book_option, clock_of, examples, json_option, now_option
from fieldvoice.harmless import harmless

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.book import Entry, Utterance
    from fieldvoice.cli.app import AppContext


@click.command(
    "history",
    epilog=examples(
        "fieldvoice history",
        "fieldvoice history tree 9",
        "fieldvoice history tank two --last 10",
    ),
)
@click.argument("what", nargs=-1)
@click.option("--last", type=click.IntRange(min=1), help="Only so many, the newest.")
@json_option
@book_option
@now_option
def command(
    what: tuple[str, ...], last: int | None, as_json: bool, book: Path | None, now: datetime | None
) -> int:
    """List the notes, the oldest first.

    Of WHAT alone, if a tree or vessel is named.
    """
    from fieldvoice.cli.app import conversation
    from fieldvoice.cli.show import show_json

    with conversation(book, clock_of(now)) as desk:
        notes = _notes(desk, " ".join(what))
        said = {one.id: one for one in desk.book.utterances()}
        by_wording = desk.book.read_by_wordings()
        for note in notes[-last:] if last else notes:
            if as_json:
                show_json(_fields(note, said, by_wording))
            else:
                click.echo(harmless(_line(note, said, by_wording)))
        if not notes and not as_json:
            click.echo("No notes.")
    return 0


def _notes(desk: AppContext, what: str) -> list[Entry]:
    from fieldvoice.dialogue.answers.said import about

    everything = sorted(desk.book.entries(include_void=True), key=lambda note: note.at)
    if not what:
        return everything
    named = _named(desk, what)
    season = desk.book.season()
    return [note for note in everything if about(note, named, season.names)]


def _named(desk: AppContext, what: str) -> dict[str, Any]:
    """Return the tree or vessel that ``what`` names."""
    from fieldvoice.schema import EntityMention
    from fieldvoice.transcript import typed

    words = typed(f"tree {what}" if what.isdigit() else what)
    for reading in desk.understander.read(words, names=desk.conversation.names()):
        for meaning in reading.meanings:
            if isinstance(meaning, EntityMention) and meaning.mention.keys() & {"tree", "vessel"}:
                return dict(meaning.mention)
    raise click.UsageError(f"{what!r} names no tree or vessel. Try: fieldvoice history tree 9")


def _line(note: Entry, said: dict[str, Utterance], by_wording: dict[str, str]) -> str:
    from fieldvoice.dialogue.readback import told
    from fieldvoice.nlg.written import written

    gone = ""
    if note.voided_by is not None:
        by = said[note.voided_by]
        gone = f"  taken back: {by.text!r}"
    learnt = "  by a learnt wording" if note.utterance_id in by_wording else ""
    return f"{note.id:<5} {note.at:%Y-%m-%d %H:%M}  {written((told(note.act),))}{learnt}{gone}"


def _fields(note: Entry, said: dict[str, Utterance], by_wording: dict[str, str]) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "record": note.id,
        "at": note.at.isoformat(),
        "meaning": note.act.json_fields(),
        "utterance": note.utterance_id,
        "heard": said[note.utterance_id].text,
    }
    if note.utterance_id in by_wording:
        fields["wording"] = by_wording[note.utterance_id]
    if note.voided_by is not None:
        fields["taken_back_by"] = note.voided_by
    return fields
