"""What a phone sends: one recording, or typed words."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Self

from fieldvoice.errors import FieldvoiceError

#: What a phone calls a note: a random number of its own, in hexadecimal digits.
NUMBER = re.compile(r"[0-9a-f]{32}")
#: The most that a note may be: bytes of sound, seconds, letters of typed words.
LARGEST_BYTES = 10_000_000
LONGEST_S = 330.0
LONGEST_TEXT = 1_000
#: Clocks that differ by more are asked about.
CLOCKS_AGREE = timedelta(minutes=1)
#: Times outside are no time that a note can be of.
_FIRST_YEAR, _LAST_YEAR = 2020, 2100


class BadNoteError(FieldvoiceError):
    """What was sent is no note; the text says why."""


@dataclass(frozen=True, slots=True)
class Note:
    """One note on its way into the book.

    ``name`` is what its delivery is called; ``phone`` and ``by`` are whose it is. ``at`` is when it
    was begun, by the house's clock. Either ``text`` or ``sound``, the file it lies in, is there.
    ``length_s`` is how long the phone recorded. ``cut`` tells that the recording was broken off,
    ``unheard`` that the speaker had not heard the reply before; ``settles`` is the id of what is
    settled by it. ``arrived`` orders what waits.
    """

    name: str
    phone: str
    by: str
    at: datetime
    arrived: float
    text: str | None = None
    sound: Path | None = None
    length_s: float | None = None
    cut: bool = False
    unheard: bool = False
    settles: str | None = None

    def as_json(self) -> dict[str, Any]:
        """Return it in plain fields; the sound by the name of its file alone."""
        sound = None if self.sound is None else self.sound.name
        return {**asdict(self), "at": self.at.isoformat(), "sound": sound}

    @classmethod
    def from_json(cls, fields: dict[str, Any], sounds: Path) -> Self:
        """Return the note of such fields, whose sound lies in the folder ``sounds``.

        Raises:
            BadNoteError: they are no note.
        """
        try:
            sound = fields["sound"] and sounds / Path(fields["sound"]).name
            at = datetime.fromisoformat(fields["at"])
            return cls(**{**fields, "at": at, "sound": sound or None})
        except (TypeError, KeyError, ValueError) as fault:
            raise BadNoteError("a note that waits cannot be read") from fault

    def moved_by(self, offset: timedelta) -> Self:
        """Return it at another time."""
        return replace(self, at=self.at + offset)


def time_of(text: str | None, what: str) -> datetime:
    """Return a time that a phone sent, with its offset.

    Raises:
        BadNoteError: it is none, or none that can be.
    """
    try:
        at = datetime.fromisoformat(text or "")
    except ValueError:
        at = None
    if at is None or at.utcoffset() is None or not _FIRST_YEAR <= at.year < _LAST_YEAR:
        raise BadNoteError(f"{what} is no time with its offset")
    return at
