"""Sugar, density and weight: what sap will make, and what a blend comes to.

Degrees Brix are grams of sucrose in 100 g. Densities are those of the CRC table at 20 °C, joined
by straight lines (good to 0.1 kg/m³); brewing formulas are too high at syrup strength.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.jurisdictions import DEFAULT_JURISDICTION, jurisdiction
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import plain
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.rules.finding import Finding

LITRES_PER_GAL = 3.785411784
_LB_PER_KG = 1 / 0.45359237

#: (°Brix, kg/m³ at 20 °C), CRC Handbook of Chemistry and Physics.
_CRC: tuple[tuple[float, float], ...] = (
    (0, 998.2), (0.5, 1000.2), (1, 1002.1), (1.5, 1004.0), (2, 1006.0), (2.5, 1007.9),
    (3, 1009.9), (3.5, 1011.9), (4, 1013.9), (5, 1017.8), (6, 1021.8), (7, 1025.9),
    (8, 1029.9), (9, 1034.0), (10, 1038.1), (12, 1046.5), (14, 1054.9), (16, 1063.5),
    (18, 1072.2), (20, 1081.0), (24, 1099.0), (28, 1117.5), (30, 1127.0), (34, 1146.4),
    (40, 1176.5), (44, 1197.2), (48, 1218.6), (50, 1229.5), (52, 1240.6), (54, 1251.8),
    (56, 1263.2), (58, 1274.7), (60, 1286.4), (62, 1298.3), (64, 1310.3), (66, 1322.4),
    (68, 1334.8), (70, 1347.2), (72, 1359.9), (76, 1385.5), (80, 1411.7),
)  # fmt: skip

#: The rule of 86 leaves out the sap's own density; above this it is too far off to be told.
JONES_MOST_BRIX = 8.0

SYRUP_ESTIMATE = Rule(
    "syrup-estimate", ("note",), "Syrup that sap will make, from its sugar", sources.CRC_SUCROSE,
)  # fmt: skip
JONES = Rule(
    "jones-rule", ("note",), "The rule of 86, for sap up to 8 Brix", sources.JONES_1933,
)  # fmt: skip
BLEND = Rule(
    "blend", ("note",), "Sugar of sap or syrup mixed together", sources.CRC_SUCROSE,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SyrupEstimate:
    """Syrup to expect; ``ratio`` is gallons of sap to one of syrup. ``jones_gal`` ≤ 8 Brix only."""

    syrup_gal: float
    ratio: float
    water_gal: float
    syrup_brix: float
    jones_gal: float | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Blend:
    """Volume and sugar of several parts together."""

    volume_gal: float
    brix: float
    findings: tuple[Finding, ...]


def density_kg_m3(brix: float) -> float:
    """Return the density at 20 °C of a sucrose solution.

    Raises:
        RangeError: outside 0 to 80 Brix.
    """
    within(brix, 0, 80, "Sugar", "Brix")
    index = min(bisect_right(_CRC, brix, key=lambda row: row[0]), len(_CRC) - 1)
    (low, low_density), (high, high_density) = _CRC[index - 1], _CRC[index]
    return low_density + (brix - low) / (high - low) * (high_density - low_density)


def weight_lb_per_gal(brix: float, *, in_air: bool = True) -> float:
    """Return the weight at 20 °C of a US gallon, as a scale in air shows it, or in a vacuum.

    Raises:
        RangeError: outside 0 to 80 Brix.
    """
    density = density_kg_m3(brix)
    if in_air:
        # Buoyancy: air 1.2 kg/m³, brass weights 8400 kg/m³.
        density = (density - 1.2) / (1 - 1.2 / 8400)
    return density * LITRES_PER_GAL / 1000 * _LB_PER_KG


def baume(brix: float) -> float:
    """Return degrees Baumé (modulus 145, from specific gravity at 20/20 °C).

    Raises:
        RangeError: outside 0 to 80 Brix.
    """
    return 145 - 145 * density_kg_m3(0) / density_kg_m3(brix)


def sap_per_syrup(sap_brix: float, syrup_brix: float = 66.0) -> float:
    """Return gallons of sap to one of syrup, by exact balance of sugar.

    Raises:
        RangeError: for sap outside 0.2 to 70 Brix or syrup outside 60 to 70.
    """
    within(sap_brix, 0.2, 70, "Sap sugar", "Brix")
    within(syrup_brix, 60, 70, "Syrup sugar", "Brix")
    sugar_in_syrup = syrup_brix * density_kg_m3(syrup_brix)
    return sugar_in_syrup / (sap_brix * density_kg_m3(sap_brix))


def jones_ratio(sap_brix: float) -> float:
    """Return the rule of 86: gallons of sap to one of syrup, roughly.

    Raises:
        RangeError: outside 0.2 to 8 Brix, where it is no longer of use.
    """
    return 86 / within(sap_brix, 0.2, JONES_MOST_BRIX, "Sap sugar for the rule of 86", "Brix")


def syrup_estimate(
    volume_gal: float, brix: float, *, jurisdiction_name: str = DEFAULT_JURISDICTION
) -> SyrupEstimate:
    """Return the syrup that ``volume_gal`` of sap at ``brix`` will make; answer first.

    Raises:
        RangeError: for a volume outside 0 to 100,000 gal, sugar outside 0.2 to 60 Brix, or an
            unknown jurisdiction.
    """
    within(volume_gal, 0, 100_000, "A volume of sap", "gallons")
    within(brix, 0.2, 60, "Sap sugar", "Brix")
    target = jurisdiction(jurisdiction_name).minimum_brix
    ratio = sap_per_syrup(brix, target)
    syrup_gal = volume_gal / ratio
    findings = [
        SYRUP_ESTIMATE.finding(
            "note",
            f"About {syrup_in_words(syrup_gal)}.",
            f"{plain(volume_gal)} gal at {plain(brix)} Brix; sugar in equals sugar out, so "
            f"{ratio:.1f} gal "
            f"of sap make one of syrup at {target:g} Brix.",
        )
    ]
    jones_gal = None
    if brix <= JONES_MOST_BRIX and volume_gal:
        jones_gal = volume_gal / jones_ratio(brix)
        findings.append(
            JONES.finding(
                "note",
                f"The rule of 86 says {syrup_in_words(jones_gal)}.",
                f"86 divided by {plain(brix)} is {jones_ratio(brix):.1f} gal of sap to one of "
                f"syrup; a rule of thumb that promises {_off_by(jones_gal / syrup_gal - 1)}.",
            )
        )
    return SyrupEstimate(
        syrup_gal, ratio, volume_gal - syrup_gal, target, jones_gal, tuple(findings)
    )


def _off_by(share: float) -> str:
    """Return by how much a promise is off, in whole percents."""
    percent = round(share * 100)
    if percent == 0:
        return "just what sugar in and out come to"
    return f"{abs(percent)} % {'too much' if percent > 0 else 'too little'}"


def blend(parts: Sequence[tuple[float, float]]) -> Blend:
    """Return volume and sugar of several (gallons, Brix) parts mixed, weighed by mass.

    Raises:
        RangeError: for no parts, no volume, or sugar outside 0 to 80 Brix.
    """
    volume_gal = within(sum(volume for volume, _ in parts), 1e-9, 100_000, "A blend", "gallons")
    masses = [volume * density_kg_m3(brix) for volume, brix in parts]
    brix = sum(mass * part[1] for mass, part in zip(masses, parts, strict=True)) / sum(masses)
    finding = BLEND.finding(
        "note",
        f"{brix:.1f} Brix together.",
        " and ".join(f"{plain(volume)} gal at {plain(part)}" for volume, part in parts)
        + f" give {plain(volume_gal)} gal at {brix:.2f} Brix, weighed by mass.",
    )
    return Blend(volume_gal, brix, (finding,))


def syrup_in_words(syrup_gal: float) -> str:
    """Return a volume of syrup in gallons, and below one gallon in quarts or pints as well."""
    if syrup_gal >= 1:
        return f"{round(syrup_gal, 2 if syrup_gal < 10 else 1):g} gal"
    if syrup_gal >= 0.25:
        return f"{syrup_gal:.2g} gal, {round(syrup_gal * 4, 1):g} quarts"
    return f"{syrup_gal:.2g} gal, {round(syrup_gal * 8, 1):g} pints"
