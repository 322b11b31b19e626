"""Finding the sound of what was said."""

from __future__ import annotations

import hashlib
import wave
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.cli.playback import Sounds
from fieldvoice.heard import AudioSpan
from tests.book.conftest import NINE

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def book() -> Iterator[Book]:
    with Book.in_memory_copy() as book:
        yield book


def recorded(path: Path) -> AudioSpan:
    """Write two seconds of silence and return the place of its middle."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16000)
        file.writeframes(bytes(2 * 2 * 16000))
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
    monkeypatch.setattr("fieldvoice.cli.playback.import_module", _none)
    span = recorded(tmp_path / "walk.wav")
    assert Sounds(book, tmp_path).play(span) == f"{tmp_path / 'walk.wav'}, 0.5 to 1.5 s"


def _none(name: str) -> None:
    raise ImportError(name)
