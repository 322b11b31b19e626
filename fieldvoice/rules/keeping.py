"""Lot codes: what tells later which batch a jar is of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

LOT_CODE = Rule(
    "lot-code", ("note",), "A code on every container of a batch", sources.CANADA_LOT_CODE,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Keeping:
    """Advice on syrup kept; the first finding is the answer."""

    findings: tuple[Finding, ...]


def lot_code(year: int, day_of_year: int, batch: int) -> str:
    """Return the code of a batch: year, day of the year and number, such as "27-069-1".

    Raises:
        RangeError: for a year outside 2000 to 2099, a day outside 1 to 366, or a batch outside 1 to
            99.
    """
    within(year, 2000, 2099, "A year")
    within(day_of_year, 1, 366, "A day of the year")
    within(batch, 1, 99, "A batch of the day")
    return f"{year % 100:02d}-{day_of_year:03d}-{batch}"


def lot_code_advice(year: int, day_of_year: int) -> Keeping:
    """Return how to code the batches of a day.

    Raises:
        RangeError: as for ``lot_code``.
    """
    code = lot_code(year, day_of_year, 1)
    text = f"Write {code} on every container of today's first batch."
    why = (
        "Year, day of the year and batch: one code for all containers filled from one batch tells "
        "later what they were made from. Canada has required a lot code since December 2016."
    )
    return Keeping((LOT_CODE.finding("note", text, why),))
