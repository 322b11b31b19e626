"""Notes about sap on its way: out of the buckets, into vessels, from one to another, away."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.act import Act, OfTrees, looks, quantity, vessel, words
from fieldvoice.schema.slot import ActSpec, Slot
from fieldvoice.segments import Share, Text, Told, details

if TYPE_CHECKING:
    from fieldvoice.segments import Parts


class Gather(OfTrees):
    """Sap collected from a tree, several, or a site, perhaps into a vessel.

    ``all`` is a total over the yard: it is nobody's, and never shared out over the trees.
    """

    act: Literal["gather"] = "gather"
    site: v.Site = None
    all: Annotated[Literal[True] | None, Slot("notes.all_of_it")] = None
    volume_gal: v.Volume = None
    fill: v.Fill = None
    sap: v.Sap = None
    vessel: Annotated[v.Vessel, v.VESSEL.but(rule="notes.into_vessel")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.gather",
        examples=("Two and a half gallons from tree nine, into tank one.",),
        here="Two and a half gallons.",
        subject=("tree", "trees", "site", "all"),
        needs=(("volume_gal", "fill"),),
        bare=(("tree", "volume_gal"),),
        keeps=("vessel",),
        visits=True,
        in_season=True,
        checks=True,
        doubts=True,
    )

    def told(self) -> Told:
        """Return "tree 9: 2.5 gal, clear, into tank 1"; without an amount it was emptied."""
        fill, sap = looks(self.fill, self.sap)
        was = (Text("was"), *fill) if fill else ()
        amount = quantity(self.volume_gal, "gal") or words("emptied")
        into = vessel(self.vessel, "into")
        return Told(self.subject(), details(amount, was, sap, into))

    def subject(self) -> Parts:
        """Return what the sap is from; else the vessel that it went into."""
        return words("the whole yard") if self.all else super().subject()

    def question(self) -> Told:
        """Return "12 gal gathered into tank 1" where nothing else was said: a level reads alike."""
        return only_amount(self, "gathered into") or super().question()


class Store(Act):
    """Sap poured into a vessel."""

    act: Literal["store"] = "store"
    vessel: v.Vessel = None
    volume_gal: v.VesselVolume = None
    sap: v.Sap = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.store",
        examples=("Poured eleven gallons into tank one.",),
        here="Poured eleven gallons.",
        subject=("vessel",),
        needs=(("volume_gal",),),
        checks=True,
        doubts=True,
    )

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
    vessel: v.Vessel = None
    volume_gal: v.VesselVolume = None
    fill: v.Fill = None
    depth_in: v.Length = None
    temp_f: Annotated[v.Temp, v.TEMP.but(likely="sap_temp_f")] = None
    sap: v.Sap = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.reading",
        examples=("Tank two is at thirty six degrees.", "Tank one is at eleven inches."),
        here="At thirty six degrees.",
        subject=("vessel",),
        bare=(("vessel", "temp_f"),),
        joins=True,
        checks=True,
        doubts=True,
        effects=True,
    )

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
    """Sap thrown away: all of it, or ``volume_gal`` out of a vessel."""

    act: Literal["dump"] = "dump"
    vessel: v.Vessel = None
    volume_gal: v.Volume = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.dump",
        examples=("Dump the bucket on tree four.",),
        subject=("tree", "trees", "vessel"),
        visits=True,
        doubts=True,
    )

    def told(self) -> Told:
        """Return "tree 9: dumped" or "tank 1: 15 gal dumped"."""
        return Told(
            self.subject(), (quantity(self.volume_gal, "gal", after="dumped") or words("dumped"),)
        )


class Clean(Act):
    """A vessel or a piece of gear washed."""

    act: Literal["clean"] = "clean"
    vessel: v.Vessel = None
    item: v.Gear = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.clean",
        examples=("Washed tank one.",),
        effects=True,
        subject=("vessel", "item"),
    )

    def told(self) -> Told:
        """Return "tank 2: washed"."""
        return Told(self.subject() or words(self.item), (words("washed"),))


class Vessel(Act):
    """What a vessel is: how much it holds when full, how deep it is, what of and where."""

    act: Literal["vessel"] = "vessel"
    vessel: v.KnownVessel = None
    capacity_gal: Annotated[float | None, Slot("ledger.capacity", unit="gal")] = None
    depth_in: Annotated[v.Length, v.LENGTH.but(rule="ledger.depth_inside")] = None
    material: v.Material = None
    food_grade: Annotated[bool | None, Slot("ledger.food_grade")] = None
    place: Annotated[str | None, Slot("ledger.where")] = None
    insulated: Annotated[bool | None, Slot("ledger.insulated")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="ledger.vessel_set_up",
        examples=("Tank one can hold fifty gallons.",),
        subject=("vessel",),
    )

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
    vessel: v.KnownVessel = None
    into: v.Into = None
    volume_gal: v.Volume = None
    fill: v.Part = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="ledger.transfer",
        examples=("Moved ten gallons from tank two into tank one.",),
        subject=("vessel",),
        needs=(("into",),),
        doubts=True,
    )

    def told(self) -> Told:
        """Return "tank 1: 10 gal from tank 2" or "tank 1: half from tank 2"."""
        part = () if self.fill is None else (Share(self.fill),)
        amount = quantity(self.volume_gal, "gal") or part or (Share(1),)
        of_it = (*part, Text("of it")) if part and self.volume_gal is not None else ()
        return Told(vessel(self.into), details((*amount, *vessel(self.vessel, "from")), of_it))


class IceOut(OfTrees):
    """Ice thrown out; ``fill`` is the part of what was there."""

    act: Literal["ice_out"] = "ice_out"
    vessel: v.KnownVessel = None
    volume_gal: v.Volume = None
    fill: Annotated[v.Part, v.PART.but(rule="ledger.share_of_ice")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="ledger.ice_out",
        examples=("Took three gallons of ice out of tank one.",),
        subject=("vessel", "tree", "trees"),
        doubts=True,
    )

    def told(self) -> Told:
        """Return "tank 2: 3 gal of ice out" or "tank 2: a third out as ice"."""
        amount = quantity(self.volume_gal, "gal", after="of ice out")
        part = () if self.fill is None else (Share(self.fill), Text("out as ice"))
        return Told(self.subject(), details(amount, part) or (words("ice out"),))


class RainIn(OfTrees):
    """Rain or snow water that got in."""

    act: Literal["rain_in"] = "rain_in"
    vessel: v.KnownVessel = None
    volume_gal: v.Volume = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="ledger.rain_in",
        examples=("Two gallons of rain got into tank one.",),
        subject=("vessel", "tree", "trees"),
        needs=(("volume_gal",),),
    )

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
