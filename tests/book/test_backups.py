"""Backups: whole, also of a book in use; never over another; made by themselves and thinned out."""

from __future__ import annotations

import zipfile
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.book.backups import DailyBackups, back_up, restore, settings_of, sound_of
from fieldvoice.errors import BookError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.book import Taken

HALF = {"act": "inspect", "tree": 1, "fill": 0.5}


@pytest.fixture
def backup(book_path: Path, tmp_path: Path, take: Callable[..., Taken]) -> Path:
    """A backup of a book with settings and sound, made while it is open."""
    settings_of(book_path).write_text("metric = true\n", encoding="utf-8")
    (sound_of(book_path) / "passed_over").mkdir(parents=True)
    (sound_of(book_path) / "passed_over" / "a.flac").write_bytes(b"sound")
    with Book.open(book_path) as book:
        take(book, HALF)
        back_up(book_path, tmp_path / "b.zip")
        take(book, HALF)
    return tmp_path / "b.zip"


def test_what_is_restored_is_what_was_backed_up(backup: Path, tmp_path: Path) -> None:
    to = tmp_path / "elsewhere" / "other.db"
    assert restore(backup, to) == []
    with Book.open(to) as book:
        assert [one.act.json_fields() for one in book.entries()] == [HALF]
    assert settings_of(to).read_text(encoding="utf-8") == "metric = true\n"
    assert (sound_of(to) / "passed_over" / "a.flac").read_bytes() == b"sound"
    assert to.stat().st_mode & 0o077 == 0
    assert backup.stat().st_mode & 0o077 == 0


def test_a_book_that_is_there_is_only_put_aside(backup: Path, book_path: Path) -> None:
    with pytest.raises(BookError, match="is there already"):
        restore(backup, book_path)
    aside = restore(backup, book_path, replace=True)
    assert [path.name for path in aside] == ["season-replaced-1.db", "season-replaced-1.toml"]
    with Book.open(aside[0]) as old, Book.open(book_path) as new:
        assert (len(old.entries()), len(new.entries())) == (2, 1)


def test_no_file_but_an_older_backup_is_written_over(book_path: Path, backup: Path) -> None:
    """Who types the wrong name loses nothing."""
    letter = book_path.with_name("letter.txt")
    letter.write_text("dear aunt", encoding="utf-8")
    with pytest.raises(BookError, match="is no backup"):
        back_up(book_path, letter)
    assert letter.read_text(encoding="utf-8") == "dear aunt"
    before = backup.read_bytes()
    back_up(book_path, backup)
    assert backup.read_bytes() != before


@pytest.mark.parametrize("place", [0.1, 0.4, 0.7, 0.99])
def test_a_damaged_backup_restores_nothing(backup: Path, tmp_path: Path, place: float) -> None:
    content = bytearray(backup.read_bytes())
    at = int(len(content) * place)
    content[at : at + 40] = bytes(40)
    backup.write_bytes(content)
    with pytest.raises(BookError):
        restore(backup, tmp_path / "new.db")
    assert not (tmp_path / "new.db").exists()
    assert not list(tmp_path.glob(".restore-*"))


def test_names_that_lead_out_are_refused(backup: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(backup) as packed:
        held = {name: packed.read(name) for name in packed.namelist()}
    moved = held["list.json"].replace(b"sound/passed_over/a.flac", b"sound/../../../a.flac")
    with zipfile.ZipFile(backup, "w") as packed:
        for name, content in held.items():
            packed.writestr(name.replace("sound/passed_over", "sound/../../.."),
                            moved if name == "list.json" else content)  # fmt: skip
    with pytest.raises(BookError, match="no backup"):
        restore(backup, tmp_path / "deep" / "new.db")
    assert not (tmp_path / "a.flac").exists()


class TestDaily:
    def keeper(self, book: Path, chosen: Path | None, told: list[str]) -> DailyBackups:
        return DailyBackups(book, chosen, told.append)

    def test_before_a_days_first_note(
        self, book: Book, book_path: Path, take: Callable[..., Taken]
    ) -> None:
        """An empty book has none; a day has one, of how the book was when it began."""
        told: list[str] = []
        keeper, today = self.keeper(book_path, None, told), date(2027, 3, 10)
        book.before_notes = lambda: keeper.see_to(today)
        take(book, HALF)
        folder = book_path.with_name("season_backups")
        assert not folder.exists()
        for day in (today, today, today + timedelta(days=1)):
            keeper.see_to(day)
            take(book, HALF)
        assert [path.name for path in sorted(folder.iterdir())] == [
            "season-2027-03-10.zip", "season-2027-03-11.zip",
        ]  # fmt: skip
        assert told == []

    def test_ten_days_three_months_and_every_season(
        self, book: Book, book_path: Path, tmp_path: Path, take: Callable[..., Taken]
    ) -> None:
        take(book, HALF)
        days = [date(2024, 3, 2), date(2025, 3, 8), date(2025, 4, 2), date(2027, 1, 30)]
        days += [date(2027, 2, 1) + timedelta(days=n) for n in range(45)]
        keeper = self.keeper(book_path, tmp_path, [])
        for day in days:
            keeper.see_to(day)
        kept = sorted(path.stem.removeprefix("season-") for path in tmp_path.glob("season-*.zip"))
        assert kept == [
            "2024-03-02", "2025-04-02", "2027-01-30", "2027-02-28",
            *(f"2027-03-{day:02}" for day in range(8, 18)),
        ]  # fmt: skip

    def test_a_stick_that_comes_and_goes(
        self, book: Book, book_path: Path, tmp_path: Path, take: Callable[..., Taken]
    ) -> None:
        """While it is not there the backup is kept beside the book, and one line says so."""
        take(book, HALF)
        stick, told = tmp_path / "stick", []
        keeper = self.keeper(book_path, stick, told)
        keeper.see_to(date(2027, 3, 10))
        assert told == [
            f"{stick} is not there; today's backup is kept in {tmp_path / 'season_backups'}."
        ]
        stick.mkdir()
        keeper.see_to(date(2027, 3, 11))
        assert [path.name for path in stick.iterdir()] == ["season-2027-03-11.zip"]

    def test_a_fault_is_told_and_stops_no_note(
        self, book: Book, book_path: Path, tmp_path: Path, take: Callable[..., Taken]
    ) -> None:
        (tmp_path / "season_backups").write_text("a file where the folder should be")
        told: list[str] = []
        keeper = self.keeper(book_path, None, told)
        book.before_notes = lambda: keeper.see_to(date(2027, 3, 10))
        take(book, HALF)
        assert take(book, HALF).records == ("e2",)
        assert len(told) == 1
        assert "Today's backup was not made" in told[0]
