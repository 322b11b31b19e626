"""Labels for jars: what the book knows of a lot. What the law asks for is left to fill in."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from fieldvoice.dialogue.sums import content
from fieldvoice.nlg.wording import start
from fieldvoice.paper import measures as m
from fieldvoice.paper.print_page import BOLD, GREY, PALE, Box, fitting
from fieldvoice.rules.sugar import LITRES_PER_GAL
from fieldvoice.schema.acts.pantry import containers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.book import StockLot
    from fieldvoice.paper.measures import Measures
    from fieldvoice.paper.print_page import Paper

_ACROSS, _DOWN = 3, 7
_FOOT = 26.0
_DEFERS = (
    "Your local rules say what a label must tell, and in which words: often the name of the food, "
    "who made it and where, how much is in it, and its grade. Fill that in, or ask them. The book "
    "tells the rest; it does not say that syrup may be sold."
)


def jar_labels(paper: Paper, lots: Sequence[StockLot], told: Measures) -> None:
    """Print a label for each jar that is left, lot by lot, with lines to cut along."""
    jars = [lot for lot in lots for _ in range(lot.left)]
    places = paper.places(len(jars), _ACROSS, _DOWN, partial(_foot, paper), foot=_FOOT)
    for box, lot in zip(places, jars, strict=True):
        paper.frame(box, grey=PALE)
        _label(paper, box.inset(8), lot, told)


def _foot(paper: Paper) -> None:
    room = paper.room
    paper.write_all(_DEFERS, Box(room.x, room.y, room.width, _FOOT - 4), 7, grey=GREY, most=3)


def _label(paper: Paper, box: Box, lot: StockLot, told: Measures) -> None:
    paper.write("Maple syrup", box.x, box.top - 13, 14, bold=True)
    colour = start(lot.colour) if lot.colour else "Colour"
    paper.write(colour, box.x, box.top - 28, 10)
    if not lot.colour:
        paper.line(box.x + 34, box.top - 30, box.x + 90, box.top - 30, grey=GREY)
    volume = fitting(_volume(lot.size, told), BOLD, 10, box.width - 70)
    paper.write(volume, box.right, box.top - 28, 10, bold=True, anchor="end")
    filled = f"Filled {m.day(lot.at.date())}, {lot.at.year}"
    paper.write(filled, box.x, box.top - 43, 8.5)
    paper.write(f"Lot {lot.code}", box.x, box.top - 55, 8.5)
    paper.write("Made by", box.x, box.y + 14, 6.5, grey=GREY)
    for y, begin in ((box.y + 12, 28), (box.y, 0)):
        paper.line(box.x + begin, y, box.right, y, grey=GREY)


def _volume(size: str, told: Measures) -> str:
    """Return a size as it is called, with its measure in millilitres where it has one."""
    name = told.told(containers(1, size)).removeprefix("1 of ")
    gallons = content(1, size)
    if not gallons or size.endswith("ml"):
        return name
    return f"{name} ({gallons * LITRES_PER_GAL * 1000:.0f} mL)"
