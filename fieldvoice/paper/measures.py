"""Amounts as a page shows them: told as answers tell them, and in the book's units on an axis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.answered import told_gal
from fieldvoice.nlg.wording import exact_clock, figure, start
from fieldvoice.nlg.written import Style, phrase, told_text
from fieldvoice.rules.sugar import LITRES_PER_GAL
from fieldvoice.segments import Quantity, TreeRef, VesselRef, parts

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date, datetime

    from fieldvoice.schema import Act, TreeId
    from fieldvoice.segments import Piece, Unit


@dataclass(frozen=True, slots=True)
class Scale:
    """An axis in the book's units: ``of`` turns a stored value into one, ``sign`` names it."""

    sign: str
    of: Callable[[float], float]


def _same(value: float) -> float:
    return value


@dataclass(frozen=True, slots=True)
class Measures:
    """How a book wants to be told of, in text and on axes."""

    style: Style

    @property
    def volume(self) -> Scale:
        """The axis of volumes."""
        if self.style.metric:
            return Scale("L", lambda gallons: gallons * LITRES_PER_GAL)
        return Scale("gal", _same)

    @property
    def temperature(self) -> Scale:
        """The axis of temperatures."""
        if self.style.metric:
            return Scale("°C", lambda temp_f: (temp_f - 32) / 1.8)
        return Scale("°F", _same)

    def told(self, *pieces: Piece) -> str:
        """Return words and values as an answer would have them."""
        return phrase(parts(*pieces), self.style)

    def amount(self, value: float | None, unit: Unit, places: int | None = None) -> str:
        """Return an amount with its unit; a dash for one that nobody knows."""
        return "–" if value is None else self.told(Quantity(value, unit, places))

    def gallons(self, gallons: float) -> str:
        """Return a volume as the spoken sums have it."""
        return self.told(told_gal(gallons))

    def syrup(self, gallons: float) -> str:
        """Return what a boil gave, as it is told beside what was expected."""
        return self.told(Quantity(gallons, "syrup gal"))

    def whole(self, gallons: float) -> str:
        """Return a volume as the spoken account of the sap has it."""
        return self.told(Quantity(round(gallons, 1), "gal"))

    def tree(self, tree: TreeId) -> str:
        """Return what a tree is called: its name, with its number where it has both."""
        named = start(self.told(TreeRef((tree,))))
        return f"{named} ({tree})" if isinstance(tree, int) and str(tree) not in named else named

    def vessel(self, name: str) -> str:
        """Return what a vessel is called."""
        return self.told(VesselRef(name))

    def act(self, act: Act) -> str:
        """Return a note as it is read back."""
        return start(told_text(act.told(), self.style))


def count(number: int, one: str, many: str | None = None) -> str:
    """Return "1 tree", "3 trees"."""
    return f"{number:,} {one if number == 1 else many or f'{one}s'}"


def number(value: float, places: int = 1) -> str:
    """Return a number with no more decimals than it needs."""
    return figure(value, places)


def day(at: date) -> str:
    """Return "March 5"."""
    return f"{at:%B} {at.day}"


def days(first: date, last: date) -> str:
    """Return "March 5", "March 2 to 5" or "February 28 to March 5"."""
    if first == last:
        return day(first)
    return f"{day(first)} to {last.day if first.month == last.month else day(last)}"


def day_of(at: date, year: int) -> str:
    """Return a day, with its year where that is another than the one that all is about."""
    return day(at) if at.year == year else f"{day(at)}, {at.year}"


def percent(share: float) -> str:
    """Return a share (0 to 1) as "86 %"."""
    return f"{share * 100:.0f}\N{NO-BREAK SPACE}%"


def moment(at: datetime) -> str:
    """Return "March 5, 2:40 pm"."""
    return f"{day(at)}, {exact_clock(at)}"
