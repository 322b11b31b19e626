"""When a recording was begun: what its container says, its name, or else its file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

#: Tags that recorders write, the most trustworthy first.
_TAGS = ("creation_time", "date_recorded", "com.apple.quicktime.creationdate", "date")
#: A date in a name, with a time of day perhaps: "2027-03-10 14.05.33", "REC_20270310_140533",
#: "2027-03-05T09-10-00.250000-0500", "2027-03-10 at 2.05.33 PM", "20270310140533".
_IN_NAME = re.compile(
    r"(?<!\d)(20\d\d)([-_. ]?)(\d\d)\2(\d\d)"
    r"(?:(?:[T_\-. ]+(?:at )?|(?=\d{6}(?!\d)))(\d{1,2})[-_.:h]?(\d\d)(?:[-_.:m]?(\d\d))?"
    r"(?:\.\d+)?\s?([AP]M)?"
    r"([+-]\d{4})?)?(?!\d)",
    re.IGNORECASE,
)
#: Before this, containers whose clock was never set count from.
_FIRST_YEAR = 2000
#: A name and a tag that differ by more are of two different days.
_AGREE = timedelta(days=1)
#: With a clock fixed for the run, files older than this were not made in the time it stands for.
_FRESH = timedelta(days=60)


@dataclass(frozen=True, slots=True)
class SpokenAt:
    """When a recording was begun, and what says so; ``but`` is what says otherwise."""

    at: datetime
    by: str
    but: str | None = None


def spoken_at(
    path: Path,
    tags: Mapping[str, str],
    duration_s: float,
    now: datetime,
    *,
    fixed: bool,
) -> SpokenAt | None:
    """Return when the recording at ``path`` was begun; None where nothing tells.

    Times without an offset are taken to be in that of ``now`` if the clock is ``fixed`` (it then
    stands for another time than the file system's), and in this machine's otherwise.
    """
    tagged, named = _tagged(tags, now, fixed=fixed), _named(path.name, now, fixed=fixed)
    filed = _filed(path, duration_s, now, fixed=fixed)
    if named is not None and not named[1]:  # a day without an hour
        same_day = [one for one in (tagged, filed) if one and one.date() == named[0].date()]
        named = (same_day[0], True) if same_day else named
    if tagged is not None:
        at, by = tagged, "its tag"
    elif named is not None:
        at, by = named[0], "its name"
    elif filed is not None:
        at, by = filed, "its file"
    else:
        return None
    but = None
    if tagged and named and abs(tagged - named[0]) > _AGREE:
        but = f"its tag says {tagged:%Y-%m-%d %H:%M}, its name {named[0]:%Y-%m-%d}"
    elif at - now > _AGREE:
        but = f"{by} says {at:%Y-%m-%d %H:%M}, which is still to come"
    return SpokenAt(at, by, but)


def _tagged(tags: Mapping[str, str], now: datetime, *, fixed: bool) -> datetime | None:
    for name in _TAGS:
        try:
            at = datetime.fromisoformat(tags[name].strip())
        except (KeyError, ValueError):
            continue
        if at.year >= _FIRST_YEAR and len(tags[name].strip()) > len("2027-03-10"):
            return _local(at, now, fixed=fixed)
    return None


def _named(name: str, now: datetime, *, fixed: bool) -> tuple[datetime, bool] | None:
    """Return the time in a name, and whether it has the hour; noon stands for one without."""
    found = _IN_NAME.search(name)
    if found is None:
        return None
    year, _, month, day, hour, minute, second, half, offset = found.groups()
    try:
        if hour is None:
            return _local(datetime(int(year), int(month), int(day), 12), now, fixed=fixed), False
        hours = int(hour) if half is None else int(hour) % 12 + 12 * (half.upper() == "PM")
        at = datetime(int(year), int(month), int(day), hours, int(minute), int(second or 0))
        if offset is not None:
            at = datetime.strptime(f"{at.isoformat()}{offset}", "%Y-%m-%dT%H:%M:%S%z")
    except ValueError:
        return None
    return _local(at, now, fixed=fixed), True


def _filed(path: Path, duration_s: float, now: datetime, *, fixed: bool) -> datetime | None:
    """Return when the file was last written to, less its length: it was written while one spoke."""
    try:
        ended = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    except (OSError, OverflowError, ValueError):
        return None
    if ended > now or ended.year < _FIRST_YEAR or (fixed and now - ended > _FRESH):
        return None
    return _local(ended - timedelta(seconds=duration_s), now, fixed=fixed)


def _local(at: datetime, now: datetime, *, fixed: bool) -> datetime:
    if fixed:
        return at.replace(tzinfo=now.tzinfo) if at.tzinfo is None else at.astimezone(now.tzinfo)
    return at.astimezone()
