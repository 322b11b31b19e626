"""Every rule by its name: what it watches, how loudly it may speak, where it comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.rules import (
    adjusting,
    boiling,
    cleaning,
    containers,
    finishing,
    flavour,
    fuel,
    grading,
    growth,
    hazards,
    holes,
    hydrometer,
    ice,
    keeping,
    packing,
    placing,
    plan,
    plausible,
    products,
    pulling,
    refractometer,
    reminding,
    sap,
    season,
    spacing,
    species,
    storage,
    sugar,
    supplies,
    tapping_zone,
    taps,
    weather,
)
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping
    from types import ModuleType

#: The families of the trade, in the order of a season, each with its modules.
FAMILIES: Mapping[str, tuple[ModuleType, ...]] = {
    "Trees and taps": (taps, species, growth, tapping_zone, supplies),
    "Holes": (holes, placing, spacing, pulling),
    "Weather and season": (weather, season),
    "Containers and equipment": (containers, cleaning),
    "Sap": (sap, storage, ice, plan),
    "Sugar and density": (sugar, hydrometer, refractometer, adjusting),
    "Yield and boiling": (boiling, fuel),
    "Finishing and grading": (finishing, products, grading, flavour),
    "Packing and stock": (packing, keeping),
    "What is heard": (plausible,),
    "Cautions": (hazards,),
    "What was asked for": (reminding,),
}


def _of(modules: tuple[ModuleType, ...]) -> tuple[Rule, ...]:
    """Return the rules of modules, each once, though one module may use another's."""
    found = (value for module in modules for value in vars(module).values())
    return tuple({rule.id: rule for rule in found if isinstance(rule, Rule)}.values())


#: The rules of each family.
RULES_BY_FAMILY: Mapping[str, tuple[Rule, ...]] = {
    family: _of(modules) for family, modules in FAMILIES.items()
}

#: Rules by id, in the order of a season.
RULES: Mapping[str, Rule] = {rule.id: rule for rules in RULES_BY_FAMILY.values() for rule in rules}
