"""A memo, from the file to its utterances."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import hear_memo, read_audio
from fieldvoice.errors import UnreadableAudioError
from tests.asr.conftest import silence, write_audio

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Recogniser, Samples

NOTES = ["tree twelve bucket half full", "what should i boil today"]


def memo(say: Callable[[str], Samples]) -> Samples:
    parts = [silence(1), say(NOTES[0]), silence(2), say(NOTES[1]), silence(1)]
    return np.concatenate(parts)


@pytest.mark.parametrize("suffix", [".m4a", ".ogg", ".wav"])
def test_each_note_comes_with_its_place(
    tmp_path: Path, recogniser: Recogniser, say: Callable[[str], Samples], suffix: str
) -> None:
    path = write_audio(tmp_path / f"round{suffix}", memo(say))
    heard = list(hear_memo(path, recogniser))
    assert [one.text for one in heard] == NOTES
    second = 3 + len(say(NOTES[0])) / 16_000
    for one, expected_s in zip(heard, (1, second), strict=True):
        assert one.audio is not None
        assert one.audio.file == path.name
        assert one.audio.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
        assert one.audio.start_s == pytest.approx(expected_s, abs=0.6)
        assert one.audio.start_s <= one.words[0].start_s
        assert one.words[-1].end_s <= one.audio.end_s + 0.02


def test_a_recording_already_read_is_not_read_again(
    tmp_path: Path, recogniser: Recogniser, say: Callable[[str], Samples]
) -> None:
    path = write_audio(tmp_path / "round.flac", memo(say))
    recording = read_audio(path)
    path.unlink()
    told: list[float] = []
    heard = hear_memo(recording, recogniser, tell=lambda done, whole: told.append(done / whole))
    assert [one.text for one in heard] == NOTES
    # Where somebody speaks is found first; then each utterance is a step.
    assert told == sorted(told)
    assert told[-3] == pytest.approx(0.04)
    assert told[-2] > 0.3
    assert told[-1] <= 1


def test_nobody_speaks_in_silence(tmp_path: Path, recogniser: Recogniser) -> None:
    path = write_audio(tmp_path / "round.wav", silence(5))
    assert list(hear_memo(path, recogniser)) == []


def test_a_file_that_is_no_recording_raises(tmp_path: Path, recogniser: Recogniser) -> None:
    (tmp_path / "round.wav").write_text("tree twelve")
    with pytest.raises(UnreadableAudioError, match=r"round\.wav"):
        list(hear_memo(tmp_path / "round.wav", recogniser))
