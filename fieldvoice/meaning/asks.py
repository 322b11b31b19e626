"""Questions. One model serves all; which fields belong to which question stands in ASKS."""

from __future__ import annotations

from pydantic import model_validator

from fieldvoice.meaning.base import Frozen, Sap, TreeId

#: Each question and the fields it may carry.
ASKS: dict[str, frozenset[str]] = {
    "tap_limit": frozenset({"tree", "diameter_in", "species"}),
    "boil_plan": frozenset(),
    "boil_time": frozenset({"vessel", "volume_gal"}),
    "syrup_estimate": frozenset({"vessel", "volume_gal", "brix"}),
    "sap_age": frozenset({"vessel"}),
    "sap_advice": frozenset({"sap"}),
    "vessel_level": frozenset({"vessel"}),
    "sap_total": frozenset({"since"}),
    "missed_trees": frozenset(),
    "last_visit": frozenset({"tree"}),
    "slow_trees": frozenset(),
    "tree_history": frozenset({"tree"}),
    "hole_advice": frozenset({"tree"}),
    "draw_off": frozenset({"elevation_ft", "water_boils_f", "pressure_inhg"}),
    "density_check": frozenset({"reading_brix", "temp_f"}),
    "grade": frozenset({"transmittance"}),
    "container_advice": frozenset({"item", "material"}),
    "time_to_tap": frozenset(),
    "flow_outlook": frozenset(),
    "stock": frozenset(),
    "season_summary": frozenset(),
    "what_can_i_say": frozenset(),
    "said": frozenset({"tree", "vessel", "count", "since"}),
}


class Ask(Frozen):
    """A question and what it names. ``since`` is ISO 8601; units as in the field names."""

    ask: str
    tree: TreeId | None = None
    vessel: str | None = None
    diameter_in: float | None = None
    species: str | None = None
    volume_gal: float | None = None
    brix: float | None = None
    sap: Sap | None = None
    since: str | None = None
    elevation_ft: float | None = None
    water_boils_f: float | None = None
    pressure_inhg: float | None = None
    reading_brix: float | None = None
    temp_f: float | None = None
    transmittance: float | None = None
    item: str | None = None
    material: str | None = None
    count: int | None = None

    @model_validator(mode="after")
    def _only_its_own_fields(self) -> Ask:
        if self.ask not in ASKS:
            raise ValueError(f"unknown question {self.ask!r}")
        extra = self.model_fields_set - ASKS[self.ask] - {"ask"}
        stray = {name for name in extra if getattr(self, name) is not None}
        if stray:
            raise ValueError(f"{self.ask} does not carry {', '.join(sorted(stray))}")
        return self
