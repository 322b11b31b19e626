"""What doubt costs and what it saves: the same hearings judged with narrower and wider margins.

    python -m benchmarks.doubt FOLDER [FOLDER …] [--engines first] [--only "clean,wind 10 dB"]

Everything is heard once (``--cache`` keeps it, as for ``benchmarks.hearing``) and read once; then a
conversation decides at each setting of ``fieldvoice.dialogue.policy.ConfidenceMargins``. The
margins for other hearings are multiplied by each of ``--factors``; 0 asks about nothing that was
heard, 1 is as it stands. ``--of other`` moves that one margin alone. ``--heard-only`` takes what
has been heard before and leaves the rest out.

*Wrong* and *right* are those of ``benchmarks.hearing``; *saved* is the part of the wrong that went
into the book. ``--show`` prints what is not right as things stand, with the question.
"""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchmarks.engines import ENGINES, Engine
from benchmarks.hearing import CONDITIONS, NOTE_BEFORE, NOW, OUTCOMES, judged
from benchmarks.recordings import Recordings, sampled
from fieldvoice.book import Book
from fieldvoice.cli.app import cache_folder, the_grammar
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.dialogue import Conversation
from fieldvoice.dialogue.policy import MARGINS, ConfidenceMargins
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.interpreter import NAMELESS
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchmarks.recordings import Clip
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.nlu import Hypothesis
    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.second_reader import SecondReading
    from fieldvoice.reply import Reply
    from fieldvoice.transcript import Transcript

FACTORS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0)


class Remembering:
    """Reads each utterance once, however often it is decided about."""

    def __init__(self, understander: Interpreter) -> None:
        self._understander = understander
        self._read: dict[tuple[Transcript, str | None], Sequence[Hypothesis]] = {}

    def read(
        self, heard: Transcript, *, expecting: str | None = None, names: EntityNames = NAMELESS
    ) -> Sequence[Hypothesis]:
        """See ``Interpreter.read``; there are no names."""
        key = heard, expecting
        if key not in self._read:
            self._read[key] = self._understander.read(heard, expecting=expecting, names=names)
        return self._read[key]

    def second(
        self, heard: Transcript, names: EntityNames = NAMELESS, *, cards_only: bool = False,
        asks_only: bool = False,
    ) -> SecondReading | None:  # fmt: skip
        """See ``Interpreter.second``; it is not asked here, for its notes are read back anyway."""
        return None

    def named(self, text: str, names: EntityNames = NAMELESS) -> tuple[Span, ...]:
        """See ``Interpreter.named``."""
        return self._understander.named(text, names)

    def opening(self, text: str) -> int:
        """See ``Interpreter.opening``."""
        return self._understander.opening(text)

    def is_unfinished(self, text: str, names: EntityNames = NAMELESS) -> bool:
        """See ``Interpreter.is_unfinished``."""
        return self._understander.is_unfinished(text, names)

    def pieces(self, text: str, names: EntityNames = NAMELESS) -> Sequence[Span]:
        """See ``Interpreter.pieces``."""
        return self._understander.pieces(text, names)

    def value_by(self, *args: Any, **named: Any) -> Any:
        """See ``Interpreter.value_by``."""
        return self._understander.value_by(*args, **named)

    def tells_a_value(self, text: str, names: EntityNames = NAMELESS) -> bool:
        """See ``Interpreter.tells_a_value``."""
        return self._understander.tells_a_value(text, names)

    def by_wording(self, *_: Any, **__: Any) -> tuple[Hypothesis, ...]:
        """Nothing was learnt."""
        return ()

    def wording_of(self, *_: Any, **__: Any) -> None:
        """Nothing is learnt."""


def reply_to(
    clip: Clip, heard: Transcript, reader: Remembering, margins: ConfidenceMargins
) -> Reply:
    """Return what a conversation with an empty book replies, with ``margins``."""
    with Book.in_memory_copy(None) as book:
        talk = Conversation(book, reader, clock=lambda: NOW, margins=margins)
        if any("do" in meaning for meaning in clip.meanings or []):
            talk.hear(typed(NOTE_BEFORE))
        return talk.hear(heard, source="memo")


def at_factor(factor: float, of: str | None) -> ConfidenceMargins:
    """Return the margins for other hearings, all or ``of`` alone, ``factor`` times as wide."""
    if of is None:
        return MARGINS.times(factor)
    return replace(MARGINS, **{of: getattr(MARGINS, of) * factor})


def row(name: str, replies: list[tuple[Clip, Reply]]) -> str:
    """Return the figures as a row of the table, in per cent."""
    counts: Counter[str] = Counter()
    for clip, reply in replies:
        outcome = judged(reply, clip.meanings or [])
        counts[outcome] += 1
        counts["saved"] += outcome == "wrong" and reply.outcome == "saved"
    cells = [f"{100 * counts[what] / len(replies):.1f}" for what in (*OUTCOMES, "saved")]
    return f"| {name} | {len(replies)} | " + " | ".join(cells) + " |"


def show(clip: Clip, reply: Reply) -> None:
    """Print what was not right."""
    outcome = judged(reply, clip.meanings or [])
    if outcome != "right":
        print(f"    {outcome:5} {clip.speaker}: {clip.say!r} as {reply.heard.text!r}: {reply.text}")


def main() -> None:
    parser = argparse.ArgumentParser(description="Judge what was heard with other margins.")
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--engines", default="first", help=f"of {', '.join(ENGINES)}")
    parser.add_argument("--only", default="clean", help="the conditions")
    parser.add_argument("--voices", help="only these, separated by commas")
    parser.add_argument("--each", type=int, help="sentences of each voice in each kind of noise")
    parser.add_argument("--factors", default=",".join(map(str, FACTORS)))
    parser.add_argument("--of", choices=[field.name for field in fields(ConfidenceMargins)])
    parser.add_argument("--heard-only", action="store_true", help="hear nothing anew")
    parser.add_argument("--show", action="store_true", help="show each sentence not right")
    parser.add_argument("--cache", type=Path, default=cache_folder() / "benchmarks")
    chosen = parser.parse_args()
    grammar = the_grammar()
    reader = Remembering(Interpreter(grammar, sound_of_words(grammar)))
    factors = [float(factor) for factor in chosen.factors.split(",")]
    print("| margins | clips | " + " | ".join((*OUTCOMES, "saved")) + " |")
    print("| --- " * (len(OUTCOMES) + 3) + "|")
    for name in chosen.engines.split(","):
        engine = Engine(name, grammar, chosen.cache)
        for condition in (one for one in CONDITIONS if str(one) in chosen.only.split(",")):
            heard: list[tuple[Clip, Transcript]] = []
            for folder in chosen.folders:
                recordings = Recordings(folder)
                voices = chosen.voices.split(",") if chosen.voices else recordings.voices
                clips = [clip for clip in recordings.sentences if clip.speaker in voices]
                for clip in sampled(clips, chosen.each if condition.noise else None, condition):
                    samples = recordings.samples(clip, condition)
                    if not chosen.heard_only or engine.knows(samples):
                        heard.append((clip, engine.hear(samples).heard))
            for factor in factors if heard else ():
                margins = at_factor(factor, chosen.of)
                replies = [(clip, reply_to(clip, one, reader, margins)) for clip, one in heard]
                print(row(f"{name}, {condition}, x {factor:g}", replies), flush=True)
                if chosen.show and factor == 1.0:
                    for clip, reply in replies:
                        show(clip, reply)


if __name__ == "__main__":
    main()
