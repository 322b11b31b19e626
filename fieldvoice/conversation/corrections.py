"""Taking back and putting right. Nothing is erased: a note taken back stays in the history."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldvoice.conversation.fields import changed, number_into
from fieldvoice.conversation.focus import Focus
from fieldvoice.conversation.readback import readback
from fieldvoice.conversation.turn import Moment, Turn
from fieldvoice.meaning import Act, meaning_from

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.book import Entry, Utterance
    from fieldvoice.meaning import Command, Meaning

#: Outcomes that left nothing in the book; taking them back drops the words from the review.
_NOTHING_WRITTEN = ("kept", "asked")


def undo(moment: Moment, command: Command) -> Turn:
    """Take back the last thing said; said again, the one before, several steps back.

    Words just kept or a question just asked are dropped; a tree just named is forgotten; else the
    notes of the last utterance that still has any. A correction taken back brings the old note
    back.
    """
    last = moment.last
    if last is not None and last.outcome in _NOTHING_WRITTEN:
        return Turn(
            "done", "Dropped.", (command,), resolves=last.id, focus=moment.focus
        )  # fmt: skip
    if last is not None and _only_named(last):
        return Turn("done", "Forgotten.", (command,), focus=Focus())
    entries = moment.book.entries()
    if not entries:
        return Turn("done", "Nothing to take back.", (command,), focus=moment.focus)
    taken = [entry for entry in entries if entry.utterance_id == entries[-1].utterance_id]
    restored = _corrected_by(moment, taken[0].utterance_id)
    told = " ".join(readback(entry.act, moment.settings.metric) for entry in taken)
    text = f"Took back: {told}"
    if restored:
        text += f" Again: {' '.join(readback(act, moment.settings.metric) for act in restored)}"
    return Turn(
        "done",
        text,
        (command,),
        notes=restored,
        voids=tuple(entry.id for entry in taken),
        focus=moment.focus.after(restored or tuple(e.act for e in taken), moment.now),
    )


def _only_named(last: Utterance) -> bool:
    return bool(last.meanings) and all("mention" in meaning for meaning in last.meanings)


def _corrected_by(moment: Moment, utterance_id: str) -> tuple[Act, ...]:
    """Return the notes that a correction put away, at the times they had."""
    utterance = moment.book.utterance(utterance_id)
    if not any(meaning.get("do") == "correct" for meaning in utterance.meanings):
        return ()
    everything = moment.book.entries(include_void=True)
    return tuple(_at_its_time(entry) for entry in everything if entry.voided_by == utterance_id)


def _at_its_time(entry: Entry, act: Act | None = None) -> Act:
    """Return the act (left out: the entry's own) with the time at which it happened."""
    dated: Act = (act or entry.act).replace(at=entry.at.isoformat())
    return dated


def to_correct(moment: Moment, command: Command) -> tuple[Entry, Act] | Meaning | None:
    """Return what a correction is about, changed: a note with its entry, or a question or name.

    It is about the last thing said, passing over commands such as "say that again". When that was
    not understood, nothing is corrected: the note before it was not meant.
    """
    for utterance in reversed(moment.book.utterances(newest=6)):
        if utterance.outcome in _NOTHING_WRITTEN:
            return None
        of_it = [e for e in moment.book.entries() if e.utterance_id == utterance.id]
        for entry in reversed(of_it):
            new = changed(entry.act, _named_for(entry.act, command.fields))
            if isinstance(new, Act):
                return entry, _at_its_time(entry, new)
        if of_it:
            return None
        for fields in reversed(utterance.meanings):
            if "ask" in fields or "mention" in fields:
                said = meaning_from(fields)
                return changed(said, command.fields)
    return None


def _named_for(act: Act, fields: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return corrected fields with a bare number put where it belongs: "no, sixteen".

    It belongs to the one number in the note; with two of them nobody can tell.
    """
    if "number" not in fields:
        return fields
    numbers = [
        name
        for name, value in act.json_fields().items()
        if isinstance(value, int | float) and not isinstance(value, bool) and name != "fill"
    ]
    return number_into(numbers[0], fields["number"], act) if len(numbers) == 1 else {}
