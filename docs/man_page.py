"""Writes the manual page, ``docs/fieldvoice.1``, from the commands themselves."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.environment import MEANINGS
from fieldvoice.cli.main import cli

if TYPE_CHECKING:
    from collections.abc import Iterator

PAGE = Path(__file__).parent / "fieldvoice.1"
_A_SETTING = "a setting by its name, like FIELDVOICE_PAN_AREA=2x4: fieldvoice settings lists them"


def page() -> str:
    """Return the page in the macros of man."""
    lines = [
        '.TH FIELDVOICE 1 "" "fieldvoice" "User Commands"',
        ".SH NAME",
        "fieldvoice \\- say what you see in the sugarbush; get a checked record and an answer",
        ".SH SYNOPSIS",
        ".B fieldvoice",
        "[\\fIcommand\\fR] [\\fIoptions\\fR]",
        ".SH DESCRIPTION",
        _escaped(
            "An offline voice assistant for a family that makes maple syrup. Without a command, at "
            "a terminal, it greets and offers what to begin with."
        ),
        ".SH COMMANDS",
    ]
    for path, command in _commands(cli, ()):
        lines += _command(path, command)
    lines += [".SH EXIT STATUS", *_statuses(), ".SH ENVIRONMENT"]
    others = {"FIELDVOICE_NAME": _A_SETTING, "NO_COLOR": "no colours, where it is set"}
    for name, meaning in {**MEANINGS, **others}.items():
        lines += [".TP", f".B {name}", _escaped(meaning)]
    return "\n".join(lines) + "\n"


def _commands(
    group: click.Group, path: tuple[str, ...]
) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    ctx = click.Context(group)
    for name in group.list_commands(ctx):
        command = group.get_command(ctx, name)
        assert command is not None
        yield (*path, name), command
        if isinstance(command, click.Group):
            yield from _commands(command, (*path, name))


def _command(path: tuple[str, ...], command: click.Command) -> Iterator[str]:
    # The names of help are kept with the command when they are first asked for.
    whole = click.Context(cli, info_name="fieldvoice", **cli.context_settings)
    ctx = click.Context(command, whole, " ".join(path))
    usage = " ".join(command.collect_usage_pieces(ctx))
    yield f".SS {_escaped(ctx.command_path)} {_escaped(usage)}"
    yield _escaped(" ".join((command.help or "").split()))
    for option in (one for one in command.params if isinstance(one, click.Option)):
        record = option.get_help_record(ctx)
        if record is not None:
            yield from (".TP", f".B {_escaped(record[0])}", _escaped(record[1]))
    examples = re.findall(r"^  (.+)$", command.epilog or "", re.MULTILINE)
    if examples:
        yield from (".PP", "Examples:", ".PP", ".nf", *map(_escaped, examples), ".fi")


def _statuses() -> Iterator[str]:
    """Yield the exit statuses as the help of the program tells them."""
    told = (cli.epilog or "").partition("Exit status:")[2].partition("\b")[0]
    for status, meaning in re.findall(r"^  (\d+) +(.+(?:\n {7}.+)*)", told, re.MULTILINE):
        yield from (".TP", f".B {status}", _escaped(" ".join(meaning.split())))


def _escaped(text: str) -> str:
    text = text.replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{text}" if text.startswith((".", "'")) else text


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
