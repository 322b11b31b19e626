"""What is taken is found again: utterances, entries, voids, what waits for review, memos."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from fieldvoice.book import Book, Utterance
from fieldvoice.errors import BookError
from fieldvoice.schema import Command, meaning_from
from fieldvoice.schema.asks.trees import TapLimit
from fieldvoice.transcript import AudioSpan, NBestEntry, Transcript, Word, typed

NINE = datetime(2026, 3, 14, 9, tzinfo=timezone(timedelta(hours=-4)))
CLOUDY = {"act": "inspect", "tree": 12, "sap": "cloudy"}
GATHER = {"act": "gather", "tree": "old tom", "volume_gal": 2.5, "vessel": "tank 1"}

MEMO = Transcript(
    text="tree twelve cloudy",
    words=(Word("tree", 0.1, 0.4, 0.9), Word("twelve", 0.4, 0.8, 0.5)),
    confidence=0.83,
    alternatives=(NBestEntry("tree twelve cloudy", 0.0), NBestEntry("tree twenty cloudy", -3.5)),
    fit=0.21,
    recogniser="pocketsphinx",
    audio=AudioSpan("walk – été.m4a", "ab" * 32, 3.125, 6.0),
)


def test_every_field_of_an_utterance_comes_back(book, take):
    """The journal row holds all that was heard, made of it and answered."""
    act = meaning_from(CLOUDY)
    taken = book.take(
        at=NINE,
        source="memo",
        heard=MEMO,
        outcome="asked",
        meanings=[act, TapLimit(tree=12), Command(do="undo")],
        reply="Twelve or twenty?",
        pending={"slot": "tree", "act": CLOUDY},
        focus={"tree": 12},
        by="sam",
        conversation="north round",
    )
    assert book.utterance(taken.utterance_id) == Utterance(
        id="u1",
        at=NINE,
        source="memo",
        text="tree twelve cloudy",
        audio=MEMO.audio,
        recogniser="pocketsphinx",
        confidence=0.83,
        fit=0.21,
        alternatives=MEMO.alternatives,
        outcome="asked",
        meanings=(CLOUDY, {"ask": "tap_limit", "tree": 12}, {"do": "undo"}),
        reply="Twelve or twenty?",
        pending={"slot": "tree", "act": CLOUDY},
        focus={"tree": 12},
        words=MEMO.words,
        by="sam",
        conversation="north round",
    )
    assert book.last_utterance().heard == MEMO


def test_the_offset_of_a_time_is_kept(book, take):
    """Nine o'clock with four hours' offset does not come back as one o'clock."""
    take(book, CLOUDY, at=NINE)
    assert book.last_utterance().at.isoformat() == "2026-03-14T09:00:00-04:00"
    assert book.entries()[0].at.isoformat() == "2026-03-14T09:00:00-04:00"


def test_a_time_without_offset_is_refused(book, take):
    """Such a time cannot be ordered among the others."""
    with pytest.raises(ValueError, match="offset"):
        take(book, CLOUDY, at=datetime(2026, 3, 14, 9))
    assert book.utterances() == []


def test_entries_carry_act_utterance_and_time(book, take):
    """One breath with two notes makes two entries of one utterance, in the order said."""
    taken = take(book, CLOUDY, GATHER)
    assert taken.records == ("e1", "e2")
    assert [(e.id, e.utterance_id, e.act.json_fields(), e.voided_by) for e in book.entries()] == [
        ("e1", "u1", CLOUDY, None),
        ("e2", "u1", GATHER, None),
    ]


@pytest.mark.parametrize(
    ("said", "at"),
    [
        (None, "2026-03-14T09:00:00-04:00"),
        ("2026-03-13T17:30:00-05:00", "2026-03-13T17:30:00-05:00"),
        ("2026-03-13T17:30:00", "2026-03-13T17:30:00-04:00"),
        ("2026-03-13", "2026-03-13T00:00:00-04:00"),
    ],
)
def test_a_time_said_overrides_the_time_of_saying(book, take, said, at):
    """A time said without an offset is the speaker's."""
    take(book, {**CLOUDY, "at": said}, at=NINE)
    assert book.entries()[0].at.isoformat() == at


def test_a_time_that_is_none_is_refused_and_nothing_is_written(book, take):
    """Notes beside the faulty one are not written either."""
    with pytest.raises(BookError, match="'teatime' is not a time"):
        take(book, GATHER, {**CLOUDY, "at": "teatime"})
    assert book.utterances() == []
    assert book.entries(include_void=True) == []


def test_words_that_are_no_text_are_refused_and_nothing_is_written(book, take):
    """A command line may hand over bytes that are no UTF-8; Python marks them with surrogates."""
    with pytest.raises(BookError, match="signs that cannot be written"):
        take(book, CLOUDY, heard=typed("tree \udcff twelve"))
    assert book.utterances() == []
    assert take(book, CLOUDY).records == ("e1",)


def test_a_number_without_end_is_refused_and_nothing_is_written(book, take):
    """JSON knows no infinity."""
    with pytest.raises(BookError, match="not finite"):
        take(book, {"act": "reading", "vessel": "tank 1", "temp_f": float("inf")})
    assert book.utterances() == []


def test_newest_utterances_oldest_first(book, take):
    """``utterances(2)`` is the last two in the order said; without a number it is all."""
    for _ in range(4):
        take(book)
    assert [u.id for u in book.utterances(2)] == ["u3", "u4"]
    assert [u.id for u in book.utterances()] == ["u1", "u2", "u3", "u4"]
    assert book.last_utterance().id == "u4"


def test_an_empty_book(book):
    """Nothing in it is an answer, not an error."""
    assert book.last_utterance() is None
    assert (book.utterances(), book.entries(), book.kept()) == ([], [], [])


@pytest.mark.parametrize("name", ["u9", "e1", "1", "", "u", "u-1", "u1.5", "u²", "u" + "9" * 30])
def test_an_unknown_utterance_is_named_in_the_error(book, take, name):
    """Ids that are none and ids not in the book get the same plain answer."""
    take(book)
    with pytest.raises(BookError, match="no utterance"):
        book.utterance(name)


class TestVoids:
    def test_a_correction_voids_the_old_and_adds_the_new(self, book, take):
        """The old entry is out of the live ones and visible in the history."""
        take(book, CLOUDY)
        take(book, {**CLOUDY, "sap": "clear"}, voids=["e1"])
        assert [e.id for e in book.entries()] == ["e2"]
        assert [(e.id, e.voided_by) for e in book.entries(include_void=True)] == [
            ("e1", "u2"),
            ("e2", None),
        ]

    def test_what_was_read_before_knows_of_later_voids(self, book, take):
        """Entries are remembered between readings; whether they hold is not."""
        take(book, CLOUDY)
        assert [e.voided_by for e in book.entries(include_void=True)] == [None]
        take(book, voids=["e1"])
        assert [e.voided_by for e in book.entries(include_void=True)] == ["u2"]

    @pytest.mark.parametrize(
        ("voids", "line"),
        [
            (["e9"], "no note 'e9' in the book"),
            (["u1"], "no note 'u1' in the book"),
            (["e2", "e1"], "'e1' was taken back before"),
        ],
    )
    def test_a_wrong_void_leaves_the_book_as_it_was(self, book, take, voids, line):
        """Neither the utterance nor its notes nor the voids before the wrong one are written."""
        take(book, CLOUDY, GATHER)
        take(book, voids=["e1"])
        before = (book.utterances(), book.entries(include_void=True))
        with pytest.raises(BookError, match=line):
            take(book, CLOUDY, voids=voids)
        assert (book.utterances(), book.entries(include_void=True)) == before

    def test_the_same_id_twice_in_one_breath_is_once(self, book, take):
        """Two notes corrected at once may name the same entry."""
        take(book, CLOUDY)
        take(book, voids=["e1", "e1"])
        assert book.entries() == []


class TestKept:
    def test_what_was_not_understood_waits_until_it_is_settled(self, book, take):
        """A later utterance that resolves it takes it off the list."""
        take(book, outcome="kept")
        take(book, outcome="kept")
        take(book, CLOUDY, resolves="u1")
        assert [u.id for u in book.kept()] == ["u2"]
        assert book.last_utterance().resolves == "u1"

    def test_a_question_is_not_kept_while_open_and_is_once_it_lapsed(self, book, take):
        """It is open while the newest utterance still carries a pending question."""
        take(book, outcome="asked", pending={"slot": "tree"})
        assert book.kept() == []
        take(book, outcome="answered", pending={"slot": "tree"})
        assert book.kept() == []
        take(book, CLOUDY)
        assert [u.id for u in book.kept()] == ["u1"]

    def test_an_older_question_lapses_when_a_new_one_is_asked(self, book, take):
        """Only one question can be open."""
        take(book, outcome="asked", pending={"slot": "tree"})
        take(book, outcome="asked", pending={"slot": "vessel"})
        assert [u.id for u in book.kept()] == ["u1"]

    def test_an_answered_question_is_settled(self, book, take):
        """The answer resolves it."""
        take(book, outcome="asked", pending={"slot": "tree"})
        take(book, CLOUDY, resolves="u1")
        take(book)
        assert book.kept() == []

    def test_resolving_what_is_not_there_is_refused(self, book, take):
        """And nothing is written."""
        with pytest.raises(BookError, match="no utterance 'u7' in the book"):
            take(book, CLOUDY, resolves="u7")
        assert book.utterances() == []


class TestMemos:
    def test_a_memo_is_known_by_its_content(self, book):
        """Its name plays no part, and finishing twice changes nothing."""
        assert not book.memo_taken("ab" * 32)
        book.finish_memo("ab" * 32, "walk.m4a", NINE)
        book.finish_memo("ab" * 32, "copy of walk.m4a", NINE)
        assert book.memo_taken("ab" * 32)
        assert not book.memo_taken("cd" * 32)

    def test_an_interrupted_memo_goes_on_where_it_stopped(self, book_path, take):
        """What was taken before the interruption is known afterwards, in milliseconds."""
        with Book.open(book_path) as book:
            take(book, CLOUDY, source="memo", heard=MEMO)
        with Book.open(book_path) as book:
            assert book.heard_spans("ab" * 32) == {3125}
            assert book.heard_spans("cd" * 32) == set()
            assert not book.memo_taken("ab" * 32)

    def test_the_same_part_of_a_memo_is_never_taken_twice(self, book, take):
        """Two programs hearing one memo cannot double its notes."""
        take(book, CLOUDY, source="memo", heard=MEMO)
        with pytest.raises(BookError, match="part of the recording is in the season book"):
            take(book, CLOUDY, source="memo", heard=MEMO)
        assert len(book.entries()) == len(book.utterances()) == 1

    def test_live_speech_may_sound_the_same_twice(self, book, take):
        """A recording played twice into the microphone is said twice."""
        take(book, CLOUDY, source="live", heard=MEMO)
        take(book, CLOUDY, source="live", heard=MEMO)
        assert len(book.entries()) == 2


class TestInMemoryCopy:
    def test_it_starts_as_the_book_and_writes_to_no_file(self, book_path, take):
        """A dry run sees what is in the book and leaves the file byte for byte alone."""
        with Book.open(book_path) as book:
            take(book, CLOUDY)
        before = book_path.read_bytes()
        with Book.in_memory_copy(book_path) as copy:
            assert take(copy, GATHER).records == ("e2",)
            assert len(copy.entries()) == 2
        assert book_path.read_bytes() == before
        with Book.open(book_path) as book:
            assert [e.id for e in book.entries()] == ["e1"]

    def test_it_sees_what_another_has_written_a_moment_ago(self, book, book_path, take):
        """Also what is not yet in the main file but in the write-ahead log."""
        take(book, CLOUDY)
        with Book.in_memory_copy(book_path) as copy:
            assert copy.entries() == book.entries()

    @pytest.mark.parametrize("given", [True, False])
    def test_with_no_file_it_is_empty_and_makes_none(self, book_path, take, given):
        """Neither for a path where nothing is nor for no path at all."""
        with Book.in_memory_copy(book_path if given else None) as copy:
            take(copy, CLOUDY)
            assert len(copy.entries()) == 1
        assert not book_path.exists()


def test_time_order_is_by_the_instant_not_by_the_clock_face(book, take):
    """Eight o'clock in UTC-8 is after nine o'clock UTC."""
    level = {"act": "reading", "vessel": "tank 1"}
    west = datetime(2026, 3, 14, 8, tzinfo=timezone(timedelta(hours=-8)))
    take(book, {**level, "volume_gal": 20.0}, at=west)
    take(book, {**level, "volume_gal": 10.0}, at=datetime(2026, 3, 14, 9, tzinfo=UTC))
    assert book.season().vessels["tank 1"].volume_gal == 20.0
