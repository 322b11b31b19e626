"""The wordings that come with fieldvoice: ``python -m models.reader.wordings``.

Written as ``fieldvoice/nlu/reader/wordings.json`` from the sayings in
``sayings/paraphrases``, for notes alone. A wording stays where every line that it can be laid over,
among all the sayings of the repository, means what it makes of it; where its words are so many that
it says one thing, and its numbers have their units; and where it throws nothing away and changes
nothing that the book is about.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from fieldvoice.dialogue.policy import COST_TO_SAVE
from fieldvoice.grammar import load_grammar
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.chunker import spans
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.wordings import (
    COME_ALONG,
    Wording,
    meanings_by,
    passed_over,
    whole,
    wording_of,
)
from fieldvoice.schema import meaning_from
from fieldvoice.transcript import typed
from models.reader.corpus import NUMBERS, ROOT, part
from tests.handbook.other_mouths import held_out
from tests.nlu import tables

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.nlu.chunker import Span
    from fieldvoice.schema import Meaning
    from tests.nlu.tables import Saying

#: Fewer words that say something, outside the values, tell no one thing.
FEWEST_WORDS = 3
#: Never without a question, or made of words that no piece is worth.
LEFT_OUT = frozenset({"dump", "name", "pull", "vessel", "transfer", "remark", "stock_out", "tree"})
#: What a number says without a unit.
COUNTED = frozenset({"count", "days", "hours"})
#: Amounts in the sayings have two decimals.
ROUNDED = 0.0051


class Line:
    """A saying ready to be laid over; ``saying`` is None for what is no note.

    ``teaches`` tells that it is a paraphrase, and one that the net is taught with too: those kept
    for thresholds and tests stay unknown.
    """

    def __init__(self, text: str, words: tuple[str, ...], saying: Saying | None, teaches: bool):
        self.text, self.words, self.saying, self.teaches = text, words, saying, teaches
        self.has = frozenset(words)


class Maker:
    """The grammar with all lines, and the wordings found in them."""

    def __init__(self) -> None:
        grammar = load_grammar()
        self._understander = Interpreter(grammar)
        self._fillers = passed_over(grammar.phrases_of("fieldvoice.filler"))
        self._small = grammar.words_of("fieldvoice.may_be_missing")
        self._pieces: dict[tuple[str, ...], list[Span]] = {}
        said = [*_sayings(), *((text, None, False) for text in _no_notes())]
        self._lines = [
            Line(text, words, saying, teaches and part(words, "paraphrase") == "learn")
            for text, saying, teaches in said
            if (words := words_of(text, grammar.words, breaks=True))
        ]
        self.told: Counter[str] = Counter(lines=len(self._lines))

    def wordings(self) -> list[Wording]:
        """Return the wordings that are right on every line they can be laid over."""
        by_mask: dict[str, list[tuple[Wording, Line]]] = defaultdict(list)
        for line in self._lines:
            wording = self._wording(line) if line.teaches else None
            if wording is not None:
                by_mask[wording.masked].append((wording, line))
        self.told["wordings"] = len(by_mask)
        return [one[0][0] for one in by_mask.values() if self._is_kept(one)]

    def _is_kept(self, found: Sequence[tuple[Wording, Line]]) -> bool:
        wording, origin = found[0]
        if any(other.shape != wording.shape for other, _ in found):
            self.told["two meanings"] += 1
            return False
        judged = list(self._judged(wording, origin))
        self.told["right on another line"] += sum(judged)
        self.told["wrong on another line"] += len(judged) - sum(judged)
        self.told["laid over another line"] += bool(judged)
        if not all(judged):
            return False
        if all(self._is_read_already(line) for _, line in found):
            self.told["read by the grammar"] += 1
            return False
        return True

    def _judged(self, wording: Wording, origin: Line) -> Iterator[bool]:
        for line in self._lines:
            if line is origin or not wording.words <= line.has:
                continue
            meanings = meanings_by(wording, line.words, whole(self._spans(line)), self._fillers)
            if meanings is not None:
                if not _is_right(line, meanings):
                    print("wrong:", wording.masked, "| on |", line.text)
                yield _is_right(line, meanings)

    def _wording(self, line: Line) -> Wording | None:
        meanings = _meanings(line)
        if meanings is None:
            return None
        self.told["lines of notes"] += 1
        wording = wording_of(line.words, self._spans(line), meanings, self._fillers, near=ROUNDED)
        if wording is None:
            self.told["not bound"] += 1
            return None
        if (
            len([word for word in wording.tokens if word in wording.words - self._small])
            < FEWEST_WORDS
        ):
            self.told["too few words"] += 1
            return None
        if _hangs_on_bare_numbers(wording):
            self.told["bare numbers"] += 1
            return None
        return wording

    def _spans(self, line: Line) -> list[Span]:
        if line.words not in self._pieces:
            self._pieces[line.words] = spans(self._understander.networks, line.words)
        return self._pieces[line.words]

    def _is_read_already(self, line: Line) -> bool:
        readings = self._understander.read(typed(line.text))
        return bool(readings) and readings[0].cost <= COST_TO_SAVE


def main() -> None:
    """Write the wordings, and tell how right each is on lines that it does not come from."""
    maker = Maker()
    wordings = maker.wordings()
    _write(wordings)
    print(dict(maker.told), "kept:", len(wordings))


def _sayings() -> Iterator[tuple[str, Saying, bool]]:
    for path in tables.UTTERANCES:
        yield from ((one.words, one, False) for one in tables.sayings(path))
    for path in sorted((ROOT / "sayings/paraphrases").glob("*.txt")):
        yield from ((one.words, one, True) for one in tables.sayings(path))


def _no_notes() -> Iterator[str]:
    none = sorted((ROOT / "sayings/none").glob("*.txt"))
    for path in [ROOT / "tests/nlu/not_records.txt", *none]:
        yield from (one.words for one in tables.sayings(path, with_meanings=False))
    yield from (asking.words for asking in held_out())


def _meanings(line: Line) -> list[Meaning] | None:
    """Return what a line means; None unless it is notes of which all is written down."""
    saying = line.saying
    if saying is None or saying.trees or saying.vessels:
        return None
    wanted = saying.readings[0]
    if any(one.sort != "act" or one.name in LEFT_OUT for one in wanted):
        return None
    if any(
        tables.ANYTHING in field.values or field.optional for one in wanted for field in one.fields
    ):
        return None
    try:
        return [meaning_from(one.example()) for one in wanted]
    except ValueError:
        return None


def _hangs_on_bare_numbers(wording: Wording) -> bool:
    """Whether a number is left over, or one without its unit fills more than a count or a tree."""
    bare = [
        name
        for fields in wording.shape
        for name, value in fields.items()
        if isinstance(value, str) and value.startswith("number#")
    ]
    return bool(wording.words & NUMBERS) or any(name not in COUNTED for name in bare)


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
