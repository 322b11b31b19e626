"""Pictures as SVG that take their colours from the page: shapes with classes, and axes.

Colours stand in ``page.css`` alone, once for light and once for dark. The library escapes what is
written in a picture; what stands in its label is escaped here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

import drawsvg
from markupsafe import Markup

if TYPE_CHECKING:
    from collections.abc import Sequence

#: Pixels that a letter of the pictures' writing takes, on the whole (13 px, sans serif).
LETTER_PX = 6.6
#: Steps between the marks of an axis, times a power of ten.
_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


class Picture:
    """One picture of a width and height in pixels; ``told`` says in words what it shows."""

    def __init__(self, width: float, height: float, told: str) -> None:
        self.width, self.height = width, height
        self._drawn = drawsvg.Drawing(
            _px(width), _px(height), role="img", aria_label=escape(told, quote=True)
        )

    def rect(
        self, x: float, y: float, width: float, height: float, kind: str, round_px: float = 0
    ) -> None:
        """Draw a box; one without width or height is not drawn."""
        if width > 0 and height > 0:
            more: dict[str, Any] = {"rx": _px(round_px)} if round_px else {}
            self._add(
                drawsvg.Rectangle(_px(x), _px(y), _px(width), _px(height), class_=kind, **more)
            )

    def text(self, words: str, x: float, y: float, kind: str = "", anchor: str = "start") -> None:
        """Write words at a place."""
        self._add(
            drawsvg.Text(
                words, None, _px(x), _px(y), class_=f"t {kind}".strip(), text_anchor=anchor
            )
        )

    def dot(self, x: float, y: float, radius: float, kind: str) -> None:
        """Draw a dot."""
        self._add(drawsvg.Circle(_px(x), _px(y), radius, class_=kind))

    def line(self, points: Sequence[tuple[float, float]], kind: str) -> None:
        """Draw a line through points."""
        self.lines([points], kind)

    def lines(self, many: Sequence[Sequence[tuple[float, float]]], kind: str) -> None:
        """Draw lines of one kind as one shape."""
        path = drawsvg.Path(class_=kind, fill="none")
        for points in many:
            for index, (x, y) in enumerate(points):
                (path.L if index else path.M)(_px(x), _px(y))
        if any(many):
            self._add(path)

    def band(
        self, x: float, top: float, bottom: float, to_x: float, to_top: float, to_bottom: float,
        kind: str,
    ) -> None:  # fmt: skip
        """Draw a band that flows from one side to the other."""
        middle = (x + to_x) / 2
        path = drawsvg.Path(class_=kind)
        path.M(_px(x), _px(top))
        path.C(_px(middle), _px(top), _px(middle), _px(to_top), _px(to_x), _px(to_top))
        path.L(_px(to_x), _px(to_bottom))
        path.C(_px(middle), _px(to_bottom), _px(middle), _px(bottom), _px(x), _px(bottom))
        path.Z()
        self._add(path)

    def svg(self) -> Markup:
        """Return the picture as markup that stands in a page."""
        return Markup(self._drawn.as_svg(header=""))  # the library escapes all text

    def _add(self, shape: Any) -> None:
        self._drawn.append(shape)


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis from ``low`` to ``high``, drawn from pixel ``start`` to pixel ``end``."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return the pixel of a value."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def marks(self, about: int = 4) -> list[float]:
        """Return some ``about`` round values on it."""
        step = nice_step((self.high - self.low) / about)
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [index * step for index in range(first, last + 1)]


def axis_to(most: float, start: float, end: float) -> Axis:
    """Return an axis from nothing to at least ``most``, ending at a round value."""
    step = nice_step(max(most, 1e-9) / 4)
    return Axis(0.0, math.ceil(most / step - 1e-9) * step or step, start, end)


def nice_step(about: float) -> float:
    """Return a round step near ``about``: 1, 2, 2.5 or 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(about))
    return next(step for step in _STEPS if step * power >= about * 0.999) * power


def written(value: float) -> str:
    """Return a mark's number as short as can be."""
    return f"{value:,.3f}".rstrip("0").rstrip(".") if value % 1 else f"{value:,.0f}"


def width_of(words: str) -> float:
    """Return about how wide words are, in pixels."""
    return len(words) * LETTER_PX


def shortened(words: str, room: float) -> str:
    """Return words cut to the room there is, in pixels."""
    letters = max(3, int(room / LETTER_PX))
    return words if len(words) <= letters else f"{words[: letters - 1].rstrip()}…"


def _px(value: float) -> float:
    short = round(value, 1)
    return int(short) if short == int(short) else short
