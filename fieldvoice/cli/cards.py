"""``fieldvoice cards``: cards for the trees, a field card, a round sheet and labels, to print."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from fieldvoice.cli.options import book_option, clock_of, examples, now_option

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.paper.print_page import Size

#: What can be printed, and the paper it is printed on (``paper.cards`` is not imported for help).
_PARTS = ("trees", "field", "round", "labels")


@click.command(
    "cards",
    epilog=examples(
        "fieldvoice cards cards.pdf",
        "fieldvoice cards labels.pdf --only labels --paper a4",
    ),
)
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--only", "parts", type=click.Choice(_PARTS), multiple=True,
    help="Only this part (may be given several times): a card a tree, the field card with what "
    "can be said, the sheet for the round, a label a jar.",
)  # fmt: skip
@click.option(
    "--paper", "size", type=click.Choice(("letter", "a4")),
    help="The paper. Left out: letter, or A4 for a book in metric units.",
)  # fmt: skip
@book_option
@now_option
def command(
    path: Path, parts: tuple[str, ...], size: str | None, book: Path | None, now: datetime | None
) -> None:
    """Write what is to be printed to PATH (PDF).

    Tree cards, the field card, a sheet for the round, labels for jars.
    """
    from fieldvoice.cli.faults import say_aside
    from fieldvoice.cli.season_sheet import season_sheet
    from fieldvoice.cli.written_file import write_whole
    from fieldvoice.errors import FieldvoiceError
    from fieldvoice.paper.cards import cards, has_something

    at = clock_of(now)()
    sheet, settings, _ = season_sheet(book, at)
    wanted = [part for part in _PARTS if part in (parts or _PARTS)]
    found = [part for part in wanted if has_something(sheet, part)]
    if not found:
        raise FieldvoiceError(f"The book has nothing for {' and '.join(wanted)} yet.")
    on = size or ("a4" if settings.metric else "letter")
    write_whole(path, cards(sheet, found, cast("Size", on), at))
    say_aside(f"{path}: {', '.join(found)}, for {'A4' if on == 'a4' else on} paper.")
