"""Paper to print on: sizes and margins for home printers, and words that fit where they stand.

Lengths are points, 72 to the inch. The same content gives the same bytes.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

Size = Literal["letter", "a4"]
SIZES: Mapping[str, tuple[float, float]] = {"letter": LETTER, "a4": A4}
#: Half an inch: home printers leave up to a quarter of an inch blank (common practice).
MARGIN = 36.0
PLAIN, BOLD = "Helvetica", "Helvetica-Bold"
#: Greys, 0 is black; what has to be read is never lighter than the second.
BLACK, GREY, PALE = 0.0, 0.35, 0.75


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the page, measured from its lower left corner."""

    x: float
    y: float
    width: float
    height: float

    @property
    def top(self) -> float:
        """Its upper edge."""
        return self.y + self.height

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.x + self.width

    def inset(self, by: float) -> Box:
        """Return the box inside it, so far from each edge."""
        return Box(self.x + by, self.y + by, self.width - 2 * by, self.height - 2 * by)


class Paper:
    """A document in the making, on paper of one size."""

    def __init__(self, size: Size, title: str) -> None:
        self._made = io.BytesIO()
        self.canvas = Canvas(self._made, pagesize=SIZES[size], invariant=1, lang="en")
        self.canvas.setTitle(title)
        self.canvas.setCreator("fieldvoice")
        width, height = SIZES[size]
        #: What may be printed on.
        self.room = Box(MARGIN, MARGIN, width - 2 * MARGIN, height - 2 * MARGIN)

    def end_page(self) -> None:
        """End the page; the next begins blank."""
        self.canvas.showPage()

    def places(
        self, count: int, across: int, down: int, begin: Callable[[], None], *, foot: float = 0.0
    ) -> Iterator[Box]:
        """Yield a box for each of ``count`` things, row by row, on as many pages as they need.

        ``begin`` is called on each new page; ``foot`` points at its end are left free.
        """
        width, height = self.room.width / across, (self.room.height - foot) / down
        for index in range(count):
            row, column = divmod(index % (across * down), across)
            if row == column == 0:
                if index:
                    self.end_page()
                begin()
            x, y = self.room.x + column * width, self.room.top - (row + 1) * height
            yield Box(x, y, width, height)
        if count:
            self.end_page()

    def made(self) -> bytes:
        """Return the finished document."""
        self.canvas.save()
        return self._made.getvalue()

    def write(
        self, words: str, x: float, y: float, points: float, *, bold: bool = False,
        grey: float = BLACK, anchor: Literal["start", "middle", "end"] = "start",
    ) -> None:  # fmt: skip
        """Write a line of words on its baseline."""
        self.canvas.setFillGray(grey)
        self.canvas.setFont(BOLD if bold else PLAIN, points)
        draw = {
            "start": self.canvas.drawString,
            "middle": self.canvas.drawCentredString,
            "end": self.canvas.drawRightString,
        }[anchor]
        draw(x, y, printable(words))

    def write_all(
        self, words: str, box: Box, points: float, *, bold: bool = False, grey: float = BLACK,
        most: int = 99,
    ) -> float:  # fmt: skip
        """Write words in as many lines as they need, from the top of ``box`` on.

        Returns where the next line would stand. More than ``most`` lines end in an ellipsis.
        """
        font = BOLD if bold else PLAIN
        lines = simpleSplit(printable(words), font, points, box.width)
        if len(lines) > most:
            lines = [*lines[: most - 1], fitting(lines[most - 1] + " …", font, points, box.width)]
        y = box.top - points
        for line in lines:
            self.write(line, box.x, y, points, bold=bold, grey=grey)
            y -= points * 1.25
        return y

    def line(
        self, x: float, y: float, to_x: float, to_y: float, *, width: float = 0.5,
        grey: float = BLACK, dashed: bool = False,
    ) -> None:  # fmt: skip
        """Draw a line."""
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(width)
        self.canvas.setDash([3, 3] if dashed else [])
        self.canvas.line(x, y, to_x, to_y)

    def frame(self, box: Box, *, width: float = 0.5, grey: float = BLACK) -> None:
        """Draw the edges of a box."""
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(width)
        self.canvas.setDash([])
        self.canvas.rect(box.x, box.y, box.width, box.height)

    def tick_box(self, x: float, y: float, side: float = 9.0) -> None:
        """Draw a box to be ticked in pencil."""
        self.frame(Box(x, y, side, side), width=0.7)

    def dot(self, x: float, y: float, radius: float, *, filled: bool, grey: float = BLACK) -> None:
        """Draw a dot, or a ring."""
        self.canvas.setStrokeGray(grey)
        self.canvas.setFillGray(grey if filled else 1.0)
        self.canvas.setLineWidth(1.2)
        self.canvas.setDash([])
        self.canvas.circle(x, y, radius, fill=1)


def printable(words: str) -> str:
    """Return words in signs that the printer's own fonts have; others become question marks."""
    return words.encode("cp1252", "replace").decode("cp1252")


def size_for(words: str, width: float, most: float, *, bold: bool = True) -> float:
    """Return the largest size up to ``most`` points at which words fit into ``width``."""
    wide = stringWidth(printable(words), BOLD if bold else PLAIN, most)
    return most if wide <= width else most * width / wide


def fitting(words: str, font: str, points: float, width: float) -> str:
    """Return words cut to a width, with an ellipsis where something was cut."""
    words = printable(words)
    while words and stringWidth(words, font, points) > width:
        words = words.removesuffix("…").rstrip()[:-1] + "…"
        if words == "…":
            break
    return words
