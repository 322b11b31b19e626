"""Recordings of every kind that phones make, and files that are none."""

from __future__ import annotations

import hashlib
import os
import wave
from pathlib import Path
from typing import TYPE_CHECKING

import av
import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE, audio, read_audio
from fieldvoice.errors import UnreadableAudioError
from fieldvoice.loudness_shape import alike
from tests.asr.conftest import ENCODERS, silence, write_audio

if TYPE_CHECKING:
    from fieldvoice.asr import Samples

SESSION = Path(__file__).parents[2] / "demo_sessions" / "first_round"
TONE_HZ = 440.0


def tone(seconds: float) -> Samples:
    at = np.arange(round(seconds * SAMPLE_RATE)) / SAMPLE_RATE
    return np.round(8000 * np.sin(2 * np.pi * TONE_HZ * at)).astype(np.int16)


def peak_hz(samples: Samples) -> float:
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(np.argmax(spectrum) * SAMPLE_RATE / len(samples))


@pytest.mark.parametrize("suffix", sorted(ENCODERS))
def test_each_kind_of_file_keeps_length_and_pitch(tmp_path: Path, suffix: str) -> None:
    """Whatever rate and coding a memo has, it arrives at 16 kHz, as long and as high as it was."""
    path = write_audio(tmp_path / f"memo{suffix}", tone(2.0))
    recording = read_audio(path)
    assert recording.samples.dtype == np.int16
    assert recording.duration_s == pytest.approx(2.0, abs=0.1)
    assert peak_hz(recording.samples) == pytest.approx(TONE_HZ, abs=2)
    assert not recording.cut_off
    assert recording.name == path.name
    assert recording.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def test_silence_in_an_amr_memo_keeps_its_length(tmp_path: Path) -> None:
    """The usual AMR decoder loses the pauses; the times of notes would drift."""
    sound = np.concatenate([tone(1.0), silence(3.0), tone(1.0)])
    recording = read_audio(write_audio(tmp_path / "memo.amr", sound))
    assert recording.duration_s == pytest.approx(5.0, abs=0.1)
    assert peak_hz(recording.samples[-SAMPLE_RATE // 2 :]) == pytest.approx(TONE_HZ, abs=4)


def test_both_channels_are_heard(tmp_path: Path) -> None:
    """A note on one channel alone is not lost."""
    left = tone(1.0)
    with wave.open(str(tmp_path / "memo.wav"), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(SAMPLE_RATE)
        file.writeframes(np.column_stack([np.zeros_like(left), left]).tobytes())
    assert np.abs(read_audio(tmp_path / "memo.wav").samples.astype(int)).max() > 3000


@pytest.mark.parametrize(
    ("name", "content", "reason"),
    [
        ("empty.wav", b"", "empty"),
        ("notes.wav", b"tree twelve, nearly full\n" * 40, "not a recording"),
        ("photo.m4a", bytes(range(256)) * 20, "not a recording"),
        ("header.wav", b"RIFF\x24\x00\x00\x00WAVE", "not a recording"),
    ],
)
def test_files_without_sound_are_refused(
    tmp_path: Path, name: str, content: bytes, reason: str
) -> None:
    """The reason is one line that names the file."""
    (tmp_path / name).write_bytes(content)
    with pytest.raises(UnreadableAudioError, match=f"{name}: .*{reason}") as raised:
        read_audio(tmp_path / name)
    assert "\n" not in str(raised.value)


def test_a_recording_of_no_length_is_refused(tmp_path: Path) -> None:
    with wave.open(str(tmp_path / "memo.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(SAMPLE_RATE)
    with pytest.raises(UnreadableAudioError, match="no sound in it"):
        read_audio(tmp_path / "memo.wav")


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadableAudioError, match=r"gone\.wav: no such file"):
        read_audio(tmp_path / "gone.wav")
    with pytest.raises(UnreadableAudioError, match=r"is a directory|permission denied"):
        read_audio(tmp_path)


@pytest.mark.parametrize("suffix", [".mp3", ".flac", ".ogg", ".amr"])
def test_a_memo_cut_off_still_holds_its_beginning(tmp_path: Path, suffix: str) -> None:
    """A flat battery ends a file anywhere; what was said before is not lost."""
    path = write_audio(tmp_path / f"memo{suffix}", tone(4.0))
    content = path.read_bytes()
    path.write_bytes(content[: len(content) * 6 // 10])
    recording = read_audio(path)
    assert 1.0 < recording.duration_s < 3.5
    assert peak_hz(recording.samples) == pytest.approx(TONE_HZ, abs=2)


def test_an_m4a_cut_off_before_its_index_is_refused(tmp_path: Path) -> None:
    """That kind of file has its index at the end: without it nothing can be read."""
    path = write_audio(tmp_path / "memo.m4a", tone(2.0))
    path.write_bytes(path.read_bytes()[:-2000])
    with pytest.raises(UnreadableAudioError, match="not a recording"):
        read_audio(path)


def test_overlong_recordings_are_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadableAudioError, match="longer than 2 seconds"):
        read_audio(write_audio(tmp_path / "memo.flac", tone(3.0)), longest_s=2.0)


@pytest.mark.parametrize("suffix", [".wav", ".mp3", ".flac", ".ogg", ".opus", ".webm"])
def test_a_file_still_being_copied_lacks_its_end(tmp_path: Path, suffix: str) -> None:
    """Whatever share of it is there; the whole file does not."""
    path = write_audio(tmp_path / f"memo{suffix}", tone(4.0))
    content = path.read_bytes()
    assert not read_audio(path).cut_off
    for share in (0.4, 0.7):
        path.write_bytes(content[: int(len(content) * share)])
        assert read_audio(path).cut_off


def test_what_is_no_file_is_not_opened(tmp_path: Path) -> None:
    """A pipe would be waited for for ever; a device has no end."""
    os.mkfifo(tmp_path / "pipe.wav")
    (tmp_path / "zero.wav").symlink_to("/dev/zero")
    for name in ("pipe.wav", "zero.wav"):
        with pytest.raises(UnreadableAudioError, match=f"{name}: it is no file"):
            read_audio(tmp_path / name)


@pytest.mark.parametrize("name", [b"http:memo.wav", b"-x.wav", b"a\xff\x1b[31m.wav", b"concat:a|b"])
def test_odd_names_are_names(tmp_path: Path, name: bytes) -> None:
    """Never an address or an option; what cannot be shown is not shown."""
    path = write_audio(tmp_path / "memo.wav", tone(1.0))
    odd = path.rename(tmp_path / os.fsdecode(name))
    recording = read_audio(odd)
    assert recording.duration_s == pytest.approx(1.0, abs=0.1)
    assert recording.name.isprintable()
    recording.name.encode("utf-8")


def test_the_same_sound_is_known_in_another_format(tmp_path: Path) -> None:
    """By how loud it is from moment to moment; other words are louder elsewhere."""
    whole = read_audio(SESSION / "01_first_trees.flac")
    for suffix in (".mp3", ".ogg", ".m4a", ".amr"):
        again = read_audio(write_audio(tmp_path / f"m{suffix}", whole.samples))
        assert again.sha256 != whole.sha256
        assert alike(again.shape, whole.shape)
    other = read_audio(SESSION / "02_along_the_wall.flac").shape
    length = min(len(other), len(whole.shape))
    assert not alike(other[:length], whole.shape[:length])


#: Texts that the library knows as recordings elsewhere: a list, a joined file, a broadcast.
ELSEWHERE = {
    "playlist": "#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:5,\nhttp://127.0.0.1:9/a.ts\n",
    "joined": "ffconcat version 1.0\nfile {there}\n",
    "broadcast": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\n"
    "m=audio 5004 RTP/AVP 96\na=rtpmap:96 L16/44100\n",
    "pieces": '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static">'
    "<Period><AdaptationSet><Representation><BaseURL>http://127.0.0.1:9/x.mp4</BaseURL>"
    "</Representation></AdaptationSet></Period></MPD>",
}


@pytest.mark.parametrize("kind", ELSEWHERE)
def test_a_text_that_tells_where_sound_is_leads_nowhere(tmp_path: Path, kind: str) -> None:
    """No socket, also none that waits for a broadcast, and no other file is opened."""
    there = write_audio(tmp_path / "there.wav", tone(0.5))
    path = tmp_path / "memo.wav"
    path.write_text(ELSEWHERE[kind].format(there=there), encoding="utf-8")
    before = _sockets()
    with pytest.raises(UnreadableAudioError, match=r"memo\.wav: not a recording that can be read"):
        read_audio(path)
    with pytest.raises(av.error.FFmpegError), path.open("rb") as file:  # refused by its form
        av.open(file, options=audio._OPENS)
    assert _sockets() == before


def _sockets() -> int:
    links = Path("/proc/self/fd")
    if not links.exists():
        return 0
    told = [str(link.readlink()) for link in links.iterdir() if link.is_symlink()]
    return sum(one.startswith("socket") for one in told)
