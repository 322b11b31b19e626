"""How long somebody waits for the answer to a note of ten seconds: the real command, ear and TLS.

Notes are whole sentences of one voice with a second between them, recorded as a browser does, a
second at a time. Each is sent twice, with another hiss of one step of the samples, so that no sound
is known from before: once whole when it is over, as phones did before there was a head start, and
once with its pieces sent as they are spoken. What is told is the time from the last sound to the
receipt.

On a machine with other work that is mostly the time of the others. So the house's own processor
time for each piece and for the whole is measured too, and the wait that they would make one after
the other, each beginning when its sound is there and the one before is done (``reckoned``).
"""

from __future__ import annotations

import asyncio
import functools
import io
import os
import re
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldvoice.asr import SAMPLE_RATE, read_audio
from fieldvoice.phone.authority import open_authority
from tests.phone.served import Phone, new_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.asr import Samples

PORT = 8743
#: How long notes are, in seconds, and the pause between two sentences.
SHORTEST_S, LONGEST_S, PAUSE_S = 9.0, 11.0, 1.0
_OPUS_RATE = 48_000


def how_late(folder: Path, most: int) -> dict[str, Any]:
    """Send ``most`` notes, made of the recordings in ``folder``, both ways; return the waits."""
    waits: dict[str, list[float]] = defaultdict(list)
    lengths, sentences = [], 0
    with tempfile.TemporaryDirectory() as place, fieldvoice_phone(Path(place)) as phone:
        for number, samples in enumerate(_notes(folder, most + 1)):
            for is_ahead in (False, True):
                parts = recorded(_with_hiss(samples, 2 * number + is_ahead))
                wait, said = _sent(phone, parts, len(samples) / SAMPLE_RATE, is_ahead=is_ahead)
                if number:  # the first finds nothing in the caches of the system
                    waits["with a head start" if is_ahead else "whole, as before"].append(wait)
            if number:
                lengths.append(len(samples) / SAMPLE_RATE)
                sentences += len(said)
    return {
        "notes": len(lengths), "length_s": round(sum(lengths) / len(lengths), 1),
        "sentences each": round(sentences / len(lengths), 1), "load": round(os.getloadavg()[0], 1),
        **{how: _spread(ones) for how, ones in waits.items()}, **_reckoned(folder, most),
    }  # fmt: skip


def _spread(waits: list[float]) -> dict[str, float]:
    ordered = sorted(waits)
    return {
        "median_s": round(ordered[len(ordered) // 2], 2),
        "95 of 100_s": round(ordered[int(0.95 * (len(ordered) - 1))], 2),
        "most_s": round(ordered[-1], 2),
    }


def _reckoned(folder: Path, most: int) -> dict[str, dict[str, float]]:
    """Return the waits that the house's own processor time makes on a machine of its own."""
    from fieldvoice.cli.phone import make_house
    from fieldvoice.phone.workers import Worker

    async def all_of_it() -> dict[str, list[float]]:
        waits: dict[str, list[float]] = defaultdict(list)
        with tempfile.TemporaryDirectory() as place:
            worker = Worker(functools.partial(make_house, Path(place) / "season.db"))
            await worker.ready()
            for number, samples in enumerate(_notes(folder, most + 1)):
                for is_ahead in (False, True):
                    file = Path(place) / f"{number}{is_ahead}.webm"
                    parts = recorded(_with_hiss(samples, 2 * number + is_ahead))
                    file.write_bytes(b"".join(parts))
                    pieces = parts[:-1] if is_ahead else []
                    length_s = len(samples) / SAMPLE_RATE
                    work = functools.partial(_wait_for, file, pieces, length_s)
                    how = "with a head start" if is_ahead else "whole, as before"
                    waits[f"reckoned, {how}"].append(await worker.do(work))
            worker.close()
        return waits

    waits = asyncio.run(all_of_it())
    return {how: _spread(ones[1:]) for how, ones in waits.items()}


def _wait_for(sound: Path, pieces: list[bytes], length_s: float) -> float:
    """In the house's process: hear a note ahead and take it; return the wait in processor time."""
    from fieldvoice.phone import workers
    from fieldvoice.phone.note import Note

    now = datetime.now().astimezone()
    note = Note(f"p.{new_number()}", "p", "Anna", now, time.time(), sound=sound, length_s=length_s)
    free_at = 0.0
    for second, piece in enumerate(pieces, start=1):
        began = time.process_time()
        workers._own.ahead(note.name, piece)
        free_at = max(free_at, float(second)) + time.process_time() - began
    began = time.process_time()
    workers._own.take(note)
    return max(free_at, length_s) + time.process_time() - began - length_s


@contextmanager
def fieldvoice_phone(folder: Path) -> Iterator[Phone]:
    """Run the real command; yield a phone that is paired with it."""
    book, out = folder / "season.db", folder / "told.txt"
    with out.open("wb") as told:
        ran = subprocess.Popen(
            [sys.executable, "-m", "fieldvoice", "phone", "--address", "127.0.0.1",
             "--port", str(PORT), "--book", str(book)],
            stdout=told, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL,
        )  # fmt: skip
    try:
        while "Listening at" not in out.read_text():
            if ran.poll() is not None:
                raise RuntimeError(out.read_text())
            time.sleep(0.2)
        authority, _ = open_authority(folder / "season_phone", datetime.now().astimezone())
        phone = Phone(authority, f"https://127.0.0.1:{PORT}")
        found = re.search(r"The code: (\d{3}) (\d{3})", out.read_text())
        assert found is not None
        assert phone.pair("".join(found.groups()), "Anna")[0] == 200
        yield phone
    finally:
        ran.terminate()
        ran.wait()


def recorded(samples: Samples) -> list[bytes]:
    """Return sound as WebM, in the parts that a recorder hands out, one for each second."""
    import av

    file, parts = io.BytesIO(), []
    with av.open(file, "w", format="webm", options={"cluster_time_limit": "900"}) as container:
        stream: Any = container.add_stream("libopus", rate=_OPUS_RATE, layout="mono")
        stream.bit_rate = _OPUS_RATE
        resampler = av.AudioResampler(
            format="s16", layout="mono", rate=_OPUS_RATE,
            frame_size=stream.codec_context.frame_size,
        )  # fmt: skip
        for at in range(0, len(samples), SAMPLE_RATE):
            part = np.ascontiguousarray(samples[at : at + SAMPLE_RATE]).reshape(1, -1)
            frame = av.AudioFrame.from_ndarray(part, "s16", "mono")
            frame.sample_rate = SAMPLE_RATE
            for resampled in resampler.resample(frame):
                container.mux(stream.encode(resampled))
            parts.append(file.tell())
        for resampled in resampler.resample(None):
            container.mux(stream.encode(resampled))
        container.mux(stream.encode(None))
    whole = file.getvalue()
    ends = [*parts[:-1], len(whole)]
    return [whole[a:b] for a, b in zip([0, *ends], ends, strict=False)]


def _sent(
    phone: Any, parts: list[bytes], length_s: float, *, is_ahead: bool
) -> tuple[float, list[Any]]:
    """Send a note as it is spoken; return how long its answer took, and what was said."""
    number, began, sent = new_number(), time.monotonic(), 0
    for second, part in enumerate(parts[:-1], start=1):
        time.sleep(max(0.0, began + second - time.monotonic()))
        if is_ahead:
            phone.ask(f"/notes/{number}/ahead", "PUT", part, Piece_From=str(sent))
            sent += len(part)
    time.sleep(max(0.0, began + length_s - time.monotonic()))
    over = time.monotonic()
    status, receipt = phone.send(b"".join(parts), "audio/webm", number, Note_Length=str(length_s))
    assert status == 200, receipt
    return time.monotonic() - over, receipt["said"]


def _notes(folder: Path, most: int) -> Iterator[Samples]:
    """Yield notes of about ten seconds: sentences of one voice that chance puts together."""
    chance, voices = Random(23), sorted({one.parent for one in folder.rglob("*.flac")})
    pause = np.zeros(round(PAUSE_S * SAMPLE_RATE), dtype=np.int16)
    made = 0
    while made < most:
        sounds = sorted(chance.choice(voices).glob("*.flac"))
        note = np.asarray(read_audio(chance.choice(sounds)).samples)
        while len(note) < SHORTEST_S * SAMPLE_RATE:
            note = np.concatenate([note, pause, read_audio(chance.choice(sounds)).samples])
        if len(note) <= LONGEST_S * SAMPLE_RATE:
            made += 1
            yield note


def _with_hiss(samples: Samples, seed: int) -> Samples:
    hiss = np.random.default_rng(seed).integers(-1, 2, len(samples))
    noisy: Samples = np.clip(samples + hiss, -32768, 32767).astype(np.int16)
    return noisy
