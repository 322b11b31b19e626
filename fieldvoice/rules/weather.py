"""What a day's low and high mean for the run, when to tap, and when it ends."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING, Literal

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE, Finding, Level
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

DayClass = Literal["strong", "weak", "locked", "no freeze", "warm"]
TapVerdict = Literal["tap", "wait", "early", "late", "unknown"]

#: (month, day) from which a bucket's hole is worth drilling, from which it is too late, and from
#: which the next season is meant (choices, for the northern range of sugar maple).
_EARLIEST, _LATEST, _NEXT_SEASON = (1, 15), (4, 20), (8, 1)

FLOW = Rule("flow", ("note",), "How the sap should run, from low and high", sources.COOK)
FLOW_OUT = Rule(
    "flow-out", ("care",), "Two nights without frost stop the run", sources.UVM_FILMS,
)  # fmt: skip
SEASON_END = Rule(
    "season-end", ("care",), "Several warm nights and days end the season", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
KEEP_COLD = Rule(
    "keep-cold", ("care",), "Warm days spoil sap in buckets and tanks", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
TIME_TO_TAP = Rule(
    "time-to-tap", ("note", "care"), "When the coming days are worth tapping for", sources.COOK,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Day:
    """A day's low and high, °F."""

    low_f: float
    high_f: float


@dataclass(frozen=True, slots=True)
class FlowOutlook:
    """The class of the day in question; the first finding is the answer."""

    day_class: DayClass
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class TimeToTap:
    """Whether to tap now; the first finding is the answer."""

    verdict: TapVerdict
    good_days: int
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class ProductionWeek:
    """Likelihood (0 to 1) that a week gives sap, and whether it passes the published 0.51."""

    likelihood: float
    runs: bool


def day_class(low_f: float, high_f: float) -> DayClass:
    """Return the class of a day.

    ``strong``: low 20-29 and high 36-50 °F. ``locked``: high at or under 32. ``no freeze``: low
    over 32. ``warm``: low over 40 and high of 55 or more. ``weak``: any other freeze and thaw.

    Raises:
        RangeError: outside -40 to 100 °F, or a low above the high.
    """
    within(high_f, -40, 100, "A day's high", "°F")
    within(low_f, -40, 100, "A day's low", "°F")
    if low_f > high_f:
        raise RangeError(f"A day's low must not be above its high ({low_f:g} and {high_f:g}).")
    if high_f <= 32:
        return "locked"
    if low_f > 40 and high_f >= 55:
        return "warm"
    if low_f > 32:
        return "no freeze"
    return "strong" if 20 <= low_f < 30 and 36 <= high_f <= 50 else "weak"


def flow_outlook(days: Sequence[Day]) -> FlowOutlook:
    """Return how the sap should run on the last of ``days`` (oldest first, all known ones).

    Raises:
        RangeError: for no days, or temperatures that ``day_class`` refuses.
    """
    if not days:
        raise RangeError("An outlook needs a day's low and high.")
    classes = [day_class(day.low_f, day.high_f) for day in days]
    last = days[-1]
    answer = FLOW.finding("note", _OUTLOOK[classes[-1]], _why(last, classes[-1]))
    mild = len(list(takewhile(lambda one: one in ("no freeze", "warm"), reversed(classes))))
    warm = len(list(takewhile(lambda one: one == "warm", reversed(classes))))
    findings = [answer]
    if warm >= 3:
        findings.append(_season_end(warm))
    elif mild >= 2:
        findings.append(_runs_out(mild))
    if last.high_f > 45:
        findings.append(_keep_cold(last))
    return FlowOutlook(classes[-1], tuple(findings))


def time_to_tap(coming: Sequence[Day], on: date) -> TimeToTap:
    """Say whether to tap ``on`` a day, from the lows and highs to come (a week of them is best).

    Before mid January it is too early for a bucket's hole, which stays good for 4 to 8 weeks, and
    from late April on too late, whatever the weather. In between one strong day, or two weak ones,
    is worth tapping for.

    Raises:
        RangeError: for temperatures that ``day_class`` refuses.
    """
    classes = [day_class(day.low_f, day.high_f) for day in coming]
    if not _EARLIEST <= (on.month, on.day) < _LATEST:
        return _out_of_season(on)
    strong, weak = classes.count("strong"), classes.count("weak")
    seen = f"{len(coming)} days known: {strong} strong, {weak} weak, {classes.count('locked')} "
    why = f"{seen}frozen all day. A hole stays good for about 4 to 8 weeks."
    level: Level = "note"
    verdict: TapVerdict = "wait"
    if not coming:
        verdict = "unknown"
        text = "Tell me the lows and highs to come. Most tap mid February to mid March."
        why = "Nights in the 20s with days near 40 are what to tap for; no weather is in the book."
    elif strong or weak >= 2:
        verdict, text = "tap", "Tap now: good days are coming."
    elif classes.count("warm") >= 3:
        verdict, level, text = "late", "care", "It's late: warm nights end the run."
    elif "no freeze" in classes or "warm" in classes:
        text = "Wait: no frost at night, so no run."
    else:
        text = "Wait: it's still locked up."
    return TimeToTap(verdict, strong + weak, (TIME_TO_TAP.finding(level, text, why),))


def _out_of_season(on: date) -> TimeToTap:
    why = (
        "A hole in reach of the air stays good for about 4 to 8 weeks, and buckets run from "
        "February to April in the north; big vacuum lines are another matter."
    )
    late = _LATEST <= (on.month, on.day) < _NEXT_SEASON
    text = "Too early: a hole tapped now dries before the main run."
    if late:
        text = "Too late to tap: the buds are opening."
    finding = TIME_TO_TAP.finding("care", text, why)
    return TimeToTap("late" if late else "early", 0, (finding,))


def production_week(freeze_thaws: int, degree_days_c: float) -> ProductionWeek:
    """Return Houle and others' 2015 model of weekly production (second-hand constants).

    ``freeze_thaws`` counts crossings of 3 °C since 1 January; ``degree_days_c`` sums daily maxima
    above 5 °C.

    Raises:
        RangeError: outside 0 to 100 events or 0 to 1,000 degree-days.
    """
    f = within(freeze_thaws, 0, 100, "Freeze and thaw events")
    g = within(degree_days_c, 0, 1000, "Degree-days")
    z = -5.09 + 0.722 * f - 0.014 * f * f - 0.07 * g
    likelihood = 1 / (1 + math.exp(-z))
    return ProductionWeek(likelihood, likelihood >= 0.51)


_OUTLOOK: Mapping[DayClass, str] = {
    "strong": "It should run well.",
    "weak": "It may run a little.",
    "locked": "Locked up: no run.",
    "no freeze": "Not much: there's no frost overnight.",
    "warm": "Too warm to run well.",
}


def _why(day: Day, kind: DayClass) -> str:
    return (
        f"A low of {day.low_f:.0f} °F and a high of {day.high_f:.0f} °F make a {kind} day; the "
        "best runs have lows in the 20s and highs in the upper 30s to 40s."
    )


def _runs_out(nights: int) -> Finding:
    return FLOW_OUT.finding(
        "care",
        "The run is ending until it freezes again.",
        f"{nights} nights without frost in a row; a fresh freeze is needed within a day or two.",
    )


def _season_end(days: int) -> Finding:
    return SEASON_END.finding(
        "care",
        "That much warmth may end the season; watch the buds.",
        f"{days} days in a row with nights over 40 and days of 55 °F or more.",
    )


def _keep_cold(day: Day) -> Finding:
    return KEEP_COLD.finding(
        "care",
        "Gather and boil the same day.",
        f"A high of {day.high_f:.0f} °F; sap ages twice as fast at 48 as at 38.",
    )
