"""Listeners side by side: people, and field sentences in the conversation, each clip by each.

    python -m benchmarks.listening FOLDER [--each 40] [--engines first,listener,…]

What ``FOLDER`` holds is said in ``benchmarks/recordings.py``, what an outcome is in
``benchmarks/hearing.py``. Every clip is heard clean and at 10 dB, in wind or beside an engine by
its name's checksum. People's digits and words are heard by a grammar of just those and count word
for word; the field sentences (by the voices named kokoro, of which the second listener was taught
none) also by what the conversation makes of them. What was heard before, with the same nets and
grammar, is taken from the cache. ``benchmarks/results/listener.json`` has every count with its
Wilson 95 % interval, and the processor time of an utterance, which on a busy machine is too high.
"""

from __future__ import annotations

import argparse
import json
import zlib
from collections import Counter, defaultdict
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.engines import Engine, small_grammar
from benchmarks.hearing import MOST_DIGITS, OUTCOMES, in_conversation, in_words
from benchmarks.reading import WRITTEN, interval, origin, shares
from benchmarks.recordings import CLEAN, DIGITS, Condition, Recordings
from fieldvoice.cli.app import cache_folder, the_grammar
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.nlu import Interpreter

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchmarks.recordings import Clip
    from fieldvoice.grammar import Grammar

ENGINES = "first,listener,first+listener"
NOISES = ("wind", "engine")


def drawn(clips: list[Clip], each: int) -> list[Clip]:
    """Return ``each`` clips, the same for everybody."""
    return sorted(clips, key=_checksum)[:each]


def conditions(clip: Clip) -> tuple[Condition, Condition]:
    """Return the conditions that a clip is heard in."""
    return CLEAN, Condition(NOISES[_checksum(clip) % len(NOISES)], 10)


def parts(recordings: Recordings, cache: Path) -> dict[str, tuple[list[Clip], Grammar]]:
    """Return what is heard, with the grammar for it."""
    words = sorted({clip.say for clip in recordings.commands})
    natural = [clip for clip in recordings.sentences if clip.speaker.startswith("kokoro")]
    return {
        "digits": (
            recordings.digits,
            small_grammar(cache / "digits", sorted(DIGITS), MOST_DIGITS),
        ),
        "words": (recordings.commands, small_grammar(cache / "words", words, 1)),
        "field": (natural, the_grammar()),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure listeners side by side.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--each", type=int, default=40, help="clips of each part")
    parser.add_argument("--engines", default=ENGINES)
    parser.add_argument("--cache", type=Path, default=cache_folder() / "benchmarks")
    chosen = parser.parse_args()
    recordings = Recordings(chosen.folder)
    understander = Interpreter(the_grammar(), sound_of_words(the_grammar()))
    judge = in_conversation(understander, lambda _: None)
    counts: dict[str, Counter[str]] = {}
    spent: defaultdict[str, float] = defaultdict(float)
    for part, (clips, grammar) in parts(recordings, chosen.cache).items():
        engines = [Engine(name, grammar, chosen.cache) for name in chosen.engines.split(",")]
        for clip in drawn(clips, chosen.each):
            for condition in conditions(clip):
                samples = recordings.samples(clip, condition)
                found = {engine.name: engine.hear(samples) for engine in engines}
                for name, timed in found.items():
                    row = f"{part}, {'10 dB' if condition.noise else 'clean'}: {name}"
                    tally = counts.setdefault(row, Counter())
                    exact = in_words(timed.heard) == clip.say
                    outcome = [judge(clip, timed.heard)] if part == "field" else []
                    tally.update(["of", *["exact"] * exact, *outcome])
                    spent[row] += timed.cpu_s
        write(counts, spent)
    for row, tally in counts.items():
        low, high = interval(tally["exact"], tally["of"])
        told = ", ".join(f"{tally[one]} {one}" for one in OUTCOMES)
        print(
            f"{row}: {tally['exact']} of {tally['of']} exact ({100 * low:.0f} to {100 * high:.0f} "
            f"%); {told}; {spent[row] / tally['of']:.2f} s"
        )


def write(counts: Mapping[str, Counter[str]], spent: Mapping[str, float]) -> None:
    """Write every count with its share and interval, and the seconds of an utterance."""
    rows = {
        row: {"of": tally["of"], "cpu_s": round(spent[row] / tally["of"], 2), **shares(tally)}
        for row, tally in counts.items()
    }
    told = {**origin("benchmarks.listening"), "found": rows}
    text = json.dumps(told, indent=1) + "\n"
    WRITTEN.with_name("listener.json").write_text(text, encoding="utf-8")


def _checksum(clip: Clip) -> int:
    return zlib.crc32(f"{clip.key}{clip.speaker}".encode())


if __name__ == "__main__":
    main()
