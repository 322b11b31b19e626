"""Options that several commands share, and how their values are read."""

from __future__ import annotations

import os
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fieldvoice.calendar_ends import with_room
from fieldvoice.cli.environment import BOOK

if TYPE_CHECKING:
    from collections.abc import Callable


class Moment(click.ParamType[datetime]):
    """A point in time, ISO 8601; without an offset it is local time."""

    name = "ISO8601"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> datetime:
        """Return the time with its offset, or fail in plain words."""
        if isinstance(value, datetime):
            return value
        try:
            said = datetime.fromisoformat(value)
            # An offset that is given is kept: the hours people name are those of its place.
            return said if said.tzinfo else said.astimezone()
        except (ValueError, OverflowError):
            self.fail(f"{value!r} is not a time; write it like 2027-03-05T09:10", param, ctx)


def examples(*commands: str) -> str:
    """Return what stands below the help of a command: examples, to be pasted as they are."""
    return "\b\nExamples:\n" + "\n".join(f"  {one}" for one in commands)


class OfFiles(click.Command):
    """A command that is given files, which may be called like its options: "-first.wav"."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take a file that is there for a file, unless an option is called just that."""
        options = {name for param in self.params for name in param.opts}
        files = [
            f"./{one}" if one.startswith("-") and one not in options and Path(one).exists() else one
            for one in args
        ]
        return super().parse_args(ctx, files)


def own_conversation() -> str | None:
    """Return the name of this terminal's conversation; None where there is no terminal."""
    for stream in (0, 1, 2):
        with suppress(OSError, AttributeError):  # not every system names its terminals
            return f"terminal {os.ttyname(stream).removeprefix('/dev/')}"
    return None


def clock_of(now: datetime | None) -> Callable[[], datetime]:
    """Return a clock: stopped at ``now``, or the real one when None."""
    if now is not None:
        stopped = with_room(now)
        return lambda: stopped
    return lambda: with_room(datetime.now().astimezone())


book_option = click.option(
    "--book",
    type=click.Path(path_type=Path, dir_okay=False),
    envvar=BOOK,
    help="The season book to use. Left out: your own.",
)
now_option = click.option(
    "--now", type=Moment(), help="The time to go by, like 2027-03-05T09:10. Left out: now."
)
engine_option = click.option(
    "--engine",
    type=click.Choice(("both", "first", "whisper")),
    default="both",
    show_default=True,
    help="What hears: both listeners, or the first or the second (whisper) alone.",
)
conversation_option = click.option(
    "--conversation",
    metavar="NAME",
    help="Keep what is in hand apart from other conversations. Left out: this terminal's own.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for programs.")
