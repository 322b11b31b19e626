"""Notes about sap on its way: out of the buckets, into vessels, from one to another, away."""

from __future__ import annotations

from typing import Literal

from fieldvoice.meaning.act import Act, OfTrees, looks, quantity, vessel, words
from fieldvoice.meaning.base import Fill, Sap
from fieldvoice.segments import Share, Text, Told, details


class Gather(OfTrees):
    """Sap collected from a tree, several, or a site, perhaps into a vessel."""

    act: Literal["gather"] = "gather"
    site: str | None = None
    volume_gal: float | None = None
    fill: Fill | None = None
    sap: Sap | None = None
    vessel: str | None = None

    def told(self) -> Told:
        """Return "tree 9: 2.5 gal, clear, into tank 1"; without an amount it was emptied."""
        fill, sap = looks(self.fill, self.sap)
        was = (Text("was"), *fill) if fill else ()
        amount = quantity(self.volume_gal, "gal") or words("emptied")
        return Told(self.subject(), details(amount, was, sap, vessel(self.vessel, "into")))

    def question(self) -> Told:
        """Return "12 gal gathered into tank 1" where nothing else was said: a level reads alike."""
        return only_amount(self, "gathered into") or super().question()


class Store(Act):
    """Sap poured into a vessel."""

    act: Literal["store"] = "store"
    vessel: str | None = None
    volume_gal: float | None = None
    sap: Sap | None = None

    def told(self) -> Told:
        """Return "tank 2: 11 gal in, clear"."""
        poured = (*quantity(self.volume_gal, "gal"), Text("in"))
        return Told(self.subject(), details(poured, *looks(None, self.sap)))

    def question(self) -> Told:
        """Return "11 gal poured into tank 2" where nothing else was said: a level reads alike."""
        return only_amount(self, "poured into") or super().question()


class Reading(Act):
    """A level (gallons, part filled or inches deep), temperature or condition of a vessel."""

    act: Literal["reading"] = "reading"
    vessel: str | None = None
    volume_gal: float | None = None
    fill: Fill | None = None
    depth_in: float | None = None
    temp_f: float | None = None
    sap: Sap | None = None

    def told(self) -> Told:
        """Return "tank 2: 30 gal, 12 in deep, half full, clear, 38 °F"."""
        return Told(
            self.subject(),
            details(
                quantity(self.volume_gal, "gal"),
                quantity(self.depth_in, "in", after="deep"),
                *looks(self.fill, self.sap),
                quantity(self.temp_f, "°F"),
            ),
        )

    def question(self) -> Told:
        """Return "tank 2 holds 11 gal" where nothing else was said: what was poured reads alike."""
        if not has_only(self, "vessel", "volume_gal"):
            return super().question()
        return Told((), ((*vessel(self.vessel), *quantity(self.volume_gal, "gal", "holds")),))


class Dump(OfTrees):
    """Sap thrown away."""

    act: Literal["dump"] = "dump"
    vessel: str | None = None

    def told(self) -> Told:
        """Return "tree 9: dumped"."""
        return Told(self.subject(), (words("dumped"),))


class Clean(Act):
    """A vessel or a piece of gear washed."""

    act: Literal["clean"] = "clean"
    vessel: str | None = None
    item: str | None = None

    def told(self) -> Told:
        """Return "tank 2: washed"."""
        return Told(self.subject() or words(self.item), (words("washed"),))


class Vessel(Act):
    """What a vessel is: how much it holds when full, how deep it is, what of and where."""

    act: Literal["vessel"] = "vessel"
    vessel: str | None = None
    capacity_gal: float | None = None
    depth_in: float | None = None
    material: str | None = None
    food_grade: bool | None = None
    place: str | None = None
    insulated: bool | None = None

    def told(self) -> Told:
        """Return "tank 2: holds 55 gal when full, 30 in deep, steel, food grade, insulated"."""
        return Told(
            self.subject(),
            details(
                quantity(self.capacity_gal, "gal", "holds", "when full"),
                quantity(self.depth_in, "in", after="deep"),
                words(self.material),
                words({True: "food grade", False: "not food grade", None: None}[self.food_grade]),
                words(self.place),
                words({True: "insulated", False: "not insulated", None: None}[self.insulated]),
            ),
        )


class Transfer(Act):
    """Sap moved from a vessel ``into`` another; ``fill`` is the part of it moved, all if unsaid."""

    act: Literal["transfer"] = "transfer"
    vessel: str | None = None
    into: str | None = None
    volume_gal: float | None = None
    fill: Fill | None = None

    def told(self) -> Told:
        """Return "tank 1: 10 gal from tank 2" or "tank 1: half from tank 2"."""
        amount = quantity(self.volume_gal, "gal") or (Share(1 if self.fill is None else self.fill),)
        return Told(vessel(self.into), ((*amount, *vessel(self.vessel, "from")),))


class IceOut(OfTrees):
    """Ice thrown out; ``fill`` is the part of what was there."""

    act: Literal["ice_out"] = "ice_out"
    vessel: str | None = None
    volume_gal: float | None = None
    fill: Fill | None = None

    def told(self) -> Told:
        """Return "tank 2: 3 gal of ice out" or "tank 2: a third out as ice"."""
        amount = quantity(self.volume_gal, "gal", after="of ice out")
        part = () if self.fill is None else (Share(self.fill), Text("out as ice"))
        return Told(self.subject(), details(amount, part) or (words("ice out"),))


class RainIn(OfTrees):
    """Rain or snow water that got in."""

    act: Literal["rain_in"] = "rain_in"
    vessel: str | None = None
    volume_gal: float | None = None

    def told(self) -> Told:
        """Return "tank 1: 2 gal of rain in"."""
        amount = quantity(self.volume_gal, "gal", after="of")
        return Told(self.subject(), ((*amount, Text("rain in")),))


def has_only(act: Act, *slots: str) -> bool:
    """Whether a note has these slots and, but for the time, no others."""
    return act.json_fields().keys() - {"act", "at"} == set(slots)


def only_amount(act: Gather | Store, done: str) -> Told | None:
    """Return an amount at a vessel so that what was done with it is plain; None for other notes."""
    if not has_only(act, "vessel", "volume_gal"):
        return None
    return Told((), ((*quantity(act.volume_gal, "gal", after=done), *vessel(act.vessel)),))
