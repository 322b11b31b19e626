"""Notes out of the book and in again: ``notes.jsonl``, a CSV for each kind, and a README.

A note is known by an id that is the same in every book, so that nothing comes in twice; and what is
exported, imported into an empty book and exported again is the same to the byte.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING, Any, get_args

from fieldvoice.book.conflicts import ONCE, Standing, told_of
from fieldvoice.book.rows import (
    SOURCES,
    entry_from,
    entry_row,
    happened_at,
    name_of,
    utterance_row,
    written_time,
)
from fieldvoice.cells import SheetError, sheets_of
from fieldvoice.errors import BookError, FieldvoiceError
from fieldvoice.schema import Act, acts, meaning_from
from fieldvoice.telling import part_of, telling, untold
from fieldvoice.transcript import Transcript
from fieldvoice.whole_files import own_folder, write_whole

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

    from fieldvoice.book.book import Book
    from fieldvoice.cells import Sheet
    from fieldvoice.telling import Tell

Note = dict[str, Any]

_STATUSES = ("current", "corrected", "undone")
#: What is told of a note beside its own fields. ``happened_at`` is its ``at`` in the meaning: the
#: time that was said, where it was another than when it was said.
_ABOUT = (
    "id", "at", "status", "corrects", "corrected_by", "heard", "source", "by", "conversation",
    "happened_at",
)  # fmt: skip
#: How much of the time has gone by, measured, when notes to be exported are read, and when those
#: to be brought in are checked.
_READ, _CHECKED = 0.7, 0.3
#: Files with a note a line; all others are tables.
_OF_LINES = (".jsonl", ".json", "")
_DECIMAL_COMMA = re.compile(r"-?\d+,\d+")
#: What hears imported notes: by it, they are never what was said last in a conversation.
IMPORTED = "import"

_EXPORTED = """
SELECT e.*, v.utterance AS voided_by, o.note AS origin,
    u.at AS said_at, u.text, u.source, u.said_by, u.conversation
FROM entries AS e
JOIN utterances AS u ON u.id = e.utterance
LEFT JOIN voids AS v ON v.entry = e.id
LEFT JOIN origins AS o ON o.entry = e.id
ORDER BY e.id
"""


def exported(book: Book, tell: Tell = untold) -> list[Note]:
    """Return every note, in the order of when they were said; ``tell`` hears how many are read.

    Raises:
        BookError: the book cannot be read.
    """
    rows = [row for row in book.rows(_EXPORTED) if book.reads(row)]
    identity = book.identity
    ids = {row["id"]: row["origin"] or f"{identity}-{name_of('e', row['id'])}" for row in rows}
    corrects = _corrections(rows)
    corrected_by = {old: new for new, olds in corrects.items() for old in olds}
    notes = []
    for row in telling(rows, tell):
        by = corrected_by.get(row["id"])
        status = "current" if row["voided_by"] is None else "undone" if by is None else "corrected"
        old = corrects.get(row["id"], ())
        fields = entry_from(row).act.json_fields()
        about = {
            "id": ids[row["id"]], "at": row["said_at"], "status": status,
            "corrects": ids[old[0]] if old else None,
            "corrected_by": None if by is None else ids[by],
            "heard": row["text"], "source": row["source"], "by": row["said_by"],
            "conversation": row["conversation"], "happened_at": fields.pop("at", None),
        }  # fmt: skip
        known = {name: value for name, value in about.items() if value is not None}
        notes.append({**known, **fields})
    return sorted(notes, key=_by_time)


def _corrections(rows: Sequence[sqlite3.Row]) -> dict[int, list[int]]:
    """Return which notes each note took the place of: of one breath, the first of the first."""
    written: dict[int, list[int]] = {}
    voided: dict[int, list[int]] = {}
    for row in rows:
        written.setdefault(row["utterance"], []).append(row["id"])
        if row["voided_by"] is not None:
            voided.setdefault(row["voided_by"], []).append(row["id"])
    corrects: dict[int, list[int]] = {}
    for utterance, old in voided.items():
        new = written.get(utterance, [])
        for place, number in enumerate(old if new else ()):
            corrects.setdefault(new[min(place, len(new) - 1)], []).append(number)
    return corrects


def _by_time(note: Note) -> tuple[datetime, list[Any]]:
    digits = re.split(r"(\d+)", note["id"])
    return datetime.fromisoformat(note["at"]), [
        (int(one), "") if one.isdigit() else (-1, one) for one in digits
    ]


# Files.


def export(book: Book, folder: Path, tell: Tell = untold) -> int:
    """Write all notes into ``folder``, and return how many there are.

    ``tell`` hears meanwhile how much is done.

    Raises:
        BookError: the book cannot be read, or the folder cannot be written.
    """
    notes = exported(book, part_of(tell, 0.0, _READ))
    lines = "".join(json.dumps(note, ensure_ascii=False) + "\n" for note in notes)
    kinds = sorted({note["act"] for note in notes})
    try:
        own_folder(folder)
        write_whole(folder / "notes.jsonl", lines.encode("utf-8"))
        for kind in telling(kinds, part_of(tell, _READ, 1.0)):
            table = _table(kind, [note for note in notes if note["act"] == kind])
            # With its mark in front, so that spreadsheets take it for what it is.
            write_whole(folder / f"{kind}.csv", table.encode("utf-8-sig"))
        write_whole(folder / "README.txt", _README.encode("utf-8"))
    except OSError as fault:
        raise BookError(f"{folder} cannot be written: {fault.strerror}.") from fault
    return len(notes)


_README = """\
The notes of a season book of fieldvoice.

notes.jsonl   every note, one JSON object a line
*.csv         the same notes, a table for each kind, for spreadsheets (UTF-8)

A note has an id that is the same in every book. "at" is when it was said, "happened_at" when it
happened where that was said to be another time; both are ISO 8601 with the offset from UTC.
"status" is current, corrected (put right by the note "corrected_by") or undone (taken back).
"source" is how it came in: typed, memo, live, phone, or import. Volumes are US gallons, lengths
inches or feet, temperatures degrees Fahrenheit, sugar degrees Brix (g in 100 g), fill 0 to 1.

In the tables a text that a spreadsheet would take for a formula begins with an apostrophe, and
several trees in one field are separated by semicolons.

To bring them into a book:  fieldvoice book import FOLDER
Nothing comes in twice.
"""

# Tables.

_UNITS = {"_gal": "US gal", "_in": "in", "_ft": "ft", "_sqft": "sq ft", "_f": "degrees F"}
_PLAIN = {"brix": "sugar (Brix)", "fill": "fill (0 to 1)", "at": "said at",
          "happened_at": "happened at", "temp_f": "temperature (degrees F)"}  # fmt: skip
#: What a spreadsheet may take for a formula.
_FORMULA = re.compile(r"'*[=+\-@\t\r\n]")


def heading(name: str) -> str:
    """Return the name of a field as a table has it, with its unit."""
    if name in _PLAIN:
        return _PLAIN[name]
    for end, unit in sorted(_UNITS.items(), key=lambda one: -len(one[0])):
        if name.endswith(end):
            return f"{name.removesuffix(end).replace('_', ' ')} ({unit})"
    return name.replace("_", " ")


def _table(kind: str, notes: Sequence[Note]) -> str:
    own = [name for name in acts.ACTS[kind].model_fields if name not in ("act", "at")]
    used = [name for name in own if any(name in note for note in notes)]
    names = [*_ABOUT, "act", *used]
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([heading(name) for name in names])
    for note in notes:
        writer.writerow([_cell(note.get(name)) for name in names])
    return text.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, list):
        parts = [_plain(one) for one in value]
        simple = all(";" not in part and part == part.strip() for part in parts)
        return _safe("; ".join(parts) if simple and parts else json.dumps(value))
    return _plain(value) if not isinstance(value, str) else _safe(_plain(value))


def _plain(value: Any) -> str:
    """Return one value: a text as it stands, unless it would be read back as something else."""
    if not isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    return value if value and _unplain(value) == value else json.dumps(value, ensure_ascii=False)


def _unplain(text: str) -> Any:
    try:
        return json.loads(text)
    except ValueError:
        return text


def _safe(text: str) -> str:
    return f"'{text}" if _FORMULA.match(text) else text


def _unsafe(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell[1:]) else cell


# Bringing in.


@dataclass(slots=True)
class Imported:
    """What came of an import: how many notes are new, and were there; what could not be taken."""

    new: int = 0
    there: int = 0
    changed: int = 0
    faults: list[str] = field(default_factory=list)
    #: What speaks against notes that are here, and was left out for that.
    conflicts: list[str] = field(default_factory=list)


class _BadNoteError(FieldvoiceError):
    """A line or row that is no note."""


def import_notes(book: Book, paths: Iterable[Path], now: datetime, tell: Tell = untold) -> Imported:
    """Bring notes of exported files, or folders of them, into the book; nothing twice.

    What cannot be read is told of with its place, and the rest comes in. A note that is there and
    was put right or taken back in the files is so in the book too. ``tell`` hears meanwhile how
    much is done.

    Raises:
        BookError: the book cannot be written; nothing has then been.
    """
    told = Imported()
    notes: dict[str, Note] = {}
    records = [record for path in paths for record in _records(path)]
    for place, read in telling(records, part_of(tell, 0.0, _CHECKED)):
        try:
            note = _checked(read)
        except (ValueError, KeyError, TypeError, FieldvoiceError) as fault:
            told.faults.append(f"{place}: {_reason(fault)}")
            continue
        notes.setdefault(note["id"], note)
    with book.writing():
        _Importer(book, notes, now, told).bring_in(part_of(tell, _CHECKED, 1.0))
    return told


def _reason(fault: Exception) -> str:
    first = str(fault).split("\n", maxsplit=1)[0]
    return f"no note ({first})" if not isinstance(fault, FieldvoiceError) else str(fault)


def _records(path: Path) -> Iterator[tuple[str, Note | _BadNoteError]]:
    """Yield the notes of a file as it has them, or what is wrong, each with its place."""
    if path.is_dir():
        # The lines hold everything that the tables hold.
        lines = path / "notes.jsonl"
        files = [lines] if lines.is_file() else sorted(path.glob("*.csv"))
        if not files:
            why = "neither notes.jsonl nor a table is in this folder."
            yield str(path), _BadNoteError(why)
        for one in files:
            yield from _records(one)
        return
    try:
        if path.suffix.lower() in _OF_LINES:
            yield from _lines(path, path.read_text(encoding="utf-8-sig"))
        else:
            for sheet in sheets_of(path):
                yield from _rows(path, sheet)
    except SheetError as fault:
        yield str(path), _BadNoteError(str(fault).removeprefix(f"{path}: "))
    except (OSError, UnicodeDecodeError) as fault:
        reason = fault.strerror if isinstance(fault, OSError) else "it is no text"
        yield str(path), _BadNoteError(f"{reason}.")


def _lines(path: Path, text: str) -> Iterator[tuple[str, Note | _BadNoteError]]:
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        try:
            note = json.loads(line)
        except (ValueError, RecursionError):
            note = None
        is_one = isinstance(note, dict)
        yield f"{path}, line {number}", note if is_one else _BadNoteError("no JSON object.")


def _rows(path: Path, sheet: Sheet) -> Iterator[tuple[str, Note]]:
    names = {heading(name): name for name in (*_ABOUT, "act")}
    names["area sqft"] = "area_sqft"  # as tables had it before
    for kind in acts.ACTS.values():
        names |= {heading(name): name for name in kind.model_fields if name != "at"}
    rows = sheet.rows()
    _, columns = next(rows, (1, []))
    for number, cells in rows:
        note: Note = {"act": path.stem, "source": "import"}
        for column, cell in zip(columns, cells, strict=False):
            name = names.get(column)
            if name is not None and cell:
                note[name] = _value(name, _unsafe(cell), sheet.delimiter)
        yield f"{path}, row {number}", note


def _value(name: str, text: str, delimiter: str = ",") -> Any:
    if name in ("trees", "but"):
        whole = _unplain(text)
        return (
            whole if isinstance(whole, list) else [_unplain(one.strip()) for one in text.split(";")]
        )
    # As a spreadsheet writes it again: "TRUE", and "2,5" where semicolons part the cells.
    if text in ("TRUE", "True", "FALSE", "False") and name in _fields(bool):
        return text.lower() == "true"
    if delimiter == ";" and _DECIMAL_COMMA.fullmatch(text) and name in _fields(float):
        text = text.replace(",", ".")
    return _unplain(text)


@cache
def _fields(kind: type) -> frozenset[str]:
    """Return the fields of notes that hold values of a kind, and no text."""
    holds = {
        name: set(_kinds(field.annotation))
        for act in acts.ACTS.values()
        for name, field in act.model_fields.items()
    }
    return frozenset(name for name, kinds in holds.items() if kind in kinds and str not in kinds)


def _kinds(annotation: Any) -> Iterator[type]:
    parts = get_args(annotation)
    for part in parts:
        yield from _kinds(part)
    if not parts:
        yield annotation if isinstance(annotation, type) else type(annotation)


def _checked(read: Note | _BadNoteError) -> Note:
    """Return a note with all that it needs.

    Raises:
        ValueError: (also ``KeyError``, ``TypeError``, ``_BadNoteError``) it is none.
    """
    if isinstance(read, _BadNoteError):
        raise read
    note = dict(read)
    written_time(datetime.fromisoformat(note["at"]))
    _act_of(note)
    note.setdefault("status", "current")
    note.setdefault("source", "import")
    if note["status"] not in _STATUSES:
        raise _BadNoteError(f"its status is none of {', '.join(_STATUSES)}.")
    if note["source"] not in SOURCES:
        raise _BadNoteError(f"its source is none of {', '.join(SOURCES)}.")
    for name in ("id", "heard", "by", "conversation", "corrects", "corrected_by"):
        if not isinstance(note.get(name, ""), str):
            raise _BadNoteError(f"its {name} is no text.")
    if "id" not in note:
        content = json.dumps(note, sort_keys=True, ensure_ascii=True)
        note["id"] = f"row-{hashlib.sha256(content.encode('ascii')).hexdigest()[:16]}"
    return note


def _act_of(note: Note) -> Act:
    own = {name: value for name, value in note.items() if name not in _ABOUT}
    if "happened_at" in note:
        own["at"] = note["happened_at"]
    act = meaning_from(own)
    if not isinstance(act, Act):
        raise _BadNoteError("it is no note.")
    return act


class _Importer:
    """Writes notes into a book; the caller holds the write lock."""

    def __init__(self, book: Book, notes: Mapping[str, Note], now: datetime, told: Imported):
        self._book, self._notes, self._now, self._told = book, notes, now, told
        self._there, self._void = _known(book)
        self._before = frozenset(self._there)
        self._void_before = frozenset(self._void)
        self._standing = standing(book) if self._before else None
        self._left_out: set[str] = set()
        self._shown = _shown(book)
        self._gone: dict[str, list[str]] = {}
        for note in notes.values():
            if "corrects" in note:
                self._gone.setdefault(note["id"], []).append(note["corrects"])
            if "corrected_by" in note:
                self._gone.setdefault(note["corrected_by"], []).append(note["id"])

    def bring_in(self, tell: Tell) -> None:
        """Write the notes that are new, and take back those that were."""
        for note in telling(sorted(self._notes.values(), key=_by_time), tell):
            self._write(note, frozenset())
        for note in self._notes.values():
            if note["id"] in self._left_out:
                continue
            number = self._there[note["id"]]
            if note["status"] != "current" and number not in self._void:
                self._utterance(note, None, [number], self._now)
                self._told.changed += note["id"] in self._before

    def _write(self, note: Note, writing: frozenset[str]) -> None:
        """Write a note after those whose place it takes."""
        name = note["id"]
        if name in self._there or name in writing or name in self._left_out:
            self._told.there += name in self._before
            return
        if name in self._shown:
            self._shown_before(name)
            return
        old = dict.fromkeys(self._gone.get(note["id"], ()))
        for one in old:
            if one in self._notes and one not in self._there:
                self._write(self._notes[one], writing | {name})
        against = self._against(note, old)
        if against is not None:
            self._left_out.add(name)
            if against:
                self._show(name, against)
            return
        numbers = [self._there[one] for one in old if one in self._there]
        voids = [number for number in numbers if number not in self._void]
        self._there[name] = self._utterance(note, _act_of(note), voids, None)
        self._told.new += 1

    def _show(self, name: str, against: str) -> None:
        """Tell of a conflict, and put it into the review."""
        self._told.conflicts.append(against)
        number = self._book.next_number("utterances")
        row = utterance_row(
            at=self._now,
            source="import",
            heard=Transcript(against, recogniser=IMPORTED),
            outcome="kept",
            meanings=(),
            reply="",
            pending=None,
            focus={},
            resolves=None,
            findings=(),
            by=None,
            conversation=None,
        )
        self._book.insert("utterances", {"id": number, **row})
        self._book.insert("deliveries", {"utterance": number, "name": name})

    def _shown_before(self, name: str) -> None:
        """Tell of a conflict once more while it waits; one that was settled is no matter."""
        against = self._shown[name]
        self._left_out.add(name)
        self._told.conflicts += [against] if against else []
        self._told.there += not against

    def _against(self, note: Note, old: Iterable[str]) -> str | None:
        """Return what speaks against a note, "" where that was told of before it; else None."""
        if any(one in self._left_out for one in old):
            return ""
        act = _act_of(note)
        for one in old:
            if one in self._before and self._there[one] in self._void_before:
                return f"{told_of(act)} there, {self._instead_of(self._there[one])} here"
        if self._standing is None or note["status"] != "current":
            return None
        return self._standing.against(note["id"], happened_at(act, _said_at(note)), act)

    def _instead_of(self, number: int) -> str:
        """Return what was put here in the place of a note, or that it was taken back."""
        rows = self._book.rows(
            "SELECT * FROM entries WHERE id = ? OR utterance = "
            "(SELECT utterance FROM voids WHERE entry = ?) ORDER BY id",
            [number, number],
        )
        was, *now = [told_of(entry_from(row).act) for row in rows]
        return f"{' and '.join(now)} in the place of {was}" if now else f"{was} is taken back"

    def _utterance(
        self, note: Note, act: Act | None, voids: Sequence[int], at: datetime | None
    ) -> int:
        """Write one utterance with its note, or one that only takes back; return the note."""
        self._void.update(voids)
        return write_note(self._book, note, act, voids, at)


def _shown(book: Book) -> dict[str, str]:
    """Return the conflicts put into the review, by their notes; "" for what is settled."""
    rows = book.rows(
        "SELECT deliveries.name, text, EXISTS "
        "(SELECT 1 FROM utterances AS later WHERE later.resolves = utterances.id) AS settled "
        "FROM deliveries JOIN utterances ON utterances.id = deliveries.utterance "
        "WHERE recogniser = ?",
        [IMPORTED],
    )
    return {row["name"]: "" if row["settled"] else row["text"] for row in rows}


def _said_at(note: Note) -> datetime:
    return datetime.fromisoformat(note["at"])


def write_note(
    book: Book, note: Note, act: Act | None, voids: Sequence[int] = (), at: datetime | None = None
) -> int:
    """Write one utterance with its note, or one that only takes back; return the note's number.

    The caller holds the write lock.
    """
    said_at = at or _said_at(note)
    utterance, entry = book.next_number("utterances"), book.next_number("entries")
    row = utterance_row(
        at=said_at,
        source=note["source"] if act else "import",
        heard=Transcript(note.get("heard", "") if act else "", recogniser=IMPORTED),
        outcome="saved" if act else "done",
        meanings=[act or {"do": "undo"}],
        reply="",
        pending=None,
        focus={},
        resolves=None,
        findings=(),
        by=note.get("by"),
        conversation=note.get("conversation"),
    )
    # The time as it was written: the same instant may be told in several ways.
    row["at"] = row["at"] if at else note["at"]
    written = {"voids": list(voids)} if voids else {}
    written |= {"entries": [entry]} if act else {}
    book.insert("utterances", {"id": utterance, **row, "written": json.dumps(written)})
    for number in voids:
        book.insert("voids", {"entry": number, "utterance": utterance})
    if act is not None:
        own = {"id": entry, "utterance": utterance, **entry_row(act, said_at)}
        book.insert("entries", own)
        book.insert("origins", {"entry": entry, "note": note["id"]})
    return entry


def standing(book: Book, *, of_rows: bool = False) -> Standing:
    """Return what the book says before anything is brought in.

    For rows of a spreadsheet only what stands once matters (``of_rows``): there may be a million.
    """
    identity = book.identity
    some = f"AND act IN ({', '.join(map(repr, ONCE))}) " if of_rows else ""
    rows = book.rows(
        "SELECT e.*, o.note AS origin FROM entries AS e LEFT JOIN origins AS o ON o.entry = e.id "
        f"WHERE e.id NOT IN (SELECT entry FROM voids) {some}ORDER BY e.id"
    )
    entries = ((row, entry_from(row)) for row in rows if book.reads(row))
    return Standing(
        (row["origin"] or f"{identity}-{one.id}", one.at, one.act) for row, one in entries
    )


def _known(book: Book) -> tuple[dict[str, int], set[int]]:
    """Return the notes that are in the book, by their ids, and those taken back."""
    identity = book.identity
    there = {f"{identity}-{name_of('e', row['id'])}": row["id"] for row in book.rows(
        "SELECT id FROM entries")}  # fmt: skip
    there |= {row["note"]: row["entry"] for row in book.rows("SELECT entry, note FROM origins")}
    return there, {row["entry"] for row in book.rows("SELECT entry FROM voids")}
