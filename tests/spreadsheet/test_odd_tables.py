"""What people do to tables, each by itself: what comes in, what is in doubt, what is told."""

from __future__ import annotations

import csv
import os
import subprocess
import sys
import tracemalloc
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest

from fieldvoice.book import Book
from fieldvoice.cells import sheets_of
from fieldvoice.dialogue import Settings
from fieldvoice.dialogue.context import TurnContext
from fieldvoice.dialogue.focus import Focus
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.spreadsheet.amounts import Numerals
from fieldvoice.spreadsheet.bring_in import bring_in
from fieldvoice.spreadsheet.columns import ColumnError, shown, with_column, with_columns, written
from fieldvoice.spreadsheet.dates import written_day
from fieldvoice.spreadsheet.guess import guesses
from fieldvoice.spreadsheet.headings import heading
from fieldvoice.spreadsheet.layout import layout_of
from fieldvoice.spreadsheet.rows import DoubtError, RowReader

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.spreadsheet.guess import Guess
    from tests.cli.conftest import Ran

TODAY = date(2027, 3, 5)


@pytest.fixture
def table(tmp_path: Path) -> Callable[..., list[Guess]]:
    def reading(text: str | bytes, name: str = "t.csv", metric: bool = False) -> list[Guess]:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return [
            guess
            for sheet in sheets_of(path)
            for guess in guesses(sheet, layout_of(sheet.rows()), TODAY, metric=metric)
        ]

    return reading


def notes(guess: Guess) -> list[Any]:
    """Return the fields of each row's notes with their day, or why it is in doubt."""
    reader = RowReader(guess, TODAY)
    found: list[Any] = []
    for number, cells in guess.sheet.rows():
        if not guess.first < number <= guess.last or reader.is_left_out(cells):
            continue
        try:
            found.append([{**one.fields, "on": f"{one.day}"} for one in reader.notes(cells)])
        except DoubtError as doubt:
            found.append(str(doubt))
    return found


@pytest.mark.parametrize(
    ("cell", "value", "unit"),
    [("2.5", 2.5, None), ("2½ gal", 2.5, "gal"), ("1 1/2", 1.5, None), ("3/4 qt", 0.75, "qt"),
     ("1,204.50", 1204.5, None), ("$14.00", 14, None), ("-3 °C", -3, "°C"), ("40%", 40, "%"),
     ("12 L", 12, "L"), (".5", 0.5, None), ('18"', 18, "in"), ("1,5", None, None),
     ("about 2", None, None), ("2-3", None, None), ("4?", None, None), ("=1+1", None, None),
     ("1.2.3", None, None), ("12 buckets", None, None)],
)  # fmt: skip
def test_a_number(cell: str, value: float | None, unit: str | None) -> None:
    read = Numerals().read(cell)
    assert (None if read is None else (read.value, read.unit)) == (
        None if value is None else (value, unit)
    )


def test_decimal_commas() -> None:
    read = Numerals(decimal_comma=True).read
    assert [one and one.value for one in map(read, ("1,5", "1.204,50", "2", "1 204,5"))] == [
        1.5, 1204.5, 2, 1204.5,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("cell", "day"),
    [("2026-03-04", (3, 4, 2026)), ("20260304", (3, 4, 2026)), ("4 March 2026", (3, 4, 2026)),
     ("March 4th, 2026", (3, 4, 2026)), ("4-Mar-26", (3, 4, 2026)), ("Mar 4", (3, 4, None)),
     ("Wed 4 Mar 2026", (3, 4, 2026)), ("46085", (3, 4, 2026)), ("2026-03-04 16:30", (3, 4, 2026)),
     ("2026-03-04T16:30:00", (3, 4, 2026)), ("4.3.26", (4, 3, 2026)), ("half", None), ("12", None),
     ("2.5", None)],
)  # fmt: skip
def test_a_day(cell: str, day: tuple[int, ...] | None) -> None:
    found = written_day(cell)
    if cell == "2.5":  # may be a day in a column of days, and is one nowhere else
        assert found == written_day("2/5")
        return
    assert (found and (found.one, found.two, found.year)) == day


def test_day_and_month_are_told_by_the_column(table: Callable[..., list[Guess]]) -> None:
    """3/4 to 3/7 are four days of March, not the third of four months; 13 is no month."""
    march = table("Date\tPail #\tL\n03/04/2026\t1\t4\n03/05/2026\t2\t5\n03/06/2026\t1\t3\n")[0]
    assert [row[0]["on"][5:7] for row in notes(march)] == ["03"] * 3
    by_one = table("Date,Tree,Gal\n3/4/2026,1,2\n13/4/2026,1,2\n")[0]
    assert [row[0]["on"] for row in notes(by_one)] == ["2026-04-03", "2026-04-13"]
    mixed = table("Date,Tree,Gal\n3/4/2026,1,2\n13/4/2026,1,2\n4/14/2026,1,2\n3/3/26,1,1\n")[0]
    assert "may be two days" in notes(mixed)[0]
    assert [row[0]["on"][5:] for row in notes(mixed)[1:]] == ["04-13", "04-14", "03-03"]


def test_what_cannot_be_known_is_told(table: Callable[..., list[Guess]]) -> None:
    """Without a unit, a year, or an order that shows, the guess says what it goes by."""
    told = " ".join(shown(table("Date,Tree,Sap\n3/3,1,2\n")[0]))
    assert "No unit is named for Sap: taken as gal." in told
    assert "No year is named: taken as 2027." in told
    assert "may be read two ways" in told
    metric = " ".join(shown(table("Date,Tree,Sap\n3/3,1,2\n", metric=True)[0]))
    assert "taken as L" in metric


def test_formulas_ranges_and_what_is_negative_are_in_doubt(
    table: Callable[..., list[Guess]],
) -> None:
    rows = notes(table("Date,Tree,Gallons\n3/4/26,1,=2+3\n3/4/26,1-4,6\n3/5/26,3,-1\n"
                       "3/6/26,3,\n4/1/28,3,1\n,3,1\n")[0])  # fmt: skip
    assert [word in row for word, row in zip(
        ("formula", "several trees", "below nothing", "says nothing", "still to come", "no day"),
        rows, strict=True,
    )] == [True] * 6  # fmt: skip


def test_sap_of_no_day_is_in_doubt(table: Callable[..., list[Guess]]) -> None:
    """A trunk's girth lasts; what was gathered was gathered on a day."""
    assert notes(table("Tree,Gal\n1,2\n")[0]) == ["no day is named"]
    (row,) = notes(table("Trees in 2025\nTree,DBH\n1,18\n")[0])
    assert (row[0]["diameter_in"], row[0]["on"]) == (18, "2025-01-01")
    assert notes(table("Day,Tree,Gal\nmonday,1,2\n")[0]) == ["“monday” is no day"]
    (parted,) = notes(table("Year,Month,Day,Tree,Gal\n2026,3,4,1,2\n")[0])
    assert parted[0]["on"] == "2026-03-04"


def test_boils_with_their_times(table: Callable[..., list[Guess]]) -> None:
    """104.2 is no temperature of syrup in Fahrenheit: 219.6 °F."""
    text = (
        "Date,Started,Stopped,Sap in (L),Temp drawn,Syrup (L)\n"
        "2026-03-03,8:15 AM,16:30,150,104.2,3.6\n"
    )
    (row,) = notes(table(text)[0])
    assert [(note["act"], f"{note['clock']:%H:%M}") for note in row] == [
        ("boil", "08:15"), ("boil", "08:15"), ("draw", "16:30"), ("boil", "16:30"),
    ]  # fmt: skip
    assert row[1]["volume_gal"] == pytest.approx(150 / 3.785411784)
    assert row[2]["temp_f"] == 219.6


def test_a_column_for_each_size_of_jars(table: Callable[..., list[Guess]]) -> None:
    (row,) = notes(table("Bottled,Pints,Half pints,Grade\n3/4/26,12,3,Amber\n")[0])
    assert [(note["act"], note["count"], note["size"]) for note in row] == [
        ("pack", 12, "pint"), ("pack", 3, "half pint"),
    ]  # fmt: skip


def test_sap_and_syrup_of_a_day(table: Callable[..., list[Guess]]) -> None:
    """The total over the yard is nobody's, and a price each is paid for all."""
    rows = notes(table("Date,Sap collected (gal),Syrup made (qt)\n3/4/26,40,\n3/9/26,,5\n")[0])
    assert rows[0][0]["all"] is True
    assert rows[1][0] == {"act": "draw", "syrup_gal": 1.25, "on": "2026-03-09"}
    (sold,) = notes(table("Sold to,Date,Jars,Size,Each\nCousin,1 Apr 2026,3,pint,12\n")[0])
    assert (sold[0]["price"], sold[0]["why"], sold[0]["to"]) == (36, "sold", "cousin")


def test_a_total_without_a_word_is_left_out(table: Callable[..., list[Guess]]) -> None:
    guess = table("Date,Tree,Gal\n3/4/26,1,2\n3/5/26,1,3\n3/6/26,2,1.5\n,,6.5\n")[0]
    assert len(notes(guess)) == 3


def test_a_workbook(table: Callable[..., list[Guess]], tmp_path: Path) -> None:
    """Days are days there, whatever they look like; every sheet has its tables."""
    book = openpyxl.Workbook()
    book.active.title = "Intro"
    book.active.append(["Our sap"])
    sheet = book.create_sheet("2026")
    sheet.append(["Date", "Tree", "Litres"])
    sheet.append([date(2026, 3, 4), 7, 3.5])
    book.save(tmp_path / "made.xlsx")
    (guess,) = table((tmp_path / "made.xlsx").read_bytes(), "book.xlsx")
    (row,) = notes(guess)
    assert (row[0]["on"], row[0]["tree"]) == ("2026-03-04", 7)
    assert guess.sheet.place == "book.xlsx, 2026"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_encodings(table: Callable[..., list[Guess]], encoding: str) -> None:
    text = "Date;Tree;Litres;Remarks\n4.3.2026;1;2,5;très froid – gelé\n"
    (row,) = notes(table(text.encode(encoding))[0])
    assert row[1]["text"] == "très froid – gelé"


def test_columns_are_changed_and_remembered(table: Callable[..., list[Guess]]) -> None:
    text = "Date,Tree,Got\n3/4/26,1,20\n3/5/26,1,30\n"
    guess = table(text)[0]
    assert written(guess) == ["date mdy", "tree", "-"]
    said = with_column(guess, 2, "sap L")
    assert notes(said)[0][0]["volume_gal"] == pytest.approx(20 / 3.785411784)
    again = with_columns(table(text)[0], written(with_column(said, 0, "date dmy")))
    assert notes(again)[0][0]["on"] == "2026-04-03"
    for wrong in ("sap °C", "pony", "tree L", "date ymd"):
        with pytest.raises(ColumnError):
            with_column(guess, 2, wrong)
    assert with_column(guess, 1, "-").column("tree") is None


def test_a_file_that_is_no_table(run: Callable[..., Ran], tmp_path: Path, book_path: Path) -> None:
    """One line says so, and nothing is written."""
    for name, content in (("a.csv", b"3/4/2024,4,2.5\n"), ("b.xlsx", b"none"), ("c.ods", b""),
                          ("d.csv", b"")):  # fmt: skip
        (tmp_path / name).write_bytes(content)
        ran = run("book", "import", str(tmp_path / name))
        assert (ran.status, ran.err.count("\n")) == (1, 1)
    assert not book_path.exists()


def test_equal_rows_are_two_notes_and_a_longer_file_adds_its_own(
    run: Callable[..., Ran], tmp_path: Path
) -> None:
    path, longer = tmp_path / "a.csv", tmp_path / "renamed.csv"
    path.write_text("Date,Tree,Gal\n2026-03-04,1,2\n2026-03-04,1,2\n")
    assert "2 notes of 2 rows came in" in run("book", "import", str(path)).out
    longer.write_text("Tree,Date,Gallons\n1,3/4/26,2\n1,3/4/26,2\n1,3/4/26,2\n")
    assert "1 note of 3 rows came in; 2 were there" in run("book", "import", str(longer)).out


def test_a_day_that_the_book_has_otherwise_is_shown_and_left_out(
    run: Callable[..., Ran], tmp_path: Path, book_path: Path
) -> None:
    run("say", "low of twenty four and high of forty five")
    path = tmp_path / "w.csv"
    path.write_text("Date,Low,High\n2027-03-05,20,45\n2027-03-04,22,41\n")
    ran = run("book", "import", str(path))
    assert "“Low 24 °F" in ran.err
    assert "low 20 °F" in ran.err
    with Book.open(book_path) as book:
        assert [(day.day.day, day.low_f) for day in book.season().weather] == [(4, 22), (5, 24)]


def test_a_terminal_is_asked_and_its_answer_remembered(tmp_path: Path) -> None:
    """On a terminal of its own: a column is put right by its heading, and known the next time."""
    pty = pytest.importorskip("pty")
    sheet, book = tmp_path / "a.csv", tmp_path / "season.db"
    sheet.write_text("Date,Tree,Got\n2026-03-04,1,2\n")
    main, terminal = pty.openpty()
    asked = subprocess.Popen(
        [sys.executable, "-m", "fieldvoice", "book", "import", str(sheet), "--book", str(book)],
        stdin=terminal, stdout=terminal, stderr=terminal,
    )  # fmt: skip
    os.close(terminal)
    os.write(main, b"got\nsap L\nyes\n")
    said = b""
    while chunk := _read(main):
        said += chunk
    assert asked.wait() == 0
    assert b"What is in Got?" in said
    assert b"1 note of 1 row came in" in said
    assert "sap L" in (tmp_path / "season.toml").read_text()


def _read(file: int) -> bytes:
    try:
        return os.read(file, 4096)
    except OSError:
        return b""


@pytest.mark.long
def test_many_rows_take_no_more_room(run: Callable[..., Ran], tmp_path: Path) -> None:
    """Four times the rows, and not half as much room again; snapshots have room from the start."""
    used = []
    for count in (4_000, 16_000):
        path = tmp_path / f"{count}.csv"
        with path.open("w", newline="") as file:
            rows = csv.writer(file)
            rows.writerow(["Date", "Tree", "Gallons"])
            for number in range(count):
                rows.writerow([f"2026-03-{number % 28 + 1:02}", number % 900, 1 + number % 7 / 4])
        tracemalloc.start()
        assert f"{count} notes of" in run("book", "import", str(path), "--dry-run").out
        used.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert used[1] < 1.5 * used[0]


def test_headings_are_known_with_their_units() -> None:
    """A unit says which of two things is meant."""
    known = {
        "Draw-off °F": ("draw temperature", "°F"), "Drawn off (qt)": ("syrup", "qt"),
        "Tree #": ("tree", None), "Sugar %": ("sugar", "%"), "Gal": ("sap", "gal"),
        "DBH in inches": ("diameter", "in"), "Sap gathered, litres": ("sap", "L"),
        "How it looked": ("look", None), "Max Temp (°C)": ("high", "°C"),
    }  # fmt: skip
    for text, (role, unit) in known.items():
        found = heading(text)
        assert found is not None, text
        assert (found.roles[0], found.unit) == (role, unit), text
    assert heading("Favourite song") is None


def test_it_is_told_how_far_many_rows_and_the_notes_are(
    table: Callable[..., list[Guess]], tmp_path: Path
) -> None:
    rows = "".join(f"2026-03-{day:02d},{tree},2\n" for day in range(1, 9) for tree in range(1, 41))
    guesses = table(f"Date,Tree,Gal\n{rows}")
    told: list[tuple[float, float]] = []
    now = datetime(2027, 1, 1, tzinfo=UTC)
    with Book.open(tmp_path / "season.db") as book:
        moment = TurnContext(
            now, "import", book, book.season(), Settings(), Focus(), None, EntityNames(),
            degrees_named=True,
        )  # fmt: skip
        bring_in(guesses, moment, lambda line: None, progress=lambda *far: told.append(far))
        assert told == [*((done, 320) for done in range(50, 320, 50)), (320, 320)]
        told.clear()
        book.season(now=now, tell=lambda *far: told.append(far))
    assert told == [(0, 320), (100, 320), (200, 320), (300, 320), (320, 320)]
