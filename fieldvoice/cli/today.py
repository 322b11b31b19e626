"""``fieldvoice today``: the boil day as a board, to be read from across a room."""

from __future__ import annotations

import shutil
import sys
import time
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, clock_of, json_option, now_option

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.dialogue.board import Board, Row

#: Columns for a vessel's name, and the narrowest and widest bar.
_NAME, _BAR_LEAST, _BAR_MOST = 14, 8, 40
#: From this width on temperature and sugar have their place.
_WIDE = 100
_HOME, _CLEAR_BELOW = "\x1b[H", "\x1b[J"
_ENTER, _LEAVE = "\x1b[?1049h\x1b[?25l", "\x1b[?25h\x1b[?1049l"


@click.command("today")
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
    """Show what to boil today: vessel by vessel, level, age, days left and order.

    On a terminal it stays and keeps itself up to date until Ctrl-C; piped, it prints once.
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
        season = book.season(settings.capacities_gal, clock())
        return board(season, settings, clock())


def _print(shown: Board, as_json: bool) -> None:
    from fieldvoice.cli.show import colour, show_json

    if as_json:
        show_json(shown.as_json())
        return
    for line in lines(shown, shutil.get_terminal_size((80, 24)).columns):
        click.echo(line, color=colour())


def _redraw(shown: Board) -> None:
    from fieldvoice.cli.show import colour

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
    urgent = any(row.order == 1 and (row.days_left or 0) < 1 for row in shown.rows)
    colour = "red" if shown.dumps or urgent else "green"
    fits = len(shown.headline) * WIDTH <= room - 2
    title = big(shown.headline) if fits else [shown.headline.upper()]
    told = ["", f" {click.style(head, bold=True)}", ""]
    told += [f" {click.style(line, fg=colour, bold=True)}" for line in title]
    told += ["", *(line for row in shown.rows for line in (_row(row, room), ""))]
    told += [f" {click.style(line, bold=True)}" for line in shown.lines]
    return told


def _row(row: Row, width: int) -> str:
    """Return one vessel: its turn, name, a bar of its level, gallons, age, days left, condition."""
    turn = "x" if row.action == "dump" else str(row.order or "")
    cells = [_gallons(row), _age(row), _left(row)]
    if width >= _WIDE:
        cells += [
            "" if row.temp_f is None else f"{row.temp_f:.0f} °F",
            "" if row.brix is None else f"{row.brix:.1f} %",
        ]
    widths = [14, 7, 11, 6, 6]
    tail = " ".join(cell.rjust(size) for cell, size in zip(cells, widths, strict=False))
    sap = row.sap or ""
    space = width - len(f" {turn:>2} ") - _NAME - len(tail) - 10 - 3
    bar = _bar(row.fill, max(_BAR_LEAST, min(_BAR_MOST, space)))
    text = f" {turn:>2} {row.vessel[:_NAME]:<{_NAME}}{bar} {tail}  {sap}"
    return click.style(text.rstrip(), fg=_colour(row), bold=row.order == 1)


def _bar(fill: float | None, length: int) -> str:
    if fill is None:
        return " " * length
    full = round(min(1.0, max(0.0, fill)) * length)
    return "█" * full + "░" * (length - full)


def _gallons(row: Row) -> str:
    if row.volume_gal is None:
        return "?" if row.order or row.action else ""
    if not row.volume_gal:
        return "empty"
    held = f"{row.volume_gal:.0f}" if row.volume_gal >= 10 else f"{row.volume_gal:.1f}"
    return f"{held} gal" if row.capacity_gal is None else f"{held} of {row.capacity_gal:.0f} gal"


def _age(row: Row) -> str:
    if row.age_h is None:
        return ""
    return f"{row.age_h:.0f} h" if row.age_h < 48 else f"{row.age_h / 24:.1f} d"


def _left(row: Row) -> str:
    if row.action == "dump":
        return "dump"
    if row.days_left is None:
        return ""
    return "overdue" if row.days_left == 0 else f"{row.days_left:.1f} d left"


def _colour(row: Row) -> str | None:
    if row.action == "dump" or row.days_left == 0:
        return "red"
    if row.days_left is None:
        return None
    return "yellow" if row.days_left < 1 else "green"
