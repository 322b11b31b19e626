"""Every note that can still be read in a broken book, into a new one.

The rows are read off the pages one by one (``pages``). Which table a row is of tells its checksum;
in a book from before there were any, its shape and the page that it stands on. A note whose own row
is gone is made again from the meaning that its utterance has of it.
"""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
import tempfile
from contextlib import closing, suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.book.book import Book
from fieldvoice.book.checksums import COLUMNS, KEYS, checksum
from fieldvoice.book.pages import Pages
from fieldvoice.book.rows import OUTCOMES, SOURCES, happened_at
from fieldvoice.errors import BookError
from fieldvoice.schema import Act, meaning_from
from fieldvoice.telling import part_of, telling, untold

if TYPE_CHECKING:
    from fieldvoice.book.pages import RawRow
    from fieldvoice.telling import Tell

Row = dict[str, Any]

#: How much of the time has gone by, measured, when the broken book is read.
_READ = 0.5
#: What another program or version may have left open beside the book.
_BESIDE = ("-wal", "-journal")
#: What an utterance is called whose own row is gone, while notes of it are there.
_LOST_WORDS = "(the words are lost)"
_TABLE_SQL = re.compile(r"CREATE TABLE \"?(\w+)\"?", re.IGNORECASE)
_IDENTITY = re.compile(r"[0-9a-f]{12}")
#: Tables that are told by shape alone have rows of so few values that any could be theirs.
_BY_PAGE = ("voids", "wording_uses", "forgotten_wordings", "origins", "deliveries")


@dataclass(slots=True)
class Salvaged:
    """What came of it: ids of the notes read, made again, and lost; how many words were lost."""

    notes: list[str] = field(default_factory=list)
    made_again: list[str] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)
    utterances: int = 0
    words_lost: int = 0


@dataclass(frozen=True, slots=True)
class Readable:
    """What can be read of a broken book: the rows of each table by key, made a book again."""

    rows: dict[str, dict[Any, Row]]
    identity: str | None
    told: Salvaged

    def write_into(self, book: Book, tell: Tell = untold) -> None:
        """Write all of it into an empty book; the caller holds the write lock."""
        if self.identity is not None:
            book.identify(self.identity)
        rows = [(table, row) for table in COLUMNS for _, row in sorted(self.rows[table].items())]
        for table, row in telling(rows, tell):
            book.insert(table, row)


def read_broken(broken: Path, tell: Tell = untold) -> Readable:
    """Return what can be read of a broken book; ``tell`` hears how much of it has been read.

    Raises:
        BookError: nothing of a book is in it.
    """
    try:
        pages = Pages(_settled(broken))
    except OSError as fault:
        raise BookError(f"{broken} cannot be read: {fault.strerror}.") from fault
    found, told = _found(pages, tell), Salvaged()
    if not found["utterances"] and not found["entries"]:
        raise BookError(f"{broken} is not a season book.")
    _complete(found, told)
    return Readable(found, _identity(pages), told)


def is_a_book(broken: Path) -> bool:
    """Whether there is anything of a book in a broken file."""
    try:
        return bool(read_broken(broken))
    except BookError:
        return False


def salvage(broken: Path, new: Path, tell: Tell = untold) -> Salvaged:
    """Write what can be read of ``broken`` into a new book at ``new``; ``broken`` is left alone.

    ``tell`` hears meanwhile how much is done.

    Raises:
        BookError: there is a file at ``new`` already, or nothing of a book in ``broken``.
    """
    if new.exists():
        raise BookError(f"{new} is there already; salvage makes a new book.")
    readable = read_broken(broken, part_of(tell, 0.0, _READ))
    with Book.open(new) as book, book.writing():
        readable.write_into(book, part_of(tell, _READ, 1.0))
    return readable.told


def _identity(pages: Pages) -> str | None:
    """Return what the book calls itself, if that can be read."""
    alone = [raw.values[0] for raw in pages.rows() if len(raw.values) == 1]
    return next((one for one in alone if isinstance(one, str) and _IDENTITY.fullmatch(one)), None)


def _found(pages: Pages, tell: Tell) -> dict[str, dict[Any, Row]]:
    """Return the rows of each table, by their keys; those with a right checksum come first."""
    of_page = _tables_of_pages(pages)
    sure: dict[str, dict[Any, Row]] = {table: {} for table in COLUMNS}
    likely: dict[str, dict[Any, Row]] = {table: {} for table in COLUMNS}
    for raw in (row for page in telling(pages.numbers, tell) for row in pages.rows_of(page)):
        known = _by_checksum(raw)
        if known is not None:
            sure[known[0]][known[1][KEYS[known[0]]]] = known[1]
            continue
        guessed = _by_shape(raw, of_page.get(raw.page))
        if guessed is not None:
            likely[guessed[0]].setdefault(guessed[1][KEYS[guessed[0]]], guessed[1])
    # A book has checksums or has none: beside rows that carry one, others are what an upgrade left.
    old = not any(sure.values())
    return likely if old else sure


def _settled(broken: Path) -> bytes:
    """Return the file's bytes, after what was open when it broke is brought to an end."""
    beside = [broken.with_name(broken.name + end) for end in _BESIDE]
    if not any(one.exists() and one.stat().st_size for one in beside):
        return broken.read_bytes()
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "book.db"
        shutil.copyfile(broken, copy)
        for one, end in zip(beside, _BESIDE, strict=True):
            if one.exists():
                shutil.copyfile(one, Path(f"{copy}{end}"))
        with suppress(sqlite3.Error), closing(sqlite3.connect(copy)) as connection:
            connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        return copy.read_bytes()


def _tables_of_pages(pages: Pages) -> dict[int, str]:
    """Return the tables that pages belong to, as far as the schema and the trees can be read."""
    of_page: dict[int, str] = {}
    schema = pages.tree(1) if pages.count else set()
    for raw in (row for page in schema for row in pages.rows_of(page)):
        if len(raw.values) == 5 and raw.values[0] == "table" and isinstance(raw.values[3], int):
            found = _TABLE_SQL.match(str(raw.values[4]))
            if found and found[1] in COLUMNS:
                of_page |= dict.fromkeys(pages.tree(raw.values[3]), found[1])
    return of_page


def _by_checksum(raw: RawRow) -> tuple[str, Row] | None:
    """Return the table and the row that a checksum at the end of the values is right for."""
    if not raw.values or not isinstance(raw.values[-1], str) or len(raw.values[-1]) != 20:
        return None
    for table, columns in COLUMNS.items():
        if len(columns) + 1 == len(raw.values):
            row = _row(table, raw, raw.values[:-1])
            if checksum(table, row) == raw.values[-1]:
                return table, row
    return None


def _by_shape(raw: RawRow, table_of_page: str | None) -> tuple[str, Row] | None:
    """Return the table and the row that values without a checksum look like."""
    for table, columns in COLUMNS.items():
        if table in _BY_PAGE and table != table_of_page:
            continue
        if not _FEWEST[table] <= len(raw.values) <= len(columns):
            continue
        row = _row(table, raw, raw.values)
        if _LOOKS[table](row):
            return table, row
    return None


def _row(table: str, raw: RawRow, values: tuple[Any, ...]) -> Row:
    row = dict(zip(COLUMNS[table], values, strict=False))
    key = KEYS[table]
    if row.get(key) is None:  # the number of the row stands in for a key that is one
        row[key] = raw.number
    if table == "utterances" and row.get("findings") is None:
        row["findings"] = "[]"
    return row


def _is_time(value: Any) -> bool:
    with suppress(ValueError, TypeError):
        return datetime.fromisoformat(value).utcoffset() is not None
    return False


def _is_json(value: Any) -> bool:
    with suppress(ValueError, TypeError):
        json.loads(value)
        return True
    return False


#: The values that a row of each table had in the first version, without those added since.
_FEWEST = {
    "utterances": 19, "entries": 5, "voids": 2, "memos": 3, "wordings": 5, "wording_uses": 2,
    "forgotten_wordings": 2, "origins": 2, "deliveries": 2,
}  # fmt: skip
_LOOKS: dict[str, Any] = {
    "utterances": lambda row: (
        _is_time(row["at"])
        and row["source"] in SOURCES
        and row["outcome"] in OUTCOMES
        and all(_is_json(row[name]) for name in ("words", "alternatives", "meanings", "focus"))
    ),
    "entries": lambda row: (
        isinstance(row["utterance"], int) and _is_time(row["at"]) and _act(row["fields"])
    ),
    "memos": lambda row: isinstance(row["sha256"], str) and _is_time(row["at"]),
    "wordings": lambda row: isinstance(row["utterance"], int) and _is_json(row["shape"]),
    "voids": lambda row: isinstance(row["utterance"], int),
    "wording_uses": lambda row: isinstance(row["wording"], int),
    "forgotten_wordings": lambda row: isinstance(row["utterance"], int),
    "origins": lambda row: isinstance(row["note"], str),
    "deliveries": lambda row: isinstance(row["name"], str),
}


def _act(fields: Any) -> Act | None:
    with suppress(ValueError, TypeError, AttributeError):
        act = meaning_from(json.loads(fields))
        return act if isinstance(act, Act) else None
    return None


def _complete(found: dict[str, dict[Any, Row]], told: Salvaged) -> None:
    """Make the rows a book again: what they are about is there, and what they say they wrote."""
    utterances, entries = found["utterances"], found["entries"]
    listed = {number: _listed(row.get("written")) for number, row in utterances.items()}
    of_utterance: dict[int, list[int]] = {}
    for number, row in sorted(entries.items()):
        of_utterance.setdefault(row["utterance"], []).append(number)
    told.notes = [f"e{number}" for number in sorted(entries)]
    for number, row in sorted(utterances.items()):
        gone = _notes_gone(row, listed[number], of_utterance.get(number, []))
        made = _made_again(row, gone, entries)
        told.made_again += [f"e{one}" for one in made]
        lost = [one for one in gone if one not in made] if len(made) < len(gone) else []
        told.lost += [f"a note of u{number}" if one is None else f"e{one}" for one in lost]
    _stand_in(found, told)
    about = {
        "voids": ("entry", "utterance"), "wordings": ("utterance", "settled_by"),
        "wording_uses": ("utterance", "wording"), "forgotten_wordings": ("wording", "utterance"),
        "origins": ("entry",), "deliveries": ("utterance",),
    }  # fmt: skip
    of = {"entry": "entries", "utterance": "utterances", "settled_by": "utterances",
          "wording": "wordings"}  # fmt: skip
    for table, names in about.items():
        found[table] = {
            key: row
            for key, row in found[table].items()
            if all(row[name] in found[of[name]] for name in names)
        }
    for row in utterances.values():
        row["resolves"] = row.get("resolves") if row.get("resolves") in utterances else None
    _list_anew(found)
    told.utterances = len(utterances) - told.words_lost


def _listed(written: Any) -> dict[str, list[int]]:
    with suppress(ValueError, TypeError):
        return dict(json.loads(written))
    return {}


def _notes_gone(row: Row, listed: dict[str, list[int]], there: list[int]) -> list[int | None]:
    """Return the numbers of the notes that an utterance wrote and that are gone.

    An utterance of an early book does not say which it wrote; None stands for those.
    """
    if listed:
        return [number for number in listed.get("entries", []) if number not in there]
    if row["outcome"] != "saved" or there:
        return []
    return [None for one in json.loads(row["meanings"]) if "act" in one]


def _made_again(row: Row, gone: list[int | None], entries: dict[Any, Row]) -> list[int]:
    """Make notes again from what their utterance meant; return their numbers."""
    acts = [act for one in json.loads(row["meanings"]) if (act := _act(json.dumps(one)))]
    there = [other for other in entries.values() if other["utterance"] == row["id"]] if gone else []
    if not gone or len(acts) != len(gone) + len(there):
        return []
    left = list(acts)
    for other in there:
        act = _act(other["fields"])
        if act in left:
            left.remove(act)
    if len(left) != len(gone):
        return []
    made = []
    for number, act in zip(gone, left, strict=True):
        number = max(entries, default=0) + 1 if number is None else number
        at = happened_at(act, datetime.fromisoformat(row["at"])).isoformat()
        entries[number] = {
            "id": number, "utterance": row["id"], "at": at, "act": act.act,
            "fields": json.dumps(act.json_fields(), ensure_ascii=False),
        }  # fmt: skip
        made.append(number)
    return made


def _stand_in(found: dict[str, dict[Any, Row]], told: Salvaged) -> None:
    """Put an empty utterance in the place of each one that is gone."""
    utterances, entries = found["utterances"], found["entries"]
    notes: dict[int, list[Row]] = {}
    for row in entries.values():
        notes.setdefault(row["utterance"], []).append(row)
    about = {row["utterance"] for table in ("voids", "wordings") for row in found[table].values()}
    last = max([*utterances, *notes, *about])
    at = "1970-01-01T00:00:00+00:00"
    for number in range(1, last + 1):
        if number in utterances:
            at = utterances[number]["at"]
            continue
        told.words_lost += 1
        own = notes.get(number, [])
        at = own[0]["at"] if own else at
        meanings = [json.loads(row["fields"]) for row in own]
        utterances[number] = {
            "id": number, "at": at, "source": "typed", "text": _LOST_WORDS, "words": "[]",
            "confidence": 1.0, "recogniser": "salvage", "alternatives": "[]",
            "outcome": "saved" if own else "done", "reply": "", "focus": "{}", "findings": "[]",
            "meanings": json.dumps(meanings, ensure_ascii=False),
        }  # fmt: skip


def _list_anew(found: dict[str, dict[Any, Row]]) -> None:
    """Let each utterance say what of that which it wrote is there."""
    listed: dict[int, dict[str, list[int]]] = {}
    for table, said_by in (
        ("entries", "utterance"), ("voids", "utterance"), ("wordings", "settled_by"),
        ("wording_uses", "utterance"), ("forgotten_wordings", "utterance"),
        ("deliveries", "utterance"),
    ):  # fmt: skip
        for key, row in sorted(found[table].items()):
            listed.setdefault(row[said_by], {}).setdefault(table, []).append(key)
    for number, row in found["utterances"].items():
        row["written"] = json.dumps(listed[number]) if number in listed else None
