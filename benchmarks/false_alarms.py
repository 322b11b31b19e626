"""How often something is saved when nothing was meant for the assistant.

    python -m benchmarks.false_alarms FOLDER [--minutes 5] [--engines first+listener]

Minutes of a quiet room, of wind, of engines, of a room full of people, and of small talk by voices
and by people reading about other matters, heard as a memo is: split into utterances, heard, and
taken by one conversation whose book has a round of notes in it. Counted are the utterances found,
and what came of them; *saved* is what must not be. ``benchmarks/results/false_alarms.json`` has the
counts.
"""

from __future__ import annotations

import argparse
import importlib
import json
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.engines import ENGINES, Engine
from benchmarks.reading import WRITTEN, origin
from benchmarks.recordings import Recordings
from fieldvoice.asr import SAMPLE_RATE, split_utterances
from fieldvoice.book import Book
from fieldvoice.cli.app import cache_folder, the_grammar
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.dialogue import Conversation
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from fieldvoice.asr import Samples

START = datetime(2027, 3, 12, 14, 0, tzinfo=UTC)
#: What the book holds: a round that is under way, so that bare answers would find something.
ROUND = ("tree seven bucket half full", "tree twelve sap clear", "poured ten gallons into tank two")
#: Loudness changes from piece to piece within this, in dB.
LOUDNESS_DB = 12.0
OUTCOMES = ("saved", "answered", "done", "asked", "kept")
_TALK = Path(__file__).with_name("small_talk.txt")


def noise(pieces: list[Samples], seconds: float, seed: int) -> Iterator[Samples]:
    """Yield pieces in random order and loudness, from random places on, for ``seconds``."""
    chance = np.random.default_rng(seed)
    done = 0.0
    while done < seconds:
        piece = pieces[int(chance.integers(len(pieces)))].astype(np.float64)
        piece = np.roll(piece, int(chance.integers(len(piece))))
        piece *= 10 ** (chance.uniform(-LOUDNESS_DB, LOUDNESS_DB) / 20)
        done += len(piece) / SAMPLE_RATE
        yield np.clip(piece, -32768, 32767).astype(np.int16)


def _people(recordings: Recordings) -> list[Samples]:
    return recordings.noise("kitchen") + recordings.noise("laughing")


def quiet(seconds: float) -> Iterator[Samples]:
    """Yield a room where nobody is: a recorder's hiss, 60 dB under full scale."""
    chance = np.random.default_rng(4)
    yield np.round(chance.normal(0, 33, round(seconds * SAMPLE_RATE))).astype(np.int16)


def talk(recordings: Recordings, seconds: float) -> Iterator[Samples]:
    """Yield small talk by two accents of a voice, and people reading, with pauses between."""
    engine = importlib.import_module("py_nanotts").NanoTTS()
    pause = np.random.default_rng(0).normal(0, 20, SAMPLE_RATE).astype(np.int16)
    done = 0.0
    lines = _TALK.read_text(encoding="utf-8").splitlines()
    spoken = (
        np.frombuffer(engine.speak(line, voice=accent, volume=0.6), "<i2")
        for accent in ("en-US", "en-GB")
        for line in lines
    )
    people = (recordings.samples(clip) for clip in recordings.read_aloud)
    for sound in (*people, *spoken):
        if done >= seconds:
            return
        done += len(sound) / SAMPLE_RATE + 1
        yield np.concatenate([sound, pause]).astype(np.int16)


def outcomes(sound: Iterable[Samples], engine: Engine, understander: Interpreter) -> Counter[str]:
    """Return what came of every utterance found in ``sound``."""
    found: Counter[str] = Counter()
    whole = np.concatenate(list(sound))
    found["seconds"] = len(whole) // SAMPLE_RATE
    with Book.in_memory_copy(None) as book:
        now = START
        conversation = Conversation(book, understander, clock=lambda: now)
        for text in ROUND:
            conversation.hear(typed(text))
        for span in split_utterances(whole):
            now = START + timedelta(seconds=span.start_s)
            heard = engine.hear(span.of(whole)).heard
            if not heard.text:
                continue
            reply = conversation.hear(heard, source="memo")
            found[reply.outcome] += 1
            if reply.outcome in ("saved", "answered", "done"):
                print(f"  {reply.outcome}: {heard.text!r} fit {heard.fit:.2e}", flush=True)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description="Count what is saved though nothing was meant.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--minutes", type=float, default=5.0)
    parser.add_argument("--only", help="only these kinds of sound, separated by commas")
    parser.add_argument("--engines", default="first+listener", help=f"of {', '.join(ENGINES)}")
    parser.add_argument("--cache", type=Path, default=cache_folder() / "benchmarks")
    chosen = parser.parse_args()
    recordings = Recordings(chosen.folder)
    grammar = the_grammar()
    understander = Interpreter(grammar, sound_of_words(grammar))
    seconds = 60 * chosen.minutes
    print("| | seconds | " + " | ".join(OUTCOMES) + " | saved an hour |")
    print("| --- " * (len(OUTCOMES) + 3) + "|")
    written: dict[str, dict[str, int]] = {}
    for name in chosen.engines.split(","):
        engine = Engine(name, grammar, chosen.cache)
        sounds = {
            "quiet": quiet(seconds),
            "wind": noise(recordings.noise("wind"), seconds, 1),
            "engine": noise(recordings.noise("engine"), seconds, 2),
            "chatter": noise(_people(recordings), seconds, 3),
            "small talk": talk(recordings, seconds),
        }
        for kind in chosen.only.split(",") if chosen.only else sounds:
            sound = sounds[kind]
            found = outcomes(sound, engine, understander)
            cells = " | ".join(str(found[what]) for what in ("seconds", *OUTCOMES))
            written[f"{name}, {kind}"] = {what: found[what] for what in ("seconds", *OUTCOMES)}
            rate = 3600 * found["saved"] / found["seconds"]
            print(f"| {name}, {kind} | {cells} | {rate:.1f} |", flush=True)
    told = json.dumps({**origin("benchmarks.false_alarms"), "found": written}, indent=1) + "\n"
    WRITTEN.with_name("false_alarms.json").write_text(told, encoding="utf-8")


if __name__ == "__main__":
    main()
