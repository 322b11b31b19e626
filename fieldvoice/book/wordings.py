"""Wordings that a book has learnt: from which words, by whose yes, and whether they still count.

A wording counts as long as every note that it taught or made is in the book as it was written, and
nobody had it forgotten. That is read from the journal each time, never stored.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from fieldvoice.book.rows import name_of, number_of

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping, Sequence

# The notes of an utterance, and of the one that answered what it asked.
_NOTES_OF = """
SELECT entries.id FROM entries JOIN utterances ON utterances.id = entries.utterance
WHERE utterances.id = {of} OR utterances.resolves = {of}
"""

ALL_WORDINGS = f"""
SELECT w.*, said.text AS said, taught.at AS at, forgotten.utterance AS forgotten_by,
    (SELECT max(uses.utterance) FROM wording_uses AS uses WHERE uses.wording = w.id) AS used_by,
    EXISTS (SELECT 1 FROM voids WHERE voids.entry IN ({_NOTES_OF.format(of="w.settled_by")}))
    OR EXISTS (
        SELECT 1 FROM wording_uses AS uses
        JOIN utterances AS u ON u.id = uses.utterance OR u.resolves = uses.utterance
        JOIN entries ON entries.utterance = u.id
        JOIN voids ON voids.entry = entries.id
        WHERE uses.wording = w.id
    ) AS taken_back
FROM wordings AS w
JOIN utterances AS said ON said.id = w.utterance
JOIN utterances AS taught ON taught.id = w.settled_by
LEFT JOIN forgotten_wordings AS forgotten ON forgotten.wording = w.id
ORDER BY w.id
"""


@dataclass(frozen=True, slots=True)
class Taught:
    """A wording to be written down; ``utterance_id`` said it, None for the one being written."""

    masked: str
    shape: Sequence[Mapping[str, Any]]
    utterance_id: str | None = None


@dataclass(frozen=True, slots=True)
class LearntWording:
    """A wording in the book.

    ``utterance_id`` had the words ``said``, ``settled_by`` the yes at ``at``; ``used_by`` is the
    last utterance that was read by it. ``forgotten_by`` is the utterance that had it forgotten;
    ``taken_back`` tells that a note it made or came from was taken back or put right.
    """

    id: str
    utterance_id: str
    settled_by: str
    at: datetime
    said: str
    masked: str
    shape: tuple[dict[str, Any], ...]
    used_by: str | None = None
    forgotten_by: str | None = None
    taken_back: bool = False

    @property
    def counts(self) -> bool:
        """Whether it is gone by."""
        return self.forgotten_by is None and not self.taken_back

    @property
    def last_met(self) -> int:
        """The number of the utterance that learnt it or used it last."""
        return number_of("u", self.used_by or self.settled_by)


def wording_row(taught: Taught, settled_by: int) -> dict[str, Any]:
    """Return the columns of a new wording."""
    said = taught.utterance_id
    return {
        "utterance": settled_by if said is None else number_of("u", said),
        "settled_by": settled_by,
        "masked": taught.masked,
        "shape": json.dumps([dict(fields) for fields in taught.shape], ensure_ascii=False),
    }


def wording_from(row: sqlite3.Row) -> LearntWording:
    """Return the wording that a row of ``ALL_WORDINGS`` holds."""
    return LearntWording(
        id=name_of("w", row["id"]),
        utterance_id=name_of("u", row["utterance"]),
        settled_by=name_of("u", row["settled_by"]),
        at=datetime.fromisoformat(row["at"]),
        said=row["said"],
        masked=row["masked"],
        shape=tuple(json.loads(row["shape"])),
        used_by=_utterance(row["used_by"]),
        forgotten_by=_utterance(row["forgotten_by"]),
        taken_back=bool(row["taken_back"]),
    )


def _utterance(number: int | None) -> str | None:
    return None if number is None else name_of("u", number)
