"""``fieldvoice chat``: the conversation at a keyboard."""

from __future__ import annotations

import sys
import threading
from contextlib import suppress
from functools import partial
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.faults import UNREADABLE, complain
from fieldvoice.cli.options import book_option, clock_of, examples, json_option, now_option
from fieldvoice.cli.terminal import indented, plain
from fieldvoice.dialogue.greetings import is_farewell
from fieldvoice.errors import BookError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from prompt_toolkit import PromptSession

    from fieldvoice.book import Book
    from fieldvoice.cli.app import AppContext
    from fieldvoice.dialogue import Conversation


#: How often it is looked whether something is to be said unasked, in seconds.
_LOOK_S = 1.0
_WELCOME = 'Say what you see ("tree nine, half full, clear") or ask ("what should I boil today?").'
_KEYS = 'Tab completes, "scratch that" takes back, "what can I say?" shows more, Ctrl-D leaves.'
_PLAIN_KEYS = '"Scratch that" takes back, "what can I say?" tells more, "quit" leaves.'


@click.command(
    "chat",
    epilog=examples(
        "fieldvoice chat",
    ),
)
@json_option
@book_option
@now_option
def command(as_json: bool, book: Path | None, now: datetime | None) -> int:
    """Talk by typing.

    Tab completes, Ctrl-C clears the line, "quit" or Ctrl-D leaves. Piped in, it takes one utterance
    a line, as `say --stdin` does. With FIELDVOICE_PLAIN=1 nothing is drawn anew, for a screen
    reader.
    """
    from fieldvoice.cli.app import conversation

    clock = clock_of(now)
    with conversation(book, clock) as desk:
        if sys.stdin.isatty() and sys.stdout.isatty():
            return _talk(desk.conversation, _typed(desk, as_json), as_json, at_a_prompt=True)
        return _talk(desk.conversation, _piped(), as_json)


def _talk(
    talk: Conversation, lines: Iterator[str], as_json: bool, at_a_prompt: bool = False
) -> int:
    from fieldvoice.cli.show import show, show_typed
    from fieldvoice.transcript import typed

    status = 0
    for line in lines:
        try:
            reply = talk.hear(typed(line))
            if at_a_prompt and not as_json:
                show_typed(reply)
            else:
                show(reply, as_json=as_json)
        except BookError as fault:
            # The next line may fare better: another program may have held the book.
            complain(str(fault))
            status = UNREADABLE
    return status


def _piped() -> Iterator[str]:
    for line in sys.stdin:
        if line.strip():
            yield line.strip()


def _typed(desk: AppContext, as_json: bool) -> Iterator[str]:
    """Yield the lines typed at the prompt; a paste of several lines comes line by line."""
    ask = PlainPrompt(desk) if plain() else partial(_entered, _session(), desk)
    for line in (_WELCOME, _PLAIN_KEYS if plain() else _KEYS):
        click.echo(indented(line, 0), err=as_json)
    while True:
        try:
            entered = ask()
        except KeyboardInterrupt:
            continue
        except EOFError:
            return
        said = [line.strip() for line in entered.splitlines() if line.strip()]
        for line in said:
            if len(said) > 1 and not as_json:
                click.echo(f"> {line}")
            yield line
            if is_farewell(line):
                return


class PlainPrompt:
    """Asks for lines and draws nothing anew, so that a screen reader says each line once.

    Lines are read beside, one whenever one is asked for: what is due is told meanwhile, by the
    thread that the book belongs to.
    """

    def __init__(self, desk: AppContext) -> None:
        self._desk = desk
        self._lines: SimpleQueue[str] = SimpleQueue()
        self._reading = False

    def __call__(self) -> str:
        """Return the next line.

        Raises:
            EOFError: there is none.
        """
        click.echo("> ", nl=False)
        if not self._reading:
            self._reading = True
            threading.Thread(target=self._read, name="keyboard", daemon=True).start()
        while True:
            try:
                line = self._lines.get(timeout=_LOOK_S)
            except Empty:
                self._tell()
                continue
            self._reading = False
            if not line:
                raise EOFError
            return line

    def _read(self) -> None:
        self._lines.put(sys.stdin.readline())

    def _tell(self) -> None:
        for text in _due(self._desk):
            click.echo()
            _call(text)
            click.echo("> ", nl=False)


def _entered(session: PromptSession[str], desk: AppContext) -> str:
    """Return what is typed at one prompt.

    The book is asked before and not while one types: completion runs in a thread of its own, where
    the book cannot be read, and nothing changes in it until the line is taken.
    """
    from fieldvoice.cli.completion import GrammarCompleter
    from fieldvoice.dialogue.likely import likely

    book, now = desk.conversation.book, desk.clock()
    names, expected = desk.conversation.names(), likely(book, book.season(), now)
    return session.prompt(
        "> ",
        completer=GrammarCompleter(
            lambda said: desk.understander.next_words(said, names, expected)
        ),
        complete_in_thread=True,
        bottom_toolbar=indented(status_line(book, now), 0),
        pre_run=lambda: _begin_calling(desk),
    )


def _begin_calling(desk: AppContext) -> None:
    from prompt_toolkit.application import get_app

    get_app().create_background_task(_calling(desk))


async def _calling(desk: AppContext) -> None:
    """Show what is to be said unasked above the prompt, with a bell, while somebody may type."""
    from asyncio import sleep

    from prompt_toolkit.application import run_in_terminal

    while True:
        for text in _due(desk):
            await run_in_terminal(partial(_call, text))
        await sleep(_LOOK_S)


def _due(desk: AppContext) -> list[str]:
    """Return what is to be said unasked; none while another program holds the book."""
    with suppress(BookError):
        return [reminder.text for reminder in desk.conversation.calls(desk.clock())]
    return []


def _call(text: str) -> None:
    from fieldvoice.cli.show import show_line

    click.echo("\a", nl=False)
    show_line("call", text)


def _session() -> PromptSession[str]:
    from platformdirs import user_state_path
    from prompt_toolkit import PromptSession
    from prompt_toolkit.history import FileHistory, History, InMemoryHistory

    history: History
    try:
        path = user_state_path("fieldvoice", appauthor=False, ensure_exists=True) / "history"
        path.touch()
        history = FileHistory(str(path))
    except OSError:
        history = InMemoryHistory()  # no place to keep it: the talk goes on without
    return PromptSession(history=history)


def status_line(book: Book, now: datetime) -> str:
    """Return what stands below the prompt.

    What is in hand, how far the round is, which question is open, and how much waits for review.
    """
    from fieldvoice.dialogue.focus import Focus
    from fieldvoice.dialogue.prompts import open_question
    from fieldvoice.dialogue.round import progress
    from fieldvoice.dialogue.waiting import is_note
    from fieldvoice.nlg.written import Style, written
    from fieldvoice.segments import Count, TreeRef, VesselRef, fact

    last = book.last_utterance()
    season = book.season()
    focus = Focus.carried(last, now, "typed")
    question = open_question(last, now, "typed")
    waiting = sum(map(is_note, book.kept()))
    trees = TreeRef((focus.tree,)) if focus.tree is not None else None
    vessel = VesselRef(focus.vessel) if focus.vessel is not None else None
    parts = [
        fact("In hand:", vessel or trees or "nothing"),
        progress(season, now),
        fact("Asked:", written(question.asks)) if question else fact(),
        fact("To review:", Count(waiting, "", "")) if waiting else fact(),
    ]
    told = (written((part,), Style(names=season.names)) for part in parts)
    return "  ".join(filter(None, told))
