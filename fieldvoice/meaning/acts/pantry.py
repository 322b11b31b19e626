"""Notes about syrup in containers: filled, and gone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from fieldvoice.meaning.act import Act, quantity, words
from fieldvoice.meaning.base import Colour, Size
from fieldvoice.segments import Count, Told, details

if TYPE_CHECKING:
    from fieldvoice.segments import Parts


class Pack(Act):
    """Containers filled with syrup."""

    act: Literal["pack"] = "pack"
    count: int | None = None
    size: Size | None = None
    temp_f: float | None = None
    colour: Colour | None = None

    def told(self) -> Told:
        """Return "packed: 12 pints, amber, 185 °F"."""
        jars = containers(self.count, self.size)
        return Told(words("packed"), details(jars, words(self.colour), quantity(self.temp_f, "°F")))


class StockOut(Act):
    """Containers of syrup that left the pantry, and why."""

    act: Literal["stock_out"] = "stock_out"
    count: int | None = None
    size: Size | None = None
    colour: Colour | None = None
    lot: str | None = None
    why: Literal["sold", "given", "eaten", "spoiled"] | None = None

    def told(self) -> Told:
        """Return "sold: 6 pints, amber, of lot 27-064"."""
        whys = {"given": "given away", "spoiled": "lost", None: "gone"}
        jars, lot = containers(self.count, self.size), words(self.lot, "of lot")
        head = whys.get(self.why, self.why)
        return Told(words(head), details(jars, words(self.colour), lot))


def containers(count: int | None, size: str | None) -> Parts:
    """Return "12 pints", "3 of 500 ml" or "3 containers"."""
    one = size or "container"
    one, many = (f"of {one}", f"of {one}") if one.endswith("ml") else (one, f"{one}s")
    return words(many) if count is None else (Count(count, one, many),)
