"""The terminal that is written to: how wide it is, whether it takes colour, and lists that fit."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap

import click

from fieldvoice.cli.environment import PLAIN

#: Longer lines are hard to read; on a terminal with less room, breaking between words helps nobody.
WIDEST, NARROWEST = 96, 40
#: Text beside its name needs so many columns; with less it stands below.
_BESIDE = 32
_BELOW = 4


def colour() -> bool:
    """Whether to colour: on a terminal that can, unless NO_COLOR says not to."""
    plain = os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    return sys.stdout.isatty() and not plain


def plain() -> bool:
    """Whether nothing may be redrawn, for a screen reader: FIELDVOICE_PLAIN, or a dumb terminal."""
    return bool(os.environ.get(PLAIN)) or os.environ.get("TERM") == "dumb"


def columns() -> int:
    """Return how many columns running text may take."""
    return min(WIDEST, max(NARROWEST, shutil.get_terminal_size((80, 24)).columns))


def described(name: str, text: str, width: int) -> str:
    """Return ``text`` in lines beside ``name``, which takes ``width`` columns, or below it.

    Below it where the terminal is too narrow; a name of blanks then takes no line of its own.
    """
    room = columns()
    if room - width >= _BESIDE:
        head = name if len(name) < width else f"{name} "
        lines = textwrap.wrap(text, room - max(width, len(head))) or [""]
        return f"\n{' ' * width}".join([f"{head.ljust(width)}{lines[0]}", *lines[1:]]).rstrip()
    below = indented(text, _BELOW)
    return "\n".join(filter(None, (name.rstrip(), below)))


def indented(text: str, blanks: int = 2) -> str:
    """Return ``text`` in lines that begin with so many ``blanks``."""
    return textwrap.indent(textwrap.fill(text, columns() - blanks), " " * blanks)


def dim(text: str) -> str:
    """Return ``text`` in the colour of what stands behind the rest."""
    return click.style(text, fg="bright_black")
