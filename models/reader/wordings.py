"""The wordings that come with fieldvoice: ``python -m models.reader.wordings``.

Written as ``fieldvoice/nlu/reader/wordings.json`` from the sayings in ``sayings/paraphrases`` and
from those of the tables in ``tests/nlu/utterances`` that the grammar does not have word for word. A
wording stays where every line that it can be laid over, among all the sayings of the repository,
means what it makes of it; where its words are so many that it says one thing, and its numbers have
their units; and where it throws nothing away and changes nothing that the book is about.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from fieldvoice.dialogue.policy import COST_TO_SAVE
from fieldvoice.grammar import load_grammar
from fieldvoice.grammar.jsgf import CLITIC
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.chunker import spans
from fieldvoice.nlu.normalise import BREAK, words_of
from fieldvoice.nlu.wordings import (
    COME_ALONG,
    Wording,
    as_asked,
    meanings_by,
    passed_over,
    whole,
    wording_of,
)
from fieldvoice.schema import Ask, meaning_from
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
#: So few do where every number has its sign or unit: "reaped <volume> from <tree>".
FEWEST_WITH_SIGNS = 1
#: Never without a question, or made of words that no piece is worth.
LEFT_OUT = frozenset({"dump", "name", "remark", "tree"})
#: What a number says without a unit.
COUNTED = frozenset({"count", "days", "hours"})
#: Amounts in the sayings have two decimals.
ROUNDED = 0.0051


class Line:
    """A saying ready to be laid over; ``saying`` is None for what is no note.

    ``teaches`` tells that something is learnt of it: not of the paraphrases that the net is not
    taught with, for those kept for thresholds and tests stay unknown.
    """

    def __init__(self, text: str, words: tuple[str, ...], saying: Saying | None, teaches: bool):
        self.text, self.saying, self.teaches = text, saying, teaches
        # As the wordings of notes have them, and those of questions.
        self.words = {False: words, True: as_asked(words)}
        self.has = {asking: frozenset(one) for asking, one in self.words.items()}


class Maker:
    """The grammar with all lines, and the wordings found in them."""

    def __init__(self) -> None:
        grammar = load_grammar()
        self._understander = Interpreter(grammar)
        fillers = grammar.phrases_of("fieldvoice.filler")
        self._fillers = {asking: passed_over(fillers, asking=asking) for asking in (True, False)}
        self._small = grammar.words_of("fieldvoice.may_be_missing")
        in_pieces = (
            grammar.words_of(rule) for rule in grammar.networks if rule.startswith("spans.")
        )
        in_fillers = (phrase for phrases in self._fillers.values() for phrase in phrases)
        self._passing = frozenset().union(*in_pieces, *in_fillers, {BREAK, CLITIC})
        self._pieces: dict[tuple[str, ...], list[Span]] = {}
        self._wholes: dict[tuple[str, ...], list[Span]] = {}
        said = [*_sayings(), *((text, None, False) for text in _no_notes())]
        self._lines = [
            Line(text, words, saying, teaches or part(words, "paraphrase") == "learn")
            for text, saying, teaches in said
            if (words := words_of(text, grammar.words, breaks=True))
        ]
        self.told: Counter[str] = Counter(lines=len(self._lines))

    def wordings(self) -> list[Wording]:
        """Return the wordings that are right on every line they can be laid over."""
        by_mask: dict[str, list[tuple[Wording, Line]]] = defaultdict(list)
        for line in self._lines:
            wording = self._wording(line) if line.teaches and line.saying else None
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
        fillers = self._fillers[wording.asks]
        for line in self._lines:
            words = line.words[wording.asks]
            if line is origin or not self._may_be_laid(wording, line):
                continue
            meanings = meanings_by(wording, words, self._whole(words), fillers)
            if meanings is not None:
                if not _is_right(line, meanings):
                    print("wrong:", wording.masked, "| on |", line.text)
                yield _is_right(line, meanings)

    def _may_be_laid(self, wording: Wording, line: Line) -> bool:
        """Whether a line has all the words of a wording, and no other that nothing can stand for.

        To look for pieces in every line takes an hour.
        """
        has = line.has[wording.asks]
        return wording.words <= has and has - wording.words <= self._passing

    def _wording(self, line: Line) -> Wording | None:
        meanings = _meanings(line)
        if meanings is None:
            return None
        asking = isinstance(meanings[0], Ask)
        self.told["lines of questions" if asking else "lines of notes"] += 1
        words, fillers = line.words[asking], self._fillers[asking]
        wording = wording_of(words, self._spans(words), meanings, fillers, near=ROUNDED)
        if wording is None:
            self.told["not bound"] += 1
            return None
        if asking:
            return wording
        telling = [word for word in wording.tokens if word in wording.words - self._small]
        if len(telling) < (FEWEST_WITH_SIGNS if _has_signs(wording) else FEWEST_WORDS):
            self.told["too few words"] += 1
            return None
        if _hangs_on_bare_numbers(wording):
            self.told["bare numbers"] += 1
            return None
        return wording

    def _spans(self, words: tuple[str, ...]) -> list[Span]:
        if words not in self._pieces:
            self._pieces[words] = spans(self._understander.networks, words)
        return self._pieces[words]

    def _whole(self, words: tuple[str, ...]) -> list[Span]:
        if words not in self._wholes:
            self._wholes[words] = whole(self._spans(words))
        return self._wholes[words]

    def _is_read_already(self, line: Line) -> bool:
        reading = next(iter(self._understander.read(typed(line.text))), None)
        if reading is None or not _is_right(line, reading.meanings):
            return False
        if isinstance(reading.meanings[0], Ask):
            return not (reading.skipped or reading.supplied or reading.repaired)
        return reading.cost <= COST_TO_SAVE


def main() -> None:
    """Write the wordings, and tell how right each is on lines that it does not come from."""
    maker = Maker()
    wordings = maker.wordings()
    _write(wordings)
    print(dict(maker.told), "kept:", len(wordings))


def _sayings() -> Iterator[tuple[str, Saying, bool]]:
    for path in tables.UTTERANCES:
        yield from ((one.words, one, True) for one in tables.sayings(path))
    for path in sorted((ROOT / "sayings/paraphrases").glob("*.txt")):
        yield from ((one.words, one, False) for one in tables.sayings(path))


def _no_notes() -> Iterator[str]:
    none = sorted((ROOT / "sayings/none").glob("*.txt"))
    for path in [ROOT / "tests/nlu/not_records.txt", *none]:
        yield from (one.words for one in tables.sayings(path, with_meanings=False))
    yield from (asking.words for asking in held_out())


def _meanings(line: Line) -> list[Meaning] | None:
    """Return what a line means; None unless it is notes, or a question, all written down."""
    saying = line.saying
    if saying is None or saying.trees or saying.vessels:
        return None
    wanted = saying.readings[0]
    sorts = {one.sort for one in wanted}
    if sorts != {"act"} and (sorts != {"ask"} or len(wanted) > 1):
        return None
    if any(one.name in LEFT_OUT for one in wanted):
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


def _has_signs(wording: Wording) -> bool:
    """Whether no number stands alone in a wording, nor a list of trees."""
    return {"<number>", "<tree_or_number>", "<trees>"}.isdisjoint(wording.tokens)


def _is_right(line: Line, meanings: Sequence[Meaning]) -> bool:
    if line.saying is None:
        return False
    return line.saying.accepts([one.json_fields() for one in meanings])


def _write(wordings: Sequence[Wording]) -> None:
    """Write each shape once, with all that is said for it."""
    alike: dict[str, list[str]] = defaultdict(list)
    for one in sorted(wordings, key=lambda one: one.masked):
        alike[json.dumps(one.shape, separators=(",", ":"))].append(one.masked)
    rows = []
    for shape, said in sorted(alike.items()):
        lines = ",\n".join(json.dumps(one, ensure_ascii=False) for one in said)
        rows.append(f"[{shape},[\n{lines}]]")
    COME_ALONG.write_text("[" + ",\n".join(rows) + "]\n", encoding="utf-8")


if __name__ == "__main__":
    main()
