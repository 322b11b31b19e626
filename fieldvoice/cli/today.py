"""``fieldvoice today``: the boil day as a board, to be read from across a room."""

from __future__ import annotations

import shutil
import sys
import textwrap
import time
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, clock_of, examples, json_option, now_option

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.dialogue.board import Board, Row

#: Columns for a vessel's name, and the narrowest and widest bar.
_NAME, _BAR_LEAST, _BAR_MOST = 14, 8, 40
#: From this width on temperature and sugar have their place; under the other the age has none.
_WIDE, _NARROW = 100, 60
#: Columns for the condition of the sap, and the colour of what presses.
_SAP = 7
_COLOURS = {"none": "green", "today": "yellow", "late": "red"}
_HOME, _CLEAR_BELOW = "\x1b[H", "\x1b[J"
_ENTER, _LEAVE = "\x1b[?1049h\x1b[?25l", "\x1b[?25h\x1b[?1049l"


@click.command(
    "today",
    epilog=examples(
        "fieldvoice today",
        "fieldvoice today --once",
    ),
)
@click.option("--once", is_flag=True, help="Print it once, also on a terminal.")
@click.option(
    "--every", type=click.FloatRange(1, 3600), default=20, show_default=True,
    metavar="SECONDS", help="How often to look into the book again.",
)  # fmt: skip
@json_option
@book_option
@now_option
def command(
    once: bool, every: float, as_json: bool, book: Path | None, now: datetime | None
) -> None:
    """Show what to boil today, as a board.

    Vessel by vessel: level, age, order, and the last hour to light the fire for it. On a terminal
    it stays and keeps itself up to date until q or Ctrl-C; piped, it prints once.
    """
    clock = clock_of(now)
    if once or as_json or not sys.stdout.isatty():
        _print(_look(book, clock), as_json)
        return
    sys.stdout.write(_ENTER)
    try:
        while True:
            _redraw(_look(book, clock))
            time.sleep(every)
    except KeyboardInterrupt:
        pass
    finally:
        sys.stdout.write(_LEAVE)
        sys.stdout.flush()


def _look(path: Path | None, clock: Callable[[], datetime]) -> Board:
    """Return the board of the book as it is now; the book is not kept open in between."""
    from fieldvoice.book import Book
    from fieldvoice.cli.app import default_book
    from fieldvoice.cli.settings_file import read_settings
    from fieldvoice.dialogue.board import board

    path = path or default_book()
    settings = read_settings(path.with_suffix(".toml"))
    with Book.open(path) as book:
        now = clock()
        season = book.season(settings.capacities_gal, now).at(now.year)
        return board(season, settings, now)


def _print(shown: Board, as_json: bool) -> None:
    from fieldvoice.cli.show import show_json
    from fieldvoice.cli.terminal import colour

    if as_json:
        show_json(shown.as_json())
        return
    for line in lines(shown, shutil.get_terminal_size((80, 24)).columns):
        click.echo(line, color=colour())


def _redraw(shown: Board) -> None:
    from fieldvoice.cli.terminal import colour

    size = shutil.get_terminal_size((80, 24))
    drawn = lines(shown, size.columns)[: size.lines - 1]
    text = "\n".join(f"{line}\x1b[K" for line in drawn)
    click.echo(f"{_HOME}{text}\n{_CLEAR_BELOW}", nl=False, color=True if colour() else None)
    sys.stdout.flush()


def lines(shown: Board, width: int) -> list[str]:
    """Return the board as lines of at most ``width`` columns, in colour (``echo`` may take it)."""
    from fieldvoice.cli.big_letters import WIDTH, big

    room = max(40, width)
    head = f"{shown.at:%A} {shown.at.day} {shown.at:%B}   {shown.at:%H:%M}"
    colour = _COLOURS[shown.press]
    fits = len(shown.headline) * WIDTH <= room - 2
    title = big(shown.headline) if fits else [shown.headline.upper()]
    told = ["", f" {click.style(head, bold=True)}", ""]
    told += [f" {click.style(line, fg=colour, bold=True)}" for line in title]
    told += ["", *(line for row in shown.rows for line in (_row(row, room), ""))]
    for line in shown.lines:
        broken = textwrap.wrap(line, room - 2, subsequent_indent="  ")
        told += [f" {click.style(part, bold=True)}" for part in broken]
    return told


def _row(row: Row, width: int) -> str:
    """Return one vessel: its turn, name, a bar of its level, gallons, age, and what to do."""
    turn = "x" if row.press == "late" and row.order is None else str(row.order or "")
    cells, widths = [row.level, _age(row), row.do], [14, 6, 15]
    if width >= _WIDE:
        cells, widths = [*cells, row.warmth, row.sugar], [*widths, 6, 6]
    if width < _NARROW:
        cells, widths = [_held(row.level), row.do.removeprefix("by ")], [8, 13]
    tail = " ".join(cell.rjust(size) for cell, size in zip(cells, widths, strict=True))
    name = _NAME if width >= _NARROW else _NAME - 2
    head = f" {turn:>2} {row.vessel[:name]:<{name}}"
    space = width - len(head) - len(tail) - _SAP - 3
    bar = f"{_bar(row.fill, min(_BAR_MOST, space))} " if space >= _BAR_LEAST else ""
    text = f"{head}{bar}{tail}  {row.sap or ''}"[:width]
    return click.style(
        text.rstrip(), fg=_COLOURS[row.press] if row.do else None, bold=row.order == 1
    )


def _held(level: str) -> str:
    """Return "30 gal" of "30 of 50 gal"."""
    held, of, holds = level.partition(" of ")
    return f"{held} {holds.rsplit(' ', 1)[-1]}" if of else held


def _bar(fill: float | None, length: int) -> str:
    if fill is None:
        return " " * length
    full = round(min(1.0, max(0.0, fill)) * length)
    return "█" * full + "░" * (length - full)


def _age(row: Row) -> str:
    if row.age_h is None:
        return ""
    return f"{row.age_h:.0f} h" if row.age_h < 48 else f"{row.age_h / 24:.1f} d"
