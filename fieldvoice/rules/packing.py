"""Filling containers: hot enough to keep, not so hot that sugar sand forms, and how much."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE, Finding
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import plain
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.sugar import LITRES_PER_GAL, weight_lb_per_gal

if TYPE_CHECKING:
    from collections.abc import Mapping

FILL_F = 185.0
COLDEST_AT_CAP_F = 180.0
HOTTEST_F = 195.0

#: Share by which syrup shrinks from this fill temperature (°F) to 68 °F, worked from its density;
#: evenly between them.
_SHRINK = ((180.0, 0.028), (190.0, 0.030))

_SIZES: Mapping[str, float] = {
    "half pint": 1 / 16,
    "pint": 1 / 8,
    "quart": 1 / 4,
    "half gallon": 1 / 2,
    "gallon": 1.0,
}

PACK_COOL = Rule(
    "pack-cool", ("stop",), "Syrup too cool to keep once capped", sources.ONTARIO_MOULD_2014,
)  # fmt: skip
PACK_HOT = Rule(
    "pack-hot", ("care",), "Syrup so hot that sugar sand forms again", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
PACK_TURN = Rule(
    "pack-turn", ("note",), "Turn containers after capping", sources.ONTARIO_MOULD_2014,
)  # fmt: skip
PACK_WEIGHT = Rule(
    "pack-weight", ("note",), "What a container of syrup weighs", sources.NBS_C440,
)  # fmt: skip
PACK_COUNT = Rule(
    "pack-count", ("note",), "Containers that a volume of syrup fills", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PackCheck:
    """What was packed: gallons, and net weight in pounds; None where size or count is unknown."""

    volume_gal: float | None
    weight_lb: float | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Containers:
    """Full containers from a volume, and the syrup left over."""

    count: int
    left_gal: float
    findings: tuple[Finding, ...]


def container_gal(size: str) -> float:
    """Return what one container of a ``size`` holds: a named size, or "250 ml", "1 litre", "250".

    A number alone counts millilitres.

    Raises:
        RangeError: for a size that is neither, or not from 20 ml to 60 l.
    """
    words = size.lower().strip().replace("-", " ")
    if words.removesuffix("s") in _SIZES:
        return _SIZES[words.removesuffix("s")]
    match = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(|ml|millilit(?:er|re)s?|l|lit(?:er|re)s?)", words)
    if match is None:
        raise RangeError(f"A size is {', '.join(_SIZES)} or millilitres, not {size}.")
    litres = float(match[1]) / (1 if match[2].startswith("l") else 1000)
    return within(litres, 0.02, 60, "A container", "litres") / LITRES_PER_GAL


def pack_check(
    *,
    count: int | None = None,
    size: str | None = None,
    temp_f: float | None = None,
    brix: float = 66.0,
) -> PackCheck:
    """Check a filling: temperature at the cap, and what it comes to.

    Raises:
        RangeError: for a count outside 0 to 10,000, an unknown size, or 32 to 230 °F.
    """
    volume_gal = weight_lb = None
    if count is not None and size is not None:
        volume_gal = within(count, 0, 10_000, "A count of containers") * container_gal(size)
        weight_lb = net_weight_lb(volume_gal, brix)
    if temp_f is None:
        return PackCheck(volume_gal, weight_lb, ())
    return PackCheck(volume_gal, weight_lb, _heat(within(temp_f, 32, 230, "Syrup", "°F")))


def containers_from(volume_gal: float, size: str) -> Containers:
    """Return how many containers of ``size`` a volume fills; the first finding is the answer.

    Raises:
        RangeError: outside 0 to 10,000 gal, or an unknown size.
    """
    within(volume_gal, 0, 10_000, "A volume of syrup", "gallons")
    one_gal = container_gal(size)
    # A little slack, so that 2.5 gallons are twenty pints in binary fractions too.
    count = int(volume_gal / one_gal + 1e-9)
    left_gal = max(0.0, volume_gal - count * one_gal)
    named = size.lower().removesuffix("s")
    plural = "" if count == 1 else "s"
    text = f"{count} {named}{plural}." if named in _SIZES else f"{count} jar{plural} of {size}."
    why = f"{plain(volume_gal)} gal at {one_gal:.4g} gal each, {left_gal:.2g} gal left over."
    finding = PACK_COUNT.finding("note", text, why)
    return Containers(count, left_gal, (finding,))


@dataclass(frozen=True, slots=True)
class Weight:
    """Net weight of syrup in pounds, without the container."""

    pounds: float
    findings: tuple[Finding, ...]


def weight_of(volume_gal: float, brix: float = 66.0) -> Weight:
    """Return what a volume of syrup weighs; the first finding is the answer.

    Raises:
        RangeError: outside 0 to 10,000 gal or 0 to 80 Brix.
    """
    within(volume_gal, 0, 10_000, "A volume of syrup", "gallons")
    pounds = net_weight_lb(volume_gal, brix)
    shown = _pounds(pounds)
    a_gal = weight_lb_per_gal(brix)
    why = (
        f"{volume_gal:.3g} gal at {a_gal:.2f} lb a gallon for {plain(brix)} Brix, container not "
        "counted."
    )
    return Weight(pounds, (PACK_WEIGHT.finding("note", f"About {shown} pounds.", why),))


def _pounds(pounds: float) -> str:
    """Return pounds in figures, small amounts to a tenth."""
    return f"{pounds:.0f}" if pounds >= 20 else f"{pounds:.1f}"


def net_weight_lb(volume_gal: float, brix: float = 66.0) -> float:
    """Return the weight of syrup, as a scale shows it.

    Raises:
        RangeError: outside 0 to 80 Brix.
    """
    return volume_gal * weight_lb_per_gal(brix)


def shrink_share(fill_f: float) -> float:
    """Return the share (0 to 1) by which syrup filled at ``fill_f`` shrinks on cooling to 68 °F.

    Raises:
        RangeError: outside 180 to 190 °F.
    """
    within(fill_f, 180, 190, "A filling temperature", "°F")
    (low_f, low), (high_f, high) = _SHRINK
    return low + (fill_f - low_f) / (high_f - low_f) * (high - low)


def _heat(temp_f: float) -> tuple[Finding, ...]:
    if temp_f < COLDEST_AT_CAP_F:
        why = (
            f"{plain(temp_f)} °F; fill at {FILL_F:g}, and at least {COLDEST_AT_CAP_F:g} at the cap."
        )
        text = "Too cool to keep: reheat to 185 °F and fill again."
        return (PACK_COOL.finding("stop", text, why),)
    turn = PACK_TURN.finding(
        "note",
        "Lay them on their sides for ten minutes.",
        "Hot syrup kills what sits under the cap: 5 to 10 minutes on the side or upside down. "
        f"Fill them full; it shrinks {shrink_share(min(temp_f, 190)):.1%} on cooling.",
    )
    if temp_f <= HOTTEST_F:
        return (turn,)
    why = f"{plain(temp_f)} °F; above 190 to {HOTTEST_F:g} sugar sand forms again after filtering."
    return (
        PACK_HOT.finding("care", "Too hot: sugar sand may form; let it cool to 190 °F.", why),
        turn,
    )
