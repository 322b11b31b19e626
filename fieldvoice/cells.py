"""Reads the cells of a table file as text, row by row: CSV however it was written, and .xlsx."""

from __future__ import annotations

import csv
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any

from fieldvoice.errors import FieldvoiceError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

#: A row as it stands in the file: its number, counted from 1 as spreadsheets do, and its cells.
Row = tuple[int, list[str]]

_DELIMITERS = ",;\t|"
#: So much of a file shows how it is written.
_LOOKED_AT = 64 * 1024
#: The byte orders that a file may begin with a mark for.
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))


class SheetError(FieldvoiceError):
    """A file that is no table that can be read; the text says why."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet. ``rows`` begins at the top whenever it is called, and holds one row at a time."""

    file: Path
    name: str
    delimiter: str
    rows: Callable[[], Iterator[Row]]

    @property
    def place(self) -> str:
        """What the sheet is called where something is told of it."""
        return f"{self.file.name}, {self.name}" if self.name else self.file.name


def sheets_of(path: Path) -> list[Sheet]:
    """Return the sheets of a file.

    Raises:
        SheetError: it cannot be read, or is of a kind that is not read.
    """
    if path.suffix.lower() in (".xlsx", ".xlsm"):
        return _workbook(path)
    if path.suffix.lower() in (".xls", ".ods", ".numbers"):
        raise SheetError(f"{path}: this kind of file is not read; save it as CSV or .xlsx.")
    try:
        with path.open("rb") as file:
            head = file.read(_LOOKED_AT)
    except OSError as fault:
        raise SheetError(f"{path}: {fault.strerror}.") from None
    encoding = _encoding(path, head)
    delimiter = _delimiter(head.decode(encoding, errors="ignore"))

    def rows() -> Iterator[Row]:
        with path.open(encoding=encoding, newline="") as file:
            reader = csv.reader((line.replace("\0", "") for line in file), delimiter=delimiter)
            number = 1
            try:
                for cells in reader:
                    yield number, [cell.strip() for cell in cells]
                    number += 1
            except (UnicodeDecodeError, csv.Error) as fault:
                raise SheetError(f"{path}, row {number}: it is no text ({fault}).") from None

    return [Sheet(path, "", delimiter, rows)]


def _encoding(path: Path, head: bytes) -> str:
    """Return how the text of a file is written: by its mark, or the first that fits all of it."""
    for mark, name in _MARKS:
        if head.startswith(mark):
            return name
    if b"\0" in head:
        return "utf-16-le" if head[1:2] == b"\0" else "utf-16-be"
    try:
        with path.open(encoding="utf-8") as file:
            while file.read(_LOOKED_AT):
                pass
    except UnicodeDecodeError:
        # What spreadsheets of western Europe and America write that do not write Unicode. Five
        # bytes have no letter there; Latin-1 has one for each.
        return "cp1252" if not set(head) & set(b"\x81\x8d\x8f\x90\x9d") else "latin-1"
    return "utf-8"


def _delimiter(text: str) -> str:
    """Return what separates the cells: what cuts most lines into the same number of them."""
    lines = [line for line in text.splitlines()[:200] if line.strip()]

    def evenness(mark: str) -> tuple[int, int]:
        cuts = [len(row) for row in csv.reader(lines, delimiter=mark)]
        usual = max(set(cuts), key=cuts.count, default=1)
        return (cuts.count(usual) if usual > 1 else 0, usual)

    try:
        return max(_DELIMITERS, key=evenness)
    except csv.Error:
        return ","


def _workbook(path: Path) -> list[Sheet]:
    try:
        import openpyxl
    except ImportError:
        raise SheetError(
            f'{path}: reading .xlsx needs more: pip install "fieldvoice[sheets]"; or save as CSV.'
        ) from None

    @contextmanager
    def opened() -> Iterator[Any]:
        try:
            # Read as it is needed, and of formulas the values that were reckoned last.
            book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        except OSError as fault:
            raise SheetError(f"{path}: {fault.strerror or 'it cannot be read'}.") from None
        except Exception as fault:  # whatever a broken file makes the library stumble over
            raise SheetError(f"{path}: it is no workbook ({fault}).") from None
        try:
            yield book
        finally:
            book.close()

    def rows_of(name: str) -> Callable[[], Iterator[Row]]:
        def rows() -> Iterator[Row]:
            with opened() as book:
                for number, cells in enumerate(book[name].iter_rows(values_only=True), start=1):
                    yield number, [_text(cell) for cell in cells]

        return rows

    with opened() as book:
        names = [sheet.title for sheet in book.worksheets]
    alone = len(names) == 1
    return [Sheet(path, "" if alone else name, "", rows_of(name)) for name in names]


def _text(value: Any) -> str:
    """Return a workbook's value as a CSV in ISO dates and decimal points would have it."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        midnight = value.time() == time()
        return value.date().isoformat() if midnight else value.isoformat(" ", "minutes")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.isoformat("minutes")
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value).strip()
