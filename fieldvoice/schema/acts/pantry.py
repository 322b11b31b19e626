"""Notes about syrup in containers: filled, and gone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.act import Act, quantity, words
from fieldvoice.schema.slot import ActSpec, Slot
from fieldvoice.segments import Count, Text, Told, details

if TYPE_CHECKING:
    from fieldvoice.segments import Parts


def dollars(price: float) -> Parts:
    """Return "12 dollars" or "12.50 dollars"."""
    whole = float(price).is_integer()
    return (Count(round(price), "dollar") if whole else Text(f"{price:.2f} dollars"),)


class Pack(Act):
    """Containers filled with syrup."""

    act: Literal["pack"] = "pack"
    count: Annotated[
        int | None, Slot("notes.containers", ask="How many?", likely="containers", whole=True)
    ] = None
    size: v.Size = None
    temp_f: Annotated[v.Hot, v.HOT.but(rule="notes.fill_temp", likely="pack_temp_f")] = None
    colour: v.Colour = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.pack",
        examples=("Packed eleven pints of amber at one eighty five.",),
        needs=(("count",), ("size",)),
        at_the_pan=True,
        checks=True,
        doubts=True,
        effects=True,
    )

    def told(self) -> Told:
        """Return "packed: 12 pints, amber, 185 °F"."""
        jars = containers(self.count, self.size)
        return Told(words("packed"), details(jars, words(self.colour), quantity(self.temp_f, "°F")))


class StockOut(Act):
    """Containers of syrup that left the pantry, and why; ``price`` (dollars) is for all."""

    act: Literal["stock_out"] = "stock_out"
    count: Annotated[int | None, Slot("ledger.jars", ask="How many?", whole=True)] = None
    size: v.Size = None
    colour: v.Colour = None
    lot: Annotated[str | None, Slot()] = None
    to: Annotated[str | None, Slot("ledger.gone_to")] = None
    price: Annotated[float | None, Slot("ledger.for_price", shown=dollars)] = None
    why: Annotated[Literal["sold", "given", "eaten", "spoiled"] | None, Slot("ledger.gone_why")] = (
        None
    )

    spec: ClassVar[ActSpec] = ActSpec(
        rule="ledger.stock_out",
        examples=("Sold six pints of amber.",),
        needs=(("count",), ("size",)),
        doubts=True,
        effects=True,
    )

    def told(self) -> Told:
        """Return "sold: 6 pints, amber, of lot 27-064, to neighbors, for 12 dollars"."""
        whys = {"given": "given away", "spoiled": "lost", None: "gone"}
        jars, lot = containers(self.count, self.size), words(self.lot, "of lot")
        to, head = words(self.to, "to"), words(whys.get(self.why, self.why))
        price = () if self.price is None else (Text("for"), *dollars(self.price))
        return Told(head, details(jars, words(self.colour), lot, to, price))


def containers(count: int | None, size: str | None) -> Parts:
    """Return "12 pints", "3 jars of 500 ml" or "3 containers"."""
    one = size or "container"
    one, many = (f"jar of {one}", f"jars of {one}") if one.endswith("ml") else (one, f"{one}s")
    return words(many) if count is None else (Count(count, one, many),)
