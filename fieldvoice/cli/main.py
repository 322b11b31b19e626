"""The command line: finds the command that is meant, and imports no more than it needs."""

from __future__ import annotations

import difflib
import importlib
import os
import sys
from typing import Any, NoReturn

import click

from fieldvoice.cli.environment import tell_of_unknown
from fieldvoice.cli.faults import WRONG_USE, readers_may_leave, status_of
from fieldvoice.cli.options import examples
from fieldvoice.cli.terminal import colour, columns
from fieldvoice.cli.written_file import share_as

# Looking for plugins of the library of checked values, of which none is used, reads the description
# of every package installed: a tenth of a second.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

#: The commands in the order of their help, each in the module of its name.
COMMANDS = (
    "say", "chat", "listen", "memos", "transcribe", "review", "history", "book", "wordings",
    "today", "report", "cards", "phone", "why", "rules", "handbook", "read", "settings",
    "weather", "check", "models", "setup", "demo", "help",
)  # fmt: skip

_START = (
    'Say a note:      fieldvoice say "tree twelve, bucket half full"\n'
    "All commands:    fieldvoice --help"
)


class Commands(click.Group):
    """A group whose commands are imported when they are called for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands' names."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """Return the command called ``name``; None when there is none."""
        if name not in COMMANDS:
            return None
        module = importlib.import_module(f"fieldvoice.cli.{name}")
        command: click.Command = module.command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the command that ``args`` begin with, or say which was probably meant."""
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            near = difflib.get_close_matches(name, COMMANDS, n=1)
            hint = f"Did you mean: fieldvoice {near[0]}?" if near else "See: fieldvoice --help"
            raise click.UsageError(f"There is no command {name!r}. {hint}", ctx)
        return super().resolve_command(ctx, args)

    def main(self, *args: Any, **options: Any) -> NoReturn:
        """Run, and leave with the exit status of the machine interface."""
        options["standalone_mode"] = False

        def run() -> Any:
            with readers_may_leave():
                return click.Group.main(self, *args, **options)

        sys.exit(status_of(run))


#: What the exit statuses of all commands mean.
STATUSES = """\b
Exit status:
  0    all of it was handled (what was not
       understood is kept for review)
  1    something could not be read, written
       or used; one line tells what
  2    the command was written wrongly
  130  ended with Ctrl-C

\b
""" + examples(
    "fieldvoice demo",
    'fieldvoice say "tree twelve, bucket half full"',
    "fieldvoice say --help",
).removeprefix("\b\n")


@click.group(
    cls=Commands,
    invoke_without_command=True,
    epilog=STATUSES,
    context_settings={"terminal_width": columns(), "help_option_names": ["-h", "--help"]},
)
@click.version_option(package_name="fieldvoice", message="%(prog)s %(version)s")
@click.pass_context
def cli(ctx: click.Context) -> int:
    """Say what you see in the sugarbush; get a checked record and an answer. Offline."""
    ctx.color = None if colour() else False
    tell_of_unknown()
    if ctx.invoked_subcommand is None:
        if sys.stdin.isatty() and sys.stdout.isatty():
            from fieldvoice.cli.first_evening import begin

            return begin(ctx)
        click.echo(_START, err=True)
        return WRONG_USE
    return 0


def run() -> NoReturn:
    """Run the command line with the program's own arguments.

    What it writes is for its user alone, but for the pages to show or print, which are as readable
    as what other programs of this user write.
    """
    share_as(os.umask(0o077))
    _open_closed_streams()
    cli.main(prog_name="fieldvoice")


def _open_closed_streams() -> None:
    """Put the empty device in place of standard streams that were closed (``<&-``).

    Else the next file opened, which may be the book, would get the stream's number.
    """
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, mode))  # noqa: PTH123, SIM115
