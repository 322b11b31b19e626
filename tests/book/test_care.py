"""The book's care: what is wrong is found and named, and stops nothing but itself."""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.book import Book
from fieldvoice.book import verify as verify_module
from fieldvoice.book.salvage import salvage
from fieldvoice.book.verify import verify
from fieldvoice.book.version import SCHEMA_VERSION
from fieldvoice.errors import BookError
from tests.book.conftest import NINE
from tests.book.old_books import write_old_book

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from fieldvoice.book import Taken

Take = "Callable[..., Taken]"
PAGE = 4096


def note(tree: int) -> dict[str, Any]:
    return {"act": "inspect", "tree": tree, "fill": 0.5}


@pytest.fixture
def full(book_path: Path, take: Callable[..., Taken]) -> Path:
    """A book of forty notes, the third of them taken back."""
    with Book.open(book_path) as book:
        for tree in range(1, 41):
            take(book, note(tree), voids=["e3"] if tree == 30 else ())
    return book_path


def tamper(path: Path, table: str, *statements: str) -> None:
    """Do what no trigger of the book allows."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for trigger in ("no_update", "no_delete", "no_replace", "tally"):
            connection.execute(f"DROP TRIGGER {table}_{trigger}")
        for statement in statements:
            connection.execute(statement)


class TestVerify:
    def test_a_sound_book(self, full: Path) -> None:
        found = verify(full)
        assert found.sound
        assert found.rows["entries"] == 40
        assert found.rows["voids"] == 1

    def test_what_is_written_meanwhile_is_no_fault(
        self, full: Path, take: Callable[..., Taken], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Between any two of its looks somebody takes a note and takes back another."""
        real, back = verify_module._rows, iter(range(4, 41))

        def rows(*of: Any) -> Iterator[sqlite3.Row]:
            for row in real(*of):
                number = next(back, None)
                if number is not None:
                    with Book.open(full) as book:
                        take(book, note(1), voids=[f"e{number}"] if number != 30 else ())
                        book.finish_memo(f"{number}", "memo.wav", NINE)
                yield row

        monkeypatch.setattr(verify_module, "_PAGE", 2)
        monkeypatch.setattr(verify_module, "_rows", rows)
        found = verify(full)
        assert found.faults == ()
        assert found.rows["entries"] == 40
        monkeypatch.undo()
        assert verify(full).rows["entries"] > 70

    @pytest.mark.parametrize(
        ("table", "statement", "kind", "row"),
        [
            ("entries", "UPDATE entries SET fields = replace(fields, '0.5', '0.9') WHERE id = 17",
             "changed", "e17"),
            ("entries", "UPDATE entries SET at = '2027-03-14T09:00:00+00:00' WHERE id = 8",
             "changed", "e8"),
            ("utterances", "UPDATE utterances SET text = 'wards' WHERE id = 12", "changed", "u12"),
            ("entries", "DELETE FROM entries WHERE id = 21", "missing", "e21"),
            ("entries", "DELETE FROM entries WHERE id = 40", "missing", "e40"),
            ("voids", "DELETE FROM voids", "missing", "e3"),
            ("utterances", "UPDATE utterances SET written = '{\"entries\": [[], \"x\", 12], "
             "\"voids\": 1}' WHERE id = 12", "changed", "u12"),
            ("entries", "INSERT INTO entries SELECT 41, utterance, at, act, fields, checksum "
             "FROM entries WHERE id = 5", "doubled", "e41"),
            ("entries", "INSERT INTO entries (utterance, at, act, fields) SELECT utterance, at, "
             "act, fields FROM entries WHERE id = 5", "doubled", "e41"),
        ],
    )  # fmt: skip
    def test_each_fault_is_named_with_its_row(
        self, full: Path, table: str, statement: str, kind: str, row: str
    ) -> None:
        tamper(full, table, statement)
        assert [(fault.kind, fault.row) for fault in verify(full).faults] == [(kind, row)]

    def test_a_list_that_is_none_tells_of_nothing(self, full: Path) -> None:
        """What it told of is then a note that nobody wrote."""
        tamper(full, "utterances", "UPDATE utterances SET written = '[7]' WHERE id = 12")
        found = [(fault.kind, fault.row) for fault in verify(full).faults]
        assert found == [("changed", "u12"), ("foreign", "e12")]

    def test_an_utterance_gone_from_the_end(self, full: Path) -> None:
        """With its note: the numbers tell, though nothing in the file is wrong by itself."""
        tamper(full, "entries", "DELETE FROM entries WHERE id = 40")
        tamper(full, "utterances", "DELETE FROM utterances WHERE id = 40")
        assert {fault.row for fault in verify(full).faults} == {"e40", "u40"}

    def test_a_page_of_noise_is_damage(self, full: Path) -> None:
        content = bytearray(full.read_bytes())
        middle = len(content) // PAGE // 2 * PAGE
        content[middle : middle + PAGE] = random.Random(1).randbytes(PAGE)
        full.write_bytes(content)
        assert "damaged" in {fault.kind for fault in verify(full).faults}


class TestOldBooks:
    @pytest.mark.parametrize("version", range(1, SCHEMA_VERSION))
    def test_each_version_opens_and_is_sound(self, book_path: Path, version: int) -> None:
        write_old_book(book_path, version, [note(1), note(2)], [(1, 2)])
        assert verify(book_path).remark is not None
        with Book.open(book_path) as book:
            assert [one.voided_by for one in book.entries(include_void=True)] == ["u2", None]
        assert verify(book_path).faults == ()
        tamper(book_path, "entries", "DELETE FROM entries WHERE id = 1")
        assert [fault.row for fault in verify(book_path).faults if fault.table == "entries"] == [
            "e1"
        ]


class TestBadRows:
    @pytest.mark.parametrize(
        "statement",
        [
            "UPDATE entries SET fields = replace(fields, '0.5', '0.9') WHERE id = 17",
            "UPDATE entries SET act = 'no such act', fields = '{\"act\": \"no such act\"}', "
            "checksum = '' WHERE id = 17",
            "UPDATE entries SET at = 'once', checksum = '' WHERE id = 17",
        ],
    )
    def test_it_is_left_out_and_told_of_once(
        self, full: Path, take: Callable[..., Taken], statement: str
    ) -> None:
        tamper(full, "entries", statement)
        told: list[str] = []
        with Book.open(full) as book:
            book.on_bad_row = told.append
            assert len(book.entries(include_void=True)) == 39
            assert 17 not in book.season().trees
            assert len(book.newest_entries(50)) == 38
            take(book, note(50))
            assert book.season().trees[50].fill == 0.5
            with book.years() as years:
                assert all(17 not in season.trees for season in years.seasons.values())
        assert len(told) == 1
        assert "e17" in told[0]
        assert "fieldvoice book verify" in told[0]

    def test_words_that_are_no_longer_those(self, full: Path) -> None:
        tamper(full, "utterances", "UPDATE utterances SET meanings = '[]' WHERE id = 40")
        with Book.open(full) as book:
            assert len(book.utterances()) == 39
            with pytest.raises(BookError, match="u40 is not as it was written"):
                book.utterance("u40")


class TestDamage:
    def damaged(self, full: Path) -> Path:
        content = full.read_bytes()
        full.write_bytes(content[: len(content) - 2 * PAGE])
        return full

    def test_it_is_opened_to_be_read_alone(self, full: Path, take: Callable[..., Taken]) -> None:
        """A note is refused with the line; a question needs no row."""
        before = self.damaged(full).read_bytes()
        with Book.open(full) as book:
            assert book.damage is not None
            assert "its end is missing" in book.damage
            assert f"fieldvoice book salvage {full} --book NEW" in book.damage
            with pytest.raises(BookError, match="Nothing was saved"):
                take(book, note(1))
            assert take(book, outcome="answered").records == ()
        assert full.read_bytes() == before

    @pytest.mark.parametrize("page", [0, 5])
    def test_what_is_left_is_read_in_its_place(self, full: Path, page: int) -> None:
        """A page of noise, the first one too: the notes that can be read answer questions."""
        content = bytearray(full.read_bytes())
        content[page * PAGE : (page + 1) * PAGE] = random.Random(page).randbytes(PAGE)
        full.write_bytes(content)
        with Book.open(full) as book:
            if page == 0:
                assert "its beginning holds something else" in str(book.damage)
            assert book.season().trees[40].fill == 0.5

    def test_rows_gone_from_the_end(self, full: Path) -> None:
        tamper(full, "entries", "DELETE FROM entries WHERE id > 38")
        with Book.open(full) as book:
            assert "rows are gone from the end of its entries" in str(book.damage)

    def test_the_look_at_it_takes_no_longer_for_a_larger_book(
        self, book_path: Path, take: Callable[..., Taken]
    ) -> None:
        """Counted in pages read, not by the clock: of a book ten times as long, no more than two
        more."""
        reads = []
        for count in (20, 200):
            with Book.open(book_path) as book:
                for tree in range(count):
                    take(book, note(tree + 1))
            with Book.open(book_path) as book:
                reads.append(_steps(book))
        assert reads[1] <= reads[0] + 400


def _steps(book: Book) -> int:
    """Return how many steps of SQLite's machine the look at an opened book takes."""
    from pathlib import Path

    from fieldvoice.book.connection import damage_seen

    steps = 0

    def step() -> int:
        nonlocal steps
        steps += 1
        return 0

    book._connection.set_progress_handler(step, 1)
    assert damage_seen(book._connection, Path(book._name)) is None
    book._connection.set_progress_handler(None, 0)
    return steps


class TestSalvage:
    @pytest.mark.parametrize("version", [1, 3, SCHEMA_VERSION - 1])
    def test_an_old_book(self, book_path: Path, tmp_path: Path, version: int) -> None:
        """Rows without checksums are known by their shape and their pages."""
        write_old_book(book_path, version, [note(tree) for tree in range(1, 60)], [(1, 2)])
        told = salvage(book_path, tmp_path / "new.db")
        assert (len(told.notes), told.made_again, told.lost) == (59, [], [])
        with Book.open(tmp_path / "new.db") as book:
            assert len(book.entries()) == 58

    def test_each_page_of_noise(self, full: Path, tmp_path: Path) -> None:
        """Whichever page holds noise, all notes are there again, and the new book is sound."""
        content = full.read_bytes()
        noise = random.Random(7)
        for place in range(0, len(content), 5 * PAGE):
            self.noisy(tmp_path / "broken.db", content, [place], noise)
            new = tmp_path / f"new{place}.db"
            told = salvage(tmp_path / "broken.db", new)
            assert len(told.notes) + len(told.made_again) == 40
            assert told.lost == []
            assert verify(new).sound
            with Book.open(new) as book:
                assert len(book.entries(include_void=True)) == 40

    def test_a_quarter_of_the_pages_gone(self, full: Path, tmp_path: Path) -> None:
        """More than half of the notes are there; each lost one is named; nothing is made up."""
        content = full.read_bytes()
        noise = random.Random(11)
        places = noise.sample(range(0, len(content), PAGE), len(content) // PAGE // 4)
        self.noisy(tmp_path / "broken.db", content, places, noise)
        told = salvage(tmp_path / "broken.db", tmp_path / "new.db")
        assert len(told.notes) + len(told.made_again) > 20
        with Book.open(tmp_path / "new.db") as book:
            assert {one.act.json_fields()["fill"] for one in book.entries()} == {0.5}
        assert verify(tmp_path / "new.db").sound

    def test_the_new_book_is_known_as_the_old_one(self, full: Path, tmp_path: Path) -> None:
        told = salvage(full, tmp_path / "new.db")
        assert told.made_again == told.lost == []
        with Book.open(full) as old, Book.open(tmp_path / "new.db") as new:
            assert new.identity == old.identity
            assert new.entries(include_void=True) == old.entries(include_void=True)

    def test_never_over_a_file_and_never_from_nothing(self, full: Path, tmp_path: Path) -> None:
        with pytest.raises(BookError, match="is there already"):
            salvage(full, full)
        (tmp_path / "noise.db").write_bytes(random.Random(3).randbytes(40_000))
        with pytest.raises(BookError, match="is not a season book"):
            salvage(tmp_path / "noise.db", tmp_path / "new.db")
        assert not (tmp_path / "new.db").exists()

    def noisy(self, path: Path, content: bytes, places: list[int], noise: random.Random) -> None:
        broken = bytearray(content)
        for place in places:
            broken[place : place + PAGE] = noise.randbytes(PAGE)
        path.write_bytes(broken)


def test_the_file_alone_is_the_book(book_path: Path, tmp_path: Path, take: Any) -> None:
    """Copied by itself right after a note, with the book still open, it lacks nothing."""
    with Book.open(book_path) as book:
        for tree in range(1, 8):
            taken = take(book, note(tree))
            copy = tmp_path / "alone" / f"copy{tree}.db"
            copy.parent.mkdir(exist_ok=True)
            shutil.copyfile(book_path, copy)
            assert verify(copy).sound
            with Book.open(copy) as copied:
                assert copied.newest_entries(1)[0].id == taken.records[0]
