"""Notes at the pan: the boil, what came off it, and what it took."""

from __future__ import annotations

from typing import Literal

from fieldvoice.meaning.act import Act, quantity, vessel, words
from fieldvoice.segments import Told, details


class Boil(Act):
    """The start or stop of a boil, or sap put on it."""

    act: Literal["boil"] = "boil"
    vessel: str | None = None
    phase: Literal["start", "stop"] | None = None
    volume_gal: float | None = None

    def told(self) -> Told:
        """Return "boil started: 40 gal from tank 2"."""
        amount = quantity(self.volume_gal, "gal")
        head = {"start": "boil started", "stop": "boil stopped", None: "onto the pan"}[self.phase]
        source = vessel(self.vessel, "from" if amount else "")
        return Told(words(head), details((*amount, *source)))


class Draw(Act):
    """Syrup drawn off the pan."""

    act: Literal["draw"] = "draw"
    syrup_gal: float | None = None
    temp_f: float | None = None
    brix: float | None = None

    def told(self) -> Told:
        """Return "drawn off: 1.5 gal at 219 °F, 66.5 % sugar"."""
        amount = (*quantity(self.syrup_gal, "gal"), *quantity(self.temp_f, "°F", "at"))
        return Told(words("drawn off"), details(amount, quantity(self.brix, "% sugar")))


class Pan(Act):
    """The pan on the fire: that it boils, how deep it stands, or how big it is."""

    act: Literal["pan"] = "pan"
    boiling: Literal[True] | None = None
    depth_in: float | None = None
    area_sqft: float | None = None

    def told(self) -> Told:
        """Return "pan: boiling, 2 in deep, 8 square feet"."""
        return Told(
            vessel("pan"),
            details(
                words("boiling" if self.boiling else None),
                quantity(self.depth_in, "in", after="deep"),
                quantity(self.area_sqft, "sq ft"),
            ),
        )


class Defoam(Act):
    """Foam knocked down, with what."""

    act: Literal["defoam"] = "defoam"
    agent: str | None = None

    def told(self) -> Told:
        """Return "foam knocked down: with butter"."""
        return Told(words("foam knocked down"), details(words(self.agent, "with")))


class Filter(Act):
    """Syrup filtered."""

    act: Literal["filter"] = "filter"
    temp_f: float | None = None

    def told(self) -> Told:
        """Return "filtered: at 190 °F"."""
        return Told(words("filtered"), details(quantity(self.temp_f, "°F", "at")))


class Fuel(Act):
    """Fuel burnt: cords of wood, or gallons of gas."""

    act: Literal["fuel"] = "fuel"
    cords: float | None = None
    volume_gal: float | None = None

    def told(self) -> Told:
        """Return "burned: 0.33 cords of wood"."""
        burnt = details(quantity(self.cords, "cord"), quantity(self.volume_gal, "gal"))
        return Told(words("burned"), burnt)


class Water(Act):
    """Where plain water boils today, or the station pressure."""

    act: Literal["water"] = "water"
    water_boils_f: float | None = None
    pressure_inhg: float | None = None

    def told(self) -> Told:
        """Return "today: water boils at 210.5 °F, pressure 29.4 inHg"."""
        boils = quantity(self.water_boils_f, "°F", "water boils at")
        return Told(
            words("today"), details(boils, quantity(self.pressure_inhg, "inHg", "pressure"))
        )
