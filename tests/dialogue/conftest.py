"""A conversation with an empty book, a clock that stands still until it is moved, and shorthand."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation, Settings
from fieldvoice.nlu import Hypothesis, Interpreter
from fieldvoice.nlu.wordings import come_along
from fieldvoice.transcript import Transcript, typed
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from fieldvoice.book import Source
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.reply import Reply

MORNING = datetime(2027, 3, 5, 9, 10, tzinfo=timezone(timedelta(hours=-5)))


class FixedReadings:
    """Understanding with the readings of each text given beforehand."""

    def __init__(self, readings: dict[str, tuple[Hypothesis, ...]]) -> None:
        self._readings = readings
        self.expected: list[str | None] = []

    def read(
        self, heard: Transcript, *, expecting: str | None = None, names: EntityNames | None = None
    ) -> tuple[Hypothesis, ...]:
        self.expected.append(expecting)
        return self._readings.get(heard.text, ())

    def named(self, *_: object) -> tuple[()]:
        return ()

    def pieces(self, *_: object) -> tuple[()]:
        """No times, trees or kinds."""
        return ()

    def tells_a_value(self, *_: object) -> bool:
        return False

    def second(self, *_: object, **__: object) -> None:
        return None

    def by_wording(self, *_: object) -> tuple[Hypothesis, ...]:
        return ()

    def wording_of(self, *_: object, **__: object) -> None:
        return None

    def opening(self, text: str) -> int:
        return 3 if text.startswith("make a note ") else 0


class Talk:
    """One conversation: ``say`` types, ``hear`` takes spoken words, ``wait`` moves the clock."""

    def __init__(self, book: Book, reader: Any, settings: Settings | None = None) -> None:
        self.book = book
        self.now = MORNING
        self.conversation = Conversation(book, reader, settings, clock=lambda: self.now)

    def say(self, *lines: str, source: Source = "typed") -> Reply:
        """Say the lines in turn and return the reply to the last."""
        replies = [self.conversation.hear(typed(line), source=source) for line in lines]
        return replies[-1]

    def hear(self, heard: Transcript, source: Source = "memo") -> Reply:
        return self.conversation.hear(heard, source=source)

    def wait(self, **time: float) -> None:
        self.now += timedelta(**time)

    def due(self, **later: float) -> list[str]:
        """Return what is to be said unasked so much later."""
        at = self.now + timedelta(**later)
        return [one.text for one in self.conversation.reminders(at) if one.is_due(at)]

    @property
    def notes(self) -> list[dict[str, Any]]:
        """The live notes, without the times of those put right."""
        live = [entry.act.json_fields() for entry in self.book.entries()]
        return [{key: value for key, value in act.items() if key != "at"} for act in live]


@pytest.fixture(scope="session")
def understander() -> Interpreter:
    return Interpreter(GRAMMAR, wordings=come_along)


@pytest.fixture
def book() -> Iterator[Book]:
    with Book.in_memory_copy() as book:
        yield book


@pytest.fixture
def talk(book: Book, understander: Interpreter) -> Talk:
    return Talk(book, understander)


@pytest.fixture
def talk_with(book: Book, understander: Interpreter) -> Callable[..., Talk]:
    """Return a conversation with other settings, or with readings given beforehand."""

    def talking(
        settings: Settings | None = None, readings: dict[str, tuple[Hypothesis, ...]] | None = None
    ) -> Talk:
        reader = understander if readings is None else FixedReadings(readings)
        return Talk(book, reader, settings)

    return talking
