"""How old stored sap is, counted in days at 38 °F.

Warm sap ages faster. The square-root (Ratkowsky) growth law with Tmin = -10 °C gives the rate
``r(T) = (1 + 0.1 T)²`` with T in °C, taken relative to 38 °F. Neither the law nor any number of
days has been validated for maple sap: it ranks vessels and raises advice, and never calls sap safe.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE, Finding, Level
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import hours_of
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

AgeLevel = Literal["fresh", "boil next", "boil now", "clear only", "discard"]

REFERENCE_F = 38.0
#: Taken for sap whose temperature nobody read: the upper limit of "keep it cold".
ASSUMED_F = 40.0
FREEZING_F = 32.0


@dataclass(frozen=True, slots=True)
class SapLimit:
    """Days at 38 °F that sap is given, and who gives them.

    ``days`` are those up to which it is fresh, to be boiled next, to be boiled now, and fit only
    when clear; ``boil_by_days`` is when it should be in the pan.
    """

    name: str
    days: tuple[float, float, float, float]
    boil_by_days: float
    short: str
    whose: str

    @property
    def told(self) -> str:
        """The limit and whose it is."""
        return f"{self.short}, {self.whose}"


DEFAULT_LIMIT = "quality"

#: Limits by name. None is the result of research on maple sap; each says whose it is.
LIMITS: Mapping[str, SapLimit] = {
    limit.name: limit
    for limit in (
        SapLimit(
            "quality", (1, 2, 4, 7), 2, "two days at 38 °F", "private guidance, for light syrup"
        ),
        SapLimit("practice", (1, 3, 5, 7), 3, "three to five days cold", "common practice"),
        SapLimit(
            "week", (3, 5, 7, 7), 7, "seven days at 38 °F", "often repeated, no research found"
        ),
    )
}

#: Equivalent days at 38 °F by which stored sap should be in the pan, where nothing else is settled.
BOIL_BY_DAYS = LIMITS[DEFAULT_LIMIT].boil_by_days

_LEVELS: tuple[tuple[AgeLevel, Level, str], ...] = (
    ("fresh", "note", "Boil it when you can, and keep it cold."),
    ("boil next", "note", "Boil it next."),
    ("boil now", "care", "Boil it now, and expect darker syrup."),
    ("clear only", "care", "Boil it now, and only if it is clear and smells clean."),
    ("discard", "stop", "Too old to sell: dump it, or keep what it makes at home."),
)

STORAGE_AGE = Rule(
    "storage-age", ("note", "care", "stop"), "Age of stored sap as days at 38 °F",
    sources.OLLEY_RATKOWSKY_1973, "design choice",
)  # fmt: skip
STORAGE_WARM = Rule(
    "storage-warm", ("care", "stop"), "Stored sap warmer than 40 °F", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
STORAGE_UNKNOWN = Rule(
    "storage-temperature-unknown", ("note",), "No temperature was read for stored sap",
    COMMON_PRACTICE, "design choice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class StorageAge:
    """Age of stored sap.

    ``hours_left`` are those until it should be in the pan, at the last temperature; 0 when past.
    ``assumed`` tells that no temperature was read. The first finding is the answer.
    """

    age_h: float
    equivalent_days: float
    level: AgeLevel
    temp_f: float
    hours_left: float
    assumed: bool
    findings: tuple[Finding, ...]


def spoilage_rate(temp_f: float) -> float:
    """Return how many times faster sap ages at ``temp_f`` than at 38 °F.

    Raises:
        RangeError: outside 0 to 100 °F.
    """
    within(temp_f, 0, 100, "A sap temperature", "°F")
    return _root(temp_f) ** 2 / _root(REFERENCE_F) ** 2


def storage_age(
    age_h: float,
    readings: Sequence[tuple[float, float]] = (),
    *,
    limit_name: str = DEFAULT_LIMIT,
) -> StorageAge:
    """Return the age of sap collected ``age_h`` hours ago.

    ``readings`` are pairs of (hours ago, °F) in any order. Between two readings the temperature is
    taken to change evenly; before the first and after the last it is taken as steady. Readings
    from before the sap was collected count up to its collection.

    Raises:
        RangeError: for an age outside 0 to 2000 h, a temperature outside 0 to 100 °F, or an
            unknown limit.
    """
    limit = sap_limit(limit_name)
    within(age_h, 0, 2000, "An age", "hours")
    assumed = not readings
    track = _track(age_h, readings or ((0.0, ASSUMED_F),))
    days = sum(_aged_h(begin, end) for begin, end in pairwise(track)) / 24
    now_f = track[-1][1]
    # Ice keeps, but thaws: the time left is told as at the freezing point, never as for ever.
    rate = spoilage_rate(max(now_f, FREEZING_F))
    left_h = max(0.0, limit.boil_by_days - days) * 24 / rate
    level, finding = _judged(age_h, days, now_f, assumed, limit)
    findings = (finding, *_warmth(now_f, assumed))
    return StorageAge(age_h, days, level, now_f, left_h, assumed, findings)


def _track(age_h: float, readings: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return (hours ago, °F) from collection to now, oldest first, ends filled in."""
    known = sorted(((max(0.0, ago), temp_f) for ago, temp_f in readings), reverse=True)
    for _, temp_f in known:
        within(temp_f, 0, 100, "A sap temperature", "°F")
    inside = [one for one in known if one[0] < age_h]
    at_start = _temperature_at(age_h, known)
    return [(age_h, at_start), *inside, (0.0, known[-1][1])]


def _temperature_at(hours_ago: float, known: list[tuple[float, float]]) -> float:
    """Return the temperature at a time among readings sorted from the oldest."""
    if hours_ago >= known[0][0]:
        return known[0][1]
    for (earlier_h, earlier_f), (later_h, later_f) in pairwise(known):
        if later_h <= hours_ago < earlier_h:
            share = (earlier_h - hours_ago) / (earlier_h - later_h)
            return earlier_f + share * (later_f - earlier_f)
    return known[-1][1]


def _root(temp_f: float) -> float:
    """Return the square root of the relative growth rate; 0 at and below -10 °C."""
    return max(0.0, 1 + 0.1 * (temp_f - 32) / 1.8)


def _aged_h(begin: tuple[float, float], end: tuple[float, float]) -> float:
    """Return hours at 38 °F equal to a stretch of evenly changing temperature (exact integral)."""
    first, last = _root(begin[1]), _root(end[1])
    mean_square = (first * first + first * last + last * last) / 3
    return (begin[0] - end[0]) * mean_square / _root(REFERENCE_F) ** 2


def sap_limit(name: str) -> SapLimit:
    """Return the limit called ``name``.

    Raises:
        RangeError: it is not one of ``LIMITS``.
    """
    if name not in LIMITS:
        raise RangeError(f"No limit for sap is called {name}; there are {', '.join(LIMITS)}.")
    return LIMITS[name]


def _old(age_h: float) -> str:
    if age_h < 1:
        return "Under an hour"
    return hours_of(age_h) if age_h < 36 else f"{age_h / 24:.1f} days"


def _judged(
    age_h: float, days: float, now_f: float, assumed: bool, limit: SapLimit
) -> tuple[AgeLevel, Finding]:
    passed = sum(days > most for most in limit.days)
    name, level, text = _LEVELS[passed]
    taken = "taken as" if assumed else "now"
    others = " or ".join(one.short for one in LIMITS.values() if one is not limit)
    why = (
        f"{_old(age_h)} old and {taken} {now_f:.0f} °F is like {days:.1f} days at 38 °F. The limit "
        f"in force is {limit.told}; others say {others}."
    )
    return name, STORAGE_AGE.finding(level, text, why)


def _warmth(now_f: float, assumed: bool) -> tuple[Finding, ...]:
    if assumed:
        return (
            STORAGE_UNKNOWN.finding(
                "note",
                "Take its temperature to be surer.",
                f"No temperature is in the book, so {ASSUMED_F:.0f} °F was taken.",
            ),
        )
    if now_f <= ASSUMED_F:
        return ()
    hot = now_f > 45
    text = "It's too warm to keep: boil it now." if hot else "It's warming: boil today or cool it."
    rate = spoilage_rate(now_f)
    why = f"At {now_f:.0f} °F it ages {rate:.1f} times as fast as at 38; keep it under 40."
    return (STORAGE_WARM.finding("stop" if hot else "care", text, why),)
