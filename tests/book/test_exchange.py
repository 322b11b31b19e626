"""Notes out and in again: the same to the byte, nothing twice, nothing that a table would run."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldvoice.book import Book
from fieldvoice.book.exchange import _cell, _unsafe, _value, export, import_notes
from fieldvoice.book.verify import verify
from fieldvoice.cli.spreadsheets import is_own

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.book import Taken

NINE = datetime(2026, 3, 14, 9, tzinfo=UTC)
#: One note of each kind, as older programs stored them.
STORED = Path(__file__).parents[1] / "schema" / "stored_notes.jsonl"


@pytest.fixture
def told(book: Book, take: Callable[..., Taken]) -> Book:
    """A book with every kind of note, some put right, taken back, several at once."""
    notes = [json.loads(line) for line in STORED.read_text(encoding="utf-8").splitlines()]
    for place, note in enumerate(notes):
        take(book, note, at=NINE + timedelta(minutes=place), by="Ann", conversation="porch")
    half = {"act": "inspect", "tree": 1, "fill": 0.5}
    take(book, half, half)
    take(book, half, {**half, "tree": "=fire; tree"}, voids=["e1", "e2"])
    take(book, voids=["e3"])
    take(book, half, voids=["e4", "e5", "e6"])
    take(book, {"act": "remark", "text": "-2+3 and “quotes”, \n lines; '=4"}, source="live")
    return book


def everything(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.parametrize("tables", [False, True])
def test_out_in_and_out_again_is_the_same(told: Book, tmp_path: Path, tables: bool) -> None:
    """By the lines, and by the tables alone; the new book is sound and adds up to the same."""
    export(told, tmp_path / "one")
    came = [path for path in (tmp_path / "one").iterdir() if path.suffix == ".csv"]
    with Book.open(tmp_path / "new.db") as new:
        done = import_notes(new, came if tables else [tmp_path / "one"], NINE)
        assert (done.new, done.there, done.faults) == (len(told.entries(include_void=True)), 0, [])
        export(new, tmp_path / "two")
        assert len(new.entries()) == len(told.entries())
        assert new.season().trees.keys() == told.season().trees.keys()
    assert everything(tmp_path / "one") == everything(tmp_path / "two")
    assert verify(tmp_path / "new.db").sound


def test_nothing_comes_in_twice(told: Book, tmp_path: Path) -> None:
    """Not into the book it came from, not a second time, not by line and table both."""
    export(told, tmp_path / "one")
    count = len(told.entries(include_void=True))
    done = import_notes(told, [tmp_path / "one"], NINE)
    assert (done.new, done.there, done.changed) == (0, count, 0)
    with Book.open(tmp_path / "new.db") as new:
        for _ in range(2):
            import_notes(new, [tmp_path / "one", *(tmp_path / "one").glob("*.csv")], NINE)
        assert len(new.entries(include_void=True)) == count


def test_what_was_taken_back_since_is_taken_back(
    book: Book, take: Callable[..., Taken], tmp_path: Path
) -> None:
    take(book, {"act": "inspect", "tree": 1, "fill": 0.5})
    export(book, tmp_path / "one")
    take(book, voids=["e1"])
    export(book, tmp_path / "two")
    with Book.open(tmp_path / "new.db") as new:
        import_notes(new, [tmp_path / "one"], NINE)
        assert len(new.entries()) == 1
        assert import_notes(new, [tmp_path / "two"], NINE).changed == 1
        assert new.entries() == []
        assert import_notes(new, [tmp_path / "two"], NINE).changed == 0


def _both(tmp_path: Path) -> tuple[Book, Book]:
    return Book.open(tmp_path / "one.db"), Book.open(tmp_path / "two.db")


def test_two_books_become_one(take: Callable[..., Taken], tmp_path: Path) -> None:
    """Each takes the other's notes, in either order the same, and again nothing."""
    one, two = _both(tmp_path)
    with one, two:
        take(one, {"act": "gather", "tree": 9, "volume_gal": 2.5})
        take(two, {"act": "gather", "tree": 4, "volume_gal": 1.0}, at=NINE + timedelta(hours=1))
        export(one, tmp_path / "1")
        export(two, tmp_path / "2")
        for book, folder in ((one, "2"), (two, "1"), (one, "2")):
            told = import_notes(book, [tmp_path / folder], NINE)
            assert told.conflicts == []
        assert told.new == 0
        export(one, tmp_path / "both 1")
        export(two, tmp_path / "both 2")
    assert everything(tmp_path / "both 1") == everything(tmp_path / "both 2")


@pytest.mark.parametrize(
    ("here", "there"),
    [
        ({"act": "weather", "low_f": 24, "day": "2026-03-14"},
         {"act": "weather", "low_f": 20, "day": "2026-03-14"}),
        ({"act": "measure", "tree": 9, "diameter_in": 18}, {"act": "measure", "trees": [9, 10],
                                                             "diameter_in": 14}),
        ({"act": "measure", "tree": 9, "species": "sugar maple"},
         {"act": "measure", "tree": 9, "species": "red maple"}),
        ({"act": "vessel", "vessel": "tank 1", "capacity_gal": 50},
         {"act": "vessel", "vessel": "tank 1", "capacity_gal": 60}),
        ({"act": "name", "name": "big maple", "tree": 9}, {"act": "name", "name": "big maple",
                                                           "tree": 12}),
        ({"act": "gather", "tree": 9, "volume_gal": 2.5},
         {"act": "gather", "tree": 9, "volume_gal": 2.5}),
    ],
)  # fmt: skip
def test_what_two_books_say_differently_is_shown_and_not_decided(
    take: Callable[..., Taken], tmp_path: Path, here: Any, there: Any
) -> None:
    """The last of them: both heard the same note, a minute apart."""
    one, two = _both(tmp_path)
    with one, two:
        take(one, here)
        take(two, there, at=NINE + timedelta(minutes=1))
        export(two, tmp_path / "2")
        told = import_notes(one, [tmp_path / "2"], NINE)
        assert (told.new, len(told.conflicts)) == (0, 1)
        assert "here" in told.conflicts[0]
        assert [entry.act.json_fields() for entry in one.entries()] == [here]
        # It waits in the review, once however often it is brought in, until the family settles it.
        again = import_notes(one, [tmp_path / "2"], NINE)
        assert (again.new, again.there, again.conflicts) == (0, 0, told.conflicts)
        (waiting,) = one.kept()
        assert waiting.text == told.conflicts[0]
        take(one, notes=[], resolves=waiting.id)
        settled = import_notes(one, [tmp_path / "2"], NINE)
        assert (settled.new, settled.there, settled.conflicts) == (0, 1, [])
        assert one.kept() == []


def test_what_a_book_says_later_than_itself_is_no_conflict(
    take: Callable[..., Taken], tmp_path: Path
) -> None:
    one, two = _both(tmp_path)
    with one, two:
        for gallons in (50, 60):
            take(two, {"act": "vessel", "vessel": "tank 1", "capacity_gal": gallons})
            export(two, tmp_path / "2")
            told = import_notes(one, [tmp_path / "2"], NINE)
            assert (told.new, told.conflicts) == (1, [])


def test_a_note_put_right_in_both_books_is_shown(
    take: Callable[..., Taken], tmp_path: Path
) -> None:
    """It counts once, as it was put right here."""
    one, two = _both(tmp_path)
    with one, two:
        take(one, {"act": "gather", "tree": 9, "volume_gal": 2.5})
        export(one, tmp_path / "1")
        import_notes(two, [tmp_path / "1"], NINE)
        take(one, {"act": "gather", "tree": 9, "volume_gal": 3.5}, voids=["e1"])
        take(two, {"act": "gather", "tree": 9, "volume_gal": 4.5}, voids=["e1"])
        export(two, tmp_path / "2")
        told = import_notes(one, [tmp_path / "2"], NINE)
        assert told.new == 0
        (conflict,) = told.conflicts
        assert all(gallons in conflict for gallons in ("2.5 gal", "3.5 gal", "4.5 gal"))
        assert one.season().trees[9].gathered_gal == 3.5


def test_a_bad_line_is_named_and_stops_nothing(book: Book, tmp_path: Path) -> None:
    path = tmp_path / "notes.jsonl"
    good = '{"at": "2027-03-10T10:00:00-05:00", "act": "inspect", "tree": 3, "fill": 1}'
    bad = ["{", "[]", '{"at": "2027-03-10T10:00:00-05:00", "act": "fly"}',
           '{"at": "yesterday", "act": "inspect", "tree": 3, "fill": 1}',
           '{"at": "2027-03-10T10:00:00-05:00", "act": "inspect", "tree": 3, "fill": 7}',
           '{"act": "inspect"}', "[" * 100_000]  # fmt: skip
    path.write_text("\n".join([*bad, good, "", good]), encoding="utf-8")
    done = import_notes(book, [path, tmp_path / "missing.csv"], NINE)
    assert done.new == 1
    assert len(done.faults) == len(bad) + 1
    assert all(f"line {n}" in told for n, told in enumerate(done.faults[:7], start=1))
    assert [one.act.json_fields()["tree"] for one in book.entries()] == [3]


def test_no_cell_is_a_formula(told: Book, tmp_path: Path) -> None:
    """A spreadsheet runs what begins with one of these; only numbers may."""
    export(told, tmp_path)
    for path in tmp_path.glob("*.csv"):
        with path.open(encoding="utf-8-sig", newline="") as file:
            for row in csv.DictReader(file):
                for cell in row.values():
                    if cell[:1] in "=+-@\t\r" and cell:
                        float(cell)


texts = st.text(st.characters(exclude_categories=["Cs"]), min_size=1)


@given(texts | st.integers(-(10**12), 10**12) | st.floats(allow_nan=False, allow_infinity=False))
@settings(max_examples=300)
def test_a_cell_is_read_as_it_was_written(value: Any) -> None:
    assert _value("text", _unsafe(_cell(value))) == value


@given(st.lists(texts | st.integers(0, 10**6), min_size=1))
def test_a_list_of_trees_is_read_as_it_was_written(trees: list[Any]) -> None:
    assert _value("trees", _unsafe(_cell(trees))) == trees


def _as_semicolons(table: Path) -> Path:
    """Write a table as spreadsheets do where the comma is the decimal sign."""
    rows = list(csv.reader(io.StringIO(table.read_text(encoding="utf-8-sig"))))
    written = io.StringIO()
    writer = csv.writer(written, delimiter=";")
    for row in rows:
        cells = [
            cell.replace(".", ",") if re.fullmatch(r"\d+\.\d+", cell) else cell for cell in row
        ]
        writer.writerow("TRUE" if cell == "true" else cell for cell in cells)
    again = table.with_name(f"again_{table.name}")
    again.write_bytes(written.getvalue().encode("cp1252"))
    return again


def _as_tabs(table: Path) -> Path:
    rows = csv.reader(io.StringIO(table.read_text(encoding="utf-8-sig")))
    again = table.with_name(f"again_{table.stem}.txt")
    again.write_text("\n".join("\t".join(row) for row in rows), encoding="utf-16")
    return again


def _as_workbook(table: Path) -> Path:
    openpyxl = pytest.importorskip("openpyxl", reason="the extra sheets is not installed")
    book = openpyxl.Workbook()
    for row in csv.reader(io.StringIO(table.read_text(encoding="utf-8-sig"))):
        book.active.append([
            float(cell) if re.fullmatch(r"\d+(\.\d+)?", cell)
            else {"true": True}.get(cell, cell or None)
            for cell in row
        ])  # fmt: skip
    again = table.with_name(f"again_{table.stem}.xlsx")
    book.save(again)
    return again


@pytest.mark.parametrize("again", [_as_semicolons, _as_tabs, _as_workbook])
def test_a_table_that_a_spreadsheet_wrote_again_comes_in_the_same(
    take: Callable[..., Taken], tmp_path: Path, again: Callable[[Path], Path]
) -> None:
    """However it parts the cells, writes its numbers and letters; no guess is made of columns."""
    one, two = _both(tmp_path)
    with one, two:
        take(one, {"act": "gather", "tree": "Zoë's", "volume_gal": 2.5})
        take(one, {"act": "gather", "all": True, "volume_gal": 40.0})
        take(one, {"act": "gather", "trees": [3, 4], "volume_gal": 1.0, "sap": "clear"})
        take(one, {"act": "remark", "text": "the gate; 2,5 m, and more", "tree": 3})
        export(one, tmp_path / "1")
        tables = [again(table) for table in (tmp_path / "1").glob("*.csv")]
        assert not any(is_own(table) for table in tables)
        told = import_notes(two, tables, NINE)
        assert (told.new, told.faults) == (4, [])
        export(two, tmp_path / "2")
    kept = (tmp_path / "1" / "notes.jsonl").read_bytes()
    assert (tmp_path / "2" / "notes.jsonl").read_bytes() == kept
