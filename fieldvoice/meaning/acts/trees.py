"""Notes about trees: what was seen at them, and what was drilled and pulled."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fieldvoice.meaning.act import OfTrees, looks, quantity, words
from fieldvoice.meaning.base import Fill, Sap, Side
from fieldvoice.segments import Count, Species, Text, Told, details


class Inspect(OfTrees):
    """A look at a bucket or vessel: how full (0 to 1), the sap, the smell.

    ``same`` is how it was said ("same as the last one"); in the book stands what that was.
    """

    act: Literal["inspect"] = "inspect"
    vessel: str | None = None
    fill: Fill | None = None
    sap: Sap | None = None
    smell: str | None = None
    same: Literal[True] | None = None

    def told(self) -> Told:
        """Return "tree 12: nearly full, cloudy, smells sour"."""
        smell = words(self.smell, "smells")
        return Told(self.subject(), details(*looks(self.fill, self.sap), smell))


class Sweetness(OfTrees):
    """A sugar test; ``temp_f`` is the sample's temperature."""

    act: Literal["sweetness"] = "sweetness"
    vessel: str | None = None
    site: str | None = None
    brix: float | None = None
    temp_f: float | None = None

    def told(self) -> Told:
        """Return "tank 2: 2.1 % sugar, sample at 40 °F"."""
        sample = quantity(self.temp_f, "°F", "sample at")
        return Told(self.subject(), details(quantity(self.brix, "% sugar"), sample))


class Measure(OfTrees):
    """A trunk's diameter at breast height, its species, or that it is a ``yard`` tree."""

    act: Literal["measure"] = "measure"
    diameter_in: float | None = None
    species: str | None = None
    yard: bool | None = None

    def told(self) -> Told:
        """Return "tree 4: 18 in across, sugar maple, yard tree"."""
        across = quantity(self.diameter_in, "in", after="across")
        kind = Species(self.species) if self.species else None
        yard = words({True: "yard tree", False: "no yard tree", None: None}[self.yard])
        return Told(self.subject(), details(across, kind, yard))


class Health(OfTrees):
    """How a tree is doing; ``dieback`` is the percentage of its crown that is dead."""

    act: Literal["health"] = "health"
    condition: Literal["sound", "stressed", "damaged", "dying"] | None = None
    dieback: Annotated[float, Field(ge=0, le=100)] | None = None
    remark: str | None = None

    def told(self) -> Told:
        """Return "tree 4: damaged, 30 % of the crown dead, split by ice"."""
        dead = () if self.dieback is None else quantity(round(self.dieback), "%")
        crown = (*dead, Text("of the crown dead")) if dead else ()
        return Told(self.subject(), details(words(self.condition), crown, words(self.remark)))


class Tap(OfTrees):
    """Holes drilled or spiles set."""

    act: Literal["tap"] = "tap"
    count: int | None = None
    side: Side | None = None
    height_ft: float | None = None
    depth_in: float | None = None
    bit_in: float | None = None
    shavings: Literal["white", "brown"] | None = None

    def told(self) -> Told:
        """Return "tree 4: 2 taps, south side, 3 ft up, 5/16 in bit, white shavings"."""
        hole = details(
            words(self.side, after="side"),
            quantity(self.height_ft, "ft", after="up"),
            quantity(self.depth_in, "in", after="deep"),
            quantity(self.bit_in, "bit in", after="bit"),
            words(self.shavings, after="shavings"),
        )
        if self.count is not None:
            return Told(self.subject(), ((Count(self.count, "tap"),), *hole))
        return Told(self.subject(), hole or (words("tapped"),))


class Pull(OfTrees):
    """Spiles pulled."""

    act: Literal["pull"] = "pull"
    site: str | None = None
    all: Literal[True] | None = None
    count: int | None = None
    reason: str | None = None

    def told(self) -> Told:
        """Return "tree 4: 2 spiles pulled, leaking"; without a count it is all of them."""
        if self.all:
            return Told(words("all spiles pulled"), details(words(self.reason)))
        one = "spiles pulled" if self.trees or self.site else "spile pulled"
        what = words(one) if self.count in (None, 1) else (Count(self.count, "", "spiles pulled"),)
        return Told(self.subject(), details(what, words(self.reason)))
