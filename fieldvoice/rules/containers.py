"""Whether a container or fitting may touch sap or syrup, by what it is made of."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE, Finding, Level
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping

Verdict = Literal["use", "ask", "do not use"]

#: Every gear maker had left lead solder by the end of this year; galvanized before 1994.
LAST_LEAD_SOLDER_YEAR = 1994

CONTAINER_FIT = Rule(
    "container-fit", ("note",), "Materials fit for food", sources.ONTARIO_FOOD_GRADE,
)  # fmt: skip
CONTAINER_UNKNOWN = Rule(
    "container-unknown", ("care",), "A container whose material is not known to be fit for food",
    sources.ONTARIO_FOOD_GRADE,
)  # fmt: skip
CONTAINER_GALVANIZED = Rule(
    "container-galvanized", ("care", "stop"), "Galvanized gear may carry lead solder",
    sources.ONTARIO_LEAD,
)  # fmt: skip
CONTAINER_LEAD = Rule(
    "container-lead", ("stop",), "Lead in solder, brass, bronze and terneplate",
    sources.ONTARIO_LEAD,
)  # fmt: skip
CONTAINER_SOLDER = Rule(
    "container-solder", ("care", "stop"), "Soldered seams of before 1995", sources.ONTARIO_LEAD,
)  # fmt: skip
CONTAINER_PLASTIC = Rule(
    "container-plastic", ("note", "care", "stop"), "Plastic that is proved to be for food",
    COMMON_PRACTICE, "common practice",
)  # fmt: skip
CONTAINER_NOT_FOOD = Rule(
    "container-not-food", ("stop",), "Metals and wood that are not fit for food",
    sources.ONTARIO_FOOD_GRADE,
)  # fmt: skip
CONTAINER_HEATED = Rule(
    "container-heated", ("care", "stop"), "What is never boiled in", sources.ONTARIO_FOOD_GRADE,
)  # fmt: skip
CONTAINER_RUST = Rule(
    "container-rust", ("care",), "Rust in a vessel", COMMON_PRACTICE, "common practice",
)  # fmt: skip
CONTAINER_HISTORY = Rule(
    "container-history", ("stop",), "Containers that held paint, soap or chemicals",
    COMMON_PRACTICE, "common practice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class ContainerAdvice:
    """Verdict on a container; ``question`` is what to ask next, None when nothing is missing."""

    material: str | None
    verdict: Verdict
    question: str | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Kind:
    """A family of materials: words that mean it, and what is said of it by itself."""

    name: str
    words: tuple[str, ...]
    rule: Rule
    level: Level
    text: str
    why: str


#: What both advice and findings on old gear say of testing and of the law.
TEST_KIT = "A lead test kit shows it: sand a seam, swab it; pink or red means lead."
LEAD_LIMITS = "Syrup limits: 250 parts a billion in Vermont and Ohio, 500 in Canada."

#: Order matters: the first family with a matching word wins ("lead-soldered stainless" is lead).
_KINDS: tuple[_Kind, ...] = (
    _Kind(
        "lead", ("lead", "terne", "milk can"), CONTAINER_LEAD, "stop",
        "Don't use it: there is lead in it.",
        f"Lead goes into sap and more into hot syrup. {LEAD_LIMITS}",
    ),
    _Kind(
        "held chemicals", ("paint", "soap", "detergent", "chemical", "pesticide", "fuel"),
        CONTAINER_HISTORY, "stop",
        "Don't use it: what it held before stays in the walls.",
        "Containers that held paint, soap or chemicals are never used again for food.",
    ),
    _Kind(
        "galvanized", ("galvan", "zinc"), CONTAINER_GALVANIZED, "care",
        "Test the seams for lead first; never keep sap or syrup standing in it.",
        "Galvanized gear made before 1994 often has lead solder. Ontario calls it not food grade; "
        f"an older Indiana standard allows buckets for short contact. {TEST_KIT}",
    ),
    _Kind(
        "brass", ("brass", "bronze"), CONTAINER_LEAD, "stop",
        "Don't use it: brass and bronze hold lead.",
        f"Brass and bronze fittings and gear pumps are listed as lead sources. {LEAD_LIMITS}",
    ),
    _Kind(
        "stainless", ("stainless",), CONTAINER_FIT, "note",
        "Stainless is right for sap and syrup. Old, with soldered seams? Test it for lead first.",
        "Stainless of the 200, 300 and 400 series is food grade; soldered pans of before 1995 "
        "may still carry lead.",
    ),
    _Kind(
        "glass", ("glass", "jar", "mason"), CONTAINER_FIT, "note",
        "Glass is fine; warm it before hot syrup goes in.",
        "Glass is food grade.",
    ),
    _Kind(
        "aluminium", ("alumin",), CONTAINER_FIT, "note",
        "Aluminium is fine for gathering; don't leave sap standing in it.",
        "Food-grade alloys are for short holding.",
    ),
    _Kind(
        "plastic", ("plastic", "poly", "hdpe"), CONTAINER_PLASTIC, "care",
        "Only if it says it's for food.",
        "Recycling numbers 1, 2, 4 and 5 may be food grade; only a food mark proves it (cup and "
        "fork, or food-safe wording). Plastic warms sap faster and is harder to clean.",
    ),
    _Kind(
        "copper", ("copper",), CONTAINER_NOT_FOOD, "stop",
        "Don't use copper.", "Copper is on the list of what is not food grade.",
    ),
    _Kind(
        "iron", ("iron", "mild steel", "carbon steel", "black steel"), CONTAINER_NOT_FOOD, "stop",
        "Don't use plain iron or steel.", "Mild steel is on the list of what is not food grade.",
    ),
    _Kind(
        "wood", ("wood", "oak"), CONTAINER_NOT_FOOD, "stop",
        "Don't use wood: it can't be cleaned.", "Wood is on the list of what is not food grade.",
    ),
    _Kind(
        "tin", ("tin",), CONTAINER_NOT_FOOD, "stop",
        "Don't use old tin; its seams are often lead.",
        "Tin is on the list of what is not food grade, and old tinware is soldered.",
    ),
)  # fmt: skip

#: What is boiled in, whatever else is said of it.
_BOILED_IN = ("pan", "pot", "kettle", "tub", "evaporator")
_HEATED_WHY = (
    "Ontario lists galvanized as not food grade, and food-grade plastic as not for pans. Heat "
    "and souring sap dissolve zinc, and the seams of old galvanized gear are often lead solder."
)

_VERDICTS: Mapping[Level, Verdict] = {"note": "use", "care": "ask", "stop": "do not use"}
_ORDER: tuple[Level, ...] = ("note", "care", "stop")


def container_advice(
    material: str | None = None,
    *,
    item: str | None = None,
    food_grade: bool | None = None,
    rust: bool | None = None,
    solder: bool | None = None,
    made_year: int | None = None,
    heated: bool | None = None,
) -> ContainerAdvice:
    """Say whether a container may hold sap or syrup; the first finding is the answer.

    ``material`` and ``item`` are words as they were said; either may tell the material, or that it
    is soldered. ``heated`` tells that it is to be boiled in, which a pan always is. The most
    serious finding decides the verdict.
    """
    kind = _kind(material) or _kind(item)
    solder = solder or any("solder" in _plain(words) for words in (material, item))
    of_solder_alone = solder and kind is None and food_grade is None
    findings = [] if of_solder_alone else [_of_material(kind, food_grade, made_year)]
    if kind is not None and (heated or _is_boiled_in(item)):
        findings += _heated(kind)
    if solder and (kind is None or kind.name not in ("lead", "brass")):
        findings.append(_solder(made_year))
    if rust:
        # What was seen says more than what is asked about a material that nobody named.
        findings.insert(0 if kind is None else len(findings), _rust())
    # The most serious word is the answer; sorting keeps the order of equals.
    findings.sort(key=lambda finding: -_ORDER.index(finding.level))
    verdict = _VERDICTS[findings[0].level]
    name = kind.name if kind else material
    return ContainerAdvice(
        name, verdict, _question(verdict, kind, food_grade, made_year), tuple(findings)
    )


def _plain(words: str | None) -> str:
    """Return words in small letters, without what is said to be free of lead, rust or solder."""
    return re.sub(r"\b(lead|rust|solder)[- ]free( solder(ed)?)?\b", "", (words or "").lower())


def _is_boiled_in(item: str | None) -> bool:
    return any(word in _plain(item).split() for word in _BOILED_IN)


def _heated(kind: _Kind) -> list[Finding]:
    """Return what is said against boiling in a material; nothing for what may be boiled in."""
    if kind.name == "galvanized":
        text = "Never boil in galvanized: zinc, maybe lead, go into the syrup."
    elif kind.name == "plastic":
        text = "Never boil in plastic: no food mark makes it fit for that heat."
    elif kind.name == "aluminium":
        text = "For boiling take stainless; bare aluminium is sure only for short holding."
        return [CONTAINER_HEATED.finding("care", text, "Nothing published was found on it.")]
    else:
        return []
    return [CONTAINER_HEATED.finding("stop", text, _HEATED_WHY)]


def _kind(words: str | None) -> _Kind | None:
    said = _plain(words)
    for kind in _KINDS:
        if any(re.search(rf"\b{word}", said) for word in kind.words):
            return kind
    return None


def _of_material(kind: _Kind | None, food_grade: bool | None, made_year: int | None) -> Finding:
    if kind is None:
        return _unknown(food_grade)
    if kind.name == "plastic" and food_grade is not None:
        return _plastic(food_grade, kind.why)
    if kind.name == "galvanized" and _soldered_with_lead(made_year):
        text = "Don't use it: galvanized that old has lead solder."
        return kind.rule.finding("stop", text, f"Made in {made_year}. {kind.why}")
    if food_grade is False and kind.level != "stop":
        return _unknown(False)
    return kind.rule.finding(kind.level, kind.text, kind.why)


def _unknown(food_grade: bool | None) -> Finding:
    if food_grade:
        return CONTAINER_FIT.finding(
            "note", "Fine, if it is marked for food.", "You said that it is food grade."
        )
    if food_grade is False:
        return CONTAINER_NOT_FOOD.finding(
            "stop", "Don't use it: it isn't for food.", "You said that it is not food grade."
        )
    return CONTAINER_UNKNOWN.finding(
        "care",
        "Only if it's marked for food and held nothing else.",
        "Fit for food are glass, stainless, food-grade plastic and, for short holding, aluminium.",
    )


def _plastic(food_grade: bool, why: str) -> Finding:
    if food_grade:
        text = "Fine; keep it shaded and wash it well."
        return CONTAINER_PLASTIC.finding("note", text, why)
    return CONTAINER_PLASTIC.finding("stop", "Don't use it: that plastic isn't for food.", why)


def _soldered_with_lead(made_year: int | None) -> bool:
    return made_year is not None and made_year < LAST_LEAD_SOLDER_YEAR


def _solder(made_year: int | None) -> Finding:
    if made_year is not None and made_year > LAST_LEAD_SOLDER_YEAR:
        text = "Its solder should be lead-free; test it once to be sure."
        return CONTAINER_SOLDER.finding("care", text, f"Made in {made_year}. {TEST_KIT}")
    text = "Soldered seams may be lead: don't use it until a test says no."
    why = f"Soldered gear of before 1995 is suspect, stainless too. {TEST_KIT} {LEAD_LIMITS}"
    return CONTAINER_SOLDER.finding("stop", text, why)


def _rust() -> Finding:
    return CONTAINER_RUST.finding(
        "care",
        "Don't fill it rusty: scour it, or leave it out.",
        "Rust taints sap, and holds dirt that washing does not reach.",
    )


def _question(
    verdict: Verdict,
    kind: _Kind | None,
    food_grade: bool | None,
    made_year: int | None,
) -> str | None:
    """Return the one fact that would settle an open verdict."""
    if verdict == "do not use":
        return None
    if kind is None:
        return "What is it made of?" if food_grade is None else None
    if kind.name == "plastic" and food_grade is None:
        return "Is it marked for food?"
    if kind.name == "galvanized" and made_year is None:
        return "Was it made before 1994, or are the seams soldered?"
    return None
