"""``fieldvoice handbook``: what the cards tell about the trade, and which cards have a fault."""

from __future__ import annotations

import json
import textwrap
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import json_option

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.handbook import Card, Handbook

_WIDTH = 96


@click.command("handbook")
@click.argument("words", nargs=-1)
@json_option
def command(words: tuple[str, ...], as_json: bool) -> int:
    r"""List what the handbook tells, or show the cards about something.

    \b
    fieldvoice handbook               every subject with its cards
    fieldvoice handbook foam          the cards with this word in name or title
    fieldvoice handbook can i tap an oak   else those that are asked nearest to it
    """
    from fieldvoice.handbook import handbook_folder, load

    book = load(handbook_folder())
    for fault in book.faults:
        click.echo(f"Left out: {fault}", err=True)
    cards = _about(book, " ".join(words)) if words else book.cards
    if as_json:
        click.echo(json.dumps([_fields(card) for card in cards], ensure_ascii=False))
    elif words:
        for card in cards:
            _show(card)
    else:
        _list(book)
    return 0


def _about(book: Handbook, text: str) -> list[Card]:
    """Return the cards with ``text`` in their name or title, else those asked nearest to it.

    Raises:
        click.UsageError: no card is about that.
    """
    from fieldvoice.handbook import Finder

    said = text.lower()
    found = [card for card in book.cards if said in f"{card.id} {card.title}".lower()]
    found = found or [one.card for one in Finder(book.cards).named(text)]
    if not found:
        raise click.UsageError(f"No card is about {text!r}. See them all: fieldvoice handbook")
    return found


def _list(book: Handbook) -> None:
    for subject, cards in book.subjects.items():
        click.echo(click.style(subject, bold=True))
        width = max(len(card.id) for card in cards) + 2
        for card in cards:
            click.echo(f"  {card.id.ljust(width)}{card.title}")
        click.echo()
    click.echo(f"{len(book.cards)} cards. One of them: fieldvoice handbook {book.cards[0].id}")


def _show(card: Card) -> None:
    click.echo(click.style(card.title, bold=True) + f"  ({card.id}, {card.level})")
    _indented((card.say,))
    _indented((card.why, *card.sources), dim=True)
    click.echo()


def _indented(texts: Iterable[str], *, dim: bool = False) -> None:
    for text in texts:
        told = textwrap.fill(text, _WIDTH, initial_indent="  ", subsequent_indent="  ")
        click.echo(click.style(told, fg="bright_black") if dim else told)


def _fields(card: Card) -> dict[str, object]:
    return {
        "card": card.id, "subject": card.subject, "title": card.title, "level": card.level,
        "say": card.say, "why": card.why, "sources": list(card.sources), "topic": card.topic,
        "rule": card.rule,
    }  # fmt: skip
