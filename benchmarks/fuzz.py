"""Lines and sound files that nobody would send: ``python -m benchmarks.fuzz lines|sound``.

A batch has a number, from which all of it is made: ``--from N`` begins with that one, and without
it goes on where the last run ended or was killed, for ``--minutes``; ``results/fuzz.json`` has the
next batch and what came of all until now. What went wrong is told with the batch's number. A line
may lead to any reply, but to no error, and is refused only for signs that no text has; what is not
said to be saved is not in the book, what is said to be is there once; meanwhile the clock goes on,
and jumps. A sound file is read or refused in plain words, and cut into utterances, in a process
that must not die.
"""

from __future__ import annotations

import argparse
import json
import random
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchmarks.reading import origin
from fieldvoice.book import Book
from fieldvoice.calendar_ends import with_room
from fieldvoice.cli.app import cache_folder
from fieldvoice.dialogue import Conversation
from fieldvoice.errors import BookError
from fieldvoice.grammar import load_grammar
from fieldvoice.grammar.grammar import TOP
from fieldvoice.grammar.sentences import Drawing
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.transcript import typed
from fieldvoice.whole_files import write_whole

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fieldvoice.grammar import Grammar

WRITTEN = Path(__file__).parent / "results" / "fuzz.json"
_MEMOS = Path(__file__).parents[1] / "demo_sessions"
_NOW = datetime.fromisoformat("2026-03-14T09:00:00-04:00")
#: What clocks have been known to say: their beginning, another year, the hours that summer time
#: skips and repeats, and the calendar's ends.
_WRONG = tuple(
    datetime.fromisoformat(one)
    for one in (
        "1970-01-01T00:00:00+00:00", "2000-01-01T00:00:30-05:00", "2031-07-01T12:00:00-04:00",
        "2026-03-08T03:00:00-04:00", "2026-11-01T01:30:00-05:00", "9999-12-31T23:59:50-12:00",
        "0001-01-01T00:00:10+14:00",
    )
)  # fmt: skip
_LINES, _FILES = 25, 20
#: So long may reading one sound file of a few seconds take, on a busy machine.
_PATIENCE_S = 60.0
#: Pieces that have broken readers of text elsewhere.
_ODD = (
    "\x00", "\x1b[31m", "\u202e", "\ud83d\udc14", "½", "١٢", "12345678901234567890", "-0", "1e309",
    "nan", "'; drop table entries; --", "{{7*7}}", "%s%n", "../../etc/passwd", "null", "\n", "\t",
    "٪", "ﬁ", "İ", "\udcff", "a" * 300, "no no no", "and", ",", "tree", "0", "99999", "°", "1/0",
)  # fmt: skip


@dataclass(slots=True)
class Told:
    """How much was tried, and what was wrong."""

    tried: int = 0
    seconds: float = 0.0
    faults: list[str] = field(default_factory=list)

    @property
    def rate(self) -> float:
        """How many a second."""
        return self.tried / max(self.seconds, 0.001)


class Lines:
    """Conversations of odd lines, each batch with a book of its own."""

    def __init__(self, grammar: Grammar) -> None:
        from fieldvoice.handbook.loader import shipped

        self._chance = random.Random()
        self._sentences = Drawing(grammar.sayable_rules, self._chance)
        second = SecondReader(grammar.words, lambda: shipped().cards)
        self._reader = Interpreter(grammar, second=second)

    def batch(self, number: int, told: Told) -> None:
        """Say the lines of one batch."""
        self._chance.seed(number)
        now = _NOW
        with Book.in_memory_copy() as book:
            talk = Conversation(book, self._reader, clock=lambda: now)
            for _ in range(_LINES):
                now = _later(now, self._chance)
                line = self._line(self._chance)
                told.tried += 1
                fault = _said(talk, book, line) or _adds_up(book, with_room(now))
                if fault is not None:
                    told.faults.append(f"batch {number}, {now}, {line[:200]!r}: {fault}")

    def _line(self, chance: random.Random) -> str:
        words = list(self._sentences.draw(TOP).words)
        for _ in range(chance.choice((0, 1, 1, 2, 3, 8))):
            place = chance.randrange(len(words) + 1)
            match chance.randrange(6):
                case 0:
                    words.insert(place, chance.choice(_ODD))
                case 1:
                    words[place : place + chance.randrange(4)] = []
                case 2:
                    words[place:place] = words[: chance.randrange(6)]
                case 3:
                    words += self._sentences.draw(TOP).words
                case 4:
                    words.insert(place, str(chance.randrange(-5, 10 ** chance.randrange(1, 12))))
                case _:
                    chance.shuffle(words)
        if chance.random() < 0.1:
            return "".join(chr(chance.randrange(1, 0x3000)) for _ in range(chance.randrange(80)))
        return chance.choice((" ", " ", " ", "", ", ")).join(words)


def _later(now: datetime, chance: random.Random) -> datetime:
    """Return the clock's time at the next line; one in fifteen times the clock jumps."""
    if chance.random() < 1 / 15:
        return chance.choice((_NOW, *_WRONG))
    with suppress(OverflowError):  # at the calendar's end the clock stands
        return now + timedelta(seconds=chance.choice((0, 1, 20, 300, 4000, 90_000)))
    return now


def _adds_up(book: Book, now: datetime) -> str | None:
    """Return what is wrong with the season, which no snapshot may change."""
    with Book.in_memory_copy() as other:
        book._connection.backup(other._connection)
        other._connection.execute("DELETE FROM snapshots")
        return None if book.season(now=now) == other.season(now=now) else "snapshots change it"


def _said(talk: Conversation, book: Book, line: str) -> str | None:
    """Say a line; return what was wrong with what came of it."""
    before = len(book.entries(include_void=True))
    try:
        reply = talk.hear(typed(line))
        assert isinstance(reply.text, str)
    except Exception as fault:
        if isinstance(fault, BookError) and any("\ud800" <= sign <= "\udfff" for sign in line):
            return None
        return f"{type(fault).__name__}: {fault}"
    written = len(book.entries(include_void=True)) - before
    if written != len(reply.records):
        return f"{written} notes were written, {len(reply.records)} told of ({reply.outcome})"
    return None


#: Reads the files of a batch and tells of each; a crash tells by what is missing.
READER = """
import sys
from pathlib import Path
from fieldvoice.asr import read_audio, split_utterances
from fieldvoice.errors import UnreadableAudioError
for path in sorted(Path(sys.argv[1]).iterdir()):
    print("reads", path.name, flush=True)
    try:
        recording = read_audio(path, longest_s=600)
        spans = list(split_utterances(recording.samples))
        assert all(0 <= one.start_s <= one.end_s <= recording.duration_s + 1 for one in spans)
    except UnreadableAudioError as fault:
        assert "\\n" not in str(fault)
    print("done", path.name, flush=True)
"""


class Sound:
    """Sound files with bytes changed, cut, put in twice, or of other files."""

    def __init__(self) -> None:
        self._whole = _encoded()

    def batch(self, number: int, told: Told) -> None:
        """Write and read the files of one batch."""
        chance = random.Random(number)
        with tempfile.TemporaryDirectory() as scratch:
            for at in range(_FILES):
                name, content = self._spoilt(chance)
                (Path(scratch) / f"{at:02}{name}").write_bytes(content)
            told.tried += _FILES
            fault = _read(Path(scratch))
        if fault is not None:
            told.faults.append(f"batch {number}: {fault}")

    def _spoilt(self, chance: random.Random) -> tuple[str, bytes]:
        ending = chance.choice(sorted(self._whole))
        content = bytearray(self._whole[ending])
        for _ in range(chance.choice((1, 1, 2, 5, 40))):
            # The head of a file is where most can go wrong.
            end = chance.choice((64, 4096, len(content)))
            place = chance.randrange(max(1, min(end, len(content))))
            match chance.randrange(5):
                case 0:
                    content[place : place + 1] = chance.randbytes(1)
                case 1:
                    content[place : place + 4] = chance.choice((b"\xff" * 4, bytes(4), b"\x7f" * 4))
                case 2:
                    del content[place : place + chance.randrange(1, 3000)]
                case 3:
                    content[place:place] = content[: chance.randrange(1, 2000)]
                case _:
                    other = self._whole[chance.choice(sorted(self._whole))]
                    content[place : place + 200] = other[:200]
        if chance.random() < 0.2:
            del content[chance.randrange(len(content) + 1) :]
        return chance.choice((ending, ending, ".wav", ".mp3", ".m4a")), bytes(content)


def _encoded() -> dict[str, bytes]:
    """Return some seconds of speech as several kinds of file."""
    import av

    from fieldvoice.asr import SAMPLE_RATE, read_audio

    samples = read_audio(next(_MEMOS.rglob("*.flac"))).samples[: 3 * SAMPLE_RATE]
    kinds = {".wav": "pcm_s16le", ".flac": "flac", ".mp3": "libmp3lame", ".ogg": "libopus",
             ".m4a": "aac", ".webm": "libopus"}  # fmt: skip
    found: dict[str, bytes] = {}
    with tempfile.TemporaryDirectory() as scratch:
        for ending, codec in kinds.items():
            path = Path(scratch) / f"m{ending}"
            with av.open(str(path), "w") as container:
                stream: Any = container.add_stream(codec, rate=SAMPLE_RATE, layout="mono")
                frame = av.AudioFrame.from_ndarray(samples.reshape(1, -1), "s16", "mono")
                frame.sample_rate = SAMPLE_RATE
                coder: Any = stream.codec_context
                size = coder.frame_size or 1024
                resampler = av.AudioResampler(coder.format.name, "mono", SAMPLE_RATE, size)
                for piece in [*resampler.resample(frame), *resampler.resample(None)]:
                    container.mux(stream.encode(piece))
                container.mux(stream.encode(None))
            found[ending] = path.read_bytes()
    return found


def _read(folder: Path) -> str | None:
    """Return what was wrong when the files in a folder were read."""
    command = [sys.executable, "-c", READER, str(folder)]
    try:
        done = subprocess.run(
            command, capture_output=True, text=True, timeout=_PATIENCE_S * 2, check=False
        )
    except subprocess.TimeoutExpired as late:
        return f"it took too long: {(late.stdout or b'')[-100:]!r}"
    if done.returncode == 0:
        return None
    return f"status {done.returncode}: {done.stdout[-60:]!r} {done.stderr[-300:]!r}"


def run(
    batch: Callable[[int, Told], None],
    first: int,
    seconds: float,
    after: Callable[[Told, int], None] = lambda told, following: None,
) -> tuple[Told, int]:
    """Run batches from the ``first`` on for so long; return what was found, and the next one.

    ``after`` is told the same after each.
    """
    told, began, number = Told(), time.monotonic(), first
    while told.seconds < seconds or number == first:
        batch(number, told)
        number += 1
        told.seconds = round(time.monotonic() - began, 1)
        after(told, number)
    return told, number


def _so_far() -> dict[str, Any]:
    return dict(json.loads(WRITTEN.read_text(encoding="utf-8")) if WRITTEN.exists() else {})


def _written_down(what: str, before: dict[str, Any], told: Told, following: int) -> None:
    """Write down what came of all batches until now, so that the next run goes on from there."""
    now = {
        **origin("benchmarks.fuzz"),
        "next": following,
        "tried": before.get("tried", 0) + told.tried,
        "minutes": round(before.get("minutes", 0.0) + told.seconds / 60, 1),
        "a_second": round(told.rate, 2),
        "faults": [*before.get("faults", []), *told.faults],
    }
    write_whole(WRITTEN, (json.dumps(_so_far() | {what: now}, indent=1) + "\n").encode())


def main(words: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("what", choices=("lines", "sound"))
    parser.add_argument("--minutes", type=float, default=5.0)
    parser.add_argument("--from", dest="first", type=int, help="the first batch's number")
    asked = parser.parse_args(words)
    before = _so_far().get(asked.what, {})
    first = before.get("next", 1) if asked.first is None else asked.first
    grammar = load_grammar(cache=cache_folder())
    batch = Lines(grammar).batch if asked.what == "lines" else Sound().batch
    if asked.first is None:
        after = partial(_written_down, asked.what, before)
        told, following = run(batch, first, asked.minutes * 60, after)
    else:
        told, following = run(batch, first, asked.minutes * 60)
    print(f"{asked.what}: {told.tried} tried in {told.seconds / 60:.1f} minutes, "
          f"{told.rate:.1f} a second (batches {first} to {following - 1}); "
          f"{len(told.faults)} faults")  # fmt: skip
    for fault in told.faults[:20]:
        print(f"- {fault}")
    sys.exit(1 if told.faults else 0)


if __name__ == "__main__":
    main()
