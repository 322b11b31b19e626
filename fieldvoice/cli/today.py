"""``fieldvoice today``: the boil day as a board, to be read from across a room."""

from __future__ import annotations

import shutil
import sys
import textwrap
from contextlib import suppress
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, clock_of, examples, json_option, now_option
from fieldvoice.cli.terminal import plain

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from prompt_toolkit.key_binding import KeyPressEvent

    from fieldvoice.dialogue.board import Board, Row

#: Columns for a vessel's name, and the narrowest and widest bar.
_NAME, _BAR_LEAST, _BAR_MOST = 14, 6, 40
#: From this width on temperature and sugar have their place; under the other, two lines a vessel.
_WIDE, _NARROW = 100, 72
#: Lines of big letters that the headline may take.
_TITLE_LINES = 2
#: The colour of what presses.
_COLOURS = {"none": "green", "today": "yellow", "late": "red"}


@click.command(
    "today",
    epilog=examples(
        "fieldvoice today",
        "fieldvoice today --once",
    ),
)
@click.option("--once", is_flag=True, help="Print it once, also on a terminal.")
@click.option(
    "--every", type=click.FloatRange(1, 3600), default=5, show_default=True,
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
    it stays, keeps itself up to date, and rings for reminders, until q or Ctrl-C; piped, it prints
    once.
    """
    clock = clock_of(now)
    if once or as_json or plain() or not sys.stdout.isatty():
        _print(_look(book, clock), as_json)
        return
    _stay(lambda: _look(book, clock), every)


def _stay(look: Callable[[], Board], every: float) -> None:
    """Show the board on the whole terminal, kept up to date, until q, Escape or Ctrl-C."""
    from prompt_toolkit.application import Application, get_app
    from prompt_toolkit.formatted_text import ANSI
    from prompt_toolkit.key_binding import KeyBindings
    from prompt_toolkit.layout import Layout, Window
    from prompt_toolkit.layout.controls import FormattedTextControl
    from prompt_toolkit.output import ColorDepth

    from fieldvoice.cli.terminal import colour
    from fieldvoice.errors import BookError

    shown = [look()]
    keys = KeyBindings()

    @keys.add("q")
    @keys.add("Q")
    @keys.add("escape", eager=True)
    @keys.add("c-c")
    @keys.add("c-d")
    def _(event: KeyPressEvent) -> None:
        event.app.exit()

    def drawn() -> ANSI:
        with suppress(BookError):  # another program has it: the board stays as it was
            before, shown[0] = shown[0].reminders, look()
            if set(shown[0].reminders) - set(before):
                get_app().output.bell()
        return ANSI("\n".join(lines(shown[0], get_app().output.get_size().columns)))

    app: Application[None] = Application(
        layout=Layout(Window(FormattedTextControl(drawn, show_cursor=False))),
        key_bindings=keys,
        full_screen=True,
        refresh_interval=every,
        color_depth=None if colour() else ColorDepth.DEPTH_1_BIT,
    )
    app.run()


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


def lines(shown: Board, width: int) -> list[str]:
    """Return the board as lines of at most ``width`` columns, in colour (``echo`` may take it)."""
    from fieldvoice.nlg.wording import exact_clock

    room = max(40, width)
    head = f"{shown.at:%A}, {shown.at:%B} {shown.at.day}   {exact_clock(shown.at)}"
    colour = _COLOURS[shown.press]
    told = ["", f" {click.style(head, bold=True)}", ""]
    for line in _title(shown.headline, room - 2):
        told.append(f" {click.style(line, fg=colour, bold=True)}" if line else "")
    name = max((len(row.vessel) for row in shown.rows), default=0)
    sap = max((len(row.sap or "") for row in shown.rows), default=0)
    told += ["", *(line for row in shown.rows for line in (*_row(row, room, name, sap), ""))]
    for line in shown.lines:
        broken = textwrap.wrap(line, room - 2, subsequent_indent="  ")
        told += [f" {click.style(part, bold=True)}" for part in broken]
    return told


def _title(headline: str, width: int) -> list[str]:
    """Return the headline in big letters, on two lines where one has no room; else in capitals."""
    from fieldvoice.cli.big_letters import WIDTH, big

    parts = textwrap.wrap(headline, width // WIDTH, break_long_words=False)
    if len(parts) > _TITLE_LINES or max(map(len, parts)) * WIDTH > width:
        return [headline.upper()]
    return [line for part in parts for line in ("", *big(part))][1:]


def _row(row: Row, width: int, name: int, sap: int) -> list[str]:
    """Return one vessel: its turn, name, a bar of its level, gallons, age, and what to do.

    ``name`` and ``sap`` are the lengths of the longest. On a narrow terminal it takes two lines.
    """
    turn = "x" if row.press == "late" and row.order is None else str(row.order or "")
    if width < _NARROW:
        return _styled(_in_two_lines(row, turn, width), row)
    cells, widths = [row.level, _age(row), row.do], [14, 6, 15]
    if width >= _WIDE:
        cells, widths = [*cells, row.warmth, row.sugar], [*widths, 6, 6]
    tail = " ".join(cell.rjust(size) for cell, size in zip(cells, widths, strict=True))
    called = max(_NAME, min(name + 1, width - len(tail) - sap - 8))
    head = f" {turn:>2} {row.vessel[:called]:<{called}}"
    space = width - len(head) - len(tail) - sap - 3
    bar = f"{_bar(row.fill, min(_BAR_MOST, space))} " if space >= _BAR_LEAST else ""
    return _styled([f"{head}{bar}{tail}  {row.sap or ''}"[:width].rstrip()], row)


def _in_two_lines(row: Row, turn: str, width: int) -> list[str]:
    """Return the vessel's name and sap, then what is in it and what to do, each word of it."""
    head = ", ".join(filter(None, (row.vessel, row.sap)))
    tail = "  ".join(filter(None, (row.level, _age(row), row.do)))
    return [
        *textwrap.wrap(head, width, initial_indent=f" {turn:>2} ", subsequent_indent=" " * 4),
        *textwrap.wrap(tail, width, initial_indent=" " * 4, subsequent_indent=" " * 4),
    ]


def _styled(told: list[str], row: Row) -> list[str]:
    colour = _COLOURS[row.press] if row.do else None
    return [click.style(line, fg=colour, bold=row.order == 1) for line in told]


def _bar(fill: float | None, length: int) -> str:
    if fill is None:
        return " " * length
    full = round(min(1.0, max(0.0, fill)) * length)
    return "█" * full + "░" * (length - full)


def _age(row: Row) -> str:
    if row.age_h is None:
        return ""
    return f"{row.age_h:.0f} h" if row.age_h < 48 else f"{row.age_h / 24:.1f} d"
