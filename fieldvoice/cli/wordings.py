"""``fieldvoice wordings``: the ways of saying things that this book has learnt."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from fieldvoice.cli.options import book_option, clock_of, examples, json_option, now_option

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.book import LearntWording


@click.command(
    "wordings",
    epilog=examples(
        "fieldvoice wordings",
        "fieldvoice wordings --forget w3",
    ),
)
@click.option("--forget", metavar="N", help="Ask about this wording again; its notes stay.")
@json_option
@book_option
@now_option
def command(forget: str | None, as_json: bool, book: Path | None, now: datetime | None) -> int:
    """List the wordings learnt, or have one forgotten.

    A yes to a note that was put to you, or a kept note told anew in the review, teaches how it was
    said: from then on the same words with other numbers are saved at once.
    """
    from fieldvoice.cli.app import conversation
    from fieldvoice.cli.show import show_json

    with conversation(book, clock_of(now)) as desk:
        if forget is not None:
            reply = desk.conversation.forget(forget if forget.startswith("w") else f"w{forget}")
            if not as_json:
                click.echo(reply.text)
                return 0
        wordings = desk.book.wordings()
        for wording in wordings:
            if as_json:
                show_json(_fields(wording))
            else:
                click.echo(_line(wording))
        if not wordings and not as_json:
            click.echo("No wordings have been learnt.")
    return 0


def _line(wording: LearntWording) -> str:
    why_not = "  taken back with its note" if wording.taken_back else ""
    why_not = "  forgotten" if wording.forgotten_by is not None else why_not
    makes = ", ".join(str(fields["act"]) for fields in wording.shape)
    return f"{wording.id:<4} {wording.at:%Y-%m-%d}  {wording.masked}  ({makes}){why_not}"


def _fields(wording: LearntWording) -> dict[str, Any]:
    return {
        "wording": wording.id,
        "at": wording.at.isoformat(),
        "heard": wording.said,
        "masked": wording.masked,
        "shape": list(wording.shape),
        "utterance": wording.utterance_id,
        "settled_by": wording.settled_by,
        "used_by": wording.used_by,
        "forgotten": wording.forgotten_by is not None,
        "taken_back": wording.taken_back,
        "counts": wording.counts,
    }
