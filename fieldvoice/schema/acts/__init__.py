"""Notes: what somebody did or saw. Fields and units are those of the machine interface."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Union

from pydantic import Field

from fieldvoice.schema.act import Act, OfTrees
from fieldvoice.schema.acts.boiling import Boil, Defoam, Draw, Filter, Fuel, Pan, Water
from fieldvoice.schema.acts.book import Equipment, Name, Remark, Round, Weather
from fieldvoice.schema.acts.pantry import Pack, StockOut
from fieldvoice.schema.acts.places import Hang, Skip, Stand
from fieldvoice.schema.acts.reminders import Cost, Remind, Reminded
from fieldvoice.schema.acts.sap import (
    Clean,
    Dump,
    Gather,
    IceOut,
    RainIn,
    Reading,
    Store,
    Transfer,
    Vessel,
)  # fmt: skip
from fieldvoice.schema.acts.trees import Health, Inspect, Measure, Pull, Sweetness, Tap

ACTS: dict[str, type[Act]] = {
    model.model_fields["act"].default: model
    for model in (
        Inspect, Gather, Store, Reading, Sweetness, Measure, Health, Tap, Pull,
        Boil, Draw, Pack, Dump, Clean, Weather, Equipment, Remark, Round, Name,
        Vessel, Transfer, IceOut, RainIn, Pan, Defoam, Filter, Fuel, Water, StockOut,
        Remind, Reminded, Cost, Stand, Hang, Skip,
    )
}  # fmt: skip

if TYPE_CHECKING:
    AnyAct = Act
else:
    #: Any note, told apart by its ``act``: the type to read stored notes with.
    AnyAct = Annotated[Union[tuple(ACTS.values())], Field(discriminator="act")]  # noqa: UP007

__all__ = [
    "ACTS", "Act", "AnyAct", "Boil", "Clean", "Cost", "Defoam", "Draw", "Dump", "Equipment",
    "Filter", "Fuel", "Gather", "Hang", "Health", "IceOut", "Inspect", "Measure", "Name", "OfTrees",
    "Pack", "Pan", "Pull", "RainIn", "Reading", "Remark", "Remind", "Reminded", "Round",
    "Skip", "Stand", "StockOut", "Store", "Sweetness", "Tap", "Transfer", "Vessel", "Water",
    "Weather",
]  # fmt: skip
