"""Turns every fault into one plain line on standard error and an exit status."""

from __future__ import annotations

import os
import re
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.environment import DEBUG
from fieldvoice.errors import FieldvoiceError, GrammarError
from fieldvoice.harmless import harmless

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

#: Exit statuses of the machine interface: an input could not be read; wrong usage.
UNREADABLE, WRONG_USE = 1, 2
#: As shells have it, for Ctrl-C.
INTERRUPTED = 130
#: What the parser of arguments says in its own words, and how people say it.
_PLAINER = {
    r"is not a valid integer( range)?": "is not a whole number",
    r"is not a valid float( range)?": "is not a number",
}


def complain(told: str) -> None:
    """Print one line about a problem on standard error."""
    click.echo(f"fieldvoice: {harmless(' '.join(told.split()))}", err=True)


def say_aside(told: str) -> None:
    """Print a line that is no problem beside the output, for people to see."""
    click.echo(harmless(told), err=True)


@contextmanager
def readers_may_leave() -> Iterator[None]:
    """End quietly where whoever reads the output has read enough, as ``| head`` has."""
    try:
        yield
        sys.stdout.flush()
    except BrokenPipeError:
        _write_no_more()
    except OSError:
        try:
            sys.stdout.flush()
        except OSError:  # it is the output that takes nothing
            _write_no_more()
        raise


def _write_no_more() -> None:
    """Keep Python from complaining again when it flushes on the way out."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def status_of(work: Callable[[], object]) -> int:
    """Return the exit status of ``work``, with one line on standard error for any fault.

    A fault in a grammar, which only those meet who change one, is shown with its place below.
    """
    try:
        status = work()
    except click.UsageError as fault:
        complain(_usage(fault))
        return WRONG_USE
    except GrammarError as fault:
        # The line of the grammar and the caret below it stand as they are.
        click.echo(f"fieldvoice: {fault}", err=True)
        return UNREADABLE
    except (click.ClickException, FieldvoiceError) as fault:
        complain(fault.format_message() if isinstance(fault, click.ClickException) else str(fault))
        return UNREADABLE
    except (KeyboardInterrupt, click.Abort):
        return INTERRUPTED
    except OSError as fault:
        if os.environ.get(DEBUG):
            raise
        complain(f"{fault.filename or 'The output'} cannot be used: {fault.strerror}.")
        return UNREADABLE
    except Exception as fault:
        if os.environ.get(DEBUG):
            raise
        complain(f"Something is wrong inside fieldvoice ({type(fault).__name__}: {fault}).")
        return UNREADABLE
    return status if isinstance(status, int) else 0


def _usage(fault: click.UsageError) -> str:
    """Return what was wrong and what to do next."""
    told = fault.format_message()
    for theirs, ours in _PLAINER.items():
        told = re.sub(theirs, ours, told)
    if told and told[-1] not in ".?!":
        told += "."
    if fault.ctx is not None and fault.ctx.info_name and "--help" not in told:
        path = fault.ctx.command_path
        if "fieldvoice" in told:
            return told
        told += f" See: {path} --help"
    return told
