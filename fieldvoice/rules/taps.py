"""How many taps a tree can carry, by its diameter at breast height and its health.

A published table's entry minimum is inclusive (12.0 in qualifies under the conservative schedule).
Where printed classes overlap (12-18, 18 and over) the edge belongs to the lower count; where they
do not (15-19, 20-24) the print is followed. That edge rule is this house's choice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE, Finding
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.species import species_named

if TYPE_CHECKING:
    from collections.abc import Mapping

Condition = Literal["sound", "stressed", "damaged", "dying"]

DEFAULT_SCHEDULE = "conservative"

#: Under the conservative schedule a second tap is allowed over 18 in; below this many inches some
#: researchers would still stay at one.
SECOND_TAP_CAUTION_IN = 20.0


@dataclass(frozen=True, slots=True)
class Schedule:
    """A published tapping guideline.

    The first tap is allowed from ``minimum_in``; one more for each edge in ``over_in`` that the
    diameter exceeds and each in ``from_in`` that it reaches.
    """

    name: str
    minimum_in: float
    source: str
    over_in: tuple[float, ...] = ()
    from_in: tuple[float, ...] = ()
    second_needs_growth: bool = False
    remark: str = ""

    def taps(self, diameter_in: float, *, growing_well: bool | None = None) -> int:
        """Return the taps that this schedule allows at ``diameter_in``."""
        if diameter_in < self.minimum_in:
            return 0
        more = sum(diameter_in > edge for edge in self.over_in)
        more += sum(diameter_in >= edge for edge in self.from_in)
        if self.second_needs_growth and not growing_well:
            more = 0
        return 1 + more

    def in_words(self) -> str:
        """Return the schedule as one line of figures."""
        steps = [f"none under {_inches(self.minimum_in)} in", "1 from there"]
        edges = [(edge, "over") for edge in self.over_in] + [
            (edge, "from") for edge in self.from_in
        ]
        steps += [
            f"{count} {how} {_inches(edge)} in"
            for count, (edge, how) in enumerate(sorted(edges), 2)
        ]
        if not edges:
            steps.append("no second tap by diameter alone")
        return ", ".join(steps)


#: The published schedules by name. Two guidelines are left out because they print no counts: the
#: current University of Vermont fact sheet (growth and practice decide) and the Vermont Extension
#: beginner's talk (a minimum of 10 to 12 in, nothing more).
SCHEDULES: Mapping[str, Schedule] = {
    schedule.name: schedule
    for schedule in (
        Schedule("conservative", 12, sources.CONSERVATIVE, over_in=(18,)),
        Schedule("traditional", 10, sources.PRODUCERS_MANUAL, over_in=(15, 20, 25)),
        Schedule("umaine", 10, sources.UMAINE_7036, over_in=(20, 25)),
        Schedule("state-leaflets", 10, sources.STATE_LEAFLETS, over_in=(18,), from_in=(25,)),
        Schedule(
            "vermont-organic", 10, sources.VERMONT_CURRENT_USE, over_in=(15, 21),
            remark="Some copies start at 9 in.",
        ),
        Schedule(
            "cornell", 12, sources.WILD, from_in=(20,), second_needs_growth=True,
            remark="It prints no minimum; the conservative 12 in is used.",
        ),
        Schedule(
            "cornell-growth", 12, sources.CHABOT,
            remark="It prints no minimum; the conservative 12 in is used.",
        ),
        Schedule("ontario", 30 / 2.54, sources.LEUTY_2014, over_in=(60 / 2.54,)),
        Schedule("usda-1976", 10, sources.USDA_HANDBOOK_134, from_in=(15, 20, 25)),
        Schedule("forest-service-1990", 12, sources.HOUSTON_1990, over_in=(18,)),
    )
}  # fmt: skip

TAP_LIMIT = Rule(
    "tap-limit", ("note", "stop"), "Taps by trunk diameter", sources.CONSERVATIVE,
)  # fmt: skip
TAP_SECOND = Rule(
    "tap-second", ("note",), "A second tap between 18 and 20 inches", sources.WILD,
)  # fmt: skip
TAP_DIEBACK = Rule(
    "tap-dieback", ("care", "stop"), "Fewer taps or none on a crown that is dying back",
    sources.NAMP_1998,
)  # fmt: skip
TAP_STRESSED = Rule(
    "tap-stressed", ("care",), "One tap fewer on a stressed tree", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
TAP_DAMAGED = Rule(
    "tap-damaged", ("stop",), "No tap the season after heavy damage", sources.STORM_DAMAGE,
)  # fmt: skip
TAP_DYING = Rule(
    "tap-dying", ("stop",), "No tap in a dying tree", sources.NAMP_1998,
)  # fmt: skip
TAP_SLOW = Rule(
    "tap-slow", ("care",), "One tap at most in a tree that grows slowly", sources.VAN_DEN_BERG_2016,
)  # fmt: skip
TAP_YARD = Rule(
    "tap-yard", ("note",), "Trees kept for their looks are held back to one tap", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
TAP_SPECIES = Rule(
    "tap-early-budding", ("note",), "Red and silver maple and box elder bud early",
    sources.UNH_FORESTRY,
)  # fmt: skip
OVER_TAPPED = Rule(
    "over-tapped", ("care", "stop"), "More taps in a tree than it should carry",
    sources.CONSERVATIVE,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class TapLimit:
    """Taps a tree may carry now, those its diameter alone allows, and why."""

    taps: int
    by_diameter: int
    diameter_in: float
    schedule: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class TapCheck:
    """Taps counted in a tree against those it may carry."""

    drilled: int
    allowed: int
    findings: tuple[Finding, ...]


def diameter_from_girth(girth_in: float) -> float:
    """Return the diameter in inches of a round trunk ``girth_in`` inches around.

    Raises:
        RangeError: outside 3 to 320 in.
    """
    return within(girth_in, 3, 320, "A girth", "inches") / math.pi


def tap_limit(
    diameter_in: float,
    *,
    condition: Condition | None = None,
    dieback_percent: float | None = None,
    species: str | None = None,
    growing_well: bool | None = None,
    yard: bool = False,
    schedule: str = DEFAULT_SCHEDULE,
) -> TapLimit:
    """Return how many taps a tree of ``diameter_in`` at breast height may carry.

    The first finding is the answer. Stress takes one tap off; dieback of more than 15 % does too,
    and of more than 35 % rules tapping out, as do heavy damage and dying. A tree that is known not
    to be ``growing_well``, and one of the ``yard`` that is kept for its looks, get one tap at most.

    Raises:
        RangeError: for a diameter outside 1 to 100 in, dieback outside 0 to 100 %, or an unknown
            schedule.
    """
    within(diameter_in, 1, 100, "A trunk diameter", "inches")
    chosen = _schedule(schedule)
    by_diameter = chosen.taps(diameter_in, growing_well=growing_well)
    lowered, health = _health(condition, dieback_percent)
    taps = 0 if lowered is None else max(0, by_diameter - lowered)
    if taps > 1:
        held = _held_back(growing_well, yard)
        taps, health = (1, (*health, *held)) if held else (taps, health)
    findings = [_answer(diameter_in, taps, by_diameter, chosen, health), *health]
    if taps == 2 and chosen.over_in == (18,) and diameter_in < SECOND_TAP_CAUTION_IN:
        findings.append(_second(diameter_in))
    if taps and species and _buds_early(species):
        findings.append(_early(species))
    return TapLimit(taps, by_diameter, diameter_in, chosen.name, tuple(findings))


def _held_back(growing_well: bool | None, yard: bool) -> tuple[Finding, ...]:
    """Return why a tree that could carry more gets one tap."""
    findings = []
    if growing_well is False:
        findings.append(
            TAP_SLOW.finding(
                "care",
                "It grows slowly: one tap at most.",
                "Its diameter, measured twice, gains less wood a year than one tap uses up; about "
                "a third of the trees in a study of 18 sites did.",
            )
        )
    if yard:
        findings.append(
            TAP_YARD.finding(
                "note",
                "A yard tree: one tap, or none if you prize it.",
                "Trees kept for their looks are held back; each hole leaves a mark that lasts.",
            )
        )
    return tuple(findings)


def check_taps(drilled: int, limit: TapLimit) -> TapCheck:
    """Compare the taps ``drilled`` in a tree with its ``limit``; no finding when within it.

    Raises:
        RangeError: for a count outside 0 to 20.
    """
    within(drilled, 0, 20, "A count of taps")
    if drilled <= limit.taps:
        return TapCheck(drilled, limit.taps, ())
    if limit.taps == 0:
        text = "This tree should not be tapped; pull the spile and let it close."
    else:
        text = f"That's {drilled} taps; it should carry {limit.taps}. Drill no more."
    finding = OVER_TAPPED.finding(
        "care" if limit.taps else "stop",
        text,
        f"{drilled} drilled, {limit.taps} allowed. {limit.findings[0].why}",
        source=_schedule(limit.schedule).source,
    )
    return TapCheck(drilled, limit.taps, (finding,))


def _buds_early(species: str) -> bool:
    try:
        return species_named(species).buds_early
    except RangeError:
        return False  # a kind of tree of which nothing is known


def _schedule(name: str) -> Schedule:
    if name not in SCHEDULES:
        raise RangeError(f"No tapping schedule is called {name}; there are {', '.join(SCHEDULES)}.")
    return SCHEDULES[name]


def rules_out_tapping(condition: Condition | None, dieback_percent: float | None) -> bool:
    """Whether a tree's health alone forbids a tap, of whatever size it is.

    Raises:
        RangeError: for a dieback that is no percentage.
    """
    return _health(condition, dieback_percent)[0] is None


def _health(
    condition: Condition | None, dieback_percent: float | None
) -> tuple[int | None, tuple[Finding, ...]]:
    """Return the taps to take off (None: do not tap at all) and the reasons."""
    off: list[int | None] = [0]
    findings: list[Finding] = []
    if dieback_percent is not None:
        dead = within(dieback_percent, 0, 100, "Crown dieback", "percent")
        if dead > 35:
            off.append(None)
            findings.append(
                TAP_DIEBACK.finding(
                    "stop",
                    "Too much of its crown is dead; leave it untapped.",
                    f"{dead:g} % dieback; over 35 %, 65 % of trees died or stayed unhealthy.",
                )
            )
        elif dead > 15:
            off.append(1)
            findings.append(
                TAP_DIEBACK.finding(
                    "care",
                    "Its crown is dying back; one tap fewer.",
                    f"{dead:g} % dieback; healthy is up to 15 %, and of trees at 20 to 35 % four "
                    "in five recovered within seven years.",
                )
            )
    if condition in _CONDITIONS:
        lowered, finding = _CONDITIONS[condition]
        off.append(lowered)
        findings.append(finding)
    numbers = [one for one in off if one is not None]
    return (None if len(numbers) < len(off) else max(numbers)), tuple(findings)


_CONDITIONS: Mapping[Condition | None, tuple[int | None, Finding]] = {
    "stressed": (
        1,
        TAP_STRESSED.finding(
            "care", "It's stressed: one tap fewer.", "Manuals drop one tap class under stress."
        ),
    ),
    "damaged": (
        None,
        TAP_DAMAGED.finding(
            "stop",
            "It's damaged: let it rest this season.",
            "After heavy limb loss or defoliation the advice is to skip that season's tapping; "
            "badly damaged trees may need years.",
        ),
    ),
    "dying": (
        None,
        TAP_DYING.finding(
            "stop",
            "It's dying: leave it untapped.",
            "With more than 35 % of the crown dead, 65 % of trees died or stayed unhealthy.",
        ),
    ),
}


def _answer(
    diameter_in: float, taps: int, by_diameter: int, chosen: Schedule, health: tuple[Finding, ...]
) -> Finding:
    size = f"{_inches(diameter_in)} inches"
    if taps == 0 and by_diameter == 0:
        text = f"No tap: {size} is under the {_inches(chosen.minimum_in)} inches it needs."
    elif taps == 0:
        text = f"None this year, though {size} is big enough."
    else:
        text = f"{_count(taps)}, at {size} across."
    lowered = f" Its state takes it from {by_diameter} to {taps}." if health else ""
    counts = sorted({other.taps(diameter_in) for other in SCHEDULES.values()})
    differ = (
        f" Published schedules run from {counts[0]} to {counts[-1]} here." if counts[1:] else ""
    )
    remark = f" {chosen.remark}" if chosen.remark else ""
    why = f"{chosen.name.capitalize()} schedule: {chosen.in_words()}.{remark}{lowered}{differ}"
    return TAP_LIMIT.finding("note" if taps else "stop", text, why, source=chosen.source)


def _second(diameter_in: float) -> Finding:
    return TAP_SECOND.finding(
        "note",
        "The second only if it grows well.",
        f"{_inches(diameter_in)} in is over 18 in, but one researcher allows a second tap only "
        "from 20 in and on trees that grow well.",
    )


def _early(species: str) -> Finding:
    return TAP_SPECIES.finding(
        "note",
        "It buds early; stop collecting there when the buds swell.",
        f"{species.capitalize()} comes into bud before sugar maple, and budding sap tastes of it.",
    )


def _count(taps: int) -> str:
    words = {1: "One tap", 2: "Two taps at most", 3: "Three taps at most", 4: "Four taps at most"}
    return words[taps]


def _inches(value: float) -> str:
    """One decimal, or two where one would round the value onto a printed edge."""
    near = round(float(value), 1)
    on_an_edge = near.is_integer() and near != value
    return f"{round(value, 2) if on_an_edge else near:g}"
