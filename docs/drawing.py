"""Small line charts as SVG, drawn from the rules' own functions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

_WIDTH, _HEIGHT = 640, 360
_LEFT, _RIGHT, _TOP, _BOTTOM = 62, 24, 46, 52
#: Colours that can be told apart by everybody and in grey (Okabe and Ito's palette).
_COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7")
_DASHES = ("", "7 4", "2 3", "10 3 2 3")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a chart: its name and its points (x, y)."""

    name: str
    points: Sequence[tuple[float, float]]

    @classmethod
    def of(cls, name: str, rule: Callable[[float], float], at: Sequence[float]) -> Line:
        """Return the line of a function at the given places."""
        return cls(name, [(x, rule(x)) for x in at])


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis: what it shows, from, to, and the step between its marks."""

    name: str
    low: float
    high: float
    step: float

    def marks(self) -> list[float]:
        """Return where the axis is marked."""
        count = round((self.high - self.low) / self.step)
        return [self.low + index * self.step for index in range(count + 1)]

    def share(self, value: float) -> float:
        """Return how far along the axis a value lies, 0 to 1."""
        return (value - self.low) / (self.high - self.low)


def chart(
    title: str, told: str, x: Axis, y: Axis, lines: Sequence[Line], *, key_left: bool = False
) -> str:
    """Return an SVG picture; ``told`` says in words what it shows.

    The key of the lines stands at the upper right, or left where that would cover a line.
    """
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" '
        f'font-family="sans-serif" font-size="13">',
        f"<title>{escape(title)}</title>",
        f"<desc>{escape(told)}</desc>",
        f'<rect width="{_WIDTH}" height="{_HEIGHT}" fill="#ffffff"/>',
        f'<text x="{_LEFT}" y="22" font-size="15" font-weight="bold">{escape(title)}</text>',
        *_grid(x, y),
        *(_drawn(line, index, x, y) for index, line in enumerate(lines)),
        *_names(lines, _LEFT + 16 if key_left else _WIDTH - _RIGHT - 250),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _across(x: Axis, value: float) -> float:
    return _LEFT + x.share(value) * (_WIDTH - _LEFT - _RIGHT)


def _down(y: Axis, value: float) -> float:
    return _HEIGHT - _BOTTOM - y.share(value) * (_HEIGHT - _TOP - _BOTTOM)


def _grid(x: Axis, y: Axis) -> list[str]:
    parts = []
    for value in x.marks():
        at = _across(x, value)
        parts.append(
            f'<line x1="{at:.1f}" y1="{_TOP}" x2="{at:.1f}" y2="{_HEIGHT - _BOTTOM}" '
            'stroke="#dddddd"/>'
            f'<text x="{at:.1f}" y="{_HEIGHT - _BOTTOM + 18}" text-anchor="middle">'
            f"{value:g}</text>"
        )
    for value in y.marks():
        at = _down(y, value)
        parts.append(
            f'<line x1="{_LEFT}" y1="{at:.1f}" x2="{_WIDTH - _RIGHT}" y2="{at:.1f}" '
            'stroke="#dddddd"/>'
            f'<text x="{_LEFT - 8}" y="{at + 4:.1f}" text-anchor="end">{value:g}</text>'
        )
    middle = (_LEFT + _WIDTH - _RIGHT) / 2
    parts.append(
        f'<text x="{middle:.0f}" y="{_HEIGHT - 12}" text-anchor="middle">{escape(x.name)}</text>'
    )
    parts.append(f'<text x="{_LEFT}" y="{_TOP - 8}" fill="#555555">{escape(y.name)}</text>')
    return parts


def _drawn(line: Line, index: int, x: Axis, y: Axis) -> str:
    places = " ".join(f"{_across(x, px):.1f},{_down(y, py):.1f}" for px, py in line.points)
    dash = f' stroke-dasharray="{_DASHES[index]}"' if _DASHES[index] else ""
    return (
        f'<polyline points="{places}" fill="none" stroke="{_COLOURS[index]}" '
        f'stroke-width="2.5"{dash}/>'
    )


def _names(lines: Sequence[Line], begin: int) -> list[str]:
    """Return each line's name in a key that begins so far to the right."""
    parts = []
    for index, line in enumerate(lines):
        at = _TOP + 16 + index * 19
        dash = f' stroke-dasharray="{_DASHES[index]}"' if _DASHES[index] else ""
        parts.append(
            f'<rect x="{begin - 6}" y="{at - 14}" width="252" height="19" fill="#ffffff"/>'
            f'<line x1="{begin}" y1="{at - 4}" x2="{begin + 30}" y2="{at - 4}" '
            f'stroke="{_COLOURS[index]}" stroke-width="2.5"{dash}/>'
            f'<text x="{begin + 38}" y="{at}">{escape(line.name)}</text>'
        )
    return parts
