"""Sound files, read back by the standard library and by the decoder used for memos."""

from __future__ import annotations

import wave
from typing import TYPE_CHECKING

import av
import numpy as np
import pytest

from fieldvoice.errors import VoiceError
from fieldvoice.tts import Sound, write_wav

if TYPE_CHECKING:
    from pathlib import Path

SAMPLES = np.array([0, 1, -1, 32767, -32768, 1234], dtype=np.int16)


def test_what_is_written_is_what_is_read(tmp_path: Path) -> None:
    write_wav(tmp_path / "reply.wav", Sound(SAMPLES, 24_000))
    with wave.open(str(tmp_path / "reply.wav")) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, 24_000)
        assert np.array_equal(np.frombuffer(file.readframes(100), "<i2"), SAMPLES)


def test_another_decoder_reads_the_same(tmp_path: Path) -> None:
    write_wav(tmp_path / "reply.wav", Sound(SAMPLES, 16_000))
    with av.open(str(tmp_path / "reply.wav")) as file:
        frames = [frame.to_ndarray().ravel() for frame in file.decode(audio=0)]
    assert np.array_equal(np.concatenate(frames), SAMPLES)


def test_an_older_file_is_replaced(tmp_path: Path) -> None:
    path = tmp_path / "reply.wav"
    write_wav(path, Sound(np.zeros(5000, np.int16), 16_000))
    write_wav(path, Sound(SAMPLES, 16_000))
    with wave.open(str(path)) as file:
        assert file.getnframes() == len(SAMPLES)


def test_a_folder_that_is_not_there_is_one_plain_line(tmp_path: Path) -> None:
    with pytest.raises(VoiceError, match=r"cannot be written to .*reply\.wav: No such file"):
        write_wav(tmp_path / "nowhere" / "reply.wav", Sound(SAMPLES, 16_000))
