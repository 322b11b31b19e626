"""``fieldvoice say``: typed utterances, handled exactly as spoken ones."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.faults import UNREADABLE, complain
from fieldvoice.cli.options import (
    book_option,
    clock_of,
    conversation_option,
    json_option,
    now_option,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path


@click.command("say")
@click.argument("text", nargs=-1)
@click.option("--stdin", "from_stdin", is_flag=True, help="Take one utterance a line from stdin.")
@json_option
@book_option
@now_option
@conversation_option
def command(
    text: tuple[str, ...],
    from_stdin: bool,
    as_json: bool,
    book: Path | None,
    now: datetime | None,
    conversation: str | None,
) -> int:
    r"""Say TEXT, as a note, a question or a command.

    \b
    fieldvoice say "tree twelve, bucket nearly full, sap cloudy"
    fieldvoice say how many taps can tree seven take
    """
    said = " ".join(text).strip()
    if from_stdin and said:
        raise click.UsageError("Give the words or --stdin, not both")
    if not from_stdin and not said:
        raise click.UsageError('Say what? For example: fieldvoice say "tree twelve half full"')
    from fieldvoice.cli.app import conversation as talk
    from fieldvoice.cli.show import show
    from fieldvoice.transcript import typed

    status = 0
    with talk(book, clock_of(now), name=conversation) as desk:
        for number, line in _lines() if from_stdin else [(1, said)]:
            if line is None:
                complain(f"line {number} of standard input is no text; it was passed over.")
                status = UNREADABLE
            else:
                show(desk.conversation.hear(typed(line)), as_json=as_json)
    return status


def _lines() -> Iterator[tuple[int, str | None]]:
    """Yield the lines of standard input that hold words as they come in; None for no text."""
    for number, line in enumerate(sys.stdin.buffer, start=1):
        try:
            said = line.decode("utf-8-sig" if number == 1 else "utf-8").strip()
        except UnicodeDecodeError:
            yield number, None
            continue
        if said:
            yield number, said
