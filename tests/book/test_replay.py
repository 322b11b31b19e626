"""Whatever is said and taken back: the season is that of the live notes alone, and sound."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldvoice.book import Book, Season
from fieldvoice.rules.sap import SAP_CONDITIONS
from fieldvoice.schema import ACTS, Act, meaning_from
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

START = datetime(2026, 3, 14, 9, tzinfo=UTC)

TREES = st.one_of(st.integers(1, 5), st.sampled_from(["old tom", "twins"]))
GALLONS = st.one_of(
    st.sampled_from([0.0, 0.1, 0.2, 0.3, 1.0, 5.0]), st.floats(-5, 500), st.floats(0, 1e300)
)
#: What may stand in a field, by its name; all else stays unsaid.
FIELDS: dict[str, st.SearchStrategy[object]] = {
    "tree": TREES,
    "trees": st.lists(TREES, max_size=3).map(tuple),
    "vessel": st.sampled_from(["tank 1", "tank 2", "barrel 1"]),
    "site": st.just("north bush"),
    "all": st.just(True),
    "volume_gal": GALLONS,
    "fill": st.sampled_from([0.0, 0.25, 0.5, 1.0]),
    "sap": st.sampled_from(SAP_CONDITIONS),
    "temp_f": st.floats(-20, 230),
    "brix": st.floats(0, 70),
    "count": st.integers(-1, 4),
    "diameter_in": st.floats(1, 60),
    "condition": st.sampled_from(["sound", "stressed", "damaged", "dying"]),
    "phase": st.sampled_from(["start", "stop"]),
    "low_f": st.floats(-40, 60),
    "high_f": st.floats(-40, 90),
    "day": st.sampled_from(["2026-03-12", "2026-03-14", "some day"]),
    "item": st.sampled_from(["pan", "strainer"]),
    "text": st.text(max_size=5),
    "at": st.integers(-50, 50).map(lambda hours: (START + timedelta(hours=hours)).isoformat()),
}


@st.composite
def acts(draw: st.DrawFn) -> Act:
    """Return any act with any of its fields said."""
    kind = draw(st.sampled_from(sorted(ACTS)))
    names = [name for name in ACTS[kind].model_fields if name in FIELDS]
    said = draw(st.sets(st.sampled_from(names)))
    act = meaning_from({"act": kind, **{name: draw(FIELDS[name]) for name in sorted(said)}})
    assert isinstance(act, Act)
    return act


@dataclass(frozen=True)
class Said:
    """One utterance: how many minutes in, its notes, and which live notes it takes back."""

    minutes: int
    notes: list[Act]
    voids: list[int] = field(default_factory=list)


SAID = st.builds(
    Said,
    st.integers(0, 600),
    st.lists(acts(), max_size=3),
    st.lists(st.integers(0, 30), max_size=2),
)


def tell(book: Book, at: datetime, notes: list[Act], voids: Iterable[str] = ()) -> tuple[str, ...]:
    return book.take(
        at=at,
        source="typed",
        heard=typed("words"),
        outcome="saved",
        meanings=notes,
        reply="",
        notes=notes,
        voids=list(voids),
    ).records


def tell_all(book: Book, utterances: list[Said]) -> list[tuple[datetime, Act]]:
    """Tell the book everything; return the notes that still hold, as a plain list kept here."""
    live: dict[str, tuple[datetime, Act]] = {}
    for said in utterances:
        at = START + timedelta(minutes=said.minutes)
        names = list(live)
        voids = {names[number % len(names)] for number in said.voids} if names else set()
        records = tell(book, at, said.notes, voids)
        for name in voids:
            del live[name]
        live.update(zip(records, [(at, act) for act in said.notes], strict=True))
    return list(live.values())


def check_sound(season: Season) -> None:
    """Raise if any state could not be the state of a real tree or vessel."""
    for tree in season.trees.values():
        assert math.isfinite(tree.gathered_gal)
        assert tree.gathered_gal >= 0
        assert 0 <= tree.pulled_count <= sum(hole.count for hole in tree.taps)
        assert tree.history
        assert tree.history == tuple(sorted(tree.history, key=lambda seen: seen[0]))
    assert set(season.walk) <= set(season.trees)
    for vessel in season.vessels.values():
        assert all(0 <= parcel.volume_gal < math.inf for parcel in vessel.parcels)
        if vessel.volume_gal is not None:
            total = sum(parcel.volume_gal for parcel in vessel.parcels)
            assert math.isclose(vessel.volume_gal, total, abs_tol=1e-9)
        assert vessel.fill is None or 0 <= vessel.fill <= 1
        assert (vessel.oldest_at is None) == (not vessel.parcels)
        if vessel.oldest_at is not None and vessel.newest_at is not None:
            assert vessel.oldest_at <= vessel.newest_at


@pytest.mark.long
@settings(max_examples=150, deadline=None)
@given(st.lists(SAID, max_size=12))
def test_what_was_taken_back_has_no_effect(utterances):
    """A second book told only the notes that hold comes to the same season."""
    with Book.in_memory_copy() as book, Book.in_memory_copy() as plain:
        live = tell_all(book, utterances)
        for at, act in live:
            tell(plain, at, [act])
        season = book.season()
        assert season == plain.season()
        assert season == book.season()
        check_sound(season)
        check_sound(book.season({"tank 1": 40.0, "barrel 1": 5.0}))


@settings(max_examples=25, deadline=None)
@given(st.lists(SAID, max_size=10))
def test_a_book_read_from_its_file_is_the_book_that_was_written(tmp_path_factory, utterances):
    """Closing and opening again changes nothing, and nor does having read it in between."""
    path: Path = tmp_path_factory.mktemp("book") / "season.db"
    with Book.open(path) as book:
        half = len(utterances) // 2
        tell_all(book, utterances[:half])
        book.season()
        for said in utterances[half:]:
            tell(book, START + timedelta(minutes=said.minutes), said.notes)
        # A season looks its notes up when they are wanted: its text has them all.
        written = (repr(book.season()), book.entries(include_void=True), book.utterances())
    with Book.open(path) as again:
        read = (repr(again.season()), again.entries(include_void=True), again.utterances())
        assert read == written
