"""What sentences of a grammar mean: words with two meanings, and examples that are not understood.

``ambiguous`` looks at a sample: so many sentences are drawn from the grammar, each read in every
way that it has, and two cheapest ways of one cost with other meanings are told, once for each pair
of rules that they part at. It is a warning: rare words are not come upon, and some are meant so.

``no-example`` reads the example that stands in the remark before the rule of each frame, after its
colon, and looks whether that frame is among its meanings.
"""

from __future__ import annotations

import random
import re
from typing import TYPE_CHECKING

from fieldvoice.grammar.exact import ExactReader
from fieldvoice.grammar.findings import Finding
from fieldvoice.grammar.frames import KINDS
from fieldvoice.grammar.jsgf import CLITIC, Tagged, parts_of
from fieldvoice.grammar.network import build_networks
from fieldvoice.grammar.sentences import Drawing

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from fieldvoice.grammar.exact import Reading
    from fieldvoice.grammar.frames import Frame, FrameKey, Frames
    from fieldvoice.grammar.jsgf import Rule

#: Sentences drawn, and the words of the longest that is looked at.
SENTENCES, LONGEST, _SEED = 400, 9, 1

#: Two ways within this are of equal weight.
_EQUAL = 1e-9

#: A word of an example; the grammar's own "*" and numbers in figures are none.
_WORD = re.compile(r"[a-z']+")
_SENTENCE_END = re.compile(r"[.?!]\s*")


def reading_findings(rules: Mapping[str, Rule], top: str, frames: Frames) -> Iterator[Finding]:
    """Yield what is wrong with the meanings of sentences and examples."""
    reader = ExactReader(build_networks(rules), top)
    yield from _ambiguous(rules, top, reader)
    yield from _examples(rules, reader, frames)


def _ambiguous(rules: Mapping[str, Rule], top: str, reader: ExactReader) -> Iterator[Finding]:
    drawing = Drawing(rules, random.Random(_SEED))
    told: set[tuple[str, str]] = set()
    for _ in range(SENTENCES):
        words = _parted(drawing.draw(top).words)
        readings = reader.read(words) if len(words) <= LONGEST else []
        if len(readings) > 1 and readings[1].cost - readings[0].cost < _EQUAL:
            one, two = readings[:2]
            apart = (_own(one, two), _own(two, one))
            if apart not in told:
                told.add(apart)
                yield _two_meanings(rules, words, (one, two), apart)


def _parted(words: list[str]) -> tuple[str, ...]:
    parted: list[str] = []
    for word in words:
        owner = word.removesuffix(CLITIC)
        parted += [owner, CLITIC] if owner not in ("", word) else [word]
    return tuple(parted)


def _own(reading: Reading, other: Reading) -> str:
    """Return the innermost rule that one reading goes through and the other does not."""
    return next((rule for rule in reversed(reading.rules) if rule not in other.rules),
                reading.rules[-1])  # fmt: skip


def _two_meanings(
    rules: Mapping[str, Rule],
    words: tuple[str, ...],
    readings: tuple[Reading, Reading],
    apart: tuple[str, str],
) -> Finding:
    said = " ".join(words).replace(f" {CLITIC}", CLITIC)
    means = " and ".join(
        f"{{{', '.join(_differing(one, other))}}} by <{rule.partition('.')[2]}> {rules[rule].place}"
        for one, other, rule in zip(readings, reversed(readings), apart, strict=True)
    )
    rule = rules[apart[0]]
    message = f'"{said}" is {means} at equal weight'
    return Finding("ambiguous", message, rule.source, rule.span, is_warning=True)


def _differing(one: Reading, other: Reading) -> list[str]:
    own = [field for field in _fields(one) if field not in _fields(other)]
    return [f"{key}={value}" if key in KINDS else key for key, value in own]


def _fields(reading: Reading) -> list[tuple[str, object]]:
    """Return the slots of all meanings of a reading."""
    return [field for _, inner in reading.meanings if isinstance(inner, tuple) for field in inner]


def _examples(rules: Mapping[str, Rule], reader: ExactReader, frames: Frames) -> Iterator[Finding]:
    for name, rule in rules.items():
        frame = next(_set_by(rule, name.partition(".")[2], frames), None)
        if frame is not None and rule.about:
            yield from _example(rule, frame, reader)


def _set_by(rule: Rule, name: str, frames: Frames) -> Iterator[Frame]:
    """Yield the frame that a rule of its name sets."""
    for part in parts_of(rule.expansion):
        if isinstance(part, Tagged):
            for kind in KINDS:
                if f"{kind}={name}" in part.tags and (kind, name) in frames:
                    yield frames[kind, name]


def _example(rule: Rule, frame: Frame, reader: ExactReader) -> Iterator[Finding]:
    told = rule.about.partition(": ")[2] or rule.about
    for said in filter(None, _SENTENCE_END.split(told)):
        words = _WORD.findall(said.lower().replace("i'm", "i am"))
        readings = reader.read(_parted(words))
        found = list(_kinds(readings[0])) if readings else []
        if (frame.kind, frame.name) not in found:
            what = " and ".join(repr(name) for _, name in found) or "nothing the grammar has"
            message = f"the example of {frame.told}, {said!r}, reads as {what}"
            yield Finding("no-example", message, rule.source, rule.span)


def _kinds(reading: Reading) -> Iterator[FrameKey]:
    for field, value in _fields(reading):
        if field in KINDS:
            yield field, "" if field == "mention" else str(value)
