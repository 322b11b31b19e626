"""Values that are possible but unlikely: heard wrong more often than true, so worth a question.

Each finding's ``text`` is the question to ask back. Thirteen and thirty, and their like, sound
alike; where the twin would be likely, the question offers both. So it does where only the other
degrees, or a decimal point, would make sense of a number. All ranges are choices of this house.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules.finding import COMMON_PRACTICE, Finding
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class _Unit:
    """A unit as stored, and as a metric book says it: the number is ``value * by + plus``."""

    sign: str
    metric_sign: str = ""
    by: float = 1.0
    plus: float = 0.0

    def said(self, value: float, *, metric: bool) -> float:
        """Return a stored value as the number that was said."""
        return round(value * self.by + self.plus, 1) if metric else value

    def stored(self, number: float, *, metric: bool) -> float:
        """Return a number said as it is stored."""
        return (number - self.plus) / self.by if metric else number

    def told(self, value: float, *, metric: bool) -> str:
        """Return a value with its unit."""
        sign = self.metric_sign or self.sign if metric else self.sign
        return f"{self.said(value, metric=metric):g}{sign}"


_INCHES = _Unit(" inches", " cm", 2.54)
_DEGREES = _Unit(" °F", " °C", 5 / 9, -160 / 9)
_GALLONS = _Unit(" gal", " L", 3.785411784)
_BRIX = _Unit(" Brix")


@dataclass(frozen=True, slots=True)
class _Range:
    """What a field is likely to be, and how to ask about it."""

    low: float
    high: float
    asked: str
    unit: _Unit
    either: str = ""
    decimal: bool = False

    def holds(self, value: float | None) -> bool:
        """Whether a value is likely."""
        return value is not None and self.low <= value <= self.high


#: Likely ranges of a field. Outside them the value is asked back, never refused. A ``decimal`` one
#: is told with its point: "fifteen" may be one and a half.
_LIKELY: Mapping[str, _Range] = {
    "diameter_in": _Range(4, 48, "{} across", _INCHES, either="{}"),
    "girth_in": _Range(12, 151, "{} around", _INCHES, either="{}"),
    "sap_brix": _Range(0.5, 6, "{} in the sap", _BRIX, decimal=True),
    "syrup_brix": _Range(58, 72, "{} in the syrup", _BRIX),
    "sap_temp_f": _Range(28, 70, "sap at {}", _DEGREES),
    "syrup_temp_f": _Range(200, 230, "syrup at {}", _DEGREES),
    "pack_temp_f": _Range(150, 215, "filling at {}", _DEGREES),
    "filter_temp_f": _Range(120, 225, "filtering at {}", _DEGREES),
    "gauge_brix": _Range(0.5, 80, "{} on the hydrometer", _BRIX),
    "gauge_temp_f": _Range(32, 230, "syrup at {}", _DEGREES),
    "pan_temp_f": _Range(100, 240, "the pan at {}", _DEGREES),
    "pressure_inhg": _Range(24, 32, "a pressure of {}", _INCHES),
    "water_boils_f": _Range(190, 216, "water boiling at {}", _DEGREES),
    "low_f": _Range(-30, 60, "a low of {}", _DEGREES),
    "high_f": _Range(-10, 85, "a high of {}", _DEGREES),
    "taps": _Range(1, 4, "{} in one tree", _Unit(" taps")),
    "depth_in": _Range(0.5, 3, "a hole {} deep", _INCHES, decimal=True),
    "pan_depth_in": _Range(0.25, 12, "{} deep in the pan", _INCHES),
    "bit_in": _Range(0.18, 0.5, "a {} bit", _Unit(" inch")),
    "height_ft": _Range(0.5, 7, "{} up", _Unit(" feet", " cm", 30.48)),
    "bucket_gal": _Range(0, 8, "{} from one tree", _GALLONS),
    "vessel_gal": _Range(0, 1500, "{} in a vessel", _GALLONS),
    "syrup_gal": _Range(0, 50, "{} of syrup at once", _GALLONS),
    "containers": _Range(1, 500, "{} containers", _Unit("")),
}

#: The fields that ``unlikely`` can judge.
FIELDS = frozenset(_LIKELY)

_TWINS: Mapping[float, float] = {
    **{float(teen): float((teen - 10) * 10) for teen in range(13, 20)},
    **{float((teen - 10) * 10): float(teen) for teen in range(13, 20)},
}

#: A number so many times under or over the likely range of a field was said of something else.
_FAR_OFF = 10.0


def is_far_off(field: str, number: float) -> bool:
    """Whether ``number``, in whatever unit, can be no value of ``field`` (one of ``FIELDS``)."""
    likely = _LIKELY[field]
    return not likely.low / _FAR_OFF <= abs(number) <= likely.high * _FAR_OFF


UNLIKELY = Rule(
    "unlikely-value", ("care",), "Values that are more often misheard than true",
    COMMON_PRACTICE, "design choice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Plausibility:
    """Questions that the values raise; ``likely`` when there are none.

    ``twin`` is the likely value that sounds like the first one asked about, or is it with its
    decimal point; the question offers both. ``degrees`` are the first value taken as Celsius and
    as Fahrenheit, in °F, where only the unit not meant makes it likely.
    """

    findings: tuple[Finding, ...]
    twin: float | None = None
    degrees: tuple[float, float] | None = None

    @property
    def likely(self) -> bool:
        """Whether nothing needs asking back."""
        return not self.findings


def unlikely(
    *,
    metric: bool = False,
    unit_said: bool = False,
    **values: float | None,
) -> Plausibility:
    """Return the questions that ``values`` (each one of ``FIELDS``) raise.

    In a ``metric`` book numbers are said and asked about in its units; with ``unit_said`` a
    temperature was told with its unit, which is then not in doubt.

    Raises:
        TypeError: for a field that is not one of ``FIELDS``.
    """
    strange = set(values) - FIELDS
    if strange:
        raise TypeError(f"no likely range for {', '.join(sorted(strange))}")
    odd = [
        (_LIKELY[field], value)
        for field, value in values.items()
        if value is not None and not _LIKELY[field].holds(value)
    ]
    findings = [_ask(likely, value, metric=metric, unit_said=unit_said) for likely, value in odd]
    if not odd:
        return Plausibility(tuple(findings))
    twin = _likely_twin(*odd[0], metric=metric)
    degrees = None if twin or unit_said else _either_degrees(*odd[0], metric=metric)
    return Plausibility(tuple(findings), twin, degrees)


def of_many_trees(volume_gal: float | None, *, at_a_tree: bool = False) -> bool:
    """Whether so much sap can only be a total over many trees.

    ``at_a_tree`` tells that one was just spoken of: an amount a little too big may be misheard.
    """
    most_gal = _LIKELY["bucket_gal"].high
    return volume_gal is not None and volume_gal > (2.5 * most_gal if at_a_tree else most_gal)


_VESSEL_TWINS = {"tank": "tote", "tote": "tank"}


def sound_alike(value: float) -> float | None:
    """Return the number that sounds like ``value`` (13 and 30 to 19 and 90), or None."""
    return _TWINS.get(value)


def vessel_alike(vessel: str) -> str | None:
    """Return the vessel that sounds like ``vessel`` ("tote 2" for "tank 2"), or None."""
    kind, space, number = vessel.partition(" ")
    return f"{_VESSEL_TWINS[kind]}{space}{number}" if kind in _VESSEL_TWINS else None


def _likely_twin(likely: _Range, value: float, *, metric: bool) -> float | None:
    """Return the likely value that a number may have been misheard from, or lost its point in."""
    number = likely.unit.said(value, metric=metric)
    others = (sound_alike(number), number / 10 if likely.decimal else None)
    stored = (likely.unit.stored(one, metric=metric) for one in others if one is not None)
    return next((one for one in stored if likely.holds(one)), None)


def _either_degrees(likely: _Range, value: float, *, metric: bool) -> tuple[float, float] | None:
    """Return a temperature as Celsius and as Fahrenheit (°F), where the other one is likely."""
    if likely.unit is not _DEGREES:
        return None
    number = _DEGREES.said(value, metric=metric)
    celsius, fahrenheit = round(_DEGREES.stored(number, metric=True), 1), number
    other = fahrenheit if metric else celsius
    return (celsius, fahrenheit) if likely.holds(other) else None


def _ask(likely: _Range, value: float, *, metric: bool, unit_said: bool) -> Finding:
    twin = _likely_twin(likely, value, metric=metric)
    number = likely.unit.said(value, metric=metric)
    text = f"Did you say {likely.asked.format(likely.unit.told(value, metric=metric))}?"
    if twin is not None:
        one = (likely.either or likely.asked).format(likely.unit.told(twin, metric=metric))
        text = f"{one[:1].upper()}{one[1:]}, or {number:g}?"
    elif not unit_said and _either_degrees(likely, value, metric=metric):
        text = f"{number:g} degrees: Celsius or Fahrenheit?"
    low, high = (likely.unit.said(one, metric=metric) for one in (likely.low, likely.high))
    why = f"{likely.unit.told(value, metric=metric)} is outside the usual {low:g} to {high:g}."
    return UNLIKELY.finding("care", text, why)
