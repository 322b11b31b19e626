"""Times that can be reckoned with, at the ends of the calendar too.

The calendar begins with the year 1 and ends with 9999: a day has there no day before, or none
after. No clock that is right comes near, but one that is wrong may, and a table or a file's tag may
hold anything. Such a time is taken for the same one of the nearest year that has room about it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

#: Leap years, so that they have every day of any other (a design choice).
_FIRST, _LAST = 4, 9996


def with_room(at: datetime) -> datetime:
    """Return the time itself, or where years about it are wanting, that of the nearest year."""
    if _FIRST <= at.year <= _LAST:
        return at
    return at.replace(year=min(max(at.year, _FIRST), _LAST))
