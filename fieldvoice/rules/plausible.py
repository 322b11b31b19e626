"""Values that are possible but unlikely: heard wrong more often than true, so worth a question.

Each finding's ``text`` is the question to ask back. Thirteen and thirty, and their like, sound
alike; where the twin would be likely, the question offers both.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules.finding import COMMON_PRACTICE, Finding
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class _Range:
    """What a field is likely to be, and how to ask about it."""

    low: float
    high: float
    asked: str
    unit: str
    either: str = ""


#: Likely ranges of a field. Outside them the value is asked back, never refused.
_LIKELY: Mapping[str, _Range] = {
    "diameter_in": _Range(4, 48, "{} inches across", " in", either="{} inches"),
    "girth_in": _Range(12, 151, "{} inches around", " in", either="{} inches"),
    "sap_brix": _Range(0.5, 6, "{} Brix in the sap", " Brix"),
    "syrup_brix": _Range(58, 72, "{} Brix in the syrup", " Brix"),
    "sap_temp_f": _Range(28, 70, "sap at {} °F", " °F"),
    "syrup_temp_f": _Range(200, 230, "syrup at {} °F", " °F"),
    "pack_temp_f": _Range(150, 215, "filling at {} °F", " °F"),
    "low_f": _Range(-30, 60, "a low of {} °F", " °F"),
    "high_f": _Range(-10, 85, "a high of {} °F", " °F"),
    "taps": _Range(1, 4, "{} taps in one tree", " taps"),
    "depth_in": _Range(0.5, 3, "a hole {} inches deep", " in"),
    "bit_in": _Range(0.18, 0.5, "a {} inch bit", " in"),
    "height_ft": _Range(0.5, 7, "{} feet up", " ft"),
    "bucket_gal": _Range(0, 8, "{} gal from one tree", " gal"),
    "vessel_gal": _Range(0, 1500, "{} gal in a vessel", " gal"),
    "syrup_gal": _Range(0, 50, "{} gal of syrup at once", " gal"),
    "containers": _Range(1, 500, "{} containers", ""),
}

#: The fields that ``unlikely`` can judge.
FIELDS = frozenset(_LIKELY)

_TWINS: Mapping[float, float] = {
    **{float(teen): float((teen - 10) * 10) for teen in range(13, 20)},
    **{float((teen - 10) * 10): float(teen) for teen in range(13, 20)},
}

UNLIKELY = Rule(
    "unlikely-value", ("care",), "Values that are more often misheard than true",
    COMMON_PRACTICE, "design choice",
)  # fmt: skip
OVERFULL = Rule(
    "overfull", ("care",), "More in a bucket or vessel than it holds", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Plausibility:
    """Questions that the values raise; ``likely`` when there are none.

    ``twin`` is the likely number that sounds like the first value asked about, which the question
    offers beside it.
    """

    findings: tuple[Finding, ...]
    twin: float | None = None

    @property
    def likely(self) -> bool:
        """Whether nothing needs asking back."""
        return not self.findings


def unlikely(
    *, holds_gal: float | None = None, volume_gal: float | None = None, **values: float | None
) -> Plausibility:
    """Return the questions that ``values`` (each one of ``FIELDS``) raise.

    ``volume_gal`` over ``holds_gal``, what the bucket or vessel holds, is asked about too.

    Raises:
        TypeError: for a field that is not one of ``FIELDS``.
    """
    strange = set(values) - FIELDS
    if strange:
        raise TypeError(f"no likely range for {', '.join(sorted(strange))}")
    odd = [
        (_LIKELY[field], value)
        for field, value in values.items()
        if value is not None and not _LIKELY[field].low <= value <= _LIKELY[field].high
    ]
    findings = [_ask(likely, value) for likely, value in odd]
    if holds_gal is not None and volume_gal is not None and volume_gal > holds_gal * 1.02:
        text = f"{volume_gal:g} gal? It holds {holds_gal:g}."
        why = f"{volume_gal:g} gal is more than the {holds_gal:g} gal that it holds."
        findings.append(OVERFULL.finding("care", text, why))
    return Plausibility(tuple(findings), _likely_twin(*odd[0]) if odd else None)


def sound_alike(value: float) -> float | None:
    """Return the number that sounds like ``value`` (13 and 30 to 19 and 90), or None."""
    return _TWINS.get(value)


def _likely_twin(likely: _Range, value: float) -> float | None:
    twin = sound_alike(value)
    return twin if twin is not None and likely.low <= twin <= likely.high else None


def _ask(likely: _Range, value: float) -> Finding:
    twin = _likely_twin(likely, value)
    text = f"Did you say {likely.asked.format(f'{value:g}')}?"
    if twin is not None:
        one = (likely.either or likely.asked).format(f"{twin:g}")
        text = f"{one[:1].upper()}{one[1:]}, or {value:g}?"
    why = f"{value:g}{likely.unit} is outside the usual {likely.low:g} to {likely.high:g}."
    return UNLIKELY.finding("care", text, why)
