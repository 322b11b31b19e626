"""Days as people write them; whether 4/3 is in March or April is settled by the whole column."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import lru_cache
from typing import Literal

#: The order of day, month and year where all three are numbers.
Order = Literal["dmy", "mdy"]

_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan january", "feb february", "mar march", "apr april", "may", "jun june", "jul july",
         "aug august", "sep sept september", "oct october", "nov november", "dec december"),
        start=1,
    )
    for name in names.split()
}  # fmt: skip
_WEEKDAY = re.compile(r"(?:mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun)[a-z]*[.,]?\s+", re.I)
_NUMBERS = re.compile(r"(\d{1,2})\s*[/.\-]\s*(\d{1,2})(?:\s*[/.\-]\s*(\d{4}|\d{2}))?\.?")
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_COMPACT = re.compile(r"(20\d\d)(\d\d)(\d\d)")
_NAMED = re.compile(
    r"(?:(?P<day>\d{1,2})(?:st|nd|rd|th)?[\s.\-/]*(?P<month>[a-z]{3,9})"
    r"|(?P<month2>[a-z]{3,9})[\s.\-/]*(?P<day2>\d{1,2})(?:st|nd|rd|th)?)"
    r"\.?,?(?:[\s.\-/]+(?P<year>\d{4}|'?\d{2}))?",
    re.I,
)
_TIME = re.compile(
    r"(?:^|[\sT,]+|\s+at\s+)(\d{1,2})(?:[:h.](\d{2}))?(?::\d{2})?(?:\.\d+)?\s*([ap])?\.?m?\.?"
    r"(?:Z|[+-]\d{2}:?\d{2})?$",
    re.I,
)
#: Days since then are how spreadsheets store a day; the numbers of 2000 to 2100.
_SERIAL_FROM, _SERIALS = date(1899, 12, 30), range(36526, 73051)
#: The months in which there is sap (common practice).
_SEASON = (1, 2, 3, 4, 5)


@dataclass(frozen=True, slots=True)
class Written:
    """A day as its cell has it, before anybody knows which number is the month.

    ``one`` and ``two`` are the first two numbers of "4/3/2025"; of other forms they are the month
    and day, and ``known`` says so. ``year`` is None where none is written.
    """

    one: int
    two: int
    year: int | None
    known: bool
    clock: time | None = None

    def on(self, order: Order, year: int | None) -> date | None:
        """Return the day by an order, in ``year`` where none is written; None: there is none."""
        month, day = (self.one, self.two) if self.known or order == "mdy" else (self.two, self.one)
        of_year = self.year if self.year is not None else year
        try:
            return date(of_year, month, day) if of_year is not None else None
        except ValueError:
            return None


@lru_cache(4096)
def written_day(cell: str) -> Written | None:
    """Return the day that a cell has; None where it has none."""
    text = _WEEKDAY.sub("", cell.strip(), count=1)
    clock = None
    if " " in text or "T" in text:
        head, clock = _clock_apart(text)
        text = head if clock is not None else text
    return _day(text, clock)


def _clock_apart(text: str) -> tuple[str, time | None]:
    found = re.search(r"[\sT]\s*(\d{1,2}:\d{2}.*)$", text)
    clock = clock_time(found[1]) if found else None
    return (text[: found.start()].strip(" ,"), clock) if found and clock else (text, None)


def _day(text: str, clock: time | None) -> Written | None:
    iso = _ISO.fullmatch(text) or _COMPACT.fullmatch(text)
    if iso:
        return Written(int(iso[2]), int(iso[3]), int(iso[1]), True, clock)
    numbers = _NUMBERS.fullmatch(text)
    if numbers:
        return Written(int(numbers[1]), int(numbers[2]), _year(numbers[3]), False, clock)
    if text.isdigit() and int(text) in _SERIALS:
        day = date.fromordinal(_SERIAL_FROM.toordinal() + int(text))
        return Written(day.month, day.day, day.year, True, clock)
    named = _NAMED.fullmatch(text)
    month = _MONTHS.get((named["month"] or named["month2"]).lower()) if named else None
    if named is None or month is None:
        return None
    return Written(month, int(named["day"] or named["day2"]), _year(named["year"]), True, clock)


def _year(text: str | None) -> int | None:
    if text is None:
        return None
    year = int(text.lstrip("'"))
    return year + 2000 if year < 100 else year


def clock_time(cell: str) -> time | None:
    """Return the time of day in a cell, "4:30 PM" or "16:30"; None where it is none."""
    found = _TIME.search(cell.strip())
    if found is None or found.start() > 0 or (found[2] is None and found[3] is None):
        return None
    hour, minute = int(found[1]), int(found[2] or 0)
    if found[3]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if found[3].lower() == "p" else 0)
    return time(hour, minute) if hour < 24 and minute < 60 else None


def years_in(text: str) -> list[int]:
    """Return the years that a title names: "Sap 2023"."""
    return [int(year) for year in re.findall(r"(?<!\d)(?:19[5-9]\d|20\d\d)(?!\d)", text)]


@dataclass(slots=True)
class _Walk:
    """How the days of a column follow each other when read in one order."""

    last: int | None = None
    steps: int = 0
    back: int = 0
    out_of_season: int = 0
    seen: int = 0

    def see(self, day: date) -> None:
        number = day.toordinal()
        if self.last is not None:
            self.steps += abs(number - self.last)
            self.back += number < self.last
        self.last = number
        self.out_of_season += day.month not in _SEASON
        self.seen += 1

    @property
    def cost(self) -> tuple[int, int]:
        return (self.steps + 30 * self.out_of_season + 10 * self.back, -self.seen)


@dataclass(slots=True)
class DayEvidence:
    """What a column of days tells about its order, taken in cell by cell."""

    dmy_only: int = 0
    mdy_only: int = 0
    known: int = 0
    yearless: int = 0
    dotted: int = 0
    _walks: dict[Order, _Walk] = field(default_factory=lambda: {"dmy": _Walk(), "mdy": _Walk()})

    def see(self, cell: str, day: Written) -> None:
        """Take what one cell tells."""
        self.yearless += day.year is None
        if day.known:
            self.known += 1
            return
        self.dotted += "." in cell
        of_year = day.year if day.year is not None else 2000
        by = {order: day.on(order, of_year) for order in self._walks}
        self.dmy_only += by["mdy"] is None and by["dmy"] is not None
        self.mdy_only += by["dmy"] is None and by["mdy"] is not None
        for order, walk in self._walks.items():
            found = by[order]
            if found is not None:
                walk.see(found)

    @property
    def of_numbers(self) -> bool:
        """Whether there are days of which the order of day and month matters."""
        return any(walk.seen for walk in self._walks.values())

    def order(self, metric: bool) -> tuple[Order, bool]:
        """Return the order that the column as a whole speaks for, and whether it is sure.

        Sure is what impossible months, or days that follow each other, show; else it is what
        is usual with the units (a guess that is told).
        """
        if self.dmy_only != self.mdy_only:
            return ("dmy" if self.dmy_only > self.mdy_only else "mdy"), True
        costs = {order: walk.cost for order, walk in self._walks.items()}
        if costs["dmy"][0] * 2 < costs["mdy"][0]:
            return "dmy", True
        if costs["mdy"][0] * 2 < costs["dmy"][0]:
            return "mdy", True
        return ("dmy" if metric or self.dotted else "mdy"), False

    def is_mixed(self) -> bool:
        """Whether some days can only be one order and not few only the other."""
        return min(self.dmy_only, self.mdy_only) * 10 > self.dmy_only + self.mdy_only


def at(day: date, clock: time | None) -> datetime:
    """Return when a row happened, by the clock of this place; without a time it is noon."""
    return datetime.combine(day, clock or time(12)).astimezone()
