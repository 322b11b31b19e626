"""Hydrometer readings, corrected for the temperature of what they float in.

Every instrument has its own calibration temperature, printed on it, and perhaps an error of its
own, found by testing it. Syrup on a 60 °F hydrometer goes by the Vermont chart, which is legal
practice there; everything else by the density of sugar solutions (``density``).
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.rules import sources
from fieldvoice.rules.density import brix_from_hydrometer, hydrometer_reads
from fieldvoice.rules.jurisdictions import DEFAULT_JURISDICTION, Jurisdiction, jurisdiction
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import plain
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.sugar import baume

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.rules.finding import Finding, Level

Verdict = Literal["light", "right", "heavy"]

#: Vermont chart: what a 60 °F hydrometer reads (Brix) in syrup of 66.9 Brix at each °F. The print
#: has 59.0 at 209 and 59.1 at 211; physics says 59.13 and 59.01: here it falls evenly.
_CHART_BRIX = 66.9
_CHART: tuple[tuple[float, float], ...] = (
    (50, 67.4), (60, 66.9), (70, 66.4), (80, 65.9), (90, 65.4), (100, 64.8), (110, 64.3),
    (120, 63.8), (130, 63.3), (140, 62.8), (149, 62.3), (158, 61.8), (167, 61.4), (176, 60.9),
    (185, 60.4), (193, 60.0), (202, 59.6), (211, 59.05), (220, 58.5),
)  # fmt: skip

#: Syrup is saturated at 67.1 Brix at 68 °F (published); a little above that it is called heavy.
CRYSTALS_BRIX = 67.5

#: A correction of so many Brix changes what sap will make by a tenth.
CORRECTION_THAT_COUNTS = 0.15

DENSITY = Rule(
    "density", ("note", "care"), "Syrup density from a hydrometer, hot or cold",
    sources.VERMONT_CHART,
)  # fmt: skip
DENSITY_CLOSE = Rule(
    "density-close", ("note",), "A reading within the hydrometer's own error of the line",
    sources.OSU_HYDROMETERS,
)  # fmt: skip
SAP_SUGAR = Rule(
    "sap-sugar", ("note", "care"), "Sap sugar corrected for temperature", sources.ICUMSA_DENSITY,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class DensityCheck:
    """Syrup's true Brix and how it stands to the legal density; the first finding is the answer."""

    brix: float
    verdict: Verdict
    minimum_brix: float
    maximum_brix: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class SapSugar:
    """Sap's Brix after correction, and the correction that was added."""

    brix: float
    correction: float
    findings: tuple[Finding, ...]


def hot_line_brix(temp_f: float, target_brix: float = 66.9, made_for_f: float = 60) -> float:
    """Return what a hydrometer must read at ``temp_f`` in syrup of ``target_brix``.

    Raises:
        RangeError: outside 50 to 220 °F, or for a hydrometer not made for 50 to 80 °F.
    """
    within(temp_f, 50, 220, "The temperature of syrup in the cup", "°F")
    return _between(_CHART, temp_f) + target_brix - _CHART_BRIX + _calibration_shift(made_for_f)


def density_check(
    reading_brix: float,
    temp_f: float,
    *,
    jurisdiction_name: str = DEFAULT_JURISDICTION,
    made_for_f: float = 60,
    reads_high_by: float = 0.0,
) -> DensityCheck:
    """Return syrup's density from a hydrometer reading at ``temp_f``.

    ``made_for_f`` is the temperature printed on the hydrometer; ``reads_high_by`` is its own error
    in Brix, negative where it reads light.

    Raises:
        RangeError: for a reading outside 45 to 75 Brix, a temperature outside 50 to 220 °F, a
            hydrometer not made for 50 to 80 °F or wrong by more than 5 Brix, or an unknown
            jurisdiction.
    """
    within(reading_brix, 45, 75, "A syrup hydrometer reading", "Brix")
    within(reads_high_by, -5, 5, "A hydrometer's own error", "Brix")
    place = jurisdiction(jurisdiction_name)
    brix = _CHART_BRIX + reading_brix - reads_high_by - hot_line_brix(temp_f, made_for_f=made_for_f)
    brix = round(brix, 1)
    verdict = _verdict(brix, place)
    line = hot_line_brix(temp_f, place.minimum_brix, made_for_f) + reads_high_by
    why = (
        f"{plain(reading_brix)} at {plain(temp_f)} °F is {plain(brix)} Brix "
        f"({baume(brix):.1f} Baumé) when cool; "
        f"the line here is {line:.1f} at that heat, for {place.minimum_brix:g} to "
        f"{place.maximum_brix:g} Brix.{_elsewhere(place)}"
    )
    level: Level = "note" if verdict == "right" else "care"
    answer = DENSITY.finding(level, _says(brix, verdict, place), why)
    findings = (answer, *_close(brix, place))
    return DensityCheck(brix, verdict, place.minimum_brix, place.maximum_brix, findings)


def sap_sugar(
    reading_brix: float, temp_f: float, *, made_for_f: float = 38, reads_high_by: float = 0.0
) -> SapSugar:
    """Return sap's Brix from a sap hydrometer, whatever temperature it was made for.

    Raises:
        RangeError: for a reading outside 0 to 20 Brix, sap outside 32 to 80 °F, or a hydrometer
            not made for 32 to 80 °F or wrong by more than 5 Brix.
    """
    within(reading_brix, 0, 20, "A sap reading", "Brix")
    within(temp_f, 32, 80, "Sap in the cup", "°F")
    within(made_for_f, 32, 80, "The temperature that a sap hydrometer is made for", "°F")
    within(reads_high_by, -5, 5, "A hydrometer's own error", "Brix")
    read = max(0.0, reading_brix - reads_high_by)
    brix = brix_from_hydrometer(read, temp_f, made_for_f)
    much = abs(brix - reading_brix) >= CORRECTION_THAT_COUNTS
    finding = SAP_SUGAR.finding(
        "care" if much else "note",
        f"That's really {brix:.1f} Brix." if much else f"That's {brix:.1f} Brix.",
        f"It reads {plain(reading_brix)} at {plain(temp_f)} °F on a hydrometer made for "
        f"{made_for_f:g} °F: "
        f"{brix - reading_brix:+.2f}. Cold sap is denser, so that the temperature counts.",
    )
    return SapSugar(brix, brix - reading_brix, (finding,))


def _calibration_shift(made_for_f: float) -> float:
    """Return how much higher than a 60 °F hydrometer one for ``made_for_f`` reads in syrup."""
    within(made_for_f, 50, 80, "The temperature that a syrup hydrometer is made for", "°F")
    return hydrometer_reads(_CHART_BRIX, 60, made_for_f) - _CHART_BRIX


def _elsewhere(place: Jurisdiction) -> str:
    """Return what other places ask for, where they differ."""
    if place.minimum_brix < _CHART_BRIX:
        return " Vermont and New Hampshire ask for 66.9."
    return " Elsewhere 66 is enough."


def _verdict(brix: float, place: Jurisdiction) -> Verdict:
    if brix < place.minimum_brix:
        return "light"
    return "heavy" if brix > CRYSTALS_BRIX else "right"


def _says(brix: float, verdict: Verdict, place: Jurisdiction) -> str:
    if verdict == "light":
        return "Light: boil it a little more."
    if verdict == "right":
        return "It's syrup."
    if brix <= place.maximum_brix:
        return "Heavy: it may grow sugar crystals; thin it with a little sap."
    return "Too heavy to sell: thin it with sap or thin syrup."


def _close(brix: float, place: Jurisdiction) -> tuple[Finding, ...]:
    # A little slack, so that 0.2 is still "within 0.2" in binary fractions.
    if min(abs(brix - place.minimum_brix), abs(brix - place.maximum_brix)) > 0.2 + 1e-9:
        return ()
    text = "That's right on the line; read it twice."
    why = "Of 75 to 90 hydrometers tested, about half were within 0.2 Brix; many read light."
    return (DENSITY_CLOSE.finding("note", text, why),)


def _between(table: Sequence[tuple[float, float]], at: float) -> float:
    """Return the straight-line value at ``at``, which callers keep within the table."""
    index = min(bisect_right(table, at, key=lambda row: row[0]), len(table) - 1)
    (low, low_value), (high, high_value) = table[index - 1], table[index]
    return low_value + (at - low) / (high - low) * (high_value - low_value)
