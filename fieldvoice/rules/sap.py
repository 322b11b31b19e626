"""What the look or the smell of sap says, and what to do with it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeGuard

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE, Certainty, Finding, Level
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

Action = Literal["keep", "boil first", "boil now", "boil apart", "dump and wash", "leave"]

#: The conditions of sap from best to worst. That spoiled sap counts for more than the rest is
#: common practice; the exact order is this project's choice. Frozen stands next to clear because
#: ice is no fault and melts.
SAP_CONDITIONS = ("clear", "frozen", "hazy", "yellow", "buddy", "cloudy", "sour", "ropey")

#: Conditions that would turn the good sap they are poured into.
_SPOILS_OTHERS = ("buddy", "cloudy", "sour", "ropey")

#: Beginnings of words that give a condition away.
_SMELLS: Mapping[str, tuple[str, ...]] = {
    "sour": ("sour", "yeast", "vinegar", "wine", "beer", "ferment", "off", "bad", "rotten"),
    "buddy": ("bud", "cabbage", "chocolate", "sock"),
}


@dataclass(frozen=True, slots=True)
class SapAdvice:
    """What to do with sap; the first finding is the advice."""

    sap: str
    action: Action
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class PourCheck:
    """Whether sap may join the sap that a vessel holds already; no finding when it may."""

    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class BoilCheck:
    """Whether sap may go into the pan; no finding when nothing speaks against it."""

    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Sign:
    rule: Rule
    level: Level
    action: Action
    in_bucket: str
    in_vessel: str
    why: str


def _practice(
    rule_id: str, levels: Level | tuple[Level, ...], what: str, source: str = COMMON_PRACTICE
) -> Rule:
    certainty: Certainty = "common practice" if source == COMMON_PRACTICE else "published"
    return Rule(rule_id, (levels,) if isinstance(levels, str) else levels, what, source, certainty)


SAP_CLEAR = _practice("sap-clear", "note", "Clear sap is normal", sources.UMN_HOMEMADE)
SAP_FROZEN = _practice("sap-frozen", "note", "Ice in the bucket", sources.ICE_TESTS)
SAP_HAZY = _practice("sap-hazy", "care", "Sap just losing its clearness")
SAP_YELLOW = _practice("sap-yellow", "care", "Yellow sap is ageing or near budding")
SAP_BUDDY = _practice("sap-buddy", "stop", "Sap of budding trees", sources.UVM_OFF_FLAVOUR)
SAP_CLOUDY = _practice("sap-cloudy", "stop", "Cloudy or milky sap is full of bacteria")
SAP_SOUR = _practice("sap-sour", "stop", "Sour sap is fermenting")
SAP_ROPEY = _practice("sap-ropey", "stop", "Ropey sap carries slime", sources.UVM_OFF_FLAVOUR)
SAP_MIXED = _practice("sap-mixed", "stop", "Spoiling sap poured into good sap")
#: That it foams over comes from a producer's note alone.
SAP_BOILED = _practice(
    "sap-boiled", ("care", "stop"), "Spoiled sap put on the fire", sources.UVM_OFF_FLAVOUR
)

#: What is said of sap at the pan, by its condition: level, sentence, why.
_AT_THE_PAN: Mapping[str, tuple[Level, str, str]] = {
    "ropey": (
        "stop", "Stop: that sap is ropey; it foams over and ruins syrup. Dump it.",
        "Slime in sap makes stringy syrup that no boiling mends, and it foams over violently on "
        "little heat.",
    ),
    "sour": (
        "stop", "Stop: that sap is sour; it foams and makes sour syrup. Dump it.",
        "Fermenting sap gives a sour taste that boiling does not take out, and it foams up.",
    ),
    "cloudy": (
        "care", "It's cloudy: boil it by itself, for dark syrup.",
        "Bacteria have used up some of its sugar; by itself it spoils no better sap.",
    ),
    "buddy": (
        "care", "It's buddy: boil it apart from the rest.",
        "The taste of buds does not boil out, and goes through all that it is mixed with.",
    ),
}  # fmt: skip

_SIGNS: Mapping[str, _Sign] = {
    "clear": _Sign(
        SAP_CLEAR, "note", "keep",
        "Clear is right. Keep it cold and boil it soon.",
        "Clear is right. Keep it cold and boil it soon.",
        "Extension advice is to boil as soon as possible after collecting; looks alone do not "
        "show how many bacteria there are.",
    ),
    "frozen": _Sign(
        SAP_FROZEN, "note", "leave",
        "Lift the ice out if it's a third or less; otherwise let some melt first.",
        "The ice keeps it cold; lift out what is left before you boil.",
        "Ice is nearly all water (0 to 1 % sugar), so what is left is sweeter; a big block holds "
        "more of the sugar.",
    ),
    "hazy": _Sign(
        SAP_HAZY, "care", "boil first",
        "Boil it today, ahead of the clear sap.",
        "Boil this one first, today.",
        "Haze is the first sign of bacteria growing; it goes on to cloudy within a day or so "
        "when warm.",
    ),
    "yellow": _Sign(
        SAP_YELLOW, "care", "boil first",
        "Boil it today, and taste the syrup.",
        "Boil it today, and taste the syrup.",
        "Yellow means sap some days old, or trees near budding; it makes darker syrup.",
    ),
    "buddy": _Sign(
        SAP_BUDDY, "stop", "boil apart",
        "Keep it apart; that tree is done for the year.",
        "Keep it apart; it will taste of buds.",
        "Sap from trees leaving dormancy gives a cabbage or cheap-chocolate taste that boiling "
        "does not take out.",
    ),
    "cloudy": _Sign(
        SAP_CLOUDY, "stop", "boil now",
        "Keep it out of the tank.",
        "Boil it now, by itself, for dark syrup, or dump it.",
        "Cloudy or milky sap is a bloom of bacteria: boil it at once for dark syrup at home, or "
        "dump it; never mix it into fresh sap.",
    ),
    "sour": _Sign(
        SAP_SOUR, "stop", "dump and wash",
        "Dump it, and wash the bucket.",
        "Dump it, and wash the vessel before more goes in.",
        "A sour, yeasty or vinegar smell means fermenting. Wash with hot water, or one part "
        "unscented bleach to 20 of water, and rinse well.",
    ),
    "ropey": _Sign(
        SAP_ROPEY, "stop", "dump and wash",
        "Dump it, and wash the bucket.",
        "Dump it, and wash the vessel before more goes in.",
        "Slime-forming bacteria make sap stringy. Wash with hot water, or one part unscented "
        "bleach to 20 of water, and rinse well.",
    ),
}  # fmt: skip


def sap_advice(
    sap: str | None = None,
    *,
    smell: str | None = None,
    where: Literal["bucket", "vessel"] = "bucket",
) -> SapAdvice:
    """Return what to do with sap of this look or smell (the worse of the two decides).

    Never says that sap is safe. A smell that means nothing known leaves the look to decide.

    Raises:
        RangeError: for a condition that is not one of ``SAP_CONDITIONS``.
        ValueError: when neither a condition nor a telling smell is given.
    """
    worst = sap_noticed(sap, smell)
    if worst is None:
        raise ValueError("sap_advice needs a condition or a telling smell")
    sign = _SIGNS[worst]
    text = sign.in_bucket if where == "bucket" else sign.in_vessel
    return SapAdvice(worst, sign.action, (sign.rule.finding(sign.level, text, sign.why),))


def sap_of_smell(smell: str | None) -> str | None:
    """Return the condition that a smell gives away (``sour`` or ``buddy``), or None."""
    if not smell:
        return None
    words = smell.lower().split()
    for sap, stems in _SMELLS.items():
        if any(word.startswith(stem) for word in words for stem in stems):
            return sap
    return None


def sap_noticed(sap: str | None, smell: str | None) -> str | None:
    """Return the condition of sap of this look and smell: the worse of the two; None for neither.

    Raises:
        RangeError: for a look that is not one of ``SAP_CONDITIONS``.
    """
    return worst_sap((sap, sap_of_smell(smell)))


def worst_sap(conditions: Iterable[str | None]) -> str | None:
    """Return the worst of several conditions; None when none is known.

    Raises:
        RangeError: for a condition that is not one of ``SAP_CONDITIONS``.
    """
    known = [sap for sap in conditions if sap is not None]
    for sap in known:
        if sap not in SAP_CONDITIONS:
            raise RangeError(f"Sap is one of {', '.join(SAP_CONDITIONS)}, not {sap}.")
    return max(known, key=SAP_CONDITIONS.index, default=None)


def spoils_others(sap: str | None) -> TypeGuard[str]:
    """Return whether sap of this condition would turn the good sap it is poured into."""
    return sap in _SPOILS_OTHERS


def boil_check(sap: str | None) -> BoilCheck:
    """Say what a vessel's sap means for the boil that begins with it: a stop, care, or nothing.

    Raises:
        RangeError: for a condition that is not one of ``SAP_CONDITIONS``.
    """
    if worst_sap((sap,)) not in _AT_THE_PAN:
        return BoilCheck(())
    level, text, why = _AT_THE_PAN[str(sap)]
    return BoilCheck((SAP_BOILED.finding(level, text, why),))


def pour_check(sap: str | None, vessel_sap: str | None, *, vessel_is_empty: bool) -> PourCheck:
    """Say whether sap that came in would turn, or has turned, what the vessel held before."""
    if not spoils_others(sap) or vessel_is_empty or spoils_others(vessel_sap):
        return PourCheck(())
    return PourCheck(
        (
            SAP_MIXED.finding(
                "stop",
                "That turns the whole vessel: boil it now, or dump it.",
                f"{sap.capitalize()} sap seeds the good sap it joins with what spoiled it; "
                "spoiling sap is never mixed into a fresh tank.",
            ),
        )
    )
