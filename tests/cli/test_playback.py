"""Finding the sound of what was said."""

from __future__ import annotations

import hashlib
import threading
import time
import wave
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from fieldvoice.book import Book
from fieldvoice.cli.playback import Sounds
from fieldvoice.soundcard import SoundDeviceError
from fieldvoice.transcript import AudioSpan
from tests.book.conftest import NINE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path


@pytest.fixture
def book() -> Iterator[Book]:
    with Book.in_memory_copy() as book:
        yield book


def recorded(path: Path) -> AudioSpan:
    """Write two seconds of a loud hum and return the place of its middle."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16000)
        file.writeframes(np.full(2 * 16000, 9000, dtype="<i2").tobytes())
    sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
    return AudioSpan(path.name, sha256, 0.5, 1.5)


def test_where_the_book_says(book: Book, tmp_path: Path) -> None:
    """The place noted when the memo was taken."""
    path = tmp_path / "phone" / "walk.wav"
    span = recorded(path)
    sounds = Sounds(book, tmp_path / "elsewhere")
    assert sounds.find(span) is None
    book.finish_memo(span.sha256, str(path), NINE)
    assert sounds.find(span) == path


@pytest.mark.parametrize("where", ["walk.wav", "sound/walk.wav"])
def test_beside_the_book(book: Book, tmp_path: Path, where: str) -> None:
    """In its folder, or in one beside it."""
    span = recorded(tmp_path / where)
    assert Sounds(book, tmp_path).find(span) == tmp_path / where


def test_in_a_folder_that_the_user_names(book: Book, tmp_path: Path) -> None:
    """However deep."""
    span = recorded(tmp_path / "old" / "2027" / "march" / "walk.wav")
    sounds = Sounds(book, tmp_path / "elsewhere", (tmp_path / "old",))
    assert sounds.find(span) == tmp_path / "old" / "2027" / "march" / "walk.wav"


def test_another_recording_of_the_same_name_does_not_count(book: Book, tmp_path: Path) -> None:
    """Phones begin their numbering anew."""
    span = recorded(tmp_path / "walk.wav")
    other = AudioSpan(span.file, "ab" * 32, span.start_s, span.end_s)
    assert Sounds(book, tmp_path).find(other) is None
    assert "not found" in Sounds(book, tmp_path).play(other)


def test_what_cannot_be_played_is_pointed_to(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a library for it, the place is told."""
    monkeypatch.setattr("fieldvoice.soundcard.sound_system", _none)
    span = recorded(tmp_path / "walk.wav")
    assert Sounds(book, tmp_path).play(span) == f"{tmp_path / 'walk.wav'}, 0.5 to 1.5 s"


def _none(*named: object) -> None:
    raise SoundDeviceError("no loudspeaker here")


class Loudspeaker:
    """A loudspeaker that keeps what it is given; it asks for sound when it is opened."""

    name, rate, active = "a loudspeaker", 16000, True

    def __init__(self) -> None:
        self.heard: list[Any] = []

    def devices(self) -> list[Any]:
        return []

    def rescan(self) -> None:
        pass

    def speak(self, device: object, give: Callable[[int], Any]) -> Loudspeaker:
        def asking() -> None:
            while not self.closed:
                self.heard.append(give(160))
                time.sleep(0.0005)

        self.closed = False
        self.asking = threading.Thread(target=asking)
        self.asking.start()
        return self

    def close(self) -> None:
        self.closed = True


def test_only_the_words_are_played(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cut from the recording, with a little before and after; played to the end."""
    loudspeaker = Loudspeaker()
    monkeypatch.setattr("fieldvoice.soundcard.sound_system", lambda *named: loudspeaker)
    span = recorded(tmp_path / "walk.wav")
    assert Sounds(book, tmp_path).play(span) == "walk.wav, 0.5 to 1.5 s, played"
    loudspeaker.asking.join()
    loud = np.concatenate(loudspeaker.heard) != 0
    # One second of words and 0.3 s on either side, of the tone that fills the recording.
    assert loud.sum() == pytest.approx(1.6 * 16000, rel=0.01)
