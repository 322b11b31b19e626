"""Somebody's own spreadsheet on its way into the book: its columns shown and asked about."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from fieldvoice.cells import SheetError, sheets_of
from fieldvoice.cli.faults import complain
from fieldvoice.harmless import harmless
from fieldvoice.spreadsheet.columns import ColumnError, shown, with_column, with_columns, written
from fieldvoice.spreadsheet.guess import guesses
from fieldvoice.spreadsheet.layout import layout_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date
    from pathlib import Path

    from fieldvoice.spreadsheet.guess import Guess

#: The first line of a table that was exported has these headings, whatever wrote it again since.
_EXPORTED = ("said at", "status", "act")


def is_own(path: Path) -> bool:
    """Whether a file is somebody's own spreadsheet, and none that was exported."""
    if path.is_dir() or path.suffix.lower() in (".jsonl", ".json") or not path.exists():
        return False
    try:
        first = next((cells for sheet in sheets_of(path) for _, cells in sheet.rows()), [])
    except SheetError:
        return True
    return not set(_EXPORTED) <= set(first)


def tables_of(
    paths: Sequence[Path], today: date, settings: Path, *, yes: bool, dry_run: bool
) -> Iterator[Guess]:
    """Yield the tables to bring in, each shown, and asked about where a person can answer.

    Raises:
        SheetError: a file cannot be read, or has no table.
    """
    from fieldvoice.cli.settings_file import read_settings, read_spreadsheets, write_spreadsheet

    remembered = read_spreadsheets(settings)
    metric = read_settings(settings).metric
    asks = not yes and sys.stdin.isatty() and sys.stdout.isatty()
    for path in paths:
        found = [
            guess
            for sheet in sheets_of(path)
            for guess in guesses(sheet, layout_of(sheet.rows()), today, metric=metric)
        ]
        if not found:
            raise SheetError(f"{path}: no row names columns that are known, so nothing is taken.")
        for guess in found:
            known = _as_remembered(guess, remembered)
            _show(known, by_guess=not asks)
            settled = _asked(known) if asks else known
            if settled is None:
                continue
            if asks and not dry_run and written(settled) != remembered.get(settled.signature):
                write_spreadsheet(settings, settled.signature, written(settled))
            yield settled


def _as_remembered(guess: Guess, remembered: dict[str, list[str]]) -> Guess:
    columns = remembered.get(guess.signature)
    try:
        return with_columns(guess, columns) if columns else guess
    except ColumnError:
        return guess


def _show(guess: Guess, *, by_guess: bool) -> None:
    said = ", by guess" if by_guess else ""
    where = f"{guess.sheet.place}, rows {guess.first} to {guess.last}"
    for line in (f"{where}, {guess.kind}{said}:", *shown(guess)):
        click.echo(harmless(line))


def _asked(guess: Guess) -> Guess | None:
    """Return the table as the person says it is; None where it is to be left out."""
    while True:
        said = click.prompt("Right? (yes, no, or the heading of a column to change)", default="yes")
        answer = said.strip().casefold()
        if answer in ("y", "yes"):
            return guess
        if answer in ("n", "no"):
            click.echo("Left out.")
            return None
        named = [one for one in guess.columns if one.heading.casefold() == answer]
        if not named:
            click.echo(f"No column has the heading {said}.")
            continue
        what = click.prompt(
            f"What is in {named[0].heading}? (like “sap L”, “tree”; - leaves it out)"
        )
        try:
            guess = with_column(guess, named[0].place, what)
        except ColumnError as fault:
            complain(str(fault))
            continue
        _show(guess, by_guess=False)
