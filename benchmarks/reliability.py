"""What a confidence is worth: the share of hearings and of words that are right, by confidence.

    python -m benchmarks.reliability FOLDER [--engine first] [--each 12] [--chart FILE] [--fit]

What ``FOLDER`` holds is said in ``benchmarks/recordings.py``; what is heard is kept as in
``benchmarks.hearing``. Every other voice, in order of name, is one to fit by, the rest are those
reported. A hearing is right when it is word for word what was said; a word, when it stands where it
was said. With ``--fit`` the constants of ``fieldvoice/asr/confidence.py`` are reckoned from the
first voices and the table shows what they make of the others; without, it shows what the constants
that stand there make of them.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.engines import ENGINES, Engine
from benchmarks.hearing import CONDITIONS
from benchmarks.recordings import Recordings, sampled
from docs.drawing import Axis, Line, chart
from fieldvoice.asr.confidence import (
    BOTH,
    FIRST,
    FREE_TEXT,
    Curve,
    Curves,
    best_log_odds,
    scaled_fit,
    word_log_odds,
)
from fieldvoice.cli.app import cache_folder, the_grammar
from fieldvoice.nlu.normalise import words_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from benchmarks.recordings import Clip, Condition
    from fieldvoice.transcript import Transcript

#: Measured where nothing is said otherwise.
USUAL = "clean,wind 10 dB,engine 10 dB"
#: Bins of confidence: from one of these to the next.
EDGES = (0.0, 0.2, 0.4, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)
CURVES = {
    "first+listener": BOTH,
    "first+whisper": BOTH,
    "listener": FREE_TEXT,
    "whisper": FREE_TEXT,
}

# A logistic curve is fitted in so many steps, and held back by this much so that it stays finite.
_STEPS, _HELD_BACK = 200, 1.0


@dataclass(frozen=True, slots=True)
class Case:
    """One hearing or one word: what is known of it, and whether it is right."""

    share: float
    fit: float
    right: bool

    def confidence(self, curve: Curve) -> float:
        """Return what the curve makes of it."""
        return curve.at(self.share, self.fit)


@dataclass(slots=True)
class Cases:
    """The hearings and the words of some voices."""

    utterances: list[Case]
    words: list[Case]


def cases_of(said: str, heard: Transcript, vocabulary: Collection[str]) -> Cases:
    """Return one hearing and its words as cases."""
    fit = scaled_fit(heard.fit)
    wanted = said.split()
    right = list(words_of(heard.text, vocabulary)) == wanted
    utterance = Case(best_log_odds(heard.alternatives), fit, right)
    if not heard.text:
        return Cases([], [])
    plain = [" ".join(words_of(word.text, vocabulary)) for word in heard.words]
    there = {
        block.a + at
        for block in SequenceMatcher(a=plain, b=wanted, autojunk=False).get_matching_blocks()
        for at in range(block.size)
    }
    shares = word_log_odds([word.text for word in heard.words], heard.alternatives)
    words = [Case(share, fit, at in there) for at, share in enumerate(shares)]
    return Cases([utterance], words)


def fitted(cases: list[Case]) -> Curve:
    """Return the curve that makes the cases likeliest, by gradient steps; no slope below 0."""
    known = np.array([[1.0, case.share, case.fit] for case in cases])
    right = np.array([float(case.right) for case in cases])
    constants = np.array([0.0, 1.0, 0.0])
    for _ in range(_STEPS):
        sure = 1 / (1 + np.exp(-known @ constants))
        towards = known.T @ (right - sure) - _HELD_BACK * constants * (0, 1, 1)
        bend = (known * (sure * (1 - sure))[:, None]).T @ known + _HELD_BACK * np.diag([1e-6, 1, 1])
        constants = constants + np.linalg.solve(bend, towards)
        constants[1:] = np.maximum(constants[1:], 0.0)
    begin, share, fit = (round(float(one), 2) for one in constants)
    return Curve(begin, share, fit)


def rows(cases: list[Case], curve: Curve) -> list[tuple[str, int, float, float]]:
    """Return, for each bin that has any: its name, how many, their mean confidence, share right."""
    found = []
    confidences = np.array([case.confidence(curve) for case in cases])
    right = np.array([case.right for case in cases])
    for low, high in pairwise(EDGES):
        within = (confidences >= low) & ((confidences < high) | (high == EDGES[-1]))
        if within.any():
            name = f"{low:g} to {high:g}"
            mean, share = float(confidences[within].mean()), float(right[within].mean())
            found.append((name, int(within.sum()), mean, share))
    return found


def off_by(cases: list[Case], curve: Curve) -> float:
    """Return how far confidence and the share right are apart, in the mean over all cases."""
    return sum(many * abs(mean - share) for _, many, mean, share in rows(cases, curve)) / len(cases)


def table(name: str, cases: list[Case], curve: Curve) -> None:
    """Print what confidences are worth."""
    print(f"\n| {name} | how many | confidence | right |\n| --- | --- | --- | --- |")
    for bin_name, many, mean, share in rows(cases, curve):
        print(f"| {bin_name} | {many} | {100 * mean:.0f} % | {100 * share:.0f} % |")
    print(f"\noff by {100 * off_by(cases, curve):.1f} % in the mean")


def picture(cases: Cases, curves: Curves) -> str:
    """Return the reliability diagram as SVG."""
    lines = [
        Line(name, [(mean, share) for _, _, mean, share in rows(some, curve)])
        for name, some, curve in (
            ("utterances", cases.utterances, curves.utterance),
            ("words", cases.words, curves.word),
        )
    ]
    ideal = Line("as it should be", [(0.0, 0.0), (1.0, 1.0)])
    return chart(
        "What a confidence is worth",
        "The share of hearings that are right against their confidence; the diagonal is ideal.",
        Axis("confidence", 0.0, 1.0, 0.2),
        Axis("share right", 0.0, 1.0, 0.2),
        [*lines, ideal],
        key_left=True,
    )


class Listening:
    """Hears the recordings with one engine."""

    def __init__(self, folder: Path, engine: Engine, vocabulary: frozenset[str]) -> None:
        self._recordings = Recordings(folder)
        self._engine = engine
        self._vocabulary = vocabulary

    def clips(self, voices: Iterable[str]) -> list[Clip]:
        """Return the field sentences by some voices."""
        wanted = set(voices)
        return [clip for clip in self._recordings.sentences if clip.speaker in wanted]

    def cases(self, clips: list[Clip], conditions: list[Condition], each: int | None) -> Cases:
        """Return every hearing of ``clips``: ``each`` of a voice in noise, all of them without."""
        found = Cases([], [])
        for condition in conditions:
            for clip in sampled(clips, each if condition.noise else None, condition):
                heard = self._engine.hear(self._recordings.samples(clip, condition)).heard
                one = cases_of(clip.say, heard, self._vocabulary)
                found.utterances += one.utterances
                found.words += one.words
        return found


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure what confidences are worth.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--engine", choices=tuple(ENGINES), default="first")
    parser.add_argument("--voices", help="only these, separated by commas")
    parser.add_argument("--each", type=int, default=12, help="sentences of a voice in noise")
    parser.add_argument("--only", default=USUAL, help=f"these conditions; left out: {USUAL}")
    parser.add_argument("--fit", action="store_true", help="reckon the constants anew")
    parser.add_argument("--chart", type=Path, help="write the diagram to this SVG file")
    parser.add_argument("--cache", type=Path, default=cache_folder() / "benchmarks")
    chosen = parser.parse_args()
    grammar = the_grammar()
    engine = Engine(chosen.engine, grammar, chosen.cache)
    listening = Listening(chosen.folder, engine, grammar.words)
    voices = chosen.voices.split(",") if chosen.voices else Recordings(chosen.folder).voices
    conditions = [one for one in CONDITIONS if str(one) in chosen.only.split(",")]
    curves = CURVES.get(chosen.engine, FIRST)
    if chosen.fit:
        cases = listening.cases(listening.clips(sorted(voices)[::2]), conditions, chosen.each)
        curves = Curves(fitted(cases.utterances), fitted(cases.words))
        print(f"fitted on {len(cases.utterances)} hearings by {', '.join(sorted(voices)[::2])}:")
        print(curves)
    others = sorted(voices)[1::2]
    cases = listening.cases(listening.clips(others), conditions, chosen.each)
    print(f"\nheard from {', '.join(others)} by {chosen.engine}: {chosen.only}")
    table("utterances", cases.utterances, curves.utterance)
    table("words", cases.words, curves.word)
    if chosen.chart:
        chosen.chart.write_text(picture(cases, curves), encoding="utf-8")


if __name__ == "__main__":
    main()
