"""The slots that notes and questions share, each with the rule that reads it and how it is told."""

from __future__ import annotations

from calendar import month_name
from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from fieldvoice.schema.base import Colour as _Colour
from fieldvoice.schema.base import Fill as _Fill
from fieldvoice.schema.base import Sap as _Sap
from fieldvoice.schema.base import Side as _Side
from fieldvoice.schema.base import TreeId
from fieldvoice.schema.slot import Slot
from fieldvoice.segments import (
    Condition,
    Day,
    Level,
    Share,
    Species,
    Text,
    TreeRef,
    VesselRef,
    When,
)

if TYPE_CHECKING:
    from fieldvoice.segments import Parts


def exactly(at: str) -> Parts:
    """Return an hour of the clock to the minute."""
    time = datetime.fromisoformat(at)
    return (When(time, time, "exact"),)


def _day_or_hour(before: str, said: str) -> Parts:
    """Return "since Friday" or "until 6:30 pm" of an ISO time; as it was said before it is one."""
    try:
        at = datetime.fromisoformat(said)
    except ValueError:
        return (Text(f"{before} {said}"),)
    if (at.month, at.day) == (1, 1):
        return (Text("this season"),)
    return (Text(before), When(at, at, "exact") if "T" in said else Text(f"{at:%A}"))


def _time_back(said: str) -> Parts:
    """Return "in 2026", "in March 2027", "on Monday, March 8" or "from … to …" of an ISO time.

    What is not ISO stays as it was said.
    """
    first, _, last = said.partition("/")
    year, _, month = first.partition("-")
    if not year.isdigit():
        return (Text(said),)
    if last:
        return (
            Text("from"),
            Day(date.fromisoformat(first)),
            Text("to"),
            Day(date.fromisoformat(last)),
        )
    if "-" in month:
        return Text("on"), Day(date.fromisoformat(first))
    return (Text(f"in {month_name[int(month)]} {year}" if month else f"in {year}"),)


TREE = Slot(
    "things.tree_or_bucket", ask="Which tree?", whole=True, shown=lambda tree: (TreeRef((tree,)),)
)
TREES = Slot("things.trees", shown=lambda trees: (TreeRef(tuple(trees)),))
VESSEL = Slot("things.vessel", ask="Which tank?", shown=lambda name: (VesselRef(name),))
SITE = Slot("things.place", shown=lambda site: (Text(site),))
VOLUME = Slot("quantities.volume", unit="gal", ask="How many gallons?")
FILL = Slot("things.fill", shown=lambda fill: (Level(fill),))
PART = Slot("ledger.some", shown=lambda share: (Share(share),))
SAP = Slot("things.sap_state", shown=lambda sap: (Condition(sap),))
SIDE = Slot("notes.tap_side", shown=lambda side: (Text(f"{side} side"),))
BRIX = Slot("notes.brix_said", unit="%", ask="What percent sugar?")
TEMP = Slot("quantities.temperature", unit="°F")
HOT = Slot("quantities.hot_temperature", unit="°F")
LENGTH = Slot("quantities.length", unit="in")
KIND = Slot("things.species", shown=lambda kind: (Species(kind),))
SINCE = Slot("asks.span", shown=lambda said: _day_or_hour("since", said))
SPAN_BACK = Slot("past.span_back", shown=_time_back)
SPAN_THEN = SPAN_BACK.but(rule="past.span_then")
GEAR = Slot("things.gear", ask="Which piece of gear?")

# As the fields of notes and questions.

At = Annotated[str | None, Slot("times.when", shown=exactly)]
Tree = Annotated[TreeId | None, TREE]
Trees = Annotated[tuple[TreeId, ...] | None, TREES]
Which = Annotated[
    Literal["all", "rest", "some"] | None,
    Slot("notes.every_tree", ask="Which trees?", stands_for="tree"),
]
But = Annotated[tuple[TreeId, ...] | None, Slot("notes.but_for", stands_for="tree")]
Vessel = Annotated[str | None, VESSEL]
KnownVessel = Annotated[str | None, Slot("things.known_vessel", ask=VESSEL.ask, shown=VESSEL.shown)]
Into = Annotated[
    str | None, Slot("ledger.other_vessel", ask="Into which tank?", shown=VESSEL.shown)
]
Site = Annotated[str | None, SITE]
Volume = Annotated[float | None, VOLUME]
VesselVolume = Annotated[float | None, VOLUME.but(likely="vessel_gal")]
Fill = Annotated[_Fill | None, FILL]
Part = Annotated[_Fill | None, PART]
Sap = Annotated[_Sap | None, SAP]
Smell = Annotated[str | None, Slot("things.smell")]
Side = Annotated[_Side | None, SIDE]
Brix = Annotated[float | None, BRIX]
Temp = Annotated[float | None, TEMP]
Hot = Annotated[float | None, HOT]
Length = Annotated[float | None, LENGTH]
Kind = Annotated[str | None, KIND]
Since = Annotated[str | None, SINCE]
#: A year ("2027"), a month ("2027-03"), a day or days ("2027-03-01/2027-03-07") to look back on.
SpanBack = Annotated[str | None, SPAN_BACK]
SpanThen = Annotated[str | None, SPAN_THEN]
Until = Annotated[
    str | None, Slot("ledger.day_name", shown=lambda said: _day_or_hour("until", said))
]
UntilHour = Annotated[float | None, Slot("ledger.clock")]
Gear = Annotated[str | None, GEAR]
Material = Annotated[str | None, Slot("things.material")]
Jars = Annotated[int | None, Slot("ledger.jars", ask="How many?", likely="containers", whole=True)]
Size = Annotated[str | None, Slot("things.size", ask="What size?")]
Colour = Annotated[_Colour | None, Slot("things.colour")]
Percent = Annotated[float, Field(ge=0, le=100)]

#: What is named or put right by itself, in the place of any of the slots of its name.
NAMED = {
    "tree": TREE, "trees": TREES, "vessel": VESSEL, "site": SITE, "volume_gal": VOLUME,
    "fill": FILL, "sap": SAP, "side": SIDE, "brix": BRIX, "temp_f": TEMP,
}  # fmt: skip
