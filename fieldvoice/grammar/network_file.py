"""The grammar's networks in a file: a checksum in the first line, then plain JSON.

Reading it runs nothing that stands in it. Words, costs, marks and names of rules stand in it once
each; the networks are one long list of whole numbers that point to them, which is read in a
fifth of the time that nested lists take.
"""

from __future__ import annotations

import gc
import json
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from fieldvoice.grammar.network import Network
from fieldvoice.whole_files import with_sum, without_sum

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping

    from fieldvoice.grammar.network import Call, Marks, Step
    from fieldvoice.grammar.tags import Mark


class DamagedFileError(ValueError):
    """A file that is not as it was written."""


class _Table(dict[Any, int]):
    """Values in the order in which they were met."""

    def place(self, value: Hashable) -> int:
        return self.setdefault(value, len(self))


class _Writer:
    """Networks as one list of numbers, and the tables that these point into."""

    def __init__(self) -> None:
        self.names, self.costs, self.marks = _Table(), _Table(), _Table()
        self.numbers: list[int] = []

    def write(self, name: str, net: Network) -> None:
        self.numbers += [self.names.place(name), net.start, net.final, len(net.words)]
        for words, calls, jumps in zip(net.words, net.calls, net.jumps, strict=True):
            self.numbers.append(len(words))
            for word, steps in words.items():
                self.numbers.append(self.names.place(word))
                self._steps(steps)
            self.numbers.append(len(calls))
            for rule, *step in calls:
                self.numbers.append(self.names.place(rule))
                self._step(step)
            self._steps(jumps)

    def _steps(self, steps: tuple[Step, ...]) -> None:
        self.numbers.append(len(steps))
        for step in steps:
            self._step(step)

    def _step(self, step: Any) -> None:
        to, cost, marks = step
        self.numbers += [to, self.costs.place(cost), self.marks.place(_told(marks))]


def written(networks: Mapping[str, Network]) -> bytes:
    """Return the file's content."""
    writer = _Writer()
    for name, net in networks.items():
        writer.write(name, net)
    marks = [json.loads(one) for one in writer.marks]
    whole = [list(writer.names), list(writer.costs), marks, len(networks), writer.numbers]
    return with_sum(json.dumps(whole, separators=(",", ":")).encode())


def read(content: bytes) -> dict[str, Network]:
    """Return the networks in a file's content.

    Raises:
        DamagedFileError: it is not as it was written.
    """
    body = without_sum(content)
    if body is None:
        raise DamagedFileError("the checksum is another")
    names, costs, listed, count, numbers = json.loads(body)
    marks = [tuple(map(_mark, one)) for one in listed]
    reader = _Reader(names, costs, marks, iter(numbers))
    collects = gc.isenabled()
    gc.disable()  # it would look through the same tuples again and again
    try:
        return dict(reader.network() for _ in range(count))
    finally:
        if collects:
            gc.enable()


class _Reader:
    def __init__(
        self, names: list[str], costs: list[float], marks: list[Marks], numbers: Iterator[int]
    ) -> None:
        self._names, self._costs, self._marks, self._numbers = names, costs, marks, numbers

    def network(self) -> tuple[str, Network]:
        get, names = self._numbers.__next__, self._names
        name, start, final, count = names[get()], get(), get(), get()
        words, calls, jumps = [], [], []
        for _ in range(count):
            words.append({names[get()]: self._steps() for _ in range(get())})
            calls.append(tuple(self._call() for _ in range(get())))
            jumps.append(self._steps())
        return name, Network(tuple(words), tuple(calls), tuple(jumps), start, final)

    def _steps(self) -> tuple[Step, ...]:
        get, costs, marks = self._numbers.__next__, self._costs, self._marks
        return tuple([(get(), costs[get()], marks[get()]) for _ in range(get())])

    def _call(self) -> Call:
        get = self._numbers.__next__
        return self._names[get()], get(), self._costs[get()], self._marks[get()]


def _told(marks: Marks) -> str:
    """Return marks as a text: 1, 1.0 and true are one key of a table, and three values."""
    return json.dumps([_plain(mark) for mark in marks])


def _plain(mark: Mark) -> list[Any]:
    kind, key, value = mark
    if isinstance(value, Fraction):
        value = {"fraction": [value.numerator, value.denominator]}
    return [kind, key, value]


def _mark(plain: list[Any]) -> Mark:
    kind, key, value = plain
    if isinstance(value, dict):
        value = Fraction(*value["fraction"])
    return kind, key, value
