"""What the reader is taught with: sentences, what they are, and what each piece of them is.

``python -m models.reader.corpus FOLDER`` writes ``rows.jsonl``: a line a sentence, with ``words``,
``kinds`` (acts, asks, commands, cards), ``states`` (fields that no piece of the sentence tells word
for word), ``roles`` (one a word: ``act.field``, ``X`` for a number that counts for nothing, ``O``,
or ``?`` where it is not known) and ``part`` (``learn``, ``set``, ``test``), by checksum of the
sentence with its numbers masked, so that sentences that differ in a number stay together.
"""

from __future__ import annotations

import hashlib
import json
import math
import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.grammar import load_grammar
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.chunker import Span, spans
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.reader_roles import FREE, SHARED, SORTS
from fieldvoice.nlu.semantics import compose
from models.reader import misheard
from tests.handbook.other_mouths import held_out
from tests.nlu import tables

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldvoice.grammar import Grammar
    from fieldvoice.nlu.parser import Networks

ROOT = Path(__file__).parents[2]

#: So many sentences are drawn from the grammar, and so many of one kind are kept.
DRAWN, OF_ONE_KIND = 60_000, 160

KIND_KEYS = ("act", "ask", "do")


def rows() -> Iterator[dict[str, Any]]:
    """Yield every row: what was written by hand, the same misheard, sentences of the grammar."""
    grammar = load_grammar()
    networks = Interpreter(grammar).networks
    written: dict[misheard.Words, dict[str, Any]] = {}
    for row in written_rows(grammar, networks):
        written.setdefault(misheard.plain(row["words"]), row)
        yield row
    yield from misheard.rows(written)
    yield from _drawn(grammar, networks)


def written_rows(grammar: Grammar, networks: Networks) -> Iterator[dict[str, Any]]:
    """Yield the rows of what was written down by hand."""
    for source, words_said, meanings in _written():
        words = words_of(words_said, grammar.words, breaks=True)
        if words:
            yield _row(source, words, meanings, networks)


def _written() -> Iterator[tuple[str, str, list[dict[str, Any]]]]:
    folder = ROOT / "sayings"
    for path in [*tables.UTTERANCES, *sorted((folder / "paraphrases").glob("*.txt"))]:
        for saying in tables.sayings(path):
            meanings = [
                {
                    **one.example(),
                    "?": [field.name for field in one.fields if field.optional],
                    "*": [field.name for field in one.fields if tables.ANYTHING in field.values],
                }
                for one in saying.readings[0]
            ]
            yield (
                "paraphrase" if path.parent.name == "paraphrases" else "saying",
                saying.words,
                meanings,
            )
    for path in [
        ROOT / "tests/nlu/not_records.txt",
        *sorted((folder / "none").glob("*.txt")),
    ]:
        for saying in tables.sayings(path, with_meanings=False):
            yield "none", saying.words, []
    for path in sorted((ROOT / "handbook").glob("*.md")):
        yield from _askings(path)
    for asking in held_out():
        yield "held", asking.words, [{"card": asking.card}]


def _askings(path: Path) -> Iterator[tuple[str, str, list[dict[str, Any]]]]:
    card = ""
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            card = line[3:].strip()
        elif line.startswith("- ") and card:
            yield "card", line[2:].strip(), [{"card": card}]


def _drawn(grammar: Grammar, networks: Networks) -> Iterator[dict[str, Any]]:
    """Yield sentences of the grammar, no kind oftener than another by much."""
    seen: Counter[str] = Counter()
    for sample in grammar.samples(DRAWN, seed=20261129):
        try:
            meanings = [one.json_fields() for one in compose(sample.marks)]
        except ValueError:
            continue
        kinds = "+".join(sorted({_kind(one) for one in meanings}))
        if not meanings or "mention" in kinds or seen[kinds] >= OF_ONE_KIND:
            continue
        seen[kinds] += 1
        yield _row("grammar", tuple(sample.words), meanings, networks)


def _kind(meaning: Mapping[str, Any]) -> str:
    if "card" in meaning:
        return f"card={meaning['card']}"
    for key in KIND_KEYS:
        if key in meaning:
            return f"{key}={meaning[key]}"
    return "mention"


def _row(
    source: str, words: tuple[str, ...], meanings: Sequence[Mapping[str, Any]], networks: Networks
) -> dict[str, Any]:
    found = spans(networks, words)
    roles: list[str] = ["O"] * len(words)
    states: list[str] = []
    is_whole = True
    for meaning in _of_all(meanings, found):
        kind = _kind(meaning)
        for field, value in _fields(meaning):
            piece, field = _piece(field, value, words, found, roles)
            name = f"{kind.partition('=')[2] or kind}.{field}"
            if piece is not None:
                roles[piece[0] : piece[1]] = [name] * (piece[1] - piece[0])
            elif isinstance(value, int | float) and not isinstance(value, bool):
                is_whole = False
            if isinstance(value, str | bool) and (piece is None or _is_stated(field)):
                states.append(f"{field if field in SHARED else name}={value}")
            elif isinstance(value, int | float) and field == "fill":
                states.append(f"fill={round(value, 2)}")
    _mark_times(meanings, found, roles)
    _mark_any(meanings, found, roles)
    _mark_numbers(words, found, roles, is_whole and bool(meanings))
    return {
        "source": source, "words": list(words), "kinds": sorted({_kind(one) for one in meanings}),
        "states": sorted(set(states)), "roles": roles, "part": part(words, source),
        "gold": [{key: one[key] for key in one if key != "*"} for one in meanings],
    }  # fmt: skip


def _of_all(meanings: Sequence[Mapping[str, Any]], found: list[Span]) -> list[Mapping[str, Any]]:
    """Return notes of each of some trees as one of all, where they were named together.

    "Two quarts each from three to five" has one piece with trees, which ``for_each`` parts again.
    """
    named = [list(span.value) for span in found if span.sort == "trees"]
    told: list[Mapping[str, Any]] = []
    at = 0
    while at < len(meanings):
        rest = {key: value for key, value in meanings[at].items() if key != "tree"}
        end = at
        while end < len(meanings) and "tree" in meanings[end] and {**meanings[end], **rest} == {
            **rest, "tree": meanings[end]["tree"]
        }:  # fmt: skip
            end += 1
        trees = [one["tree"] for one in meanings[at:end]]
        if len(trees) > 1 and trees in named:
            told.append({**rest, "trees": trees})
            at = end
        else:
            told.append(meanings[at])
            at += 1
    return told


#: Fields with few values, told by the sentence as a whole as well as by a piece of it.
STATED = frozenset({"sap", "smell", "condition", "shavings", "which", "why", "phase", "colour"})


def _is_stated(field: str) -> bool:
    """Whether a field is told by the sentence as a whole: no piece of words could give it."""
    return field in STATED or (field not in SORTS and field not in FREE)


def _fields(meaning: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Yield what a meaning says, a correction's fields among it."""
    for field, value in meaning.items():
        if field == "fields" or (field in ("mention", "of") and isinstance(value, dict)):
            yield from value.items()
        elif field not in (*KIND_KEYS, "card", "?", "*"):
            yield field, value


def _piece(
    field: str, value: Any, words: tuple[str, ...], found: list[Span], roles: list[str]
) -> tuple[tuple[int, int] | None, str]:
    """Return the piece that has the value, the longest that is not taken, and its field.

    A length that was told round a trunk has a role of its own, "girth".
    """
    for sort, wanted, name in _ways_to_say(field, value, words):
        fitting = [
            span for span in found
            if span.sort == sort and _same(wanted, span.value)
            and all(role == "O" for role in roles[span.start : span.end])
        ]  # fmt: skip
        if fitting:
            best = max(fitting, key=lambda span: (len(span), -span.start))
            return (best.start, best.end), name
    if isinstance(value, str):
        return _literal(value, words, roles), field
    return (
        _with_unit_of_another(value, words, found, roles) if field.endswith("_gal") else None
    ), field


#: Of a unit so many make a gallon, and so exactly is a value written down.
_TO_A_GALLON = {
    "quarts": 4.0,
    "quart": 4.0,
    "pints": 8.0,
    "liters": 3.785411784,
    "litres": 3.785411784,
}
_WRITTEN_TO = 0.0051


def _with_unit_of_another(
    value: Any, words: tuple[str, ...], found: list[Span], roles: list[str]
) -> tuple[int, int] | None:
    """Return the number that has the unit of an amount before it: "two quarts, no, three"."""
    for unit in (word for word in words if word in _TO_A_GALLON):
        for span in reversed(found):
            if (
                span.sort == "number"
                and abs(span.value / _TO_A_GALLON[unit] - value) < _WRITTEN_TO
                and all(role == "O" for role in roles[span.start : span.end])
            ):
                return span.start, span.end
    return None


def _ways_to_say(field: str, value: Any, words: tuple[str, ...]) -> Iterator[tuple[str, Any, str]]:
    for sort in SORTS.get(field, ()):
        yield sort, value, field
    if field == "dieback":  # "a third of the crown"
        yield "number", value / 100, field
    if field == "fill":  # "forty percent"
        yield "percent", value * 100, field
    is_heat = "temperature" in SORTS.get(field, ())
    if is_heat and "celsius" in words:  # "high six celsius, low minus five"
        yield "temperature", (value - 32) / 1.8, field
    if field == "diameter_in":
        yield "length", value * math.pi, "girth"
        yield "number", value * math.pi, "girth"


def _literal(value: str, words: tuple[str, ...], roles: list[str]) -> tuple[int, int] | None:
    wanted = tuple(value.lower().replace("'s", " 's").split())
    for at in range(len(words) - len(wanted) + 1):
        if words[at : at + len(wanted)] == wanted and set(roles[at : at + len(wanted)]) == {"O"}:
            return at, at + len(wanted)
    return None


def _same(value: Any, other: Any) -> bool:
    if value == "*":
        return True
    if isinstance(value, list | tuple) and isinstance(other, list | tuple):
        return list(value) == list(other)
    if isinstance(value, bool) or isinstance(other, bool) or isinstance(value, str):
        return bool(value == other)
    if isinstance(value, int | float) and isinstance(other, int | float):
        return abs(value - other) <= max(0.006, 0.01 * abs(value))
    return bool(value == other)


def _mark_times(meanings: Sequence[Mapping[str, Any]], found: list[Span], roles: list[str]) -> None:
    """Mark when it was, where a note names a time that its line does not write down."""
    acts = [one["act"] for one in meanings if "act" in one]
    for span in sorted(found, key=len, reverse=True):
        if acts and span.sort == "when" and set(roles[span.start : span.end]) == {"O"}:
            roles[span.start : span.end] = [f"{acts[0]}.at"] * len(span)


def _mark_any(meanings: Sequence[Mapping[str, Any]], found: list[Span], roles: list[str]) -> None:
    """Mark the piece of a field whose value a line leaves open (``since=*``): the longest."""
    for meaning in meanings:
        name = _kind(meaning).partition("=")[2]
        for field in meaning.get("*", ()):
            sorts = SORTS.get(field, ())
            fitting = [
                span for span in found
                if span.sort in sorts and span.value != "today"
                and set(roles[span.start : span.end]) == {"O"}
            ]  # fmt: skip
            if fitting:
                best = max(fitting, key=lambda span: (-sorts.index(span.sort), len(span)))
                roles[best.start : best.end] = [f"{name}.{field}"] * len(best)


def _mark_numbers(
    words: tuple[str, ...], found: list[Span], roles: list[str], is_whole: bool
) -> None:
    """Mark numbers that no field has: they count for nothing, or it is not known what they are."""
    for span in found:
        if span.sort == "number" and set(roles[span.start : span.end]) == {"O"}:
            roles[span.start : span.end] = ["X" if is_whole else "?"] * len(span)


def part(words: Sequence[str], source: str) -> str:
    """Return what a sentence is for, the same for all that differ from it in a number alone."""
    if source == "held":
        return "test"
    if source == "grammar":
        return "learn"
    masked = " ".join("#" if word in NUMBERS else word for word in words)
    tenth = int(hashlib.sha256(masked.encode()).hexdigest(), 16) % 10
    if tenth == 0 and source != "card":  # cards are tested by askings of other mouths
        return "test"
    return "set" if tenth == 1 else "learn"


NUMBERS = frozenset(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
    "sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety "
    "hundred oh".split()
)


def main(folder: Path) -> None:
    """Write ``rows.jsonl`` and tell what is in it."""
    counts: Counter[str] = Counter()
    lost: Counter[str] = Counter()
    with (folder / "rows.jsonl").open("w", encoding="utf-8") as out:
        for row in rows():
            counts[f"{row['source']} {row['part']}"] += 1
            if "?" in row["roles"]:
                lost[row["source"]] += 1
            out.write(json.dumps(row, ensure_ascii=False) + "\n")
    print(dict(counts), "with a number of unknown role:", dict(lost))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
