"""``fieldvoice handbook``: what the cards tell about the trade, and which cards have a fault."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import examples, json_option

if TYPE_CHECKING:
    from fieldvoice.handbook import Card, Handbook


@click.command(
    "handbook",
    epilog=examples(
        "fieldvoice handbook",
        "fieldvoice handbook foam",
        "fieldvoice handbook can i tap an oak",
    ),
)
@click.argument("words", nargs=-1)
@json_option
def command(words: tuple[str, ...], as_json: bool) -> int:
    """List what the handbook tells, or show cards of it.

    The cards with WORDS in their name or title; where there is none, those asked nearest to them.
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
    from fieldvoice.cli.terminal import described

    for subject, cards in book.subjects.items():
        click.echo(click.style(subject, bold=True))
        width = max(len(card.id) for card in cards) + 4
        for card in cards:
            click.echo(described(f"  {card.id}", card.title, width))
        click.echo()
    click.echo(f"{len(book.cards)} cards. One of them: fieldvoice handbook {book.cards[0].id}")


def _show(card: Card) -> None:
    from fieldvoice.cli.terminal import dim, indented
    from fieldvoice.handbook import with_numbers

    click.echo(click.style(card.title, bold=True) + f"  ({card.id}, {card.level})")
    click.echo(indented(with_numbers(card.say)))
    for told in (with_numbers(card.why), *card.sources):
        click.echo(dim(indented(told)))
    click.echo()


def _fields(card: Card) -> dict[str, object]:
    from fieldvoice.handbook import with_numbers

    return {
        "card": card.id, "subject": card.subject, "title": card.title, "level": card.level,
        "say": with_numbers(card.say), "why": with_numbers(card.why),
        "sources": list(card.sources), "rule": card.rule,
    }  # fmt: skip
