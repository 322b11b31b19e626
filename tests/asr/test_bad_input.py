"""Sound as it should not be: told, or handled, and never a wrong note."""

from __future__ import annotations

import tracemalloc
import wave
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE, Endpointer, read_audio
from tests.asr.conftest import noted, silence

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from fieldvoice.asr import Samples
    from fieldvoice.asr.audio import Recording
    from fieldvoice.reply import Reply

NOTE = "tree twelve bucket half full"
MEANS = [{"act": "inspect", "tree": 12, "fill": 0.5}]
#: A minute of music: chords of three notes, with overtones, a new one each half second.
CHORDS = ((262, 330, 392), (220, 262, 330), (175, 220, 262), (196, 247, 294))


@pytest.fixture
def replies(
    tmp_path: Path, replies_to: Callable[[Recording], list[Reply]]
) -> Callable[..., list[Reply]]:
    """Returns what a conversation makes of a file with these channels, each -1 to 1."""

    def made(*channels: np.ndarray, rate: int = SAMPLE_RATE) -> list[Reply]:
        path = tmp_path / "memo.wav"
        sound = np.clip(np.column_stack(channels), -1, 1) * 32767
        with wave.open(str(path), "wb") as file:
            file.setnchannels(len(channels))
            file.setsampwidth(2)
            file.setframerate(rate)
            file.writeframes(sound.astype("<i2").tobytes())
        return replies_to(read_audio(path))

    return made


@pytest.fixture
def note(say: Callable[[str], Samples]) -> np.ndarray:
    return np.concatenate([silence(1), say(NOTE), silence(1)]) / 32768


@pytest.mark.long
def test_channels_of_opposite_phase_are_no_silence(
    replies: Callable[..., list[Reply]], note: np.ndarray
) -> None:
    assert noted(replies(note, -note)) == MEANS


@pytest.mark.long
@pytest.mark.parametrize(("times", "found"), [(4, [MEANS]), (30, [MEANS, []])])
def test_a_clipped_note_is_right_or_none(
    replies: Callable[..., list[Reply]], note: np.ndarray, times: int, found: list[object]
) -> None:
    loud = times * note / np.abs(note).max()
    assert noted(replies(loud)) in found


@pytest.mark.long
def test_a_telephone_s_rate_is_enough(
    replies: Callable[..., list[Reply]], note: np.ndarray
) -> None:
    """Every second sample of what is left below 4 kHz."""
    spectrum = np.fft.rfft(note[: len(note) // 2 * 2])
    spectrum[len(spectrum) // 2 :] = 0
    assert noted(replies(np.fft.irfft(spectrum)[::2], rate=8000)) == MEANS


@pytest.mark.long
def test_music_is_no_note(replies: Callable[..., list[Reply]]) -> None:
    time = np.arange(SAMPLE_RATE // 2) / SAMPLE_RATE
    bell = np.minimum(1, 50 * time) * np.exp(-3 * time)
    tones = [
        sum(np.sin(2 * np.pi * hz * over * time) / over for hz in chord for over in range(1, 6))
        for chord in CHORDS
    ]
    tune = np.concatenate([0.1 * bell * tone for tone in tones] * 15)
    assert noted(replies(tune)) == []


@pytest.mark.parametrize("level", [0.0, 0.5])
def test_silence_is_no_note_whatever_its_level(
    replies: Callable[..., list[Reply]], level: float
) -> None:
    """A microphone may lay its silence beside the middle."""
    assert replies(np.full(5 * SAMPLE_RATE, level)) == []


class AlwaysSpeech:
    """A detector that is stuck."""

    frame = 512

    def sure(self, frame: Samples) -> float:
        return 1.0


@pytest.mark.long
def test_an_hour_without_a_pause_comes_in_pieces_and_fills_no_memory() -> None:
    endpointer = Endpointer(AlwaysSpeech())
    second = np.full(SAMPLE_RATE, 1000, np.int16)
    tracemalloc.start()

    def spans() -> Iterator[float]:
        for _ in range(3600):
            for span in endpointer.feed(second):
                yield span.end_s - span.start_s

    lengths = list(spans())
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert sum(lengths) == pytest.approx(3600, abs=30)
    assert max(lengths) <= 30
    assert most < 10e6


def test_a_side_that_is_not_upside_down_is_mixed_as_before(tmp_path: Path) -> None:
    chance = np.random.default_rng(1)
    left, right = chance.normal(0, 3000, (2, SAMPLE_RATE)).astype("<i2")
    with wave.open(str(tmp_path / "memo.wav"), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(SAMPLE_RATE)
        file.writeframes(np.column_stack([left, right]).tobytes())
    mean = (left.astype(float) + right) / 2
    assert np.abs(read_audio(tmp_path / "memo.wav").samples - mean).max() <= 1
