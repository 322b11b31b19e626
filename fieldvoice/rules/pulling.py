"""When a spile comes out, and how the hole closes afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

PullVerdict = Literal["pull", "soon", "leave"]

#: A hole gives sap for four to eight weeks; the first figure is a reminder, the second the end.
OPEN_WEEKS = (4.0, 8.0)
#: A tap that gives less than this share of its neighbours has quit (a choice).
QUIT_SHARE = 0.25

PULL_BUDS = Rule(
    "pull-buds", ("stop",), "Swelling buds end a tree's season", sources.UNH_FORESTRY,
)  # fmt: skip
PULL_WEEKS = Rule(
    "pull-weeks", ("note", "care"), "How long a hole stays good", sources.UVM_FILMS,
)  # fmt: skip
PULL_LOW = Rule(
    "pull-low-flow", ("care",), "A tap that gives far less than its neighbours", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
PULL_DAMAGE = Rule(
    "pull-damage", ("stop",), "A tree damaged in season is let rest", sources.STORM_DAMAGE,
)  # fmt: skip
HOLE_CLOSURE = Rule(
    "hole-closure", ("note", "care"), "How fast an old hole closes shows the tree's health",
    sources.COOK,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PullAdvice:
    """Whether to pull; the first finding is the answer."""

    verdict: PullVerdict
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Closure:
    """What an old hole's state says; the first finding is the answer."""

    findings: tuple[Finding, ...]


def pull_advice(
    *,
    weeks_open: float | None = None,
    whole_season: bool = False,
    share_of_neighbours: float | None = None,
    buds_swelling: bool = False,
    damaged: bool = False,
) -> PullAdvice:
    """Return whether a spile should come out, from what is known of its tree.

    ``weeks_open`` are those of its hole, or with ``whole_season`` those of the first hole of all.
    ``share_of_neighbours`` is its sap against the usual tap's, 1 for the same.

    Raises:
        RangeError: for weeks outside 0 to 30 or a share outside 0 to 50.
    """
    findings: list[Finding] = []
    if damaged:
        findings.append(_damaged())
    if buds_swelling:
        findings.append(_buds())
    if share_of_neighbours is not None:
        findings += _low(within(share_of_neighbours, 0, 50, "A share of the usual flow"))
    findings += _weeks(weeks_open, whole_season)
    order = {"stop": 0, "care": 1, "note": 2}
    findings.sort(key=lambda one: order[one.level])
    verdict: PullVerdict = "leave"
    if findings[0].level != "note":
        verdict = "pull" if findings[0].level == "stop" else "soon"
    return PullAdvice(verdict, tuple(findings))


_CLOSES = (
    "A healthy tree closes a hole in two to three years, some in one; slow closing shows a tree "
    "short of strength. Holes are never plugged or treated."
)


#: Years in which a healthy tree closes a hole (the longest of two to three).
CLOSES_YEARS = 3


def closure(years_since: float, closed: bool) -> Closure:
    """Say what an old hole that is ``closed`` or still open after ``years_since`` tells.

    Raises:
        RangeError: outside 0 to 60 years.
    """
    within(years_since, 0, 60, "The time since the hole was drilled", "years")
    slow = not closed and years_since > CLOSES_YEARS
    text = (
        "Still open after three years: the tree is weak, give it a rest."
        if slow
        else "It's healing as it should."
    )
    return Closure((HOLE_CLOSURE.finding("care" if slow else "note", text, _CLOSES),))


def healing() -> Closure:
    """Return how long a hole takes to close."""
    return Closure(
        (
            HOLE_CLOSURE.finding(
                "note", "A healthy tree closes a hole in two to three years.", _CLOSES
            ),
        )
    )


def _buds() -> Finding:
    return PULL_BUDS.finding(
        "stop",
        "Pull it: the buds are swelling.",
        "Sap of swelling buds gives syrup a taste that nothing takes out; red and silver maples "
        "come first, so their buckets go first.",
    )


def _damaged() -> Finding:
    return PULL_DAMAGE.finding(
        "stop",
        "Pull it, and let the tree rest.",
        "After heavy limb loss or defoliation the advice is to skip tapping; an open hole costs "
        "the tree sugar that it needs to mend.",
    )


def _low(share: float) -> list[Finding]:
    if share >= QUIT_SHARE:
        return []
    return [
        PULL_LOW.finding(
            "care",
            "That tap has nearly quit; look at it, and pull it.",
            f"It gives {share:.0%} of what its neighbours do. Look for a loose spile or a leak "
            "first; re-drilling gains little and widens the wound.",
        )
    ]


def _weeks(weeks: float | None, whole_season: bool) -> list[Finding]:
    first, last = OPEN_WEEKS
    told = "Holes stay good for about 4 to 8 weeks, then they dry from within and bacteria grow."
    if weeks is None:
        text = "Pull when the buds swell, the sap turns, or after eight weeks."
        return [PULL_WEEKS.finding("note", text, told)]
    within(weeks, 0, 30, "The time a hole has been open", "weeks")
    why = f"{_opened(weeks, whole_season)} {told}"
    if weeks >= last:
        text = "Pull them: they've had" if whole_season else "Pull it: it's had"
        return [PULL_WEEKS.finding("care", f"{text} eight weeks.", why)]
    if whole_season:
        text = "Not yet. Pull when the buds swell, the sap turns, or after eight weeks."
    elif weeks >= first:
        text = "Leave it while it runs clear; it's past four weeks."
    else:
        text = "Leave it in; it's still young."
    return [PULL_WEEKS.finding("note", text, why)]


def _opened(weeks: float, whole_season: bool) -> str:
    what = "The first hole" if whole_season else "It"
    if weeks < 1:
        return f"{what} was opened this week."
    return f"{what} has been open for {weeks:.0f} week{'' if round(weeks) == 1 else 's'}."
