"""A live conversation without devices: sound from arrays, a mouth that keeps what it says."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE, UtteranceStream
from fieldvoice.asr.microphone import Piece
from fieldvoice.asr.streaming import Attended, Followed, StreamingRecogniser
from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation
from fieldvoice.handbook.emergency import emergency_in
from fieldvoice.live import Address, BookDialogue, EchoGate, LiveLoop, Recorder, SaidAt
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import Transcript
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fieldvoice.asr import Samples
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.live import Scene, Way
    from fieldvoice.reply import Reply

FRAME_S = 0.01
PIECE = SAMPLE_RATE // 50
BEGAN = datetime(2027, 3, 5, 9, 10, tzinfo=UTC)
#: How long the test's mouth takes to say anything.
SAYS_S = 2.0
CALL = "hello"


class Scripted:
    """A detector for which anything loud is speech."""

    frame = round(FRAME_S * SAMPLE_RATE)

    def sure(self, frame: Samples) -> float:
        return 1.0 if np.abs(frame).max() > 3_000 else 0.0


class WordsInOrder:
    """A recogniser that hears the next of the words it was given, whatever the sound."""

    name = "in order"

    def __init__(self, *texts: str) -> None:
        self.texts = deque(texts)

    def recognise(self, samples: Samples) -> Transcript:
        return Transcript(text=self.texts.popleft(), recogniser=self.name, fit=0.001)

    def learn(self, names: EntityNames) -> None:
        """It knows what it will hear."""


class CallsInOrder:
    """An ear for which an utterance "hello …" begins with the attention word."""

    def __init__(self, recogniser: WordsInOrder) -> None:
        self._recogniser = recogniser
        self._known: dict[int, Attended] = {}

    def attend(self, samples: Samples, *, call_needed: bool) -> Attended:
        # The same sound is the same words, as often as it is asked for.
        key = hash((samples.tobytes(), len(samples)))
        if key not in self._known:
            heard = self._recogniser.recognise(samples)
            head, _, rest = heard.text.partition(" ")
            called = head == CALL
            text = rest if called else heard.text
            wanted = bool(text) or not called
            self._known[key] = Attended(
                called,
                Transcript(text=text, recogniser=heard.recogniser, fit=heard.fit)
                if wanted and (called or not call_needed or emergency_in(heard) is not None)
                else None,
            )
        return self._known[key]

    def follow(self, samples: Samples, *, first: bool, call_needed: bool) -> Followed:
        return Followed(not call_needed, "" if call_needed else "…")


@dataclass
class FakeMouth:
    """Keeps what it is given; says it in sound time, ``SAYS_S`` seconds for anything."""

    said: list[str] = field(default_factory=list)
    sounds: list[str] = field(default_factory=list)
    changes: list[str] = field(default_factory=list)
    left_s: float = 0.0
    level: float = 0.0
    loudness: float = 1.0
    pace: float = 1.0

    @property
    def speaking(self) -> bool:
        return self.left_s > 0

    def say(self, text: str) -> None:
        self.said.append(text)
        self.left_s += SAYS_S
        self.level = 0.1

    def sound(self, name: str) -> None:
        self.sounds.append(name)

    def stop(self) -> None:
        if self.left_s > 0:
            self.changes.append("stopped")
        self.left_s = self.level = 0.0

    def louder(self, steps: int = 1) -> None:
        self.changes.append(f"louder {steps}")
        self.loudness *= 1.5**steps

    def slower(self, steps: int = 1) -> None:
        self.changes.append(f"slower {steps}")
        self.pace *= 0.85**steps

    def pass_time(self, seconds: float) -> None:
        self.left_s = max(0.0, self.left_s - seconds)
        if self.left_s == 0.0:
            self.level = 0.0


@dataclass
class FakeScreen:
    """Keeps what it is shown."""

    states: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    replies: list[Reply] = field(default_factory=list)
    asides: list[str] = field(default_factory=list)

    def scene(self, scene: Scene) -> None:
        if not self.states or self.states[-1] != scene.state:
            self.states.append(scene.state)
        if scene.words and (not self.words or self.words[-1] != scene.words):
            self.words.append(scene.words)

    def reply(self, reply: Reply) -> None:
        self.replies.append(reply)

    def aside(self, text: str) -> None:
        self.asides.append(text)


class Bench:
    """A live loop with everything around it that a test looks at."""

    def __init__(
        self, folder: Path, book: Book, ear: object, way: Way, detector: type = Scripted
    ) -> None:
        self.now = BEGAN
        self.mouth, self.screen = FakeMouth(), FakeScreen()
        self.book, self.tape = book, Recorder(folder / "sound")
        clock = SaidAt(lambda: self.now)
        conversation = Conversation(book, Interpreter(GRAMMAR), clock=clock)
        self.talk = BookDialogue(conversation, book, clock)
        self.ear = StreamingRecogniser(ear)
        self.settled: dict[str, object] = {}
        self.address, self.stream = Address(way), UtteranceStream(detector())
        self.loop = LiveLoop(
            talk=self.talk,
            hearing=self.ear,
            mouth=self.mouth,
            tape=self.tape,
            screen=self.screen,
            address=self.address,
            stream=self.stream,
            gate=EchoGate(detector()),
            clock=lambda: self.now,
            settle=self.settled.update,
        )

    def hear(self, *sounds: Samples | float) -> Bench:
        """Let sounds come in, and silence of so many seconds, piece by piece."""
        for sound in sounds:
            samples = silence(sound) if isinstance(sound, int | float) else sound
            for at in range(0, len(samples), PIECE):
                piece = samples[at : at + PIECE]
                self.loop.handle(Piece(piece))
                seconds = len(piece) / SAMPLE_RATE
                self.now += timedelta(seconds=seconds)
                self.mouth.pass_time(seconds)
        return self

    @property
    def outcomes(self) -> list[str]:
        return [reply.outcome for reply in self.screen.replies]

    @property
    def recordings(self) -> list[str]:
        return sorted(path.name for path in self.tape.folder.glob("*.flac"))

    @property
    def acts(self) -> list[dict[str, object]]:
        return [entry.act.json_fields() for entry in self.book.entries()]


def silence(seconds: float) -> Samples:
    return np.zeros(round(seconds * SAMPLE_RATE), dtype=np.int16)


def speech(seconds: float = 1.0, peak: int = 10_000, seed: int = 0) -> Samples:
    """Return sound that the scripted detector takes for speech; no two seeds sound alike."""
    chance = np.random.default_rng(seed)
    signs = chance.choice(np.array([-1, 1]), round(seconds * SAMPLE_RATE))
    return (signs * peak).astype(np.int16)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with Book.open(tmp_path / "season.db") as opened:
        yield opened
