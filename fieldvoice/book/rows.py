"""The book's values, and how each is written to and read from its row."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any, Literal, TypeVar, get_args

from fieldvoice.book.checksums import is_as_written
from fieldvoice.calendar_ends import with_room
from fieldvoice.errors import BookError
from fieldvoice.schema import ACTS, Act
from fieldvoice.transcript import AudioSpan, NBestEntry, Transcript, Word

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Mapping, Sequence

    from fieldvoice.schema import Meaning

Value = TypeVar("Value")

Source = Literal["typed", "memo", "live", "phone", "import"]
SOURCES = get_args(Source)
OUTCOMES = ("saved", "answered", "done", "asked", "kept")


@dataclass(frozen=True, slots=True)
class Utterance:
    """One row of the journal: what was heard, what was made of it, what was answered.

    ``at`` carries its offset. ``pending`` is the question left open after this utterance, if any;
    ``focus`` what was being talked about: ``{"tree": 12}``, ``{"vessel": "tank 2"}`` or ``{}``.
    ``resolves`` is the id of the kept or asked utterance that this one settled. ``findings`` are
    what the rules said of it, as plain fields. ``by`` is who said it and ``conversation`` the name
    of the talk that it belongs to, where they are known.
    """

    id: str
    at: datetime
    source: Source
    text: str
    audio: AudioSpan | None
    recogniser: str
    confidence: float
    fit: float | None
    alternatives: tuple[NBestEntry, ...]
    outcome: str
    meanings: tuple[dict[str, Any], ...]
    reply: str
    pending: dict[str, Any] | None = None
    focus: dict[str, Any] = field(default_factory=dict)
    resolves: str | None = None
    words: tuple[Word, ...] = ()
    findings: tuple[dict[str, Any], ...] = ()
    by: str | None = None
    conversation: str | None = None

    @property
    def heard(self) -> Transcript:
        """What was heard, as it came from hearing."""
        return Transcript(
            text=self.text,
            words=self.words,
            confidence=self.confidence,
            alternatives=self.alternatives,
            fit=self.fit,
            recogniser=self.recogniser,
            audio=self.audio,
        )


@dataclass(frozen=True, slots=True)
class Entry:
    """One note in the book.

    ``at`` is when it happened: the time said, or else the utterance's. ``voided_by`` is the id of
    the utterance that took it back.
    """

    id: str
    utterance_id: str
    at: datetime
    act: Act
    voided_by: str | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """The ids given to an utterance and, in order, to its notes."""

    utterance_id: str
    records: tuple[str, ...]


#: What the first letter of an id stands for.
_KINDS = {"u": "utterance", "e": "note", "w": "wording"}


def name_of(kind: Literal["u", "e", "w"], number: int) -> str:
    """Return the id of row ``number``: "u12" an utterance, "e12" an entry, "w12" a wording."""
    return f"{kind}{number}"


def number_of(kind: Literal["u", "e", "w"], name: str) -> int:
    """Return the row number that an id stands for.

    Raises:
        BookError: it is no such id.
    """
    digits = name[1:]
    # Row numbers have at most 18 digits: SQLite's integers end there.
    if name[:1] == kind and digits.isascii() and digits.isdigit() and len(digits) <= 18:
        return int(digits)
    raise BookError(f"There is no {_KINDS[kind]} {name!r} in the book.")


def written_time(at: datetime) -> str:
    """Return ISO 8601 with offset.

    Raises:
        ValueError: the time has no offset, so nobody could say later when it was.
    """
    if at.utcoffset() is None:
        raise ValueError(f"a time in the book needs its offset, got {at.isoformat()}")
    return at.isoformat()


def happened_at(act: Act, said_at: datetime) -> datetime:
    """Return when the act happened: the time said, or when it was said.

    A time said without an offset is taken to be in the speaker's.

    Raises:
        BookError: the act's time is not ISO 8601.
    """
    if act.at is None:
        return said_at
    try:
        at = datetime.fromisoformat(act.at)
    except ValueError:
        raise BookError(f"{act.at!r} is not a time; nothing was written to the book.") from None
    return at if at.utcoffset() is not None else at.replace(tzinfo=said_at.tzinfo)


def utterance_row(
    *,
    at: datetime,
    source: Source,
    heard: Transcript,
    outcome: str,
    meanings: Sequence[Meaning | Mapping[str, Any]],
    reply: str,
    pending: Mapping[str, Any] | None,
    focus: Mapping[str, Any],
    resolves: str | None,
    findings: Sequence[Mapping[str, Any]],
    by: str | None,
    conversation: str | None,
) -> dict[str, Any]:
    """Return the columns of a new journal row."""
    audio = heard.audio
    return {
        "at": written_time(at),
        "source": source,
        "text": heard.text,
        "words": _json([[w.text, w.start_s, w.end_s, w.confidence] for w in heard.words]),
        "confidence": heard.confidence,
        "fit": heard.fit,
        "recogniser": heard.recogniser,
        "alternatives": _json([[a.text, a.score] for a in heard.alternatives]),
        "audio_file": audio.file if audio else None,
        "audio_sha256": audio.sha256 if audio else None,
        "audio_start_ms": milliseconds(audio.start_s) if audio else None,
        "audio_end_ms": milliseconds(audio.end_s) if audio else None,
        "outcome": outcome,
        "meanings": _json([_fields(meaning) for meaning in meanings]),
        "reply": reply,
        "pending": None if pending is None else _json(dict(pending)),
        "focus": _json(dict(focus)),
        "resolves": None if resolves is None else number_of("u", resolves),
        "findings": _json([dict(finding) for finding in findings]),
        "said_by": by,
        "conversation": conversation,
    }


def entry_row(act: Act, said_at: datetime) -> dict[str, Any]:
    """Return the columns of a new entry, without its utterance."""
    return {
        "at": written_time(happened_at(act, said_at)),
        "act": act.act,
        "fields": _json(act.json_fields()),
    }


def utterance_from(row: sqlite3.Row) -> Utterance:
    """Return the utterance that a journal row holds.

    Raises:
        BadRowError: it is not as it was written, or cannot be read.
    """
    name = name_of("u", row["id"])
    if not is_as_written("utterances", row):
        raise BadRowError(name, f"Utterance {name} is not as it was written")
    try:
        return _utterance_from(row)
    except (ValueError, TypeError) as fault:
        raise BadRowError(name, f"Utterance {name} cannot be read") from fault


def _utterance_from(row: sqlite3.Row) -> Utterance:
    return Utterance(
        id=name_of("u", row["id"]),
        at=with_room(datetime.fromisoformat(row["at"])),
        source=row["source"],
        text=row["text"],
        audio=_audio_from(row),
        recogniser=row["recogniser"],
        confidence=row["confidence"],
        fit=row["fit"],
        alternatives=tuple(NBestEntry(*pair) for pair in json.loads(row["alternatives"])),
        outcome=row["outcome"],
        meanings=tuple(json.loads(row["meanings"])),
        reply=row["reply"],
        pending=None if row["pending"] is None else json.loads(row["pending"]),
        focus=json.loads(row["focus"]),
        resolves=None if row["resolves"] is None else name_of("u", row["resolves"]),
        words=tuple(Word(*word) for word in json.loads(row["words"])),
        findings=tuple(json.loads(row["findings"])),
        by=row["said_by"],
        conversation=row["conversation"],
    )


def entry_from(row: sqlite3.Row) -> Entry:
    """Return the entry that a row holds, as not voided.

    Raises:
        BadRowError: it is not as it was written, or its fields make no act known to this program.
    """
    name = name_of("e", row["id"])
    if not is_as_written("entries", row):
        raise BadRowError(name, f"Note {name} is not as it was written")
    try:
        act = ACTS[row["act"]].model_validate_json(row["fields"])
        at = with_room(datetime.fromisoformat(row["at"]))
        utterance = name_of("u", int(row["utterance"]))
    except (ValueError, TypeError, KeyError) as fault:  # a page of noise leaves any kind of value
        raise BadRowError(name, f"Note {name} cannot be read") from fault
    if at.utcoffset() is None:
        raise BadRowError(name, f"Note {name} is not a note")
    return Entry(id=name, utterance_id=utterance, at=at, act=act)


class BadRowError(BookError):
    """A row that cannot be gone by: ``row`` is its id. It stops nothing but itself."""

    def __init__(self, row: str, told: str) -> None:
        super().__init__(f"{told}, and is left out. See: fieldvoice book verify")
        self.row = row


#: Takes a fault in a row that was met with while reading.
OnBadRow = Callable[[BadRowError], None]


def readable(
    rows: Iterable[sqlite3.Row], read: Callable[[sqlite3.Row], Value], on_bad: OnBadRow
) -> list[Value]:
    """Return what the rows hold, without those that cannot be read; each of them is told of."""
    found = []
    for row in rows:
        try:
            found.append(read(row))
        except BadRowError as bad:
            on_bad(bad)
    return found


def milliseconds(seconds: float) -> int:
    """Return whole milliseconds, the grain at which places in a recording are told apart."""
    return round(seconds * 1000)


def _audio_from(row: sqlite3.Row) -> AudioSpan | None:
    if row["audio_sha256"] is None:
        return None
    return AudioSpan(
        file=row["audio_file"],
        sha256=row["audio_sha256"],
        start_s=row["audio_start_ms"] / 1000,
        end_s=row["audio_end_ms"] / 1000,
    )


def _fields(meaning: Meaning | Mapping[str, Any]) -> dict[str, Any]:
    return meaning.json_fields() if hasattr(meaning, "json_fields") else dict(meaning)


def _json(value: Any) -> str:
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False)
    except ValueError as fault:
        raise BookError("A number in the note is not finite; nothing was written.") from fault
