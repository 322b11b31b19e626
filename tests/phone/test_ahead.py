"""What is finished of a note is heard while the rest is spoken, and nothing goes by it."""

from __future__ import annotations

import time

import av
import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE, read_audio
from fieldvoice.asr.growing import GrowingSound
from tests.asr.conftest import write_audio
from tests.phone.served import new_number, speech

PAUSE = np.zeros(SAMPLE_RATE, dtype=np.int16)
THREE = np.concatenate([speech(1.5, 1), PAUSE, speech(1.5, 2), PAUSE, speech(1.5, 3)])


def pieces_of(sound: bytes, count: int = 6) -> list[tuple[int, bytes]]:
    size = len(sound) // count + 1
    return [(at, sound[at : at + size]) for at in range(0, len(sound), size)]


def fragmented(samples, place):
    """Write an MP4 file whose parts can be read as they come, as iPhones record."""
    with av.open(str(place), "w", options={"movflags": "frag_keyframe+empty_moov",
                                           "frag_duration": "1000000"}) as file:  # fmt: skip
        stream = file.add_stream("aac", rate=48_000, layout="mono")
        frame = av.AudioFrame.from_ndarray(samples.reshape(1, -1), "s16", "mono")
        frame.sample_rate = SAMPLE_RATE
        for packet in (*stream.encode(frame), *stream.encode(None)):
            file.mux(packet)
    return place


@pytest.mark.parametrize("ending", ["webm", "ogg", "mp4"])
def test_what_comes_piece_by_piece_is_what_the_whole_file_has(tmp_path, ending):
    place = tmp_path / f"note.{ending}"
    (fragmented if ending == "mp4" else lambda one, at: write_audio(at, one))(THREE, place)
    growing = GrowingSound()
    parts = [growing.feed(piece) for _, piece in pieces_of(place.read_bytes())]
    growing.close()
    assert sum(map(len, parts[:4])) > SAMPLE_RATE  # before the last of it came
    found, whole = np.concatenate(parts), np.asarray(read_audio(place).samples)
    assert len(found) > len(whole) - SAMPLE_RATE / 10
    assert np.array_equal(found, whole[: len(found)])


@pytest.mark.parametrize("sound", [b"", b"no sound at all" * 99, b"\x1aE\xdf\xa3" + bytes(500)])
def test_what_is_no_sound_gives_none(sound):
    growing = GrowingSound()
    assert len(growing.feed(sound)) == 0
    growing.close()
    assert len(growing.feed(b"more")) == 0


def send_ahead(anna, number, begins, piece, **headers):
    status, _ = anna.ask(f"/notes/{number}/ahead", "PUT", piece,
                         **{"Piece_From": str(begins), **headers})  # fmt: skip
    return status


def _until(over) -> None:
    until = time.monotonic() + 20
    while not over():
        assert time.monotonic() < until
        time.sleep(0.02)


@pytest.fixture
def note(tmp_path):
    return write_audio(tmp_path / "three.webm", THREE).read_bytes()


def test_what_was_heard_ahead_is_not_heard_again(served, note):
    """The first two of three sentences are heard before the note is there."""
    anna, number = served.phone(), new_number()
    for begins, piece in pieces_of(note)[:-1]:
        assert send_ahead(anna, number, begins, piece) == 204
    _until(lambda: served.ear.times >= 2)
    assert served.said() == []
    ahead = served.ear.times
    status, receipt = anna.send(note, "audio/webm", number)
    assert (status, len(receipt["said"])) == (200, 3)
    assert served.ear.times == 3, f"{ahead} were heard ahead"
    assert len(served.said()) == 3


def test_a_note_without_a_head_start_and_one_with_come_to_the_same(served, note):
    """Pieces lost, doubled or of another note change no word and no time."""
    anna, told = served.phone(), []
    ways = ([], [0, 1, 2, 3, 4, 5], [0, 0, 1], [1, 2], [0, 2, 1])
    for place, way in enumerate(ways):
        number = new_number()
        cut = note if place == 0 else note + bytes(place)  # a recording is taken once
        for one in way:
            send_ahead(anna, number, *pieces_of(cut)[one])
        _, receipt = anna.send(cut, "audio/webm", number)
        told.append([one["heard"] for one in receipt["said"]])
    assert told == [["tree nine two gallons"] * 3] * len(ways)


def test_a_gap_ends_the_head_start(served, note):
    anna, number = served.phone(), new_number()
    (first, one), _, (third, two), *_ = pieces_of(note)
    assert send_ahead(anna, number, first, one) == 204
    assert send_ahead(anna, number, third, two) == 409
    assert send_ahead(anna, number, -1, two) == 400
    assert send_ahead(anna, number, first, bytes(70_000)) == 413
    anna.send(note, "audio/webm", number)
    assert send_ahead(anna, number, first, one) == 409


def test_nobody_is_heard_ahead_who_is_not_paired(served, note):
    anna = served.phone()
    anna.secret = "another"
    assert send_ahead(anna, new_number(), 0, note[:9000]) == 401
    assert served.ear.times == 0


def test_a_phone_whose_pieces_bring_the_house_down_sends_whole_notes(served, note, monkeypatch):
    from concurrent.futures.process import BrokenProcessPool

    async def dies(name: str, piece: bytes) -> None:
        raise BrokenProcessPool("the ear ended")

    anna, ben, number = served.phone(), served.phone("Ben"), new_number()
    monkeypatch.setattr(served.house, "ahead", dies)
    assert send_ahead(anna, number, 0, note[:9000]) == 204
    _until(lambda: served.pieces._shut_out)
    assert send_ahead(anna, number, 9000, note[9000:18000]) == 409
    assert send_ahead(anna, new_number(), 0, note[:9000]) == 409
    assert send_ahead(ben, new_number(), 0, note[:9000]) == 204
    assert anna.send(note, "audio/webm", number)[0] == 200
