"""A card for each tree, to hang at it: its number, what it may carry, and where to drill next."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from fieldvoice.dialogue.rule_inputs import is_to_rest
from fieldvoice.nlg.wording import species_name, start
from fieldvoice.paper import measures as m
from fieldvoice.paper import trunk_words
from fieldvoice.paper.print_page import BOLD, GREY, PALE, PLAIN, Box, fitting, size_for
from fieldvoice.paper.trunk import HIGH_FT, LETTERS, LOW_FT, trunk_of
from fieldvoice.segments import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.paper.measures import Measures
    from fieldvoice.paper.print_page import Paper
    from fieldvoice.paper.trees import TreeRow
    from fieldvoice.paper.trunk import DrawnHole, Spot, Trunk

#: Points: figures of 36 mm. Signs are made with 25 mm for 6 m and more (common practice).
_NUMBER = 140.0
_ACROSS, _DOWN = 2, 2
_INSIDE = 14.0
#: Lines to write on in pencil.
_PENCIL_LINES = 2
#: What they take, with their headings and some air.
_PENCIL_HIGH = 16.0 * (_PENCIL_LINES - 1) + 15


def tree_cards(paper: Paper, rows: Sequence[TreeRow], year: int, told: Measures) -> None:
    """Print the cards, four to a page, with lines to cut along."""
    places = paper.places(len(rows), _ACROSS, _DOWN, partial(_cuts, paper))
    for box, row in zip(places, rows, strict=True):
        _card(paper, box.inset(_INSIDE), row, year, told)


def _cuts(paper: Paper) -> None:
    room = paper.room
    middle_x, middle_y = room.x + room.width / 2, room.y + room.height / 2
    paper.line(middle_x, room.y, middle_x, room.top, grey=PALE, dashed=True)
    paper.line(room.x, middle_y, room.right, middle_y, grey=PALE, dashed=True)


def _card(paper: Paper, box: Box, row: TreeRow, year: int, told: Measures) -> None:
    tree = row.tree
    y = _head(paper, box, row, told)
    kind = species_name(tree.species or "") or "kind not noted"
    size = "not measured yet" if tree.diameter_in is None else _across(tree.diameter_in, told)
    paper.write(start(f"{kind}, {size}"), box.x, y - 12, 11)
    paper.write(_taps(row), box.x, y - 34, 17, bold=True)
    trunk = trunk_of(tree, row.limit, year)
    _bark(paper, Box(box.x, y - 122, box.width, 76), trunk, told)
    advice = Box(box.x, box.y, box.width, y - 127 - box.y)
    y = paper.write_all(
        f"Next: {trunk.advice}" if trunk.next_spot else trunk.advice, advice, 8.5, most=3
    )
    for known in filter(None, (trunk_words.gained(row, told), trunk_words.healing(row, year))):
        if y >= box.y + _PENCIL_HIGH:
            paper.write(fitting(known, PLAIN, 8, box.width), box.x, y, 8, grey=GREY)
        y -= 10
    _pencil(paper, box, told)


def _head(paper: Paper, box: Box, row: TreeRow, told: Measures) -> float:
    """Print the number, or the name of a tree without one; return where it ends."""
    tree = row.tree.id
    if isinstance(tree, str):
        paper.write_all(
            start(tree), box, min(60.0, size_for(tree, box.width * 2, 60)), bold=True, most=2
        )
        return box.top - 109
    size = size_for(str(tree), box.width, _NUMBER)
    paper.write(str(tree), box.x, box.top - size * 0.73, size, bold=True)
    name = told.style.names.of_tree(tree) if told.style.names else None
    if name:
        words = fitting(start(name), BOLD, 15, box.width)
        paper.write(words, box.x, box.top - 121, 15, bold=True)
    return box.top - (126 if name else 109)


def _across(diameter_in: float, told: Measures) -> str:
    return f"{told.told(Quantity(diameter_in, 'in'))} across"


def _taps(row: TreeRow) -> str:
    if is_to_rest(row.tree) or (row.limit is not None and row.limit.taps == 0):
        return "No tap"
    if row.limit is None:
        return "Measure it before tapping"
    return f"{m.count(row.limit.taps, 'tap')} at most"


def _bark(paper: Paper, box: Box, trunk: Trunk, told: Measures) -> None:
    """Draw the bark rolled out: holes with their years, and where to drill next."""
    inner = Box(box.x + 22, box.y + 12, box.width - 28, box.height - 12)
    paper.frame(inner, grey=GREY)
    for letter, across in LETTERS:
        x = inner.x + across * inner.width
        paper.write(letter, x, box.y + 2, 8, anchor="middle", grey=GREY)
        if 0 < across < 1:
            paper.line(x, inner.y, x, inner.top, grey=PALE)
    for feet in (2, 4):
        y = inner.y + (feet - LOW_FT) / (HIGH_FT - LOW_FT) * inner.height
        paper.line(inner.x, y, inner.right, y, grey=PALE)
        height = told.told(Quantity(feet, "ft"))
        paper.write(height, inner.x - 3, y - 2.5, 6.5, anchor="end", grey=GREY)
    for spot, holes in _by_place(trunk.holes).items():
        x, y = _at(inner, spot)
        paper.dot(x, y, 2.6, filled=holes[-1].sure)
        paper.write(", ".join(f"{hole.year % 100:02d}" for hole in holes), x + 4, y - 2.3, 7)
    if not all(hole.sure for hole in trunk.holes):
        paper.write("ring: height not noted", inner.x + 3, inner.y + 3, 6, grey=GREY)
    if trunk.next_spot is not None:
        x, y = _at(inner, trunk.next_spot)
        paper.dot(x, y, 6, filled=False)
        paper.line(x - 9, y, x + 9, y, width=0.9)
        paper.line(x, y - 9, x, y + 9, width=0.9)


def _by_place(holes: Sequence[DrawnHole]) -> dict[Spot, list[DrawnHole]]:
    """Return the holes at each place, the oldest first."""
    found: dict[Spot, list[DrawnHole]] = {}
    for hole in sorted(holes, key=lambda one: one.year):
        found.setdefault(hole.spot, []).append(hole)
    return found


def _at(box: Box, spot: Spot) -> tuple[float, float]:
    return box.x + 6 + spot.across * (box.width - 12), box.y + 6 + spot.up * (box.height - 12)


def _pencil(paper: Paper, box: Box, told: Measures) -> None:
    """Print lines to write on, for those without the program."""
    third = box.width / 3
    y = box.y + 16.0 * (_PENCIL_LINES - 1)
    for index, name in enumerate(("Day", f"Sap ({told.volume.sign})", "Sugar (%)")):
        paper.write(name, box.x + index * third, y + 5, 6.5, grey=GREY)
    for line in range(_PENCIL_LINES):
        paper.line(box.x, box.y + line * 16, box.right, box.y + line * 16, grey=GREY)
