"""``fieldvoice chat`` on a terminal, and the parts that make it up."""

from __future__ import annotations

import os
import select
import signal
import sqlite3
import struct
import sys
import time
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from prompt_toolkit.completion import CompleteEvent
from prompt_toolkit.document import Document

from fieldvoice.book import Book
from fieldvoice.cli.chat import status_line
from fieldvoice.cli.completion import GrammarCompleter
from fieldvoice.dialogue import Conversation
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.cli.conftest import Ran

NOW_ISO = "2027-03-05T09:10:00-05:00"

#: What a terminal answers when it is asked where its cursor is.
ASKS_CURSOR, CURSOR = b"\x1b[6n", b"\x1b[1;1R"
CTRL_C, CTRL_D, ENTER, UP = b"\x03", b"\x04", b"\r", b"\x1b[A"
PASTE = b"\x1b[200~%s\x1b[201~"


@pytest.fixture(scope="module")
def understander() -> Interpreter:
    return Interpreter(GRAMMAR)


BEGUN = [
    ("tree twel", "twelve"),
    ("tree nine is nearly fu", "full"),
    ("how many ta", "taps"),
    ("scratch th", "that"),
    ("Tr", "tree"),
]


@pytest.mark.parametrize(("text", "word"), BEGUN)
def test_completion_offers_what_the_grammar_goes_on_with(
    understander: Interpreter, text: str, word: str
) -> None:
    """And replaces only the word begun."""
    completer = GrammarCompleter(understander.next_words)
    offered = list(completer.get_completions(Document(text), CompleteEvent()))
    assert word in {one.text for one in offered}
    assert {one.start_position for one in offered} == {-len(text.rpartition(" ")[2])}


def test_completion_offers_nothing_after_words_that_lead_nowhere(
    understander: Interpreter,
) -> None:
    """No guess is made where the grammar has no way on."""
    completer = GrammarCompleter(understander.next_words)
    assert not list(completer.get_completions(Document("my dog ran d"), CompleteEvent()))


def test_the_status_line_tells_what_is_in_hand_and_asked(understander: Interpreter) -> None:
    """Read from the book, as the conversation itself does."""
    now = datetime.fromisoformat(NOW_ISO)
    with Book.in_memory_copy() as book:
        talk = Conversation(book, understander, clock=lambda: now)
        assert status_line(book, now) == "In hand: nothing."
        talk.hear(typed("tree twelve is full"))
        assert status_line(book, now) == "In hand: tree 12."
        talk.hear(typed("poured eleven gallons"))
        assert status_line(book, now) == "In hand: tree 12.  Asked: Which tank?"
        talk.hear(typed("tree nine is full"))
        assert status_line(book, now) == "In hand: tree 9.  To review: 1."


def test_the_status_line_tells_how_far_the_round_is(understander: Interpreter) -> None:
    """Of the trees that belong to a round; on the first one nobody knows how many that will be."""
    now = datetime.fromisoformat(NOW_ISO)
    with Book.in_memory_copy() as book:
        talk = Conversation(book, understander, clock=lambda: now)
        talk.hear(typed("starting a round"))
        talk.hear(typed("trees one through four are empty"))
        assert status_line(book, now) == "In hand: nothing.  Round: 4 trees."
        now += timedelta(days=1)
        talk.hear(typed("tree two is full"))
        assert status_line(book, now) == "In hand: tree 2.  Round: 1 of 4 trees."


#: Variables of the environment that go before the size a terminal has.
WINDOW = ("COLUMNS", "LINES")


class Terminal:
    """A program on a terminal of its own."""

    def __init__(self, *args: str, **env: str) -> None:
        import pty

        self._pid, self._file = pty.fork()
        if self._pid == 0:
            # What was started in the background has Ctrl-C turned off, and hands that on.
            signal.signal(signal.SIGINT, signal.SIG_DFL)
            # Without the size of our own window: readline writes it to the C library's environment,
            # which a worker of the tests inherits.
            kept = {name: one for name, one in os.environ.items() if name not in WINDOW}
            own = {**kept, "TERM": "xterm", **env}
            os.execve(sys.executable, [sys.executable, "-m", "fieldvoice", *args], own)
        self._shown = b""

    def resize(self, rows: int, columns: int) -> None:
        """Make the window another size, as a user does with the mouse."""
        import fcntl
        import termios

        fcntl.ioctl(self._file, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def type(self, keys: bytes) -> None:
        os.write(self._file, keys)

    def wait_for(self, text: str, seconds: float = 20) -> bool:
        """Whether ``text`` is shown in time; what was shown before it is done with."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            place = self._shown.find(text.encode())
            if place >= 0:
                self._shown = self._shown[place + len(text) :]
                return True
            self._read(0.2)
        return False

    def until(self, text: str) -> str:
        """Return what is shown before ``text``.

        Raises:
            AssertionError: it is not shown in time.
        """
        until = time.monotonic() + 20
        while text.encode() not in self._shown:
            assert time.monotonic() < until, f"{text!r} was not shown, but {self._shown!r}"
            self._read(0.2)
        shown, _, self._shown = self._shown.partition(text.encode())
        return shown.decode(errors="replace")

    def leave(self) -> int:
        """Read to the end and return the exit status."""
        until = time.monotonic() + 20
        while time.monotonic() < until:
            ended, status = os.waitpid(self._pid, os.WNOHANG)
            if ended:
                os.close(self._file)
                return os.waitstatus_to_exitcode(status)
            self._read(0.1)
        raise AssertionError("the program did not leave")

    def _read(self, seconds: float) -> None:
        ready, _, _ = select.select([self._file], [], [], seconds)
        if not ready:
            return
        try:
            shown = os.read(self._file, 65536)
        except OSError:  # the program has closed its end
            return
        self._shown += shown
        if ASKS_CURSOR in shown:
            self.type(CURSOR)


on_a_terminal = pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")


@pytest.mark.long
@on_a_terminal
def test_a_talk_at_the_terminal(tmp_path: Path) -> None:
    """A note, a line cleared, a paste of two lines, and leaving."""
    book = tmp_path / "season.db"
    terminal = Terminal("chat", "--book", str(book), XDG_STATE_HOME=str(tmp_path))
    assert terminal.wait_for("In hand: nothing.")
    terminal.type(b"tree twelve is full" + ENTER)
    assert terminal.wait_for("Tree 12: full.")
    assert terminal.wait_for("In hand: tree 12.")
    terminal.type(b"tree fifty is full")
    terminal.type(CTRL_C)
    assert terminal.wait_for("In hand: tree 12.")
    terminal.type(PASTE % b"sap cloudy\ntree nine is empty" + ENTER)
    assert terminal.wait_for("Tree 12: cloudy.")
    assert terminal.wait_for("Tree 9: empty.")
    assert terminal.wait_for("In hand: tree 9.")
    terminal.type(CTRL_D)
    assert terminal.leave() == 0
    with sqlite3.connect(book) as saved:
        assert saved.execute("SELECT count(*) FROM entries").fetchone() == (3,)
    assert "tree twelve is full" in (tmp_path / "fieldvoice" / "history").read_text()


@pytest.mark.long
@on_a_terminal
def test_what_was_typed_is_not_said_back(tmp_path: Path) -> None:
    """It stands on the line above; of a paste each line is shown before its answer."""
    terminal = Terminal("chat", "--book", str(tmp_path / "b.db"), XDG_STATE_HOME=str(tmp_path))
    assert terminal.wait_for("In hand: nothing.")
    terminal.type(b"tree twelve is full" + ENTER)
    assert terminal.wait_for("saved")
    assert terminal.wait_for("In hand: tree 12.")
    terminal.type(PASTE % b"tree nine is empty\n\ntree ten is full" + ENTER)
    assert terminal.wait_for("> tree nine is empty\r\n")
    assert terminal.wait_for("> tree ten is full\r\n")
    assert terminal.wait_for("Tree 10: full.")
    assert "heard" not in terminal.until("In hand: tree 10.")
    terminal.type(CTRL_D)
    assert terminal.leave() == 0


@pytest.mark.long
@on_a_terminal
def test_a_timer_calls_above_what_is_being_typed(tmp_path: Path) -> None:
    """With a bell, without anything being entered."""
    book = tmp_path / "b.db"
    asked_at, now = (datetime.fromisoformat(NOW_ISO) + timedelta(minutes=m) for m in (0, 11))
    with Book.open(book) as written:
        talk = Conversation(written, Interpreter(GRAMMAR), clock=lambda: asked_at)
        talk.hear(typed("check the pan in ten minutes"))
    terminal = Terminal(
        "chat", "--book", str(book), "--now", now.isoformat(), XDG_STATE_HOME=str(tmp_path)
    )
    assert terminal.wait_for("\a")
    assert terminal.wait_for("Reminder: check the pan.")
    assert terminal.wait_for("In hand")  # the line to type on stands again below it
    terminal.type(CTRL_D)
    assert terminal.leave() == 0


@pytest.mark.long
@on_a_terminal
def test_a_timer_calls_where_nothing_is_drawn_anew(tmp_path: Path) -> None:
    """For a screen reader: a bell and a line; Ctrl-C and the end of the input as ever."""
    terminal = Terminal(
        "chat", "--book", str(tmp_path / "b.db"), XDG_STATE_HOME=str(tmp_path), FIELDVOICE_PLAIN="1"
    )
    assert terminal.wait_for("> ")
    terminal.type(b"tell me in two seconds\n")
    assert terminal.wait_for("Reminder for ")
    assert terminal.wait_for("\a")
    assert terminal.wait_for("Reminder: time is up.")
    assert terminal.wait_for("> ")
    terminal.type(CTRL_C)
    assert terminal.wait_for("> ")
    terminal.type(b"tree twelve is full\n")
    assert terminal.wait_for("Tree 12: full.")
    assert terminal.wait_for("> ")
    terminal.type(CTRL_D)
    assert terminal.leave() == 0


@pytest.mark.long
@on_a_terminal
def test_tab_offers_what_can_be_said_next(tmp_path: Path) -> None:
    """While one types, from the grammar and the names in the book."""
    terminal = Terminal("chat", "--book", str(tmp_path / "b.db"), XDG_STATE_HOME=str(tmp_path))
    assert terminal.wait_for("In hand: nothing.")
    terminal.type(b"call tree one the lookout maple" + ENTER)
    assert terminal.wait_for("In hand: lookout maple.")
    terminal.type(b"tree sev\t")
    assert terminal.wait_for("seventeen")
    terminal.type(CTRL_C)
    assert terminal.wait_for("In hand: lookout maple.")
    terminal.type(b"looko\t")
    assert terminal.wait_for("lookout")
    terminal.type(b" maple half full" + ENTER)
    assert terminal.wait_for("Lookout maple: half full.")
    assert terminal.wait_for("In hand: lookout maple.")
    terminal.type(CTRL_D)
    assert terminal.leave() == 0


@pytest.mark.long
@on_a_terminal
def test_lines_are_broken_between_words_of_a_window_made_narrow(tmp_path: Path) -> None:
    """The talk goes on at the new size; the long reason of a warning fits it."""
    terminal = Terminal("chat", "--book", str(tmp_path / "b.db"), XDG_STATE_HOME=str(tmp_path))
    assert terminal.wait_for("In hand: nothing.")
    terminal.resize(20, 40)
    terminal.type(b"tree nine is clear" + ENTER)  # the new size has come by when this is shown
    assert terminal.wait_for("In hand: tree 9.")
    terminal.type(b"tree twelve is cloudy" + ENTER)
    assert terminal.wait_for("Tree 12: cloudy.")
    shown = terminal.until("In hand: tree 12.")
    lines = [line for line in shown.split("\r\n") if line.startswith(" " * 8)]
    assert lines
    assert [line for line in lines if len(line) > 40] == []
    # Each word is whole: those of the reason follow each other over the ends of the lines.
    assert "boil it at once for dark syrup at home" in " ".join(" ".join(lines).split())
    terminal.type(CTRL_D)
    assert terminal.leave() == 0


@pytest.mark.long
@on_a_terminal
def test_the_last_line_comes_back_with_the_up_key(tmp_path: Path) -> None:
    """Also in another talk: the history is kept."""
    book, state = str(tmp_path / "b.db"), str(tmp_path)
    first = Terminal("chat", "--book", book, XDG_STATE_HOME=state)
    assert first.wait_for("In hand: nothing.")
    first.type(b"tree twelve is full" + ENTER)
    assert first.wait_for("Tree 12: full.")
    assert first.wait_for("In hand: tree 12.")
    first.type(CTRL_D)
    assert first.leave() == 0
    again = Terminal("chat", "--book", book, XDG_STATE_HOME=state)
    assert again.wait_for("In hand: tree 12.")
    again.type(UP)
    assert again.wait_for("tree twelve is full")
    again.type(ENTER)
    assert again.wait_for("Tree 12: full.")
    assert again.wait_for("In hand: tree 12.")
    again.type(CTRL_D)
    assert again.leave() == 0


def test_no_colour_and_no_prompt_when_piped(run: Callable[..., Ran]) -> None:
    """Other programs read it."""
    ran = run("chat", stdin="tree nine is cloudy\n\nhalf full\n")
    assert ran.status == 0
    assert "\x1b" not in ran.out
    assert "> " not in ran.out
    assert [line.split()[0] for line in ran.out.splitlines()] == [
        "heard", "record", "reply", "stop", "heard", "record", "reply",
    ]  # fmt: skip
