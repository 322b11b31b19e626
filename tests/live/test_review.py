"""The review by voice, with scripted sound and words: nothing that was kept is lost by it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE, UtteranceStream
from fieldvoice.asr.streaming import StreamingRecogniser
from fieldvoice.dialogue import Conversation
from fieldvoice.live import Address, EchoGate, LiveLoop, Recorder, ReviewTalk, SaidAt
from fieldvoice.live.review import HOW
from fieldvoice.nlg.spoken import spoken
from fieldvoice.nlg.written import written
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed
from fieldvoice.tts import Sound
from tests.live.conftest import Bench, CallsInOrder, FakeMouth, Scripted, WordsInOrder, speech
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Samples
    from fieldvoice.book import Book
    from fieldvoice.transcript import AudioSpan, Transcript

NOISE = "my dog ran down the hill"
FULL = "three nine was kind of brimming"
KEPT_SOUND = Sound(np.ones(SAMPLE_RATE, dtype=np.int16), SAMPLE_RATE)


class PlayingMouth(FakeMouth):
    """Keeps what it plays among what it says."""

    def play(self, words: Sound) -> None:
        self.said.append(f"played {words.duration_s:.0f} s")
        self.left_s += words.duration_s


class Review(Bench):
    """A bench whose talk is the review of what was kept an hour before."""

    def __init__(self, folder: Path, book: Book, kept: tuple[str, ...], *texts: str) -> None:
        super().__init__(folder, book, CallsInOrder(WordsInOrder(*texts)), "open")
        self.mouth = PlayingMouth()
        clock = SaidAt(lambda: self.now)
        conversation = Conversation(book, Interpreter(GRAMMAR), clock=clock)
        for text in kept:
            conversation.hear(typed(text))
        self.kept_at = self.now
        self.now = self.now.replace(hour=self.now.hour + 1)
        self.sounds: dict[str, Sound] = {}
        self.review = ReviewTalk(conversation, book.kept(), clock, self._sound_of)
        self.connect()

    def connect(self) -> None:
        """Put the loop together, with the ear there is now."""
        self.loop = LiveLoop(
            talk=self.review,
            hearing=self.ear,
            mouth=self.mouth,
            tape=Recorder(self.tape.folder / "review"),
            screen=self.screen,
            address=Address("open"),
            stream=UtteranceStream(Scripted()),
            gate=EchoGate(Scripted()),
            clock=lambda: self.now,
        )

    def _sound_of(self, span: AudioSpan) -> Sound | None:
        return self.sounds.get(span.file)

    def say(self, times: int) -> Review:
        """Let the scripted words be said, each when the answer to the one before is over."""
        for seed in range(times):
            self.hear(speech(seed=seed + len(self.screen.replies)), 12)
        return self

    @property
    def acts(self) -> list[dict[str, object]]:
        """The notes without their times, which are looked at by themselves."""
        return [{k: v for k, v in act.items() if k != "at"} for act in super().acts]

    @property
    def waiting(self) -> list[str]:
        return [one.text for one in self.book.kept()]


@pytest.fixture
def review(tmp_path: Path, book: Book) -> Callable[..., Review]:
    def made(kept: tuple[str, ...], *texts: str) -> Review:
        return Review(tmp_path, book, kept, *texts)

    return made


def test_each_is_told_and_said_anew(review: Callable[..., Review]) -> None:
    talk = review((NOISE, FULL), "tree nine is full", "throw it away")
    first, sound = talk.review.opening()
    assert written(first) == f"2 to review. {written((HOW,))} An hour ago. I heard: {NOISE}."
    assert sound is None
    talk.say(2)
    assert talk.mouth.said == [
        f"Tree nine: full. An hour ago. I heard: {FULL}.",
        "Dropped. That was the last. Nothing waits.",
    ]
    assert talk.acts == [{"act": "inspect", "tree": 9, "fill": 1.0}]
    assert talk.book.entries()[0].at == talk.kept_at, "it was full then, not now"
    assert talk.waiting == []
    assert talk.review.finished


def test_its_sound_is_played_and_then_it_listens(
    review: Callable[..., Review], tmp_path: Path
) -> None:
    live = Bench(tmp_path / "before", review(()).book, CallsInOrder(WordsInOrder(NOISE)), "touch")
    from fieldvoice.live import Touch

    live.loop.handle(Touch())
    live.hear(speech(), 2)
    talk = review((), "say it again")
    (kept,) = talk.book.kept()
    assert kept.audio is not None
    talk.sounds[kept.audio.file] = KEPT_SOUND
    told, sound = talk.review.opening()
    assert sound is KEPT_SOUND
    assert "I heard" not in written(told)
    talk.say(1)
    assert talk.mouth.said == ["An hour ago.", "played 1 s"]
    assert talk.mouth.sounds == ["got_it", "listening"]


def test_a_question_of_its_own_is_answered_by_voice(review: Callable[..., Review]) -> None:
    talk = review((FULL,), "half full", "nine").say(2)
    assert talk.outcomes == ["asked", "saved"]
    assert talk.mouth.said[0] == "Which tree?"
    assert talk.acts == [{"act": "inspect", "tree": 9, "fill": 0.5}]


def test_the_answer_to_what_was_asked_then_is_enough(review: Callable[..., Review]) -> None:
    talk = review(("half full clear", "tank two is at thirty six degrees"), "twelve")
    told, _ = talk.review.opening()
    assert written(told).endswith("I heard: half full clear. I asked: Which tree?")
    talk.say(1)
    assert talk.acts[-1] == {"act": "inspect", "tree": 12, "fill": 0.5, "sap": "clear"}
    assert talk.waiting == []


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("skip", "Left for later. That was the last. One still waits."),
        ("stop", "Stopped. One still waits."),
        ("say it again", f"An hour ago. I heard: {FULL}."),
        ("my cousin likes the radio", 'Not understood. Say it another way, or "skip".'),
        ("tree nine", 'Not understood. Say it another way, or "skip".'),
        ("no", "Say what it was."),
        ("help", spoken((HOW,))),
        ("louder", "Louder."),
        ("no make that tree ten", 'Say "scratch that", and then the note.'),
        ("scratch that", "Nothing to take back in this review."),
    ],
)
def test_what_settles_nothing_leaves_it_waiting(
    review: Callable[..., Review], said: str, told: str
) -> None:
    talk = review((FULL,), said).say(1)
    assert talk.mouth.said == [told]
    assert talk.waiting == [FULL]
    assert talk.acts == []


def test_a_no_to_its_own_question_leaves_it_waiting(review: Callable[..., Review]) -> None:
    talk = review((FULL,), "dump tank two", "no", "tree nine is full").say(3)
    assert talk.mouth.said[:2] == ["Dump tank two: yes or no?", "Then say what it was."]
    assert talk.acts == [{"act": "inspect", "tree": 9, "fill": 1.0}]


def test_as_a_remark_the_words_are_kept(review: Callable[..., Review]) -> None:
    talk = review((FULL,), "keep it as a remark").say(1)
    assert talk.acts == [{"act": "remark", "text": FULL}]
    assert talk.waiting == []


def test_the_sound_of_what_became_a_remark_is_kept(
    review: Callable[..., Review], tmp_path: Path
) -> None:
    live = Bench(tmp_path / "before", review(()).book, CallsInOrder(WordsInOrder(NOISE)), "touch")
    from fieldvoice.live import Touch

    live.loop.handle(Touch())
    live.hear(speech(), 2)
    review((), "keep it as a remark").say(1)
    assert live.talk.needed_sounds() == set(live.recordings)


class Unfit(WordsInOrder):
    """Hears words that fit the sound of speech badly, as short ones do."""

    def recognise(self, samples: Samples) -> Transcript:
        return replace(super().recognise(samples), fit=-0.001)


@pytest.mark.parametrize(
    ("said", "told", "waits"),
    [
        (("skip this one",), "Left for later. That was the last. One still waits.", True),
        (("keep it as a remark",), f"Noted: {FULL}. That was the last. Nothing waits.", False),
        (("throw it away",), "Throw it away: yes or no?", True),
        (("throw it away", "no"), "Then say what it was.", True),
        (("throw it away", "yes"), "Dropped. That was the last. Nothing waits.", False),
        (("tree nine is full",), 'Not understood. Say it another way, or "skip".', True),
    ],
)
def test_short_commands_that_fit_badly_are_taken_where_they_do_no_harm(
    review: Callable[..., Review], said: tuple[str, ...], told: str, waits: bool
) -> None:
    talk = review((FULL,))
    talk.ear = StreamingRecogniser(CallsInOrder(Unfit(*said)))
    talk.connect()
    talk.say(len(said))
    assert talk.mouth.said[-1] == told
    assert bool(talk.waiting) == waits


def test_taking_back_goes_back_to_it(review: Callable[..., Review]) -> None:
    talk = review((FULL, NOISE), "tree nine is full", "scratch that", "tree ten is full").say(3)
    assert talk.mouth.said[1] == f"Took back: Tree nine: full. An hour ago. I heard: {FULL}."
    assert talk.acts == [{"act": "inspect", "tree": 10, "fill": 1.0}]
    assert talk.waiting == [NOISE]


def test_its_recordings_are_not_taken_up_as_notes(
    review: Callable[..., Review], tmp_path: Path
) -> None:
    """What was said in the review and not written down is no note that was left unheard."""
    talk = review((FULL,), "skip").say(1)
    assert len(list((tmp_path / "sound" / "review").glob("*.flac"))) == 1
    assert list(talk.tape.unknown(())) == []
