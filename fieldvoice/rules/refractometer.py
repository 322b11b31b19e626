"""Refractometer readings, corrected to 20 °C where the instrument does not do it itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.hydrometer import CORRECTION_THAT_COUNTS
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import plain
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding, Level

#: (°C, Brix to add to a reading of 0 to 5, Brix to add to one of 65 to 70).
_TABLE = (
    (10.0, -0.525, -0.77), (15.0, -0.27, -0.39), (20.0, 0.0, 0.0), (25.0, 0.31, 0.40),
    (30.0, 0.695, 0.80),
)  # fmt: skip
#: The readings that the two columns stand for: their middles (a choice).
_WEAK_BRIX, _STRONG_BRIX = 2.5, 67.5
#: Outside this range, °F, an instrument that compensates by itself no longer does.
COMPENSATED_F = (50.0, 86.0)

REFRACTOMETER = Rule(
    "refractometer", ("note", "care"), "Refractometer readings away from 68 °F",
    sources.ICUMSA_REFRACTOMETER,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class RefractometerSugar:
    """Brix at 68 °F, and the correction that was added."""

    brix: float
    correction: float
    findings: tuple[Finding, ...]


def refractometer_sugar(
    reading_brix: float, temp_f: float, *, compensates: bool = False, zeroed_here: bool = False
) -> RefractometerSugar:
    """Return the Brix that a refractometer means, its prism at ``temp_f``.

    A drop takes the prism's heat within half a minute, so that it is the instrument's that counts.
    One that ``compensates`` by itself, or was ``zeroed_here`` on water at this heat, needs no
    correction (of the latter less than 0.05 Brix is left below 5 Brix). Where it is too cold or too
    warm for its table, no number is made: to be warmed and tested again.

    Raises:
        RangeError: for a reading outside 0 to 85 Brix or a temperature outside 0 to 220 °F.
    """
    within(reading_brix, 0, 85, "A refractometer reading", "Brix")
    low_f, high_f = COMPENSATED_F
    if not low_f <= within(temp_f, 0, 220, "A refractometer", "°F") <= high_f:
        return RefractometerSugar(reading_brix, 0.0, (_out_of_range(temp_f),))
    added = 0.0 if compensates or zeroed_here else correction_brix(reading_brix, temp_f)
    brix = max(0.0, reading_brix + added)
    level: Level = "care" if abs(added) >= CORRECTION_THAT_COUNTS else "note"
    how = f"At {plain(temp_f)} °F add {added:+.2f} to {plain(reading_brix)}"
    if compensates or zeroed_here:
        how = "It corrects itself" if compensates else "Zeroed on water at this heat"
    finding = REFRACTOMETER.finding(
        level,
        f"That's {'really ' if level == 'care' else ''}{brix:.1f} Brix.",
        f"{how}. Without ATC, zero it on distilled water where you use it, or at 68 °F and "
        "correct; never put hot syrup on it.",
    )
    return RefractometerSugar(brix, added, (finding,))


def _out_of_range(temp_f: float) -> Finding:
    low_f, high_f = COMPENSATED_F
    text = "Warm the refractometer to room temperature, zero it on water, test again."
    if temp_f > high_f:
        text = "Let it cool to room temperature, zero it on water, test again."
    return REFRACTOMETER.finding(
        "care", text,
        f"It was at {plain(temp_f)} °F, and a refractometer is right from {low_f:g} to "
        f"{high_f:g}. Cold sap does not matter: a drop takes the prism's heat in half a minute.",
    )  # fmt: skip


def correction_brix(reading_brix: float, temp_f: float) -> float:
    """Return Brix to add to a reading at ``temp_f``, straight lines between the printed figures.

    Raises:
        RangeError: outside 0 to 85 Brix or 50 to 86 °F.
    """
    within(reading_brix, 0, 85, "A refractometer reading", "Brix")
    celsius = (within(temp_f, *COMPENSATED_F, "A refractometer and its sample", "°F") - 32) / 1.8
    above = next(i for i, row in enumerate(_TABLE[1:], 1) if celsius <= row[0] + 1e-9)
    (low_c, *low), (high_c, *high) = _TABLE[above - 1], _TABLE[above]
    share = (celsius - low_c) / (high_c - low_c)
    weak, strong = (one + share * (other - one) for one, other in zip(low, high, strict=True))
    strength = min(1.0, max(0.0, (reading_brix - _WEAK_BRIX) / (_STRONG_BRIX - _WEAK_BRIX)))
    return weak + strength * (strong - weak)
