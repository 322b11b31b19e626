"""What was saved, in as few words as possible: "Tree 12: nearly full, cloudy."."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from fieldvoice.schema import Act
from fieldvoice.schema.acts import Remind
from fieldvoice.segments import Sentence, Told, When, fact

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.schema import Meaning


def told(act: Act, now: datetime | None = None) -> Sentence:
    """Return one note as a sentence, with the time that it has as told at ``now``.

    Without ``now`` its time is left out: it stands beside the note, or nobody said it.
    """
    said = act.told(now) if isinstance(act, Remind) else act.told()
    return Sentence("fact", timed(said, act, now))


def as_said(acts: Iterable[Meaning], said_at: datetime | None) -> tuple[Meaning, ...]:
    """Return notes without the time that they only have from what is under review."""
    given = said_at.isoformat() if said_at else None
    return tuple(
        one.replace(at=None) if isinstance(one, Act) and one.at == given else one for one in acts
    )


def timed(told: Told, act: Act, now: datetime | None) -> Told:
    """Return what is told of a note with its time at the end, if it has one to be told."""
    if now is None or act.at is None:
        return told
    time = When(datetime.fromisoformat(act.at), now, "said")
    if not told.details:
        return Told((*told.head, time))
    if told.head or len(told.details) > 1:
        return Told(told.head, (*told.details, (time,)))
    return Told((), ((*told.details[0], time),))


def with_its_sound(remark: Act) -> Sentence:
    """Return the read-back of a remark whose words are unsure: its recording tells them."""
    return fact(remark.replace(text=None).told().head, ", with its sound")
