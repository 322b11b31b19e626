"""When it is syrup: the temperature to draw off at, and what a thermometer says of the pan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.rules import sources
from fieldvoice.rules.hydrometer import CRYSTALS_BRIX
from fieldvoice.rules.jurisdictions import DEFAULT_JURISDICTION, jurisdiction
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.water import (
    brix_from_rise,
    pressure_at_inhg,
    pressure_from_boil_inhg,
    rise_f,
    water_boils_f,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.rules.finding import Finding, Level

Basis = Literal["measured", "pressure", "elevation"]
Stage = Literal["light", "right", "heavy"]

DRAW_OFF = Rule(
    "draw-off", ("note",), "Temperature to draw syrup at", sources.RISE_7_1,
)  # fmt: skip
DRAW_BY_WATER = Rule(
    "draw-by-water", ("note",), "Boil water first: pressure moves the line by the day",
    sources.IF97,
)  # fmt: skip
DRAW_HYDROMETER = Rule(
    "draw-hydrometer", ("note",), "The hydrometer decides, not the thermometer",
    sources.VERMONT_CHART,
)  # fmt: skip
DRAW_CHECK = Rule(
    "draw-check", ("note", "care"), "How near the pan is to syrup by its temperature",
    sources.STARZAK_PEACOCK,
)  # fmt: skip


#: A thermometer is read to a tenth of a degree at best: so much over a line is on it, in °F.
_READ_TO_F = 0.05


@dataclass(frozen=True, slots=True)
class DrawOff:
    """Where to draw: ``draw_f`` is ``rise_f`` above ``water_f``, for syrup of ``brix``."""

    draw_f: float
    water_f: float
    rise_f: float
    brix: float
    basis: Basis
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class DrawCheck:
    """What boiling syrup's temperature says: °F above water, about what Brix, and how it stands."""

    above_water_f: float
    brix: float
    stage: Stage
    findings: tuple[Finding, ...]


def draw_off(
    *,
    water_boils: float | None = None,
    pressure_inhg: float | None = None,
    elevation_ft: float | None = None,
    jurisdiction_name: str = DEFAULT_JURISDICTION,
) -> DrawOff:
    """Return the temperature to draw syrup at; the first finding is the answer.

    Of what is given, water's measured boil (°F) counts before station pressure, and that before
    elevation.

    Raises:
        RangeError: for water's boil outside 185 to 216 °F, pressure outside 18 to 32 inHg,
            elevation outside -1,000 to 12,000 ft, or an unknown jurisdiction.
        ValueError: when none of the three is given.
    """
    place = jurisdiction(jurisdiction_name)
    water_f, basis = _water(water_boils, pressure_inhg, elevation_ft)
    draw_f = water_f + place.rise_f
    why = (
        f"Water boils at {water_f:.1f} °F {_FROM[basis]}; syrup of {place.minimum_brix:g} Brix "
        f"boils {place.rise_f:g} above that."
    )
    findings = [DRAW_OFF.finding("note", f"Draw at {draw_f:.1f} °F.", why)]
    if basis != "measured":
        findings.append(_boil_water_first(basis))
    findings.append(
        DRAW_HYDROMETER.finding(
            "note",
            "Then let the hydrometer decide.",
            "Half a degree on the thermometer is about 1.2 Brix; the hydrometer shows 0.2.",
        )
    )
    return DrawOff(draw_f, water_f, place.rise_f, place.minimum_brix, basis, tuple(findings))


def draw_check(
    syrup_f: float, water_boils: float, *, jurisdiction_name: str = DEFAULT_JURISDICTION
) -> DrawCheck:
    """Say how near syrup boiling at ``syrup_f`` is, where water boils at ``water_boils`` (°F).

    Raises:
        RangeError: for water's boil outside 185 to 216 °F, or syrup more than 25 °F above it.
    """
    place = jurisdiction(jurisdiction_name)
    pressure_inhg = pressure_from_boil_inhg(water_boils)
    above_f = syrup_f - water_boils
    if above_f < 0:
        text = f"Not boiling yet: water boils at {water_boils:.1f} °F."
        why = f"Syrup of {place.minimum_brix:g} Brix boils {place.rise_f:g} °F above that."
        return DrawCheck(above_f, 0.0, "light", (DRAW_CHECK.finding("care", text, why),))
    within(above_f, 0, 25, "Syrup's rise above water's boil", "°F")
    brix = brix_from_rise(above_f, pressure_inhg)
    short_f = round(place.rise_f - above_f, 1)
    stage: Stage = "right"
    level: Level = "note"
    text = "That's syrup; check it with the hydrometer."
    if short_f > 0:
        stage, level, text = "light", "care", f"Still {short_f:g} °F to go."
    elif above_f > rise_f(place.maximum_brix, pressure_inhg):
        stage, level, text = "heavy", "care", "Heavy: thin it, or it grows crystals."
    elif above_f > rise_f(CRYSTALS_BRIX, pressure_inhg) + _READ_TO_F:
        stage, level = "heavy", "care"
        text = f"Past syrup, about {brix:.0f}: draw it now, check the hydrometer."
    why = (
        f"{above_f:.1f} °F above water's {water_boils:.1f} is about {brix:.1f} Brix; "
        f"{place.minimum_brix:g} Brix boils {place.rise_f:g} above."
    )
    return DrawCheck(above_f, brix, stage, (DRAW_CHECK.finding(level, text, why),))


def _water(
    measured_f: float | None, pressure_inhg: float | None, elevation_ft: float | None
) -> tuple[float, Basis]:
    if measured_f is not None:
        return within(measured_f, 185, 216, "Water's boiling point", "°F"), "measured"
    if pressure_inhg is not None:
        return water_boils_f(pressure_inhg), "pressure"
    if elevation_ft is not None:
        return water_boils_f(pressure_at_inhg(elevation_ft)), "elevation"
    raise ValueError("draw_off needs water's boil, the pressure or the elevation")


_FROM: Mapping[Basis, str] = {
    "measured": "as measured",
    "pressure": "at that station pressure",
    "elevation": "at that elevation on an average day",
}


def _boil_water_first(basis: Basis) -> Finding:
    if basis == "pressure":
        why = (
            "Station pressure is meant, not the weather report's, which is set to sea level and "
            "stands about an inch higher for each 1,000 ft."
        )
    else:
        why = "Elevation gives an average day; the weather moves the line by up to 1.2 °F."
    return DRAW_BY_WATER.finding("note", "Boil some water today to be sure.", why)
