"""Notes about trees: what was seen at them, and what was drilled and pulled."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.act import OfTrees, looks, own_words, quantity, words
from fieldvoice.schema.slot import ActSpec, Slot
from fieldvoice.segments import Count, Species, Text, Told, details, parts


class Inspect(OfTrees):
    """A look at a bucket or vessel: how full (0 to 1), the sap, the smell.

    ``same`` is how it was said ("same as the last one"); in the book stands what that was.
    """

    act: Literal["inspect"] = "inspect"
    vessel: v.Vessel = None
    fill: v.Fill = None
    sap: v.Sap = None
    smell: v.Smell = None
    same: Annotated[Literal[True] | None, Slot(ask="How full?", stands_for="fill")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.inspect",
        examples=("Tree twelve, bucket nearly full, sap cloudy.",),
        here="Bucket nearly full, sap cloudy.",
        subject=("tree", "trees", "vessel"),
        visits=True,
        in_season=True,
        joins=True,
        checks=True,
    )

    def told(self) -> Told:
        """Return "tree 12: nearly full, cloudy, smells sour"."""
        smell = words(self.smell, "smells")
        return Told(self.subject(), details(*looks(self.fill, self.sap), smell))


class Sweetness(OfTrees):
    """A sugar test; ``temp_f`` is the sample's temperature."""

    act: Literal["sweetness"] = "sweetness"
    vessel: v.Vessel = None
    site: v.Site = None
    brix: Annotated[v.Brix, v.BRIX.but(likely="sap_brix")] = None
    temp_f: Annotated[v.Temp, v.TEMP.but(rule="notes.sample_temp", likely="sap_temp_f")] = None
    gauge: Annotated[Literal["refractometer", "hydrometer"] | None, Slot("notes.on_gauge")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.sweetness",
        examples=("Tank two tests two point two percent.",),
        here="Tests two point two percent.",
        subject=("tree", "trees", "vessel", "site"),
        needs=(("brix",),),
        bare=(("tree", "brix"), ("vessel", "brix")),
        visits=True,
        checks=True,
        effects=True,
    )

    def told(self) -> Told:
        """Return "tank 2: 2.1 % sugar on the refractometer, sample at 40 °F"."""
        sample = quantity(self.temp_f, "°F", "sample at")
        read = quantity(self.brix, "% sugar") + words(self.gauge and f"on the {self.gauge}")
        return Told(self.subject(), details(read, sample))


class Measure(OfTrees):
    """A trunk's diameter at breast height, its species, or that it is a ``yard`` tree."""

    act: Literal["measure"] = "measure"
    diameter_in: Annotated[v.Length, v.LENGTH.but(rule="notes.trunk", likely="diameter_in")] = None
    species: v.Kind = None
    yard: Annotated[bool | None, Slot("notes.kept_for_looks")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.measure",
        examples=("Tree thirty is eighteen inches across.", "Tree nine is a yard tree."),
        subject=("tree", "trees"),
        makes_known=True,
        joins=True,
        checks=True,
    )

    def told(self) -> Told:
        """Return "tree 4: 18 in across, sugar maple, yard tree"."""
        across = quantity(self.diameter_in, "in", after="across")
        kind = Species(self.species) if self.species else None
        yard = words({True: "yard tree", False: "no yard tree", None: None}[self.yard])
        return Told(self.subject(), details(across, kind, yard))


class Health(OfTrees):
    """How a tree is doing; ``dieback`` is the percentage of its crown that is dead."""

    act: Literal["health"] = "health"
    condition: Annotated[
        Literal["sound", "stressed", "damaged", "dying"] | None, Slot("notes.tree_state")
    ] = None
    dieback: Annotated[v.Percent | None, Slot("notes.dead_part", unit="%")] = None
    remark: Annotated[str | None, Slot()] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.health",
        examples=("Tree seventy seven lost a big limb.", "Tree eight has thirty percent dieback."),
        subject=("tree", "trees"),
        checks=True,
    )

    def told(self) -> Told:
        """Return "tree 4: damaged, 30 % of the crown dead, split by ice"."""
        dead = () if self.dieback is None else quantity(round(self.dieback), "%")
        crown = (*dead, Text("of the crown dead")) if dead else ()
        return Told(self.subject(), details(words(self.condition), crown, own_words(self.remark)))


class Tap(OfTrees):
    """Holes drilled or spiles set."""

    act: Literal["tap"] = "tap"
    count: Annotated[int | None, Slot("notes.tap_count", likely="taps", whole=True)] = None
    side: v.Side = None
    height_ft: Annotated[float | None, Slot("notes.tap_height", unit="ft", likely="height_ft")] = (
        None
    )
    depth_in: Annotated[v.Length, v.LENGTH.but(rule="notes.tap_depth", likely="depth_in")] = None
    bit_in: Annotated[float | None, Slot("notes.bit_size", unit="bit in", likely="bit_in")] = None
    shavings: Annotated[Literal["white", "brown"] | None, Slot("notes.wood")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.tap",
        examples=("Drilled tree twelve an inch and a half deep, white shavings.",),
        subject=("tree", "trees"),
        visits=True,
        in_season=True,
        makes_known=True,
        checks=True,
        doubts=True,
    )

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
            each = parts(Count(self.count, "tap"), "each" if self.trees else None)
            return Told(self.subject(), (each, *hole))
        return Told(self.subject(), hole or (words("tapped"),))


class Pull(OfTrees):
    """Spiles pulled."""

    act: Literal["pull"] = "pull"
    site: v.Site = None
    all: Annotated[Literal[True] | None, Slot("notes.every_spile")] = None
    count: Annotated[int | None, Slot("notes.pull_count", whole=True)] = None
    reason: Annotated[str | None, Slot("notes.reason")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="notes.pull",
        examples=("Pulled the spile on tree nineteen.",),
        subject=("tree", "trees", "site", "all"),
        checks=True,
    )

    def told(self) -> Told:
        """Return "tree 4: 2 spiles pulled, leaking"; without a count it is all of them."""
        several = self.trees or self.site
        count = () if self.count is None else (Count(self.count, "spile"), Text("pulled"))
        if self.all:
            return Told(words("all spiles pulled"), details(count, words(self.reason)))
        pulled = count or words("spiles pulled" if several else "spile pulled")
        return Told(self.subject(), details(pulled, words(self.reason)))
