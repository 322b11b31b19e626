"""All seasons of a book looked back on, with and without what was kept of them."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from fieldvoice.book.fold import fold

NOTES = [
    (2024, {"act": "tap", "tree": 1, "count": 2}),
    (2024, {"act": "gather", "tree": 1, "volume_gal": 3.0, "vessel": "tank 1"}),
    (2024, {"act": "pack", "count": 4, "size": "pint", "colour": "dark"}),
    (2025, {"act": "stock_out", "count": 1, "size": "pint", "why": "eaten"}),
    (2027, {"act": "gather", "tree": 1, "volume_gal": 2.0}),
]


@pytest.fixture
def years_book(book, take):
    """A book with notes of three years, one a day."""
    for day, (year, note) in enumerate(NOTES, start=1):
        take(book, note, at=datetime(year, 3, day, 9, tzinfo=UTC))
    return book


def looked(book, kept=None, capacities=None):
    """The seasons by their years, made plain."""
    with book.years(capacities or {}, kept) as years:
        return {
            year: (
                season.account,
                season.trees[1].gathered_gal,
                season.pantry,
                season.trees[1].taps,
            )
            for year, season in years.seasons.items()
        }


def test_each_season_is_what_the_notes_up_to_its_end_add_up_to(years_book):
    """The same as a fold of them; years without a note have no season."""
    found = looked(years_book)
    assert list(found) == [2024, 2025, 2027]
    for year, (account, gathered, pantry, taps) in found.items():
        season = fold([one for one in years_book.entries() if one.at.year <= year])
        assert (account, gathered, pantry, taps) == (
            season.account, season.trees[1].gathered_gal, season.pantry, season.trees[1].taps,
        )  # fmt: skip


def test_what_is_kept_changes_nothing(years_book, tmp_path):
    """Made, kept and read again, the seasons are the same."""
    first = looked(years_book, tmp_path)
    assert len(list(tmp_path.glob("*.state"))) == 3
    assert looked(years_book, tmp_path) == first == looked(years_book)


def test_what_is_kept_holds_for_these_notes_alone(years_book, take, tmp_path):
    """A note taken back, one of an earlier year, a name: what was kept before is not used."""
    looked(years_book, tmp_path)
    take(years_book, voids=["e2"], notes=[], at=datetime(2027, 4, 1, tzinfo=UTC))
    assert looked(years_book, tmp_path)[2024][1] == 0.0
    take(
        years_book,
        {"act": "gather", "tree": 1, "volume_gal": 7},
        at=datetime(2024, 4, 1, tzinfo=UTC),
    )
    assert looked(years_book, tmp_path)[2024][1] == 7.0
    take(
        years_book,
        {"act": "name", "tree": 2, "name": "big oak"},
        at=datetime(2027, 4, 2, tzinfo=UTC),
    )
    assert looked(years_book, tmp_path) == looked(years_book)


def test_a_damaged_state_is_made_anew(years_book, tmp_path):
    """What cannot be read is not used."""
    first = looked(years_book, tmp_path)
    for path in tmp_path.glob("*.json"):
        path.write_text("{}x")
    assert looked(years_book, tmp_path) == first


def test_a_folder_that_cannot_be_written_stops_nothing(years_book, tmp_path):
    """It is only slower the next time."""
    in_the_way = tmp_path / "file"
    in_the_way.write_text("")
    assert looked(years_book, in_the_way) == looked(years_book)


def test_an_empty_book_has_no_season(book):
    """And nothing to keep."""
    with book.years() as years:
        assert years.seasons == {}


def test_a_note_stamped_ahead_counts_where_it_was_written(years_book, take, tmp_path):
    """No season of its own: what is asked aloud counts it in this one too."""
    note = {"act": "gather", "tree": 1, "volume_gal": 5.0}
    take(years_book, note, at=datetime(2031, 3, 9, tzinfo=UTC))
    now = datetime(2027, 3, 10, tzinfo=UTC)
    spoken = years_book.season({}, now)
    with years_book.years({}, tmp_path, now) as years:
        assert list(years.seasons) == [2024, 2025, 2027]
        assert years.seasons[2027].account == spoken.account
        assert years.seasons[2027].trees[1].gathered_gal == 7.0
    assert list(looked(years_book, tmp_path)) == [2024, 2025, 2027, 2031]
