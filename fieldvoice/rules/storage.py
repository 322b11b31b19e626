"""How old stored sap is, counted in days at 38 °F.

Warm sap ages faster. The square-root (Ratkowsky) growth law with Tmin = -10 °C gives the rate
``r(T) = (1 + 0.1 T)²`` with T in °C, taken relative to 38 °F. Neither the law nor any number of
days has been validated for maple sap: it ranks vessels and raises advice, and never calls sap safe.
No limit has research behind it and thermometers are off by a degree or two, so that words change
over a band, and only a sign (cloudy, sour, ropey) stops anybody, never the clock.
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
from fieldvoice.rules.sap_clock import ASSUMED_F, FREEZING_F, SapClock, relative_rate

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

AgeLevel = Literal["fresh", "boil next", "due", "boil now", "clear only"]


@dataclass(frozen=True, slots=True)
class SapLimit:
    """Days at 38 °F that sap is given, and who gives them.

    ``days`` are those up to which it is fresh, by which it should be in the pan, and after which it
    is fit only when clear.
    """

    name: str
    days: tuple[float, float, float]
    short: str
    whose: str

    @property
    def boil_by_days(self) -> float:
        """Days at 38 °F by which it should be in the pan."""
        return self.days[1]

    @property
    def told(self) -> str:
        """The limit and whose it is."""
        return f"{self.short}, {self.whose}"


DEFAULT_LIMIT = "quality"

#: Limits by name. None is the result of research on maple sap; each says whose it is.
LIMITS: Mapping[str, SapLimit] = {
    limit.name: limit
    for limit in (
        SapLimit("quality", (1, 2, 4), "two days at 38 °F", "private guidance, for light syrup"),
        SapLimit("practice", (1, 3, 5), "three to five days cold", "common practice"),
        SapLimit("week", (3, 7, 7), "seven days at 38 °F", "often repeated, no research found"),
    )
}

#: Equivalent days at 38 °F by which stored sap should be in the pan, where nothing else is settled.
BOIL_BY_DAYS = LIMITS[DEFAULT_LIMIT].boil_by_days

#: Words change over a tenth of the days, and over a degree (choices: no limit is surer than that).
_BAND, _BAND_F = 0.1, 1.0
#: Above this sap is boiled the same day (town programme).
_WARM_F = 45.0

_Word = tuple[AgeLevel, Level, str]
#: What is said when so many of the limit's days are behind it.
_LEVELS: tuple[_Word, ...] = (
    ("fresh", "note", "Boil it when you can, and keep it cold."),
    ("boil next", "note", "Boil it next."),
    ("boil now", "care", "Boil it now, and expect darker syrup."),
    ("clear only", "care", "Boil it now, and only if it is clear and smells clean."),
)
#: What is said about the limit itself, on either side of it.
_BETWEEN: tuple[_Word, ...] = (
    ("boil next", "note", "Boil it next."),
    ("due", "care", "It's about due: boil it today."),
    ("boil now", "care", "Boil it now; smell it first, and expect dark syrup."),
)

STORAGE_AGE = Rule(
    "storage-age", ("note", "care"), "Age of stored sap as days at 38 °F",
    sources.OLLEY_RATKOWSKY_1973, "design choice",
)  # fmt: skip
STORAGE_WARM = Rule(
    "storage-warm", ("note", "care"), "Stored sap warmer than 40 °F", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
STORAGE_UNKNOWN = Rule(
    "storage-temperature-unknown", ("note",), "No temperature was read for stored sap",
    COMMON_PRACTICE, "design choice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class StorageAge:
    """Age of stored sap.

    ``hours_left`` are those until it should be in the pan, along its clock; 0 when past.
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
    return relative_rate(within(temp_f, 0, 100, "A sap temperature", "°F"))


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
    within(age_h, 0, 2000, "An age", "hours")
    track = _track(age_h, readings or ((0.0, ASSUMED_F),))
    points = tuple((age_h - ago, max(FREEZING_F, temp_f)) for ago, temp_f in track)
    clock = SapClock(points, points[-1][1])
    return aged(clock, age_h, assumed=not readings, limit_name=limit_name)


def aged(clock: SapClock, age_h: float, *, assumed: bool, limit_name: str) -> StorageAge:
    """Return the age of sap by its clock, ``age_h`` hours after it was gathered.

    Raises:
        RangeError: for an unknown limit.
    """
    limit = sap_limit(limit_name)
    days, now_f = clock.worn_at(age_h), clock.temp_at(age_h)
    left_h = max(0.0, clock.reaches(limit.boil_by_days) - age_h)
    level, finding = _judged(age_h, days, now_f, assumed, limit)
    return StorageAge(
        age_h, days, level, now_f, left_h, assumed, (finding, *_warmth(now_f, assumed))
    )


def _track(age_h: float, readings: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return (hours ago, °F) from collection to now, oldest first, ends filled in."""
    known = sorted(((max(0.0, ago), temp_f) for ago, temp_f in readings), reverse=True)
    for _, temp_f in known:
        within(temp_f, 0, 100, "A sap temperature", "°F")
    inside = [one for one in known if 0 < one[0] < age_h]
    at_start = _temperature_at(age_h, known)
    return [(age_h, at_start), *inside, *([(0.0, known[-1][1])] if age_h else [])]


def _temperature_at(hours_ago: float, known: list[tuple[float, float]]) -> float:
    """Return the temperature at a time among readings sorted from the oldest."""
    if hours_ago >= known[0][0]:
        return known[0][1]
    for (earlier_h, earlier_f), (later_h, later_f) in pairwise(known):
        if later_h <= hours_ago < earlier_h:
            share = (earlier_h - hours_ago) / (earlier_h - later_h)
            return earlier_f + share * (later_f - earlier_f)
    return known[-1][1]


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
    surely = sum(days > most * (1 + _BAND) for most in limit.days)
    perhaps = sum(days > most * (1 - _BAND) for most in limit.days)
    name, level, text = _LEVELS[surely] if surely == perhaps else _BETWEEN[surely]
    taken = "taken as" if assumed else "now"
    others = " or ".join(one.short for one in LIMITS.values() if one is not limit)
    why = (
        f"{_old(age_h)} old and {taken} {now_f:.0f} °F is like about {days:.1f} days at 38 °F. The "
        f"limit in force is {limit.told}; others say {others}."
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
    if now_f <= ASSUMED_F - _BAND_F:
        return ()
    if now_f <= ASSUMED_F + _BAND_F:
        level: Level = "note"
        text = "About as warm as sap should get: cool it or boil it soon."
    else:
        level = "care"
        hot = now_f > _WARM_F + _BAND_F
        text = "Too warm to keep: boil it today." if hot else "It's warming: boil today or cool it."
    why = (
        f"At {now_f:.0f} °F it ages {spoilage_rate(now_f):.1f} times as fast as at 38; keep it "
        "under 40."
    )
    return (STORAGE_WARM.finding(level, text, why),)
