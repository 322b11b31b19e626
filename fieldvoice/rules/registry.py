"""Every rule by its name: what it watches, how loudly it may speak, where it comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.rules import (
    boiling,
    containers,
    finishing,
    grading,
    growth,
    hazards,
    holes,
    hydrometer,
    ice,
    packing,
    plan,
    plausible,
    sap,
    storage,
    sugar,
    taps,
    weather,
)
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping

_FAMILIES = (
    taps, growth, holes, weather, sap, storage, ice, sugar, hydrometer, boiling, finishing,
    grading, packing, containers, plan, plausible, hazards,
)  # fmt: skip

#: Rules by id, in the order of a season.
RULES: Mapping[str, Rule] = {
    rule.id: rule
    for family in _FAMILIES
    for rule in vars(family).values()
    if isinstance(rule, Rule)
}
