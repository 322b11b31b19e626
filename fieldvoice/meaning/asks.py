"""Questions. One model serves all; which fields belong to which question stands in ASKS."""

from __future__ import annotations

from pydantic import model_validator

from fieldvoice.meaning.base import Fill, Frozen, Sap, Size, TreeId

#: Each question and the fields it may carry.
ASKS: dict[str, frozenset[str]] = {
    "tap_limit": frozenset({"tree", "diameter_in", "species"}),
    "boil_plan": frozenset({"until", "until_h", "hours"}),
    "boil_time": frozenset({"vessel", "volume_gal"}),
    "syrup_estimate": frozenset({"vessel", "volume_gal", "brix"}),
    "sap_age": frozenset({"vessel"}),
    "sap_advice": frozenset({"sap"}),
    "vessel_level": frozenset({"vessel"}),
    "sap_total": frozenset({"since"}),
    "missed_trees": frozenset(),
    "last_visit": frozenset({"tree"}),
    "slow_trees": frozenset(),
    "best_trees": frozenset(),
    "sweetest_trees": frozenset(),
    "tree_count": frozenset(),
    "trees_seen": frozenset({"sap", "fill"}),
    "tree_history": frozenset({"tree"}),
    "hole_advice": frozenset({"tree"}),
    "draw_off": frozenset({"elevation_ft", "water_boils_f", "pressure_inhg"}),
    "density_check": frozenset({"reading_brix", "temp_f"}),
    "grade": frozenset({"transmittance"}),
    "container_advice": frozenset({"item", "material", "rust", "heated"}),
    "time_to_tap": frozenset(),
    "flow_outlook": frozenset({"low_f", "high_f"}),
    "stock": frozenset(),
    "season_summary": frozenset(),
    "what_can_i_say": frozenset(),
    "why": frozenset(),
    "advice": frozenset({"topic"}),
    "diameter": frozenset({"diameter_in"}),
    "gear_needed": frozenset({"count"}),
    "growth": frozenset({"tree"}),
    "tapping_zone": frozenset({"tree", "count"}),
    "when_to_pull": frozenset({"tree"}),
    "species_advice": frozenset({"species"}),
    "time_to_stop": frozenset({"buds"}),
    "bud_outlook": frozenset({"species"}),
    "cleaning": frozenset({"volume_gal"}),
    "sap_keeps": frozenset({"days", "temp_f"}),
    "ice_sugar": frozenset({"ice_share", "brix"}),
    "mix": frozenset({"volume_gal", "brix", "other_gal", "other_brix"}),
    "sap_needed": frozenset({"volume_gal", "size", "brix"}),
    "fuel_needed": frozenset({"volume_gal", "vessel", "fuel"}),
    "draw_check": frozenset({"temp_f", "water_boils_f"}),
    "adjust_density": frozenset({"volume_gal", "brix"}),
    "product_target": frozenset({"product"}),
    "jars_filled": frozenset({"volume_gal", "size"}),
    "weight": frozenset({"volume_gal", "size"}),
    "off_flavour": frozenset({"taste"}),
    "plan_rest": frozenset(),
    "can_wait": frozenset({"vessel", "until", "until_h"}),
    "start_by": frozenset({"vessel"}),
    "jars_needed": frozenset({"vessel", "volume_gal", "size"}),
    "recall": frozenset({"vessel", "tree", "agent"}),
    "boil_report": frozenset(),
    "pan_rate": frozenset(),
    "sap_balance": frozenset(),
    "mix_check": frozenset({"vessel", "into"}),
    "least_batch": frozenset(),
    "said": frozenset({"tree", "vessel", "count", "since"}),
}


class Ask(Frozen):
    """A question and what it names. ``since`` and ``until`` are ISO 8601; units as in the names.

    ``until_h`` is an hour of the clock as it was said (6.5 for half past six), until the
    conversation makes ``until`` of it.
    """

    ask: str
    tree: TreeId | None = None
    vessel: str | None = None
    diameter_in: float | None = None
    species: str | None = None
    volume_gal: float | None = None
    brix: float | None = None
    sap: Sap | None = None
    fill: Fill | None = None
    since: str | None = None
    elevation_ft: float | None = None
    water_boils_f: float | None = None
    pressure_inhg: float | None = None
    reading_brix: float | None = None
    temp_f: float | None = None
    transmittance: float | None = None
    item: str | None = None
    material: str | None = None
    rust: bool | None = None
    heated: bool | None = None
    count: int | None = None
    topic: str | None = None
    size: Size | None = None
    fuel: str | None = None
    product: str | None = None
    taste: str | None = None
    ice_share: Fill | None = None
    days: float | None = None
    low_f: float | None = None
    high_f: float | None = None
    buds: bool | None = None
    other_gal: float | None = None
    other_brix: float | None = None
    into: str | None = None
    until: str | None = None
    until_h: float | None = None
    hours: float | None = None
    agent: str | None = None

    @model_validator(mode="after")
    def _only_its_own_fields(self) -> Ask:
        if self.ask not in ASKS:
            raise ValueError(f"unknown question {self.ask!r}")
        extra = self.model_fields_set - ASKS[self.ask] - {"ask"}
        stray = {name for name in extra if getattr(self, name) is not None}
        if stray:
            raise ValueError(f"{self.ask} does not carry {', '.join(sorted(stray))}")
        return self
