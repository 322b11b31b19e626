"""``fieldvoice say``: typed utterances, handled exactly as spoken ones."""

from __future__ import annotations

import sys
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.faults import UNREADABLE, complain
from fieldvoice.cli.options import (
    book_option,
    clock_of,
    conversation_option,
    examples,
    json_option,
    now_option,
)
from fieldvoice.errors import VoiceError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.reply import Reply


@click.command(
    "say",
    epilog=examples(
        'fieldvoice say "tree twelve, bucket nearly full, sap cloudy"',
        "fieldvoice say how many taps can tree seven take",
        "fieldvoice say --aloud what should I boil today",
        "printf '%s\\n' 'tree nine two gallons' 'no, three' | fieldvoice say --stdin",
    ),
)
@click.argument("text", nargs=-1)
@click.option("--stdin", "from_stdin", is_flag=True, help="Take one utterance a line from stdin.")
@click.option("--aloud", is_flag=True, help="Speak the replies too, on the loudspeaker.")
@json_option
@book_option
@now_option
@conversation_option
def command(
    text: tuple[str, ...],
    from_stdin: bool,
    aloud: bool,
    as_json: bool,
    book: Path | None,
    now: datetime | None,
    conversation: str | None,
) -> int:
    """Say TEXT, as a note, a question or a command."""
    said = " ".join(text).strip()
    if from_stdin and said:
        raise click.UsageError("Give the words or --stdin, not both")
    if not from_stdin and not said:
        raise click.UsageError('Say what? For example: fieldvoice say "tree twelve half full"')
    from fieldvoice.cli.app import conversation as talk
    from fieldvoice.cli.show import show
    from fieldvoice.transcript import typed

    status = 0
    with talk(book, clock_of(now), name=conversation) as desk, _speaking(book, aloud) as speak:
        for number, line in _lines() if from_stdin else [(1, said)]:
            if line is None:
                complain(f"line {number} of standard input is no text; it was passed over.")
                status = UNREADABLE
            else:
                reply = desk.conversation.hear(typed(line))
                show(reply, as_json=as_json)
                speak(reply)
    return status


@contextmanager
def _speaking(book: Path | None, aloud: bool) -> Iterator[Callable[[Reply], None]]:
    """Yield what speaks a reply; where nothing can, one line says so and it stays in writing."""
    if not aloud:
        yield lambda reply: None
        return
    from fieldvoice.cli.aloud import live_settings, mouth
    from fieldvoice.soundcard import SoundDeviceError

    with ExitStack() as open_:
        try:
            speaker = open_.enter_context(mouth(live_settings(book)))
        except (SoundDeviceError, VoiceError) as fault:
            complain(f"{fault} The replies stay in writing.")
            yield lambda reply: None
            return
        yield lambda reply: speaker.say(reply.spoken)


def _lines() -> Iterator[tuple[int, str | None]]:
    """Yield the lines of standard input that hold words as they come in; None for no text."""
    for number, line in enumerate(sys.stdin.buffer, start=1):
        try:
            said = line.decode("utf-8-sig" if number == 1 else "utf-8").strip()
        except UnicodeDecodeError:
            yield number, None
            continue
        if said:
            yield number, said
