"""``fieldvoice history``: every note as it was written, those put right and taken back included."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from fieldvoice.cli.options import book_option, clock_of, examples, json_option, now_option
from fieldvoice.harmless import harmless

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.book.history import Written
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

    nothing = True
    with conversation(book, clock_of(now)) as desk:
        for note in _notes(desk, " ".join(what), last):
            nothing = False
            if as_json:
                show_json(_fields(note))
            else:
                click.echo(harmless(_line(note)))
    if nothing and not as_json:
        click.echo("No notes.")
    return 0


def _notes(desk: AppContext, what: str, last: int | None) -> Iterator[Written]:
    from fieldvoice.book.history import written
    from fieldvoice.dialogue.answers.said import about

    if not what:
        return written(desk.book, last=last)
    names = desk.book.season().names
    named = names.numbered(_named(desk, what))
    return written(
        desk.book,
        tree=named.get("tree"),
        vessel=named.get("vessel"),
        keep=lambda note: about(note, named, names),
        last=last,
    )


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


def _line(note: Written) -> str:
    from fieldvoice.dialogue.readback import told
    from fieldvoice.nlg.written import written

    entry = note.entry
    gone = "" if note.taken_back is None else f"  taken back: {note.taken_back!r}"
    learnt = "" if note.wording is None else "  by a learnt wording"
    return f"{entry.id:<5} {entry.at:%Y-%m-%d %H:%M}  {written((told(entry.act),))}{learnt}{gone}"


def _fields(note: Written) -> dict[str, Any]:
    entry = note.entry
    fields: dict[str, Any] = {
        "record": entry.id,
        "at": entry.at.isoformat(),
        "meaning": entry.act.json_fields(),
        "utterance": entry.utterance_id,
        "heard": note.heard,
    }
    if note.wording is not None:
        fields["wording"] = note.wording
    if entry.voided_by is not None:
        fields["taken_back_by"] = entry.voided_by
    return fields
