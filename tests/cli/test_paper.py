"""``fieldvoice report`` and ``fieldvoice cards``."""

from __future__ import annotations

import os

import pytest


@pytest.fixture
def said(run):
    """A book with a note in it."""
    assert run("say", "two and a half gallons from tree nine").status == 0


class TestReport:
    @pytest.mark.usefixtures("said")
    def test_writes_the_newest_season(self, run, tmp_path):
        """The page is there, and one line says so beside the output."""
        path = tmp_path / "season.html"
        ran = run("report", str(path))
        assert (ran.status, ran.out) == (0, "")
        assert ran.err == f"{path}: the season of 2027.\n"
        assert "1 tree gave 2.5 gal of sap" in path.read_text(encoding="utf-8")

    @pytest.mark.usefixtures("said")
    def test_is_as_readable_as_other_files(self, program, book_path, tmp_path):
        """The book is its owner's alone; a page to show goes by the user's own mask."""
        path = tmp_path / "season.html"
        before = os.umask(0o022)
        try:
            ran = program("report", str(path), "--book", str(book_path))
        finally:
            os.umask(before)
        assert ran.status == 0
        assert path.stat().st_mode & 0o777 == 0o644
        assert book_path.stat().st_mode & 0o077 == 0

    @pytest.mark.usefixtures("said")
    def test_a_season_without_notes(self, run, tmp_path):
        """It is told so on the page."""
        path = tmp_path / "season.html"
        assert run("report", str(path), "--season", "1999").status == 0
        assert "The book has no note of 1999." in path.read_text(encoding="utf-8")

    def test_a_page_that_is_there_is_replaced_whole(self, run, tmp_path):
        """And nothing else is left in the folder."""
        path = tmp_path / "pages" / "season.html"
        path.parent.mkdir()
        path.write_text("old")
        assert run("report", str(path)).status == 0
        assert path.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
        assert [one.name for one in path.parent.iterdir()] == ["season.html"]

    def test_a_folder_that_is_not_there(self, run, tmp_path):
        """One line, status 1."""
        ran = run("report", str(tmp_path / "nowhere" / "season.html"))
        assert ran.status == 1
        assert ran.err.startswith(f"fieldvoice: {tmp_path}/nowhere/season.html cannot be written: ")
        assert len(ran.err.splitlines()) == 1

    def test_a_folder_in_place_of_a_file(self, run, tmp_path):
        """Wrong use."""
        assert run("report", str(tmp_path)).status == 2


class TestCards:
    @pytest.mark.usefixtures("said")
    def test_writes_what_the_book_has(self, run, tmp_path):
        """Labels are left out where no jar is packed."""
        path = tmp_path / "cards.pdf"
        ran = run("cards", str(path), "--paper", "a4")
        assert (ran.status, ran.out) == (0, "")
        assert ran.err == f"{path}: trees, field, round, for A4 paper.\n"
        assert path.read_bytes().startswith(b"%PDF-")

    def test_nothing_to_print(self, run, tmp_path):
        """Asked for labels alone, a book without jars has none to give."""
        ran = run("cards", str(tmp_path / "cards.pdf"), "--only", "labels", "--only", "trees")
        assert ran.status == 1
        assert ran.err == "fieldvoice: The book has nothing for trees and labels yet.\n"
        assert not (tmp_path / "cards.pdf").exists()
