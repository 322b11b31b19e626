"""Notes at the pan: the boil, what came off it, and what it took."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.act import Act, quantity, vessel, words
from fieldvoice.schema.slot import ActSpec, Slot
from fieldvoice.segments import Told, details


class Boil(Act):
    """The start or stop of a boil, or sap put on it."""

    act: Literal["boil"] = "boil"
    vessel: v.Vessel = None
    phase: Annotated[Literal["start", "stop"] | None, Slot("notes.boil_phase")] = None
    volume_gal: v.VesselVolume = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.boil",
        examples=("Started boiling tank two.",),
        announces="boil",
        at_the_pan=True,
        checks=True,
        doubts=True,
        effects=True,
    )

    def told(self) -> Told:
        """Return "boil started: 40 gal from tank 2"."""
        amount = quantity(self.volume_gal, "gal")
        head = {"start": "boil started", "stop": "boil stopped", None: "onto the pan"}[self.phase]
        source = vessel(self.vessel, "from" if amount else "")
        return Told(words(head), details((*amount, *source)))

    def work(self) -> str:
        """Return the work that begins with it, where it begins."""
        return self.spec.announces if self.phase == "start" else ""


class Draw(Act):
    """Syrup drawn off the pan."""

    act: Literal["draw"] = "draw"
    syrup_gal: Annotated[float | None, v.VOLUME.but(ask="How much syrup?", likely="syrup_gal")] = (
        None
    )
    temp_f: Annotated[v.Temp, v.TEMP.but(rule="notes.draw_temp", likely="syrup_temp_f")] = None
    brix: Annotated[v.Brix, v.BRIX.but(rule="notes.draw_brix", likely="syrup_brix")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.draw",
        examples=("Drew off three quarts at two nineteen.",),
        needs=(("syrup_gal",),),
        at_the_pan=True,
        checks=True,
        doubts=True,
    )

    def told(self) -> Told:
        """Return "drawn off: 1.5 gal at 219 °F, 66.5 % sugar"."""
        amount = (*quantity(self.syrup_gal, "gal"), *quantity(self.temp_f, "°F", "at"))
        return Told(words("drawn off"), details(amount, quantity(self.brix, "% sugar")))


class Pan(Act):
    """The pan: that it boils, how deep it stands, how big it is, the least it is lit for."""

    act: Literal["pan"] = "pan"
    boiling: Annotated[Literal[True] | None, Slot("ledger.pan_boils")] = None
    depth_in: Annotated[v.Length, v.LENGTH.but(likely="pan_depth_in")] = None
    area_sqft: Annotated[float | None, Slot("ledger.pan_size", unit="sq ft")] = None
    least_gal: Annotated[float | None, v.VOLUME.but(rule="ledger.least_said")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="ledger.pan",
        examples=("The pan is at two inches.",),
        checks=True,
        effects=True,
    )

    def told(self) -> Told:
        """Return "pan: boiling, 2 in deep, 8 square feet, no fire for less than 15 gal"."""
        return Told(
            vessel("pan"),
            details(
                words("boiling" if self.boiling else None),
                quantity(self.depth_in, "in", after="deep"),
                quantity(self.area_sqft, "sq ft"),
                quantity(self.least_gal, "gal", "no fire for less than"),
            ),
        )


class Defoam(Act):
    """Foam knocked down, with what."""

    act: Literal["defoam"] = "defoam"
    agent: Annotated[str | None, Slot("ledger.agent", ask="What with?")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="ledger.defoam",
        examples=("Knocked the foam down with a drop of oil.",),
        needs=(("agent",),),
        effects=True,
    )

    def told(self) -> Told:
        """Return "foam knocked down: with butter"."""
        return Told(words("foam knocked down"), details(words(self.agent, "with")))


class Filter(Act):
    """Syrup filtered."""

    act: Literal["filter"] = "filter"
    temp_f: Annotated[v.Hot, v.HOT.but(likely="filter_temp_f")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="ledger.filter",
        examples=("Filtered the syrup at one ninety.",),
    )

    def told(self) -> Told:
        """Return "filtered: at 190 °F"."""
        return Told(words("filtered"), details(quantity(self.temp_f, "°F", "at")))


class Fuel(Act):
    """Fuel burnt: cords of wood, or gallons of gas."""

    act: Literal["fuel"] = "fuel"
    cords: Annotated[float | None, Slot("ledger.cords", unit="cord")] = None
    volume_gal: v.Volume = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="ledger.fuel",
        examples=("Burned a third of a cord.",),
    )

    def told(self) -> Told:
        """Return "burned: 0.33 cords of wood"."""
        burnt = details(quantity(self.cords, "cord"), quantity(self.volume_gal, "gal"))
        return Told(words("burned"), burnt)


class Water(Act):
    """Where plain water boils today, or the station pressure."""

    act: Literal["water"] = "water"
    water_boils_f: Annotated[v.Hot, v.HOT.but(likely="water_boils_f")] = None
    pressure_inhg: Annotated[float | None, Slot("ledger.water_pressure", unit="inHg")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="ledger.water",
        examples=("Water is boiling at two ten and a half.",),
    )

    def told(self) -> Told:
        """Return "today: water boils at 210.5 °F, pressure 29.4 inHg"."""
        boils = quantity(self.water_boils_f, "°F", "water boils at")
        return Told(
            words("today"), details(boils, quantity(self.pressure_inhg, "inHg", "pressure"))
        )
