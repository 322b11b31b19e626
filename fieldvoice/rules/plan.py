"""Which vessel to boil first: what spoils first goes first, and what is spoilt does not go in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.rules import sources
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.sap import sap_advice
from fieldvoice.rules.storage import BOIL_BY_DAYS, StorageAge, spoilage_rate, storage_age

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.rules.finding import Finding

PlanAction = Literal["boil", "boil apart", "dump"]

#: Days at 38 °F that a condition is taken to have used up beyond the sap's age (a choice).
_WORN_DAYS: Mapping[str | None, float] = {"hazy": 1.0, "yellow": 1.0, "cloudy": 3.0, "buddy": 0.0}

BOIL_ORDER = Rule(
    "boil-order", ("note", "care", "stop"), "Order of vessels to boil, what spoils first first",
    sources.OLLEY_RATKOWSKY_1973, "design choice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stored:
    """Sap in a vessel: hours since the oldest came in, and (hours ago, °F) readings."""

    name: str
    age_h: float
    readings: tuple[tuple[float, float], ...] = ()
    sap: str | None = None
    volume_gal: float | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One vessel's turn. ``hours_left`` until two days at 38 °F are used up; 0 when past."""

    name: str
    action: PlanAction
    hours_left: float
    age: StorageAge


@dataclass(frozen=True, slots=True)
class BoilPlan:
    """Vessels in the order to deal with them; the first finding is the answer."""

    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def boil_plan(vessels: Sequence[Stored]) -> BoilPlan:
    """Return the order in which to boil vessels, those to dump first of all.

    Sap past its two days goes before sap within them, the most worn first; within them the one
    with the fewest hours left. Cloudy and budding sap is boiled apart, cloudy at once and budding
    last.

    Raises:
        RangeError: for an age or a temperature that ``storage_age`` refuses, or an unknown sap.
    """
    weighed = sorted((_weigh(vessel) for vessel in vessels), key=lambda pair: pair[0])
    steps = tuple(step for _, step in weighed)
    if not steps:
        text = "Nothing is stored."
        return BoilPlan((), (BOIL_ORDER.finding("note", text, "No vessel holds sap."),))
    dumped = [step for step in steps if step.action == "dump"]
    boiled = [step for step in steps if step.action != "dump"]
    findings = []
    if boiled:
        findings.append(_first(boiled))
    if dumped:
        findings.append(_dump(dumped))
    return BoilPlan(steps, tuple(findings))


def _weigh(vessel: Stored) -> tuple[tuple[float, float], Step]:
    """Return a vessel's step and its place in the order (less comes first)."""
    age = storage_age(vessel.age_h, vessel.readings)
    action = _action(vessel.sap, age)
    worn = age.equivalent_days + _WORN_DAYS.get(vessel.sap, 0.0)
    left_h = max(0.0, BOIL_BY_DAYS - worn) * 24 / max(spoilage_rate(age.temp_f), 1e-6)
    if action == "dump":
        place = (0.0, 0.0)
    elif vessel.sap == "buddy":
        place = (3.0, -worn)
    elif worn >= BOIL_BY_DAYS:
        place = (1.0, -worn)
    else:
        place = (2.0, left_h)
    return place, Step(vessel.name, action, left_h, age)


def _action(sap: str | None, age: StorageAge) -> PlanAction:
    doing = "keep" if sap is None else sap_advice(sap, where="vessel").action
    if doing == "dump and wash" or age.level == "discard":
        return "dump"
    return "boil apart" if doing in ("boil now", "boil apart") else "boil"


def _first(steps: Sequence[Step]) -> Finding:
    first, rest = steps[0], steps[1:]
    alone = ", by itself" if first.action == "boil apart" else ""
    then = "".join(f", then {_turn(step)}" for step in rest)
    urgent = first.hours_left == 0
    text = f"Boil {first.name} first{alone}{then}." if rest else f"Boil {first.name}{alone}."
    why = "; ".join(
        f"{step.name} is {step.age.age_h / 24:.1f} days old, like {step.age.equivalent_days:.1f} "
        f"at 38 °F, with {_left(step.hours_left)} left of two days"
        for step in steps
    )
    return BOIL_ORDER.finding("care" if urgent else "note", text, f"{why}.")


def _turn(step: Step) -> str:
    return f"{step.name} by itself" if step.action == "boil apart" else step.name


def _left(hours: float) -> str:
    return f"{hours:.0f} hours" if hours else "none"


def _dump(steps: Sequence[Step]) -> Finding:
    names = " and ".join(step.name for step in steps)
    why = "Sour or ropey sap, or sap more than 7 days old at 38 °F, is not worth the wood."
    return BOIL_ORDER.finding("stop", f"Don't boil {names}: dump and wash.", why)
