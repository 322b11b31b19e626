"""``fieldvoice why``: the reasoning and the source behind the last answer."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, examples, json_option

if TYPE_CHECKING:
    from pathlib import Path

    from fieldvoice.rules.finding import Finding

#: So far back one looks for an answer.
_LOOK_BACK = 12


@click.command(
    "why",
    epilog=examples(
        "fieldvoice why",
    ),
)
@json_option
@book_option
def command(as_json: bool, book: Path | None) -> int:
    """Tell why the last thing was said, and the source."""
    from fieldvoice.book import Book
    from fieldvoice.cli.app import default_book
    from fieldvoice.cli.options import own_conversation
    from fieldvoice.dialogue import reasons

    with Book.in_memory_copy(book or default_book()) as opened:
        meant = reasons.utterance_in_question(
            opened.in_conversation(own_conversation()).utterances(_LOOK_BACK)
        )
    found = () if meant is None else reasons.reasons(meant)
    if as_json:
        heard, reply = ("", "") if meant is None else (meant.text, meant.reply)
        told = {"heard": heard, "reply": reply, "reasons": reasons.as_fields(found)}
        click.echo(json.dumps(told, ensure_ascii=False))
    elif meant is None:
        click.echo("Nothing has been said yet.")
    else:
        click.echo(f"{meant.text}\n{meant.reply}\n")
        click.echo("\n".join(map(_told, found)) or reasons.WITHOUT_A_RULE[meant.outcome])
    return 0


def _told(finding: Finding) -> str:
    sure = "" if finding.certainty == finding.source else f", {finding.certainty}"
    return f"{finding.rule}: {finding.why}\n  Source: {finding.source}{sure}."
