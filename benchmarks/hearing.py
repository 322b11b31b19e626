"""How well field sentences and people are heard and understood, engine beside engine.

    python -m benchmarks.hearing FOLDER [--voices kokoro_af_bella,…] [--clean-only] [--each 17]

What ``FOLDER`` holds is said in ``benchmarks/recordings.py``. Each field sentence is heard in a
conversation of its own with an empty book; a command ("scratch that") with one note in it, to act
on. It counts as *right* when it was saved, answered or done with exactly the meanings it has
(numbers to 0.01); as *wrong* when it was saved, answered or done with any other; as *asked* or
*kept* when the assistant asked back or kept it for review. *Numbers* is the share of sentences with
numbers in them whose numbers were all heard, in order. The people speak sentences about other
matters, digits and single words, each heard by a grammar of just those. Noise is mixed in at a
ratio to the active speech level: the mean power of the 20 ms frames within 30 dB of the loudest, so
that pauses do not count.

Speech that is not for the assistant and noise without speech are measured by
``benchmarks.false_alarms``.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jiwer
import numpy as np

from benchmarks.engines import ENGINES, Engine, small_grammar, usable
from benchmarks.recordings import CLEAN, DIGITS, Condition, Recordings, sampled
from fieldvoice.asr import SAMPLE_RATE
from fieldvoice.book import Book
from fieldvoice.cli.app import cache_folder, the_grammar
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.dialogue import Conversation
from fieldvoice.grammar import load_grammar
from fieldvoice.grammar.expect import accepts
from fieldvoice.grammar.grammar import TOP
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.normalise import words_of
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchmarks.recordings import Clip
    from fieldvoice.grammar import Grammar
    from fieldvoice.reply import Reply
    from fieldvoice.transcript import Transcript

    Judge = Callable[[Clip, Transcript], str]

CONDITIONS = [
    CLEAN,
    *(Condition(noise, ratio) for ratio in (20, 15, 10, 5) for noise in ("wind", "engine")),
]
#: A grammar that knows nothing of fieldvoice's matters, for what people say of others.
OTHER_DOMAIN = Path(__file__).parent / "other_domain"
#: Meanings are compared with numbers to this.
TOLERANCE = 0.01
#: A fixed clock: the sentences name no days but today.
NOW = datetime(2027, 3, 12, 14, 0, tzinfo=UTC)
#: What was noted before a command comes.
NOTE_BEFORE = "tree twelve bucket half full"
#: Digits in a row, at most, in the grammar for people who speak digits.
MOST_DIGITS = 16

OUTCOMES = ("right", "wrong", "asked", "kept")
HEADINGS = ("clips", "WER", "exact", *OUTCOMES, "numbers", "RTF", "ms p95")

# What a user waits for: the interpreter, the modules, the grammar, the model, the first words.
_FROM_COLD = """
from fieldvoice.cli.app import the_grammar
from fieldvoice.cli.recognisers import ears
ears(the_grammar())
"""


@dataclass(slots=True)
class Tally:
    """What came of the clips of one voice in one condition."""

    said: list[str] = field(default_factory=list)
    heard: list[str] = field(default_factory=list)
    outcomes: list[str] = field(default_factory=list)
    sound_s: list[float] = field(default_factory=list)
    cpu_s: list[float] = field(default_factory=list)

    def add(self, other: Tally) -> None:
        """Take in what came of other clips."""
        self.said += other.said
        self.heard += other.heard
        self.outcomes += other.outcomes
        self.sound_s += other.sound_s
        self.cpu_s += other.cpu_s

    def row(self, name: str) -> str:
        """Return the figures as a row of the table."""
        pairs = list(zip(self.said, self.heard, strict=True))
        numbers = [(n, _numbers(heard)) for said, heard in pairs if (n := _numbers(said))]
        cells = [
            f"{len(pairs)}",
            f"{100 * jiwer.wer(self.said, self.heard):.1f}",
            _percent([said == heard for said, heard in pairs]),
            *(_percent([what == one for one in self.outcomes]) for what in OUTCOMES),
            _percent([said == heard for said, heard in numbers]),
            f"{sum(self.cpu_s) / sum(self.sound_s):.3f}",
            f"{1000 * np.quantile(self.cpu_s, 0.95):.0f}",
        ]
        return f"| {name} | " + " | ".join(cells) + " |"


def _percent(hits: list[bool]) -> str:
    return f"{100 * sum(hits) / len(hits):.1f}" if hits else "–"


_NUMBERS = DIGITS | frozenset(
    "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty "
    "forty fifty sixty seventy eighty ninety hundred half quarter quarters".split()
)


def _numbers(text: str) -> list[str]:
    return [word for word in text.split() if word in _NUMBERS]


def same(one: Any, other: Any) -> bool:
    """Return whether two JSON values are the same, numbers to ``TOLERANCE``."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) <= TOLERANCE + 1e-9
    return bool(one == other)


def judged(reply: Reply, meanings: list[dict[str, Any]]) -> str:
    """Return what came of one sentence: right, wrong, asked or kept."""
    if reply.outcome in ("asked", "kept"):
        return reply.outcome
    found = [meaning.json_fields() for meaning in reply.meanings]
    return "right" if same(found, meanings) else "wrong"


def in_conversation(understander: Interpreter, tell: Callable[[str], None]) -> Judge:
    """Return what judges a field sentence by what a conversation makes of it."""

    def judge(clip: Clip, heard: Transcript) -> str:
        meanings = clip.meanings or []
        with Book.in_memory_copy(None) as book:
            talk = Conversation(book, understander, clock=lambda: NOW)
            if any("do" in meaning for meaning in meanings):
                talk.hear(typed(NOTE_BEFORE))
            reply = talk.hear(heard, source="memo")
        outcome = judged(reply, meanings)
        if outcome != "right":
            found = json.dumps([meaning.json_fields() for meaning in reply.meanings])
            tell(f"{outcome:6} {clip.speaker} {clip.key} {clip.say!r} {heard.text!r} {found}")
        return outcome

    return judge


def word_for_word(clip: Clip, heard: Transcript) -> str:
    """Judge what people say by its words alone."""
    return "right" if clip.say == in_words(heard) else "wrong"


def in_words(heard: Transcript) -> str:
    """Return what was heard as it is said: an engine that hears any words writes as people do."""
    is_free = heard.recogniser in ("whisper", "listener")
    return " ".join(words_of(heard.text)) if is_free else heard.text


def hear(
    recordings: Recordings, clips: list[Clip], condition: Condition, engine: Engine, judge: Judge
) -> Tally:
    """Return what came of ``clips`` in ``condition``."""
    tally = Tally()
    for clip in clips:
        samples = recordings.samples(clip, condition)
        timed = engine.hear(samples)
        tally.cpu_s.append(timed.cpu_s)
        tally.sound_s.append(len(samples) / SAMPLE_RATE)
        tally.said.append(clip.say)
        tally.heard.append(in_words(timed.heard))
        tally.outcomes.append(judge(clip, timed.heard))
    return tally


def start_up_s() -> float:
    """Return the seconds from starting Python to a recogniser that is ready, files made before."""
    before = time.perf_counter()
    subprocess.run([sys.executable, "-c", _FROM_COLD], check=True)
    return time.perf_counter() - before


def field_sentences(
    recordings: Recordings, chosen: argparse.Namespace, conditions: list[Condition]
) -> None:
    """Print the figures of the field sentences, engine beside engine."""
    grammar = the_grammar()
    understander = Interpreter(grammar, sound_of_words(grammar))
    tell: Callable[[str], None] = print if chosen.show else lambda _: None
    judge = in_conversation(understander, tell)
    voices = chosen.voices.split(",") if chosen.voices else recordings.voices
    clips = [clip for clip in recordings.sentences if clip.speaker in voices]
    engines = [Engine(name, grammar, chosen.cache) for name in chosen.engines.split(",")]
    _head("field sentences")
    for condition in conditions:
        each = chosen.each if condition.noise else None
        some = sampled(clips, each, condition)
        for engine in engines:
            together = Tally()
            for voice in voices:
                own = [clip for clip in some if clip.speaker == voice]
                tally = hear(recordings, own, condition, engine, judge)
                if not condition.noise:
                    print(tally.row(f"{engine.name}, {condition}, {voice}"), flush=True)
                together.add(tally)
            print(together.row(f"{engine.name}, {condition}, all"), flush=True)


def people(recordings: Recordings, chosen: argparse.Namespace, conditions: list[Condition]) -> None:
    """Print the figures of what people say: sentences, digits, and single words."""
    digits, commands = recordings.digits, recordings.commands
    words = sorted({clip.say for clip in commands})
    other = load_grammar(OTHER_DOMAIN)
    sentences = [one for one in recordings.people if accepts(other.networks, TOP, one.say.split())]
    spoken = [one for one in sentences if one not in digits and one not in commands]
    parts: list[tuple[str, list[Clip], Grammar]] = [
        ("sentences of another domain", spoken, other),
        ("digits", digits, small_grammar(chosen.cache / "digits", sorted(DIGITS), MOST_DIGITS)),
        ("words", commands, small_grammar(chosen.cache / "words", words, 1)),
    ]
    for part, clips, grammar in parts:
        _head(f"people, {part}")
        for condition in conditions:
            for name in chosen.engines.split(","):
                engine = Engine(name, grammar, chosen.cache)
                tally = hear(recordings, clips, condition, engine, word_for_word)
                print(tally.row(f"{name}, {condition}"), flush=True)


def _head(title: str) -> None:
    print(f"\n| {title} | " + " | ".join(HEADINGS) + " |")
    print("| --- " * (len(HEADINGS) + 1) + "|")


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure hearing on a folder of recordings.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--engines", help=f"of {', '.join(ENGINES)}; separated by commas")
    parser.add_argument("--voices", help="only these, separated by commas")
    parser.add_argument("--each", type=int, help="sentences of each voice in each kind of noise")
    parser.add_argument("--clean-only", action="store_true", help="leave the noise out")
    parser.add_argument("--only", help="only these conditions: 'wind 10 dB,engine 10 dB'")
    parser.add_argument("--no-field", action="store_true", help="what people say alone")
    parser.add_argument("--no-people", action="store_true", help="field sentences alone")
    parser.add_argument("--show", action="store_true", help="show each sentence not right")
    parser.add_argument("--cache", type=Path, default=cache_folder() / "benchmarks")
    chosen = parser.parse_args()
    if not chosen.engines:
        chosen.engines = ",".join(usable())
    recordings = Recordings(chosen.folder)
    only = {"clean"} if chosen.clean_only else set(chosen.only.split(",") if chosen.only else ())
    conditions = [one for one in CONDITIONS if not only or str(one) in only]
    if not chosen.no_field:
        field_sentences(recordings, chosen, conditions)
    if not chosen.no_people:
        people(recordings, chosen, conditions)
    print(f"\nstart-up with files made before: {start_up_s():.2f} s")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory, understanding and book included: {peak:.0f} MB")


if __name__ == "__main__":
    main()
