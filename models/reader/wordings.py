"""The wordings that come with fieldvoice: ``python -m models.reader.wordings``.

Written as ``fieldvoice/understanding/reader/wordings.json`` from the sayings in
``sayings/paraphrases``, for notes alone. A wording stays where every line that it can be laid over,
among all the sayings of the repository, means what it makes of it; where at least one of those is
another than the one it came from, or its words are so many that it says one thing; and where it
throws nothing away and changes nothing that the book is about.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.conversation.decision import COST_TO_SAVE
from fieldvoice.grammar import load_grammar
from fieldvoice.heard import typed
from fieldvoice.meaning import meaning_from
from fieldvoice.understanding import Understander
from fieldvoice.understanding.chunker import spans
from fieldvoice.understanding.tokens import words_of
from fieldvoice.understanding.wordings import (
    COME_ALONG,
    Wording,
    meanings_by,
    whole,
    wording_of,
)
from models.reader.corpus import ROOT
from tests.understanding import tables

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.meaning import Meaning
    from fieldvoice.understanding.chunker import Span
    from tests.understanding.tables import Saying

#: Fewer words that say something, outside the values, tell no one thing.
FEWEST_WORDS = 3
#: Never without a question, or made of words that no piece is worth.
LEFT_OUT = frozenset({"dump", "name", "pull", "vessel", "transfer", "remark", "stock_out", "tree"})
#: Amounts in the sayings have two decimals.
ROUNDED = 0.0051


@dataclass(frozen=True)
class Line:
    """A saying ready to be laid over; ``saying`` is None for what is no note.

    ``teaches`` tells that it is a paraphrase.
    """

    text: str
    words: tuple[str, ...]
    pieces: list[Span]
    saying: Saying | None
    teaches: bool


def main() -> None:
    """Write the wordings, and tell how right each is on lines that it does not come from."""
    grammar = load_grammar()
    understander = Understander(grammar)
    fillers = grammar.phrases_of("fieldvoice.filler")
    small = grammar.words_of("fieldvoice.may_be_missing")

    def line(text: str, saying: Saying | None, teaches: bool) -> Line:
        words = words_of(text, grammar.words, breaks=True)
        return Line(text, words, spans(understander.networks, words), saying, teaches)

    lines = [line(one.words, one, teaches) for one, teaches in _sayings()]
    lines += [line(text, None, False) for text in _no_notes()]
    by_mask: dict[str, list[tuple[Wording, Line]]] = defaultdict(list)
    told: Counter[str] = Counter()
    for one in lines:
        if not one.teaches:
            continue
        told["paraphrases"] += 1
        wording = _wording(one, fillers)
        if wording is None:
            told["not bound"] += 1
        elif _content(wording, small) < FEWEST_WORDS:
            told["too few words"] += 1
        elif _is_read_already(understander, one):
            told["read by the grammar"] += 1
        else:
            by_mask[wording.masked].append((wording, one))
    kept: list[Wording] = []
    hits: Counter[str] = Counter()
    for came_from in by_mask.values():
        wording, origin = came_from[0]
        if any(other.shape != wording.shape for other, _ in came_from):
            told["two meanings"] += 1
            continue
        judged = [
            _is_right(other, got)
            for other in lines
            if other is not origin and wording.words.issubset(other.words)
            if (got := meanings_by(wording, other.words, whole(other.pieces), fillers)) is not None
        ]
        hits["right"] += sum(judged)
        hits["wrong"] += len(judged) - sum(judged)
        hits["that hit another line"] += bool(judged)
        if all(judged):
            kept.append(wording)
        else:
            print("wrong on other lines:", wording.masked)
    _write(kept)
    print(dict(told), "wordings:", len(by_mask), "kept:", len(kept), "on other lines:", dict(hits))


def _sayings() -> Iterator[tuple[Saying, bool]]:
    for path in tables.UTTERANCES:
        yield from ((one, False) for one in tables.sayings(path))
    for path in sorted((ROOT / "sayings/paraphrases").glob("*.txt")):
        yield from ((one, True) for one in tables.sayings(path))


def _no_notes() -> Iterator[str]:
    none = sorted((ROOT / "sayings/none").glob("*.txt"))
    for path in [ROOT / "tests/understanding/not_records.txt", *none]:
        yield from (one.words for one in tables.sayings(path, with_meanings=False))
    for path in sorted((ROOT / "tests/handbook/held_out").glob("*.txt")):
        for line in path.read_text(encoding="utf-8").splitlines():
            words, arrow, _ = line.partition("=>")
            if arrow:
                yield words.strip()


def _wording(line: Line, fillers: frozenset[tuple[str, ...]]) -> Wording | None:
    assert line.saying is not None
    wanted = line.saying.readings[0]
    if any(one.sort != "act" or one.name in LEFT_OUT for one in wanted):
        return None
    if any(tables.ANYTHING in field.values for one in wanted for field in one.fields):
        return None
    if line.saying.trees or line.saying.vessels:
        return None
    fields = [one.example() for one in wanted]
    try:
        meanings = [meaning_from(one) for one in fields]
    except ValueError:
        return None
    return wording_of(line.words, line.pieces, meanings, fillers, near=ROUNDED)


def _content(wording: Wording, small: frozenset[str]) -> int:
    return len([word for word in wording.tokens if word in wording.words - small])


def _is_read_already(understander: Understander, line: Line) -> bool:
    readings = understander.read(typed(line.text))
    return bool(readings) and readings[0].cost <= COST_TO_SAVE


def _is_right(line: Line, meanings: Sequence[Meaning]) -> bool:
    if line.saying is None:
        return False
    return line.saying.accepts([one.json_fields() for one in meanings])


def _write(wordings: Sequence[Wording]) -> None:
    rows = [[one.masked, list(one.shape)] for one in sorted(wordings, key=lambda one: one.masked)]
    lines = ",\n".join(json.dumps(row, ensure_ascii=False) for row in rows)
    COME_ALONG.write_text(f"[\n{lines}\n]\n", encoding="utf-8")


if __name__ == "__main__":
    main()
