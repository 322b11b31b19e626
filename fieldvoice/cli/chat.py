"""``fieldvoice chat``: the conversation at a keyboard."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.faults import UNREADABLE, complain
from fieldvoice.cli.options import book_option, clock_of, json_option, now_option
from fieldvoice.errors import BookError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path

    from prompt_toolkit import PromptSession

    from fieldvoice.book import Book
    from fieldvoice.conversation import Conversation
    from fieldvoice.understanding import Understander


@click.command("chat")
@json_option
@book_option
@now_option
def command(as_json: bool, book: Path | None, now: datetime | None) -> int:
    """Talk by typing: Tab completes, Ctrl-C clears the line, Ctrl-D leaves.

    Piped in, it takes one utterance a line, as `say --stdin` does.
    """
    from fieldvoice.cli.desk import conversation

    clock = clock_of(now)
    with conversation(book, clock) as desk:
        if sys.stdin.isatty() and sys.stdout.isatty():
            return _talk(desk.conversation, _typed(desk.book, desk.understander, clock), as_json)
        return _talk(desk.conversation, _piped(), as_json)


def _talk(talk: Conversation, lines: Iterator[str], as_json: bool) -> int:
    from fieldvoice.cli.show import show
    from fieldvoice.heard import typed

    status = 0
    for line in lines:
        try:
            show(talk.hear(typed(line)), as_json=as_json)
        except BookError as fault:
            # The next line may fare better: another program may have held the book.
            complain(str(fault))
            status = UNREADABLE
    return status


def _piped() -> Iterator[str]:
    for line in sys.stdin:
        if line.strip():
            yield line.strip()


def _typed(book: Book, understander: Understander, clock: Callable[[], datetime]) -> Iterator[str]:
    """Yield the lines typed at the prompt; a paste of several lines comes line by line."""
    session = _session(book, understander, clock)
    click.echo('Say a note or ask. "What can I say" shows how; Ctrl-D leaves.')
    while True:
        try:
            entered = session.prompt("> ")
        except KeyboardInterrupt:
            continue
        except EOFError:
            return
        for line in entered.splitlines():
            if line.strip():
                yield line.strip()


def _session(
    book: Book, understander: Understander, clock: Callable[[], datetime]
) -> PromptSession[str]:
    from platformdirs import user_state_path
    from prompt_toolkit import PromptSession
    from prompt_toolkit.history import FileHistory, History, InMemoryHistory

    from fieldvoice.cli.completion import GrammarCompleter

    history: History
    try:
        path = user_state_path("fieldvoice", appauthor=False, ensure_exists=True) / "history"
        path.touch()
        history = FileHistory(str(path))
    except OSError:
        history = InMemoryHistory()  # no place to keep it: the talk goes on without
    return PromptSession(
        history=history,
        completer=GrammarCompleter(understander.next_words),
        complete_in_thread=True,
        bottom_toolbar=lambda: status_line(book, clock()),
    )


def status_line(book: Book, now: datetime) -> str:
    """Return what is in hand and which question is open, for the line below the prompt."""
    from fieldvoice.conversation.focus import Focus
    from fieldvoice.conversation.pending import open_question
    from fieldvoice.conversation.wording import tree_name

    last = book.last_utterance()
    focus = Focus.carried(last, now, "typed")
    question = open_question(last, now, "typed")
    in_hand = focus.vessel or (tree_name(focus.tree) if focus.tree is not None else "nothing")
    return f"In hand: {in_hand}." + (f"  Asked: {question.text}" if question else "")
