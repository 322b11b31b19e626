"""The course of a season: freezing and thawing, the weekly model, buds, and when to stop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE
from fieldvoice.rules.limits import within
from fieldvoice.rules.pulling import OPEN_WEEKS
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.weather import day_class, production_week

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.rules.finding import Finding, Level
    from fieldvoice.rules.weather import Day

StopVerdict = Literal["stop", "soon", "go on", "unknown"]

#: A freeze and thaw is counted where the temperature goes above this and comes back below (3 °C).
THAW_F = 37.4
#: Degree-days count what a day's high has above this (5 °C).
_BASE_C = 5.0
#: At least this share of the days since New Year must be known for the weekly model to speak.
ENOUGH_DAYS = 0.8

SAP_WEEK = Rule(
    "sap-week", ("note",), "The weekly model of sap, from freezes, thaws and warmth",
    sources.HOULE_2015, "design choice",
)  # fmt: skip
BUDS = Rule(
    "buds", ("note", "care"), "Degree-days to first bloom of each maple", sources.OSU_PHENOLOGY,
)  # fmt: skip
TIME_TO_STOP = Rule(
    "time-to-stop", ("note", "care", "stop"), "Signs that the season is over", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SapWeek:
    """What the weekly model says: freezes and thaws, degree-days (°C), likelihood of sap (0-1)."""

    freeze_thaws: int
    degree_days_c: float
    likelihood: float
    runs: bool
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class BudOutlook:
    """Degree-days above 50 °F so far, and those at which the species first blooms."""

    degree_days_f: float
    bloom_at_f: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class TimeToStop:
    """Whether the season is over; the first finding is the answer."""

    verdict: StopVerdict
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Bloom:
    """Degree-days (°F above 50, from 1 January) at first bloom or bud-break, and who says so."""

    degree_days_f: float
    what: str
    source: str


_HOBBY = "a hobby compilation of degree-days, weak"

#: First bloom or bud-break by species; the last is the early end of 54 to 99.
BLOOM: Mapping[str, _Bloom] = {
    "silver maple": _Bloom(34, "first blooms", f"{sources.OSU_PHENOLOGY}; 34 second-hand"),
    "red maple": _Bloom(44, "first blooms", sources.OSU_PHENOLOGY),
    "sugar maple": _Bloom(54, "breaks bud", _HOBBY),
}


def freeze_thaws(days: Sequence[Day]) -> int:
    """Return how often the temperature went above 3 °C and came back below it.

    A day counts as its low and then its high, oldest day first.
    """
    events, thawed = 0, False
    for day in days:
        if thawed and day.low_f < THAW_F:
            events += 1
            thawed = False
        thawed = thawed or day.high_f > THAW_F
    return events


def degree_days_c(days: Sequence[Day]) -> float:
    """Return the degree-days above 5 °C, summed from daily highs."""
    return sum(max(0.0, (day.high_f - 32) / 1.8 - _BASE_C) for day in days)


def degree_days_f(days: Sequence[Day], base_f: float = 50.0) -> float:
    """Return growing degree-days from daily means above ``base_f``, never negative."""
    return sum(max(0.0, (day.low_f + day.high_f) / 2 - base_f) for day in days)


def sap_week(days_since_new_year: Sequence[Day], days_elapsed: int) -> SapWeek:
    """Return what the weekly model says of now, from the known days since 1 January.

    Raises:
        RangeError: when fewer than four fifths of the ``days_elapsed`` are known.
    """
    within(days_elapsed, 1, 366, "Days since New Year")
    known = len(days_since_new_year)
    if known < ENOUGH_DAYS * days_elapsed:
        raise RangeError(
            f"The weekly model needs the lows and highs since New Year; {known} of {days_elapsed} "
            "days are known."
        )
    events, warmth = freeze_thaws(days_since_new_year), degree_days_c(days_since_new_year)
    week = production_week(events, warmth)
    finding = SAP_WEEK.finding(
        "note",
        "By the weekly model this is a week of sap."
        if week.runs
        else "By the weekly model there is little sap this week.",
        f"{events} freezes and thaws and {warmth:.0f} degree-days over 5 °C since New Year give "
        f"a likelihood of {week.likelihood:.0%}; from 51 % it counts as a week of sap. The model "
        "was made for Quebec.",
    )
    return SapWeek(events, warmth, week.likelihood, week.runs, (finding,))


def bud_outlook(days_since_new_year: Sequence[Day], species: str) -> BudOutlook:
    """Say how near a maple is to bloom, from every day since 1 January.

    Raises:
        RangeError: for a species with no figure.
    """
    name = species.lower().removesuffix(" maple") + " maple"
    if name not in BLOOM:
        raise RangeError(f"Degree-days to bloom are known for {', '.join(BLOOM)}, not {species}.")
    bloom, so_far = BLOOM[name], degree_days_f(days_since_new_year)
    near = so_far >= bloom.degree_days_f / 2
    finding = BUDS.finding(
        "care" if near else "note",
        "Watch its buds; stop collecting when they swell." if near else "Its buds are far off.",
        f"{so_far:.0f} degree-days over 50 °F so far; {name} {bloom.what} at about "
        f"{bloom.degree_days_f:.0f}, and buds swell before that.",
        source=bloom.source,
    )
    return BudOutlook(so_far, bloom.degree_days_f, (finding,))


def time_to_stop(
    *,
    recent: Sequence[Day] = (),
    coming: Sequence[Day] = (),
    weeks_open: float | None = None,
    buds_or_buddy: bool = False,
) -> TimeToStop:
    """Return whether the season is over, from the last days, those to come, holes and buds.

    Raises:
        RangeError: for temperatures that ``day_class`` refuses, or weeks outside 0 to 30.
    """
    ahead = [day_class(day.low_f, day.high_f) for day in coming]
    past = [day_class(day.low_f, day.high_f) for day in recent]
    warm = (past + ahead).count("warm")
    runs = ahead.count("strong") + ahead.count("weak")
    old = weeks_open is not None and within(weeks_open, 0, 30, "Weeks open") >= OPEN_WEEKS[1]
    verdict, level, text = _stop_words(buds_or_buddy, warm, runs, old, bool(past or ahead))
    weeks = "" if weeks_open is None else f" Holes have been open {weeks_open:.0f} weeks of 4 to 8."
    days = len(past) + len(ahead)
    seen = (
        f"Of {days} days known {warm} are warm (over 40 at night, 55 by day) and {runs} to come "
        "freeze and thaw."
        if days
        else "No weather is known."
    )
    why = f"{seen}{weeks} Swelling buds, yellow or off-smelling sap and dried holes end it."
    return TimeToStop(verdict, (TIME_TO_STOP.finding(level, text, why),))


def _stop_words(
    buds: bool, warm: int, runs: int, old: bool, weather_known: bool
) -> tuple[StopVerdict, Level, str]:
    if buds:
        return "stop", "stop", "Stop: the trees are in bud."
    if old:
        return "soon", "care", "Nearly over: the holes have had their eight weeks."
    if warm >= 3 and not runs:
        return "soon", "care", "Nearly over: it's warm day and night. Watch the buds."
    if not weather_known:
        return "unknown", "note", "Stop when the buds swell or the sap turns; I know no weather."
    if runs:
        return "go on", "note", "Not yet: frost and thaw are still coming."
    return "go on", "note", "Not yet; go by the buds and the sap."
