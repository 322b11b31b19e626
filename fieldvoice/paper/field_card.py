"""The field card: what can be said, by the examples that stand in the declarations."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.lib.utils import simpleSplit

from fieldvoice.dialogue.sayable import examples
from fieldvoice.paper.print_page import GREY, PALE, PLAIN, Box, printable

if TYPE_CHECKING:
    from fieldvoice.paper.print_page import Paper

_POINTS, _LEAD = 8.6, 10.4
_GAP = 22.0
_HEADS = {"notes": "Notes", "questions": "Questions", "commands": "In between"}


def field_card(paper: Paper) -> None:
    """Print the card in two columns, on as many pages as it takes."""
    column = _Columns(paper)
    for kind, said in examples().items():
        column.head(_HEADS[kind])
        for words in dict.fromkeys(filter(None, said.values())):
            column.item(words)
    paper.end_page()


class _Columns:
    """Two columns that are filled one after the other."""

    def __init__(self, paper: Paper) -> None:
        self._paper = paper
        self._width = (paper.room.width - _GAP) / 2
        self._column = 0
        self._y = self._title()

    def head(self, words: str) -> None:
        """Write a heading, never as the last line of a column."""
        self._need(3 * _LEAD + 10)
        self._y -= 6
        self._paper.write(words, self._x, self._y - 10, 11, bold=True)
        self._paper.line(self._x, self._y - 13, self._x + self._width, self._y - 13, grey=PALE)
        self._y -= 17

    def item(self, words: str) -> None:
        """Write one thing that can be said."""
        lines = simpleSplit(printable(words), PLAIN, _POINTS, self._width - 10)
        self._need(len(lines) * _LEAD)
        self._paper.dot(self._x + 2, self._y - _POINTS + 2.8, 1.2, filled=True, grey=GREY)
        for line in lines:
            self._paper.write(line, self._x + 10, self._y - _POINTS, _POINTS)
            self._y -= _LEAD

    @property
    def _x(self) -> float:
        return self._paper.room.x + self._column * (self._width + _GAP)

    def _need(self, height: float) -> None:
        if self._y - height >= self._paper.room.y:
            return
        if self._column == 0:
            self._column, self._y = 1, self._top
            return
        self._paper.end_page()
        self._column, self._y = 0, self._title()

    def _title(self) -> float:
        room = self._paper.room
        self._paper.write("What you can say", room.x, room.top - 18, 18, bold=True)
        told = "Or say it in your own words: what is not sure is asked, and nothing is lost."
        end = self._paper.write_all(told, Box(room.x, room.y, room.width, room.height - 24), 9.5)
        self._top = end
        return end
