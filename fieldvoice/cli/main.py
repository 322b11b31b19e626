"""The command line: finds the command that is meant, and imports no more than it needs."""

from __future__ import annotations

import difflib
import importlib
import os
import sys
from typing import Any, NoReturn

import click

from fieldvoice.cli.faults import WRONG_USE, status_of

# Looking for plugins of the library of checked values, of which none is used, reads the description
# of every package installed: a tenth of a second.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

#: The commands in the order of their help, each in the module of its name.
COMMANDS = (
    "say", "chat", "listen", "memos", "transcribe", "review", "history", "book", "wordings",
    "today", "report", "cards", "phone", "why", "rules", "handbook", "read", "settings",
    "weather", "check", "models", "demo", "help",
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
        sys.exit(status_of(lambda: click.Group.main(self, *args, **options)))


@click.group(cls=Commands, invoke_without_command=True, context_settings={"max_content_width": 96})
@click.version_option(package_name="fieldvoice", message="%(prog)s %(version)s")
@click.pass_context
def cli(ctx: click.Context) -> int:
    """Say what you see in the sugarbush; get a checked record and an answer. Offline."""
    if ctx.invoked_subcommand is None:
        click.echo(_START, err=True)
        return WRONG_USE
    return 0


def run() -> NoReturn:
    """Run the command line with the program's own arguments.

    What it writes is for its user alone.
    """
    os.umask(0o077)
    cli.main(prog_name="fieldvoice")
