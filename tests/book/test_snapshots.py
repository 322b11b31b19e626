"""Snapshots of the fold: whatever is written, undone or told late, they change no answer."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldvoice.book import Book, snapshots
from fieldvoice.book.fold import State, fold
from fieldvoice.schema import meaning_from
from fieldvoice.transcript import typed

START = datetime(2026, 3, 1, 8, tzinfo=UTC)
#: Minutes of a year and a day.
YEAR = 60 * 24 * 366


@pytest.fixture(autouse=True)
def _small_steps(monkeypatch):
    """Make snapshots so often that a short history has several."""
    monkeypatch.setattr(snapshots, "_WORTH", 8)
    monkeypatch.setattr(snapshots, "_LEAVE", 3)
    monkeypatch.setattr(snapshots, "_SPACING", 1.5)
    monkeypatch.setattr(snapshots, "_COMPARED", 1)
    monkeypatch.setattr(snapshots, "_ENOUGH", 3)


NOTE = st.one_of(
    st.builds(lambda t, v: {"act": "gather", "tree": t, "volume_gal": v},
              st.one_of(st.integers(1, 4), st.just("old tom")), st.floats(0.25, 5)),
    st.builds(lambda v, n: {"act": "store", "vessel": n, "volume_gal": v},
              st.floats(1, 20), st.sampled_from(["tank 1", "milk tank"])),
    st.builds(lambda n: {"act": "transfer", "vessel": n, "into": "tote 1"},
              st.sampled_from(["tank 1", "milk tank"])),
    st.builds(lambda f: {"act": "reading", "vessel": "tank 1", "temp_f": f}, st.floats(32, 50)),
    st.just({"act": "boil", "vessel": "tank 1", "phase": "start"}),
    st.just({"act": "boil", "phase": "stop"}),
    st.just({"act": "draw", "syrup_gal": 0.5}),
    st.just({"act": "pack", "count": 3, "size": "pint"}),
    st.just({"act": "weather", "low_f": 25, "high_f": 41}),
    st.just({"act": "round", "phase": "start"}),
    st.builds(lambda t, c: {"act": "tap", "tree": t, "count": c}, st.integers(1, 4),
              st.one_of(st.none(), st.integers(1, 3))),
    st.builds(lambda t, d: {"act": "measure", "tree": t, "diameter_in": d}, st.integers(1, 4),
              st.integers(9, 30)),
    st.builds(lambda t: {"act": "health", "tree": t, "condition": "stressed"}, st.integers(1, 4)),
    st.builds(lambda t: {"act": "stand", "tree": t, "felled": True}, st.integers(1, 4)),
    st.builds(lambda t: {"act": "pull", "tree": t, "count": 1}, st.integers(1, 4)),
    st.builds(lambda t: {"act": "inspect", "trees": [t, t + 1], "fill": 0.5}, st.integers(1, 4)),
    st.just({"act": "pull", "all": True}),
    st.just({"act": "hang", "tree": 2, "item": "bag"}),
    st.just({"act": "hang", "tree": 3, "off": 2}),
    st.just({"act": "name", "name": "milk tank", "vessel": "tank 1"}),
    st.just({"act": "name", "name": "old tom", "tree": 2}),
)  # fmt: skip
#: Minutes since the note before (a year now and then; late notes go back), the note, which live
#: note it takes back, and whether somebody asks after it.
STEP = st.tuples(
    st.one_of(
        st.integers(0, 300),
        st.just(YEAR),
        st.integers(-2000, -1),
        st.sampled_from([-YEAR, -3 * YEAR]),
    ),
    NOTE,
    st.one_of(st.none(), st.none(), st.none(), st.integers(0, 40)),
    st.booleans(),
)


@pytest.mark.long
@settings(max_examples=120, deadline=None)
@given(st.lists(STEP, min_size=10, max_size=60))
def test_asked_at_any_time_it_is_as_if_told_from_the_start(steps):
    """The season by snapshots equals that folded from all live notes, each time."""
    with Book.in_memory_copy() as book:
        at, live = START, []
        for minutes, fields, back, asked in steps:
            at += timedelta(minutes=minutes)
            act = meaning_from(fields)
            voids = [live.pop(back % len(live))] if back is not None and live else []
            taken = book.take(
                at=at, source="typed", heard=typed("words"), outcome="saved", meanings=[act],
                reply="", notes=[act], voids=voids,
            )  # fmt: skip
            live.extend(taken.records)
            if asked:
                assert book.season() == fold(book.entries())
        assert book.season() == fold(book.entries())


def is_as_without_snapshots(book, now):
    """Whether the season is as a copy of the book tells it that has no snapshots."""
    found = book.season(now=now)
    with Book.in_memory_copy() as other:
        book._connection.backup(other._connection)
        other._connection.execute("DELETE FROM snapshots")
        return found == other.season(now=now)


@pytest.mark.long
@settings(max_examples=60, deadline=None)
@given(st.lists(STEP, min_size=10, max_size=40), st.integers(1, 9))
def test_a_clock_that_was_ahead_changes_nothing_by_snapshots(steps, ahead):
    """Some notes are stamped years ahead; asked at any time it is as without any snapshot."""
    with Book.in_memory_copy() as book:
        now = START
        for number, (minutes, fields, _, asked) in enumerate(steps):
            now += timedelta(minutes=abs(minutes) % 300)
            at = now + timedelta(minutes=min(minutes, 0))
            if number % 10 == ahead:
                at = now + timedelta(days=2000)
            act = meaning_from(fields)
            book.take(
                at=at, source="typed", heard=typed("words"), outcome="saved", meanings=[act],
                reply="", notes=[act],
            )  # fmt: skip
            if asked or number == len(steps) - 1:
                assert is_as_without_snapshots(book, now)


def test_a_clock_set_back_before_all_notes_counts_each_once():
    """An empty battery: asked again and again, and with the clock put right, it is the same."""
    with Book.in_memory_copy() as book:
        write(book, 40)
        for day in range(3):
            found = book.season(now=datetime(2019, 1, 1 + day, tzinfo=UTC))
            assert found.account.gathered_gal == 40
        assert book.season(now=START + timedelta(days=1)) == fold(book.entries())


def test_a_clock_put_back_between_two_questions_is_gone_by():
    """What is held in memory since the first question is not taken for the second."""
    with Book.in_memory_copy() as book:
        write(book, 3)
        act = meaning_from({"act": "gather", "tree": 9, "volume_gal": 2.0})
        book.take(
            at=START + timedelta(days=3), source="typed", heard=typed("words"), outcome="saved",
            meanings=[act], reply="", notes=[act],
        )  # fmt: skip
        book.season(now=START + timedelta(days=3))
        now = START + timedelta(days=1)
        assert is_as_without_snapshots(book, now)


def steps_of(book, of):
    """Return how many notes are gone through for a season."""
    gone_through = []
    with pytest.MonkeyPatch.context() as patch:
        real = State.take

        def counted(state, at, act):
            gone_through.append(act)
            real(state, at, act)

        patch.setattr(State, "take", counted)
        of(book)
    return len(gone_through)


@pytest.mark.parametrize(
    ("late", "most"),
    [(3, 30), (25, 60), (90, 200)],
)
def test_a_late_note_costs_what_lies_behind_it_once(late, most):
    """Not the whole history, and the next question costs what it did before."""
    with Book.in_memory_copy() as book:
        write(book, 400)
        book.season()
        act = meaning_from({"act": "gather", "tree": 1, "volume_gal": 5.0})
        book.take(
            at=START + timedelta(minutes=400 - late), source="memo", heard=typed("late"),
            outcome="saved", meanings=[act], reply="", notes=[act],
        )  # fmt: skip
        afresh = book.in_conversation(None)
        afresh._held = snapshots.Held()
        assert steps_of(afresh, lambda one: one.season()) <= most
        assert afresh.season() == fold(book.entries())
        afresh._held = snapshots.Held()
        assert steps_of(afresh, lambda one: one.season()) <= 12


def a_season(book, year):
    """Write 120 notes of one year, in rounds of five trees a day."""
    for number in range(120):
        note = {"act": "gather", "tree": number % 5 + 1, "volume_gal": 1.0}
        if number % 10 == 9:
            note = {"act": "store", "vessel": "tank 1", "volume_gal": 9.0}
        act = meaning_from(note)
        at = datetime(year, 3, 1, 8, tzinfo=UTC) + timedelta(days=number // 10, minutes=number % 10)
        book.take(
            at=at, source="typed", heard=typed("words"), outcome="saved", meanings=[act],
            reply="", notes=[act],
        )  # fmt: skip


@pytest.mark.parametrize("which", ["late", "taken back", "left out"])
def test_what_changes_one_season_alone_costs_no_more_than_that(which):
    """Three seasons later the state is what it was, and is gone on from there; so are snapshots."""
    with Book.in_memory_copy() as book:
        for year in range(2020, 2026):
            a_season(book, year)
        book.season()
        book._held = snapshots.Held()
        old, act = "e255", meaning_from({"act": "gather", "tree": 3, "volume_gal": 5.0})
        without = (old,) if which == "left out" else ()
        if which == "late":
            at = datetime(2022, 3, 4, 12, tzinfo=UTC)
            book.take(at=at, source="memo", heard=typed("late"), outcome="saved", meanings=[act],
                      reply="", notes=[act])  # fmt: skip
        elif which == "taken back":
            book.take(at=START, source="typed", heard=typed("undo"), outcome="done", meanings=[],
                      reply="", voids=[old])  # fmt: skip
        notes = [one for one in book.entries() if one.id not in without]
        found = []
        assert steps_of(book, lambda one: found.append(one.season(without=without))) <= 330
        assert found == [fold(notes)]
        book._held = snapshots.Held()
        assert steps_of(book, lambda one: one.season()) <= 12
        assert book.season() == fold(book.entries())


LASTING = [
    {"act": "tap", "tree": 3, "count": 2}, {"act": "measure", "tree": 3, "diameter_in": 17},
    {"act": "health", "tree": 3, "condition": "stressed"}, {"act": "pull", "all": True},
    {"act": "tap", "trees": [2, 3, 4]},
]  # fmt: skip


@pytest.mark.long
@pytest.mark.parametrize("which", ["late", "taken back", "left out"])
@pytest.mark.parametrize("fields", LASTING, ids=lambda fields: fields["act"])
def test_what_lasts_in_a_tree_is_put_into_all_states_since(fields, which):
    """A hole drilled years ago is in the tree ever since; not all notes since are gone through."""
    with Book.in_memory_copy() as book:
        act, at = meaning_from(fields), datetime(2022, 3, 4, 12, tzinfo=UTC)
        told = {"source": "memo", "heard": typed("late"), "reply": "", "outcome": "saved"}
        for year in range(2020, 2026):
            a_season(book, year)
            if year == 2020:
                for tree in range(1, 6):
                    first = meaning_from({"act": "tap", "tree": tree})
                    day = datetime(2020, 3, 1, 6, tzinfo=UTC)
                    book.take(at=day, meanings=[first], notes=[first], **told)
        old = "e900"
        if which != "late":
            (old,) = book.take(at=at, meanings=[act], notes=[act], **told).records
        book.season()
        book._held = snapshots.Held()
        without = (old,) if which == "left out" else ()
        if which == "late":
            book.take(at=at, meanings=[act], notes=[act], **told)
        elif which == "taken back":
            book.take(at=START, source="typed", heard=typed("undo"), outcome="done", meanings=[],
                      reply="", voids=[old])  # fmt: skip
        notes = [one for one in book.entries() if one.id not in without]
        found = []
        assert steps_of(book, lambda one: found.append(one.season(without=without))) <= 360
        assert found == [fold(notes)]
        book._held = snapshots.Held()
        assert steps_of(book, lambda one: one.season()) <= 12
        assert book.season() == fold(book.entries())


def write(book, count, first=0):
    for number in range(first, first + count):
        act = meaning_from({"act": "gather", "tree": number % 5 + 1, "volume_gal": 1.0})
        book.take(
            at=START + timedelta(minutes=number), source="typed", heard=typed("words"),
            outcome="saved", meanings=[act], reply="", notes=[act],
        )  # fmt: skip


def kept(book):
    rows = book._connection.execute("SELECT entry FROM snapshots ORDER BY entry").fetchall()
    return [row["entry"] for row in rows]


def test_they_are_made_and_thinned_out():
    """After 100 notes asked about one by one there are a few, the newest close to the end."""
    with Book.in_memory_copy() as book:
        for number in range(100):
            write(book, 1, number)
            book.season()
        assert 1 < len(kept(book)) <= 9
        assert kept(book)[-1] >= 100 - 8 - 3


def test_another_program_or_other_sizes_use_none_of_them(monkeypatch):
    """A snapshot of another fold, or for tanks of other sizes, is dropped."""
    with Book.in_memory_copy() as book:
        write(book, 30)
        before = book.season()
        monkeypatch.setattr(snapshots, "program", lambda: "another")
        assert book.season() == before
        assert book.season({"tank 1": 50.0}).account == before.account


def test_a_damaged_snapshot_is_passed_over():
    """What is derived may be lost: the season is told from the notes."""
    with Book.in_memory_copy() as book:
        write(book, 30)
        before = book.season()
        book._connection.execute("UPDATE snapshots SET state = x'7b7d'")
        assert book.season() == before
