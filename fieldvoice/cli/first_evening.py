"""``fieldvoice`` alone at a terminal: a greeting and what to begin with; later, the talk itself."""

from __future__ import annotations

import os
from pathlib import Path

import click

from fieldvoice.cli.environment import BOOK
from fieldvoice.cli.terminal import described, indented

_GREETING = (
    "Hello. I keep your notes from the sugarbush and answer questions, all on this machine. "
    "You talk, or type; I write it down, check it, and ask when I am not sure."
)
_OFFERS = {
    "1": "Hear the demo: recorded notes from somebody's first round (a minute)",
    "2": "Set up: units, law, pan, trees and containers, microphone (five minutes)",
    "3": "Just start: say or type your first note",
}
#: The column in which an offer begins, after its number.
_OFFER_COLUMN = 5


def begin(ctx: click.Context) -> int:
    """Greet whoever has an empty book, and do what they choose; go on talking where it has notes.

    The exit status is that of what was done.
    """
    from fieldvoice.cli.chat import command as chat

    if not is_new(book()):
        return int(ctx.invoke(chat) or 0)
    click.echo(f"{indented(_GREETING, 0)}\n")
    for number, offer in _OFFERS.items():
        click.echo(described(f"  {number}", offer, _OFFER_COLUMN))
    click.echo()
    chosen = click.prompt("Which", type=click.Choice((*_OFFERS, "q")), default="1")
    if chosen == "q":
        return 0
    if chosen == "1":
        from fieldvoice.cli.demo import command as demo

        return int(ctx.invoke(demo) or 0)
    if chosen == "2":
        from fieldvoice.cli.setup import command as setup

        return int(ctx.invoke(setup) or 0)
    return int(ctx.invoke(chat) or 0)


def book() -> Path | None:
    """Return the book that the environment names; None for the user's own."""
    named = os.environ.get(BOOK)
    return Path(named) if named else None


def is_new(path: Path | None) -> bool:
    """Whether there is no book yet, or none with a note in it."""
    from fieldvoice.book import Book
    from fieldvoice.cli.app import default_book

    path = path or default_book()
    if not path.exists():
        return True
    with Book.open(path) as opened:
        return not opened.newest_entries(1)
