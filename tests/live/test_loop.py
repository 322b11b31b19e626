"""The live conversation with scripted sound and words, faster than real time."""

from __future__ import annotations

from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE
from fieldvoice.asr.microphone import Found, Lost
from fieldvoice.asr.streaming import Attended, Followed
from fieldvoice.dialogue import conversation
from fieldvoice.dialogue.reminders import Reminder
from fieldvoice.errors import BookError
from fieldvoice.live import Release, Tick, Touch, take_pending
from fieldvoice.live.wake_policy import WAITS_FOR_ANSWER_S, WAITS_S
from fieldvoice.segments import fact
from fieldvoice.transcript import Transcript
from tests.live.conftest import BEGAN, SAYS_S, Bench, CallsInOrder, WordsInOrder, speech

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Samples
    from fieldvoice.book import Book
    from fieldvoice.live import Way

NOTE = "tree twelve bucket half full"
OTHER_NOTE = "tree nine sap clear"
ASKING = "collected from tree nine"


@pytest.fixture
def bench(tmp_path: Path, book: Book) -> Callable[..., Bench]:
    def made(way: Way, *texts: str) -> Bench:
        return Bench(tmp_path, book, CallsInOrder(WordsInOrder(*texts)), way)

    return made


def test_a_note_is_recorded_saved_sounded_and_read_back(bench: Callable[..., Bench]) -> None:
    live = bench("open", NOTE).hear(0.5, speech(), 2)
    assert live.acts == [{"act": "inspect", "tree": 12, "fill": 0.5}]
    assert live.mouth.sounds == ["got_it"]
    assert live.mouth.said == ["Tree twelve: half full."]
    (taken,) = live.book.utterances()
    assert taken.source == "live"
    assert taken.audio is not None
    assert [taken.audio.file] == live.recordings
    assert live.screen.states[0] == "listening"
    assert "hearing" in live.screen.states
    assert "speaking" in live.screen.states


def test_the_recording_holds_all_that_was_said(bench: Callable[..., Bench]) -> None:
    from fieldvoice.asr import read_audio

    said = speech(3.0, seed=4)
    live = bench("open", NOTE).hear(0.5, said, 2)
    heard = read_audio(live.tape.folder / live.recordings[0]).samples
    first = int(np.argmax(np.abs(heard) > 0))
    assert np.array_equal(heard[first : first + len(said)], said)


def test_without_the_attention_word_nothing_is_taken_and_no_sound_is_kept(
    bench: Callable[..., Bench],
) -> None:
    live = bench("word", NOTE).hear(0.5, speech(), 2)
    assert live.book.utterances() == []
    assert live.recordings == []
    assert live.mouth.said == live.mouth.sounds == []
    assert live.screen.states == ["waiting"]


def test_the_attention_word_and_a_note_in_one_breath(bench: Callable[..., Bench]) -> None:
    live = bench("word", f"hello {NOTE}").hear(0.5, speech(), 2)
    assert live.outcomes == ["saved"]
    assert live.book.utterances()[0].text == NOTE
    assert "overheard" not in live.recordings[0]


def test_the_attention_word_alone_opens_the_ear_for_a_while(bench: Callable[..., Bench]) -> None:
    live = bench("word", "hello", NOTE, OTHER_NOTE)
    live.hear(0.5, speech(0.6), 0.5)
    # Answered before the pause that ends a note: whoever calls waits for it.
    assert live.mouth.sounds == ["listening"]
    live.hear(1, speech(seed=1), 4)
    assert live.outcomes == ["saved"]
    live.hear(speech(seed=2), 4)
    assert live.outcomes == ["saved"], "the ear is shut again after the note"


def test_the_ear_shuts_when_nobody_speaks_after_the_call(bench: Callable[..., Bench]) -> None:
    live = bench("word", "hello", NOTE).hear(0.5, speech(0.6), WAITS_S + 1, speech(seed=1), 2)
    assert live.outcomes == []


def test_after_its_own_question_it_listens_without_the_word(bench: Callable[..., Bench]) -> None:
    live = bench("word", f"hello {ASKING}", "two gallons", NOTE)
    live.hear(0.5, speech(), 0.8 + SAYS_S + 0.5)
    assert live.outcomes == ["asked"]
    assert live.mouth.sounds == ["listening"], "it sounds when the question has been said"
    live.hear(speech(seed=1), 4)
    assert live.outcomes == ["asked", "saved"]
    assert live.acts == [{"act": "gather", "tree": 9, "volume_gal": 2.0}]
    live.hear(speech(seed=2), 2)
    assert live.outcomes == ["asked", "saved"]


def test_a_question_left_alone_shuts_the_ear_again(bench: Callable[..., Bench]) -> None:
    live = bench("word", f"hello {ASKING}", "two gallons")
    live.hear(0.5, speech(), SAYS_S + WAITS_FOR_ANSWER_S + 2, speech(seed=1), 2)
    assert live.outcomes == ["asked"]


def test_open_it_takes_no_small_talk_into_the_book(bench: Callable[..., Bench]) -> None:
    live = bench("open", "dog ran hill home", NOTE).hear(0.5, speech(), 2, speech(seed=1), 2)
    assert [one.text for one in live.book.utterances()] == [NOTE]
    assert live.mouth.sounds == ["got_it"]
    assert len(list((live.tape.folder / "passed_over").glob("*.flac"))) == 1


def test_what_was_surely_meant_for_it_is_kept_for_review(bench: Callable[..., Bench]) -> None:
    live = bench("word", "hello dog ran hill home").hear(0.5, speech(), 2)
    assert live.outcomes == ["kept"]
    assert live.mouth.sounds == ["say_again"]
    assert live.tape.make_room(live.talk.needed_sounds()) == []


def test_the_sound_of_a_remark_is_kept_whatever_the_room(bench: Callable[..., Bench]) -> None:
    """The other recordings make room; what was said freely is in the sound alone."""
    from fieldvoice.live import Recorder

    live = bench("open", "make a note the gate needs a hinge", NOTE)
    live.hear(0.5, speech(), 4, speech(seed=1), 4)
    assert [act["act"] for act in live.acts] == ["remark", "inspect"]
    first, second = live.recordings
    assert Recorder(live.tape.folder, limit_mb=0).make_room(live.talk.needed_sounds()) == [second]
    assert live.recordings == [first]


CRY = "help he burned his hand on the pan"


@pytest.mark.parametrize("way", ["open", "word"])
def test_a_cry_is_answered_though_nobody_called_and_its_sound_is_kept(
    bench: Callable[..., Bench], way: Way
) -> None:
    live = bench(way, CRY).hear(0.5, speech(), 4)
    assert live.outcomes == ["answered"]
    assert live.acts == []
    assert "twenty minutes" in live.mouth.said[0]
    assert live.tape.make_room(live.talk.needed_sounds()) == []
    assert len(live.recordings) == 1


def test_a_cry_is_answered_after_quiet(bench: Callable[..., Bench]) -> None:
    live = bench("open", "quiet", NOTE, CRY)
    live.hear(0.5, speech(), 3, speech(seed=1), 3, speech(seed=2), 3)
    assert len(live.mouth.said) == 1
    assert "twenty minutes" in live.mouth.said[0]


def test_a_cry_is_answered_at_once_though_somebody_goes_on_speaking(
    bench: Callable[..., Bench],
) -> None:
    """People who shout do not pause; and no voice stops what they need to hear."""
    live = bench("open", CRY, OTHER_NOTE).hear(0.5, speech(), 1.0, speech(3.0, seed=1))
    assert "twenty minutes" in live.mouth.said[0]
    assert live.mouth.changes == []


def test_a_warning_sounds_first(bench: Callable[..., Bench]) -> None:
    live = bench("open", "tree twelve sap cloudy").hear(0.5, speech(), 2)
    assert live.mouth.sounds == ["careful"]


# --- its own voice ---------------------------------------------------------------------------


def test_it_does_not_hear_itself(bench: Callable[..., Bench]) -> None:
    live = bench("open", NOTE, OTHER_NOTE).hear(0.5, speech(), 0.9)
    assert live.mouth.speaking
    live.hear(speech(1.0, peak=4_000, seed=1), 3)
    assert live.outcomes == ["saved"]
    assert live.mouth.changes == []


def test_speaking_over_it_stops_it_and_is_heard_from_the_beginning(
    bench: Callable[..., Bench], tmp_path: Path
) -> None:
    """A headset gives nothing of the voice back, so that any voice is somebody else's."""
    from fieldvoice.asr import read_audio

    live = bench("open", NOTE, OTHER_NOTE)
    over = speech(2.0, seed=1)
    live.hear(0.5, speech(), 0.9, 1.2, over, 2)
    assert live.mouth.changes == ["stopped"]
    assert live.outcomes == ["saved", "saved"]
    heard = read_audio(live.tape.folder / live.recordings[-1]).samples
    assert (np.abs(heard) > 3_000).sum() == len(over)


def test_it_lets_people_finish_before_it_speaks(
    bench: Callable[..., Bench], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The words come late, and somebody speaks again already."""
    live = bench("open", OTHER_NOTE)
    late: Future[Attended] = Future()
    with monkeypatch.context() as patch:
        patch.setattr(live.ear, "attend", lambda *_, **__: late)
        live.hear(0.5, speech(), 1)
    live.hear(speech(0.5, seed=1))
    late.set_result(Attended(False, Transcript(text=NOTE, recogniser="late")))
    live.hear(speech(1.0, seed=2))
    assert live.outcomes == ["saved"]
    assert live.mouth.said == []
    live.hear(SAYS_S * 2 + 2)
    assert live.mouth.said == ["Tree twelve: half full.", "Tree nine: clear."]


def test_a_search_begun_in_a_pause_that_was_no_end_holds_up_no_other(
    bench: Callable[..., Bench], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that has not begun when somebody goes on is given up, the last is not."""
    live = bench("open")
    begun: list[Future[Attended]] = []

    def attend(*_: object, **__: object) -> Future[Attended]:
        begun.append(Future())
        return begun[-1]

    monkeypatch.setattr(live.ear, "attend", attend)
    live.hear(0.5, speech(), 0.5, speech(0.5, seed=1), 0.9)
    assert [one.cancelled() for one in begun] == [True, False]


def test_words_are_read_in_the_pause_once_and_nothing_is_written_then(
    bench: Callable[..., Bench], monkeypatch: pytest.MonkeyPatch
) -> None:
    live = bench("open", NOTE)
    foreseen: list[str] = []
    real = live.talk.prefetch

    def prefetch(heard: Transcript) -> None:
        foreseen.append(heard.text)
        real(heard)

    monkeypatch.setattr(live.talk, "prefetch", prefetch)
    live.hear(0.5, speech(), 0.6)
    assert foreseen == [NOTE]
    assert live.book.utterances() == []
    live.hear(1)
    assert foreseen == [NOTE]
    assert live.outcomes == ["saved"]


def test_quiet_leaves_the_sounds_and_the_answers(bench: Callable[..., Bench]) -> None:
    live = bench("open", "quiet", NOTE, "what should i boil today", "louder", OTHER_NOTE)
    for seed in range(5):
        live.hear(speech(seed=seed), SAYS_S * 2 + 2)
    assert live.mouth.sounds[:2] == ["got_it", "got_it"]
    assert "Tree twelve: half full." not in live.mouth.said
    assert live.mouth.said[-1].startswith("Tree nine: clear.")
    assert "louder 1" in live.mouth.changes


@pytest.mark.parametrize(
    ("said", "change"),
    [
        ("louder", "louder 1"),
        ("softer", "louder -1"),
        ("slower", "slower 1"),
        ("faster", "slower -1"),
    ],
)
def test_commands_about_the_voice(bench: Callable[..., Bench], said: str, change: str) -> None:
    assert bench("open", said).hear(0.5, speech(), 2).mouth.changes == [change]


# --- what lasts ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "settled"),
    [
        ("louder", {"loudness": 1.5, "pace": 1.0}),
        ("slower", {"loudness": 1.0, "pace": 0.85}),
        ("quiet", {"reads_back": False}),
        ("wait longer", {"pause_s": 1.2}),
        ("don't wait so long", {"pause_s": 0.4}),
        ("listen to everything", {"listening": "open"}),
        ("listen for the word", {"listening": "word"}),
        (
            "listen for hello chickadee",
            {"listening": "word", "attention_word": "hello chickadee"},
        ),
        (NOTE, {}),
    ],
)
def test_what_was_changed_aloud_is_handed_on_to_last(
    bench: Callable[..., Bench], said: str, settled: dict[str, object]
) -> None:
    live = bench("open", said).hear(0.5, speech(), 2)
    assert live.settled == settled


def test_wait_longer_lets_a_longer_pause_pass(bench: Callable[..., Bench]) -> None:
    live = bench("open", "wait longer", "what was searched for in the pause", NOTE)
    live.hear(0.5, speech(), SAYS_S + 1)
    live.hear(speech(0.5, seed=1), 1.0, speech(0.5, seed=2), 2)
    assert live.outcomes == ["done", "saved"]


def test_the_pause_becomes_no_shorter_than_it_may(bench: Callable[..., Bench]) -> None:
    live = bench("open", *["don't wait so long"] * 3)
    for seed in range(3):
        live.hear(speech(seed=seed), SAYS_S + 2)
    assert live.stream.pause_s == 0.4


def test_told_to_listen_to_everything_it_needs_no_word(bench: Callable[..., Bench]) -> None:
    live = bench("word", "hello listen to everything", NOTE, "listen for the word", OTHER_NOTE)
    for seed in range(4):
        live.hear(speech(seed=seed), SAYS_S + 2)
    assert live.outcomes == ["done", "saved", "done"]


def test_settings_that_cannot_be_written_hold_for_now(
    bench: Callable[..., Bench], monkeypatch: pytest.MonkeyPatch
) -> None:
    live = bench("open", "louder")

    def full(_: object) -> None:
        raise BookError("The settings cannot be written: no space left.")

    monkeypatch.setattr(live.loop, "_settle_for_good", full)
    live.hear(0.5, speech(), 2)
    assert live.mouth.changes == ["louder 1"]
    assert live.screen.asides == [
        "The settings cannot be written: no space left. It holds until the program ends."
    ]


# --- touch -----------------------------------------------------------------------------------


def test_a_key_opens_and_a_second_one_ends(bench: Callable[..., Bench]) -> None:
    live = bench("touch", NOTE, OTHER_NOTE).hear(0.5, speech(seed=5), 2)
    assert live.recordings == []
    live.loop.handle(Touch())
    assert live.mouth.sounds == ["listening"]
    live.hear(0.3, speech())
    live.loop.handle(Touch())
    assert live.outcomes == ["saved"], "no pause is waited for"
    live.hear(SAYS_S + 1, speech(seed=1), 2)
    assert live.outcomes == ["saved"]


def test_a_key_held_down_listens_until_it_is_let_go(bench: Callable[..., Bench]) -> None:
    live = bench("touch", NOTE)
    live.loop.handle(Touch(held=True))
    live.hear(0.3, speech(), 0.3)
    live.loop.handle(Release())
    assert live.outcomes == ["saved"]


def test_a_key_while_someone_speaks_means_what_is_being_said(bench: Callable[..., Bench]) -> None:
    live = bench("word", NOTE).hear(0.5, speech(0.5))
    live.loop.handle(Touch())
    live.hear(speech(0.5, seed=1), 2)
    assert live.outcomes == ["saved"]


def test_a_key_stops_the_voice(bench: Callable[..., Bench]) -> None:
    live = bench("open", NOTE).hear(0.5, speech(), 1)
    live.loop.handle(Touch())
    assert not live.mouth.speaking


# --- unasked ---


def test_what_is_due_is_said_unasked_and_once(
    bench: Callable[..., Bench], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It waits until nobody speaks."""
    live = bench("word", f"hello {NOTE}")
    from_s = BEGAN + timedelta(seconds=3)
    reminder = Reminder("pan low", from_s, fact("Check the pan"))
    monkeypatch.setattr(conversation, "reminders", lambda *_: (reminder,))
    live.hear(2.5, speech(2.0))
    assert live.mouth.said == []
    live.hear(60)
    assert live.mouth.said == ["Tree twelve: half full.", "Check the pan."]
    assert live.mouth.sounds == ["got_it", "careful"]
    assert live.screen.asides == ["Check the pan."]


def test_a_timer_rings_by_a_sound_of_its_own(bench: Callable[..., Bench]) -> None:
    """It is no warning: what was asked for has come."""
    live = bench("open", "check the pan in one minute").hear(0.5, speech(), 40)
    assert live.mouth.sounds == ["got_it"]
    live.hear(40)
    assert live.mouth.sounds == ["got_it", "timer"]
    assert live.mouth.said[-1] == "Reminder: check the pan."


# --- a long day ---


def test_ten_minutes_of_talk_around_it_leave_nothing_behind(bench: Callable[..., Bench]) -> None:
    """Nobody calls: no recording stays on the disk, and no sound in memory."""
    live = bench("word", *[NOTE] * 200, f"hello {OTHER_NOTE}")
    for seed in range(200):
        live.hear(speech(2.0, seed=seed), 1.0)
    assert live.recordings == []
    assert sum(map(len, live.stream._kept)) < SAMPLE_RATE
    live.hear(speech(seed=200), 2)
    assert live.outcomes == ["saved"]


# --- what goes wrong -------------------------------------------------------------------------


def test_a_microphone_that_vanishes_loses_nothing_said(bench: Callable[..., Bench]) -> None:
    live = bench("open", NOTE, OTHER_NOTE).hear(0.5, speech(), 0.4)
    live.loop.handle(Lost("nothing comes from the microphone"))
    live.loop.handle(Tick())
    assert live.outcomes == ["saved"]
    assert live.screen.states[-1] in ("deaf",)
    live.loop.handle(Found("headset"))
    assert "headset" in live.screen.asides[-1]
    live.hear(SAYS_S + 1, speech(seed=1), 2)
    assert live.outcomes == ["saved", "saved"]


def test_a_note_cut_off_by_the_microphone_is_kept_and_not_guessed_at(
    bench: Callable[..., Bench],
) -> None:
    """Half a note sounds like a whole one: "collected two" may have been two and a half."""
    live = bench("open", NOTE).hear(0.5, speech())
    live.loop.handle(Lost("nothing comes from the microphone"))
    assert live.outcomes == ["kept"]
    assert live.acts == []
    assert live.talk.needed_sounds() == set(live.recordings)
    assert live.mouth.sounds == ["say_again"]


def test_the_end_of_the_program_takes_what_is_being_said(bench: Callable[..., Bench]) -> None:
    live = bench("open", NOTE).hear(0.5, speech())
    live.loop.finish()
    assert live.outcomes == ["saved"]


def test_a_book_that_cannot_be_written_loses_no_sound(
    bench: Callable[..., Bench], monkeypatch: pytest.MonkeyPatch
) -> None:
    live = bench("open", NOTE, NOTE)

    def locked(*_: object, **__: object) -> None:
        raise BookError("Another program is writing to the season book.")

    with monkeypatch.context() as patch:
        patch.setattr(live.talk, "hear", locked)
        live.hear(0.5, speech(), 2)
    assert live.outcomes == []
    assert live.mouth.sounds == ["say_again"]
    assert "Another program" in live.screen.asides[-1]
    replies = list(take_pending(live.tape, live.book, live.talk, live.ear, "open"))
    assert [reply.outcome for reply in replies] == ["saved"]


def test_an_ear_that_breaks_down_loses_no_sound(
    bench: Callable[..., Bench], monkeypatch: pytest.MonkeyPatch
) -> None:
    live = bench("open", NOTE)

    def broken(*_: object, **__: object) -> Future[Attended]:
        future: Future[Attended] = Future()
        future.set_exception(BrokenProcessPool("the ear ended"))
        return future

    with monkeypatch.context() as patch:
        patch.setattr(live.ear, "attend", broken)
        patch.setattr(live.ear, "follow", broken)
        live.hear(0.5, speech(), 2)
    assert "kept as sound" in live.screen.asides[-1]
    replies = list(take_pending(live.tape, live.book, live.talk, live.ear, "open"))
    assert [reply.outcome for reply in replies] == ["saved"]


def test_after_a_crash_what_was_being_said_is_taken_once_at_its_own_time(
    bench: Callable[..., Bench],
) -> None:
    """The program ends before the end of a note: no end of the recording, no utterance."""
    live = bench("touch", NOTE)
    live.loop.handle(Touch())
    live.hear(0.5, speech(2.0))
    said_at = live.now
    (name,) = live.recordings
    del live.loop

    again = bench("touch", NOTE)
    (reply,) = take_pending(again.tape, again.book, again.talk, again.ear, "touch")
    assert reply.outcome == "saved"
    (taken,) = again.book.utterances()
    assert taken.audio is not None
    assert taken.audio.file == name
    assert 0 < (said_at - taken.at).total_seconds() < 3
    assert list(take_pending(again.tape, again.book, again.talk, again.ear, "touch")) == []


def test_after_a_crash_what_nobody_called_for_is_not_taken(bench: Callable[..., Bench]) -> None:
    live = bench("word", NOTE).hear(0.5, speech(2.0))
    assert len(live.recordings) == 1
    del live.loop
    again = bench("word", NOTE)
    assert list(take_pending(again.tape, again.book, again.talk, again.ear, "word")) == []
    assert again.recordings == []


def test_what_was_dealt_with_is_not_taken_again(bench: Callable[..., Bench]) -> None:
    live = bench("open", NOTE, OTHER_NOTE).hear(0.5, speech(), 4, speech(seed=1), 4)
    assert len(live.recordings) == 2
    assert list(take_pending(live.tape, live.book, live.talk, live.ear, "open")) == []


UNFINISHED = "collected two and a half"
FINISHED = "collected two and a half gallons from tree nine"


class WordsByLength:
    """Hears the beginning in what is short, and all of it in what is long."""

    def __init__(self, short: str, long: str, at_s: float) -> None:
        self._short, self._long, self._at_s = short, long, at_s

    def attend(self, samples: Samples, *, call_needed: bool) -> Attended:
        text = self._long if len(samples) > self._at_s * SAMPLE_RATE else self._short
        return Attended(False, Transcript(text, confidence=1.0, recogniser="an engine"))

    def follow(self, samples: Samples, *, first: bool, call_needed: bool) -> Followed:
        return Followed(False, "")


GATHERED = [{"act": "gather", "tree": 9, "volume_gal": 2.5}]


@pytest.mark.parametrize(
    ("short", "pause_s", "acts"),
    [
        (UNFINISHED, 1.2, GATHERED),
        ("poured ten gallons into tank", 1.2, GATHERED),
        (NOTE, 1.2, [{"act": "inspect", "tree": 12, "fill": 0.5}]),
        (UNFINISHED, 2.0, []),
    ],
)
def test_while_a_number_or_a_unit_is_owed_a_pause_is_no_end(
    tmp_path: Path, book: Book, short: str, pause_s: float, acts: list[dict[str, object]]
) -> None:
    """After a whole sentence the usual pause is the end, and nobody is waited for for ever."""
    live = Bench(tmp_path, book, WordsByLength(short, FINISHED, 2.5), "open")
    live.hear(0.5, speech(1.0), pause_s, speech(1.0, seed=1), 3)
    assert live.acts == acts
