"""What is wrong in a grammar, and where: each with its line, a caret and what was expected.

The reader raises the first one; the linter prints them all.
"""

from __future__ import annotations

import difflib
from bisect import bisect_right
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from fieldvoice.errors import GrammarError

#: Columns of a long line that are shown around its caret, and names listed as expected.
_WINDOW, _LISTED = 96, 12


class Span(NamedTuple):
    """Part of a text, from one character up to another (0-based)."""

    start: int
    end: int


NOWHERE = Span(0, 0)


@dataclass(frozen=True)
class Source:
    """A grammar file's name and text. Names of rules made by the program have an empty one."""

    name: str = ""
    text: str = field(default="", repr=False)

    @cached_property
    def _starts(self) -> list[int]:
        return [0, *(at + 1 for at, sign in enumerate(self.text) if sign == "\n")]

    def place(self, at: int) -> tuple[int, int]:
        """Return line and column (both from 1) of a character."""
        line = bisect_right(self._starts, at)
        return line, at - self._starts[line - 1] + 1

    def line(self, number: int) -> str:
        """Return the text of a line (from 1)."""
        return self.text[self._starts[number - 1] :].split("\n", 1)[0]


NO_SOURCE = Source()


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong.

    ``expected`` are the names or signs that could stand there instead of ``found``; a warning does
    not stop the build.
    """

    code: str
    message: str
    source: Source
    span: Span
    expected: tuple[str, ...] = ()
    found: str = ""
    is_warning: bool = False

    def __str__(self) -> str:
        """Return the message with its place, the line, a caret below, and what was expected."""
        if not self.source.name:
            return self.message
        line, column = self.source.place(self.span.start)
        grade = "warning" if self.is_warning else "error"
        head = f"{self.source.name}:{line}:{column}: {grade}[{self.code}]: {self.message}"
        shown, indent = _around(self.source.line(line), column)
        carets = "^" * max(1, min(self.span.end - self.span.start, len(shown) - indent))
        margin = " " * len(f" {line}")
        told = [head, f" {line} | {shown}", f"{margin} | {' ' * indent}{carets}"]
        if self.expected:
            told.append(f"{margin} = {self._expectation()}")
        return "\n".join(told)

    def _expectation(self) -> str:
        near = difflib.get_close_matches(self.found, self.expected, n=1)
        listed = ", ".join(self.expected[:_LISTED]) + ", …" * (len(self.expected) > _LISTED)
        several = "one of: " if len(self.expected) > 1 else ""
        return f"expected {several}{listed}" + (f" (did you mean {near[0]!r}?)" if near else "")


class PlacedGrammarError(GrammarError):
    """A grammar that cannot be used; its text is the finding's."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(str(finding))
        self.finding = finding


def _around(line: str, column: int) -> tuple[str, int]:
    """Return what is shown of a line and how far its caret is indented; long lines are cut."""
    at = column - 1
    if len(line) <= _WINDOW:
        return line, at
    first = max(0, min(at - _WINDOW // 2, len(line) - _WINDOW))
    cut = line[first : first + _WINDOW]
    left, right = "…" * (first > 0), "…" * (first + _WINDOW < len(line))
    return f"{left}{cut}{right}", at - first + len(left)
