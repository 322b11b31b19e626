"""Notes: what somebody did or saw. Fields and units are those of the machine interface."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal, Union

from pydantic import Field, model_validator

from fieldvoice.meaning.base import Colour, Fill, Frozen, Sap, Side, Size, TreeId
from fieldvoice.meaning.names import is_name


class Act(Frozen):
    """A note. ``at`` is set only when a time was said (ISO 8601 with offset)."""

    act: str
    at: str | None = None


class OfTrees(Act):
    """A note that may be about one tree or several.

    ``which`` ("all" the trees of the book, the "rest", those not yet come to on this round, or
    "some" that the book cannot tell: "the north buckets") and ``but`` (those left out) are how
    several were said; in the book they are ``trees``.
    """

    tree: TreeId | None = None
    trees: tuple[TreeId, ...] | None = None
    which: Literal["all", "rest", "some"] | None = None
    but: tuple[TreeId, ...] | None = None


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


class Gather(OfTrees):
    """Sap collected from a tree, several, or a site, perhaps into a vessel."""

    act: Literal["gather"] = "gather"
    site: str | None = None
    volume_gal: float | None = None
    fill: Fill | None = None
    sap: Sap | None = None
    vessel: str | None = None


class Store(Act):
    """Sap poured into a vessel."""

    act: Literal["store"] = "store"
    vessel: str | None = None
    volume_gal: float | None = None
    sap: Sap | None = None


class Reading(Act):
    """A level (gallons, part filled or inches deep), temperature or condition of a vessel."""

    act: Literal["reading"] = "reading"
    vessel: str | None = None
    volume_gal: float | None = None
    fill: Fill | None = None
    depth_in: float | None = None
    temp_f: float | None = None
    sap: Sap | None = None


class Sweetness(OfTrees):
    """A sugar test; ``temp_f`` is the sample's temperature."""

    act: Literal["sweetness"] = "sweetness"
    vessel: str | None = None
    site: str | None = None
    brix: float | None = None
    temp_f: float | None = None


class Measure(OfTrees):
    """A trunk's diameter at breast height, its species, or that it is a ``yard`` tree."""

    act: Literal["measure"] = "measure"
    diameter_in: float | None = None
    species: str | None = None
    yard: bool | None = None


class Health(OfTrees):
    """How a tree is doing; ``dieback`` is the percentage of its crown that is dead."""

    act: Literal["health"] = "health"
    condition: Literal["sound", "stressed", "damaged", "dying"] | None = None
    dieback: Annotated[float, Field(ge=0, le=100)] | None = None
    remark: str | None = None


class Tap(OfTrees):
    """Holes drilled or spiles set."""

    act: Literal["tap"] = "tap"
    count: int | None = None
    side: Side | None = None
    height_ft: float | None = None
    depth_in: float | None = None
    bit_in: float | None = None
    shavings: Literal["white", "brown"] | None = None


class Pull(OfTrees):
    """Spiles pulled."""

    act: Literal["pull"] = "pull"
    site: str | None = None
    all: Literal[True] | None = None
    count: int | None = None
    reason: str | None = None


class Boil(Act):
    """The start or stop of a boil, or sap put on it."""

    act: Literal["boil"] = "boil"
    vessel: str | None = None
    phase: Literal["start", "stop"] | None = None
    volume_gal: float | None = None


class Draw(Act):
    """Syrup drawn off the pan."""

    act: Literal["draw"] = "draw"
    syrup_gal: float | None = None
    temp_f: float | None = None
    brix: float | None = None


class Pack(Act):
    """Containers filled with syrup."""

    act: Literal["pack"] = "pack"
    count: int | None = None
    size: Size | None = None
    temp_f: float | None = None
    colour: Colour | None = None


class Dump(OfTrees):
    """Sap thrown away."""

    act: Literal["dump"] = "dump"
    vessel: str | None = None


class Clean(Act):
    """A vessel or a piece of gear washed."""

    act: Literal["clean"] = "clean"
    vessel: str | None = None
    item: str | None = None


class Weather(Act):
    """A day's low and high."""

    act: Literal["weather"] = "weather"
    low_f: float | None = None
    high_f: float | None = None
    day: str | None = None


class Equipment(Act):
    """A container or tool looked over before the season."""

    act: Literal["equipment"] = "equipment"
    item: str | None = None
    material: str | None = None
    food_grade: bool | None = None
    rust: bool | None = None
    solder: bool | None = None


class Remark(Act):
    """Free words worth keeping."""

    act: Literal["remark"] = "remark"
    text: str | None = None
    tree: TreeId | None = None
    vessel: str | None = None


class Round(Act):
    """The walk from tree to tree begun or ended."""

    act: Literal["round"] = "round"
    phase: Literal["start", "stop"] | None = None


class Name(Act):
    """A name given to a tree or vessel; a ``new`` tree is known by its name alone."""

    act: Literal["name"] = "name"
    name: str | None = None
    new: Literal[True] | None = None
    tree: TreeId | None = None
    vessel: str | None = None

    @model_validator(mode="after")
    def _is_a_name(self) -> Name:
        if self.name is not None and not is_name(self.name):
            raise ValueError(f"{self.name!r} is no name")
        return self


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


class Transfer(Act):
    """Sap moved from a vessel ``into`` another; ``fill`` is the part of it moved, all if unsaid."""

    act: Literal["transfer"] = "transfer"
    vessel: str | None = None
    into: str | None = None
    volume_gal: float | None = None
    fill: Fill | None = None


class IceOut(OfTrees):
    """Ice thrown out; ``fill`` is the part of what was there."""

    act: Literal["ice_out"] = "ice_out"
    vessel: str | None = None
    volume_gal: float | None = None
    fill: Fill | None = None


class RainIn(OfTrees):
    """Rain or snow water that got in."""

    act: Literal["rain_in"] = "rain_in"
    vessel: str | None = None
    volume_gal: float | None = None


class Pan(Act):
    """The pan on the fire: that it boils, how deep it stands, or how big it is."""

    act: Literal["pan"] = "pan"
    boiling: Literal[True] | None = None
    depth_in: float | None = None
    area_sqft: float | None = None


class Defoam(Act):
    """Foam knocked down, with what."""

    act: Literal["defoam"] = "defoam"
    agent: str | None = None


class Filter(Act):
    """Syrup filtered."""

    act: Literal["filter"] = "filter"
    temp_f: float | None = None


class Fuel(Act):
    """Fuel burnt: cords of wood, or gallons of gas."""

    act: Literal["fuel"] = "fuel"
    cords: float | None = None
    volume_gal: float | None = None


class Water(Act):
    """Where plain water boils today, or the station pressure."""

    act: Literal["water"] = "water"
    water_boils_f: float | None = None
    pressure_inhg: float | None = None


class StockOut(Act):
    """Containers of syrup that left the pantry, and why."""

    act: Literal["stock_out"] = "stock_out"
    count: int | None = None
    size: Size | None = None
    colour: Colour | None = None
    lot: str | None = None
    why: Literal["sold", "given", "eaten", "spoiled"] | None = None


ACTS: dict[str, type[Act]] = {
    model.model_fields["act"].default: model
    for model in (
        Inspect, Gather, Store, Reading, Sweetness, Measure, Health, Tap, Pull,
        Boil, Draw, Pack, Dump, Clean, Weather, Equipment, Remark, Round, Name,
        Vessel, Transfer, IceOut, RainIn, Pan, Defoam, Filter, Fuel, Water, StockOut,
    )
}  # fmt: skip

if TYPE_CHECKING:
    AnyAct = Act
else:
    #: Any note, told apart by its ``act``: the type to read stored notes with.
    AnyAct = Annotated[Union[tuple(ACTS.values())], Field(discriminator="act")]  # noqa: UP007
