"""Wordings learnt: a sentence with its values taken out, and which value fills which field.

"hauled <volume> off of <tree>" is ``gather`` with ``volume_gal=volume#1`` and ``tree=tree#1``.
Another
sentence has the wording where its words are the same, and where the pieces that have a value
(those of ``chunker``) can stand for the values in one way only. A value is always the piece's own.
Questions have wordings too: those that come along, for a question teaches nothing.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.nlu.chunker import Span
from fieldvoice.nlu.normalise import BREAK
from fieldvoice.nlu.reader_roles import SORTS
from fieldvoice.nlu.shared_units import how_many
from fieldvoice.schema import ACTS, meaning_from

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

    from fieldvoice.schema import Meaning

Phrases = frozenset[tuple[str, ...]]
Shape = tuple["Mapping[str, Any]", ...]

_PLACE = re.compile(r"<(\w+)>")
_VALUE = re.compile(r"(\w+)#(\d+)")

#: Values that only words make, or that hang on the day: where no piece has them, nothing is learnt.
_WORDS_ALONE = frozenset({"name", "new", "text", "remark", "reason", "tree"})
_TIMES = frozenset({"at", "day", "since", "until", "until_h"})
#: Names that stand in the sentence as they are, and then belong to its words.
_NAMED = frozenset({"vessel", "into", "site", "to", "agent"})
#: Numbers that a sentence may tell without any: "empty", "a quart".
_UNTOLD_NUMBERS = frozenset({"fill", "ice_share"})
#: Of these, a number in them may be cut off: "at nine" may be a time, or where somebody is.
_HOLD_A_NUMBER = frozenset({"when", "clock", "since", "hot"})
#: What a meaning may be that has a wording.
_KINDS = ("act", "ask")
#: In a question these say nothing, and whoever asks is "we".
_ARTICLES = frozenset({("the",), ("a",), ("an",)})
_SAME_IN_QUESTION = {"i": "we"}
#: Fillers that make several of one: "everybody's full", "together that's nine".
_SAY_ALL = frozenset(
    {("everybody",), ("folks",), ("whole",), ("together",), ("combined",), ("between", "them")}
)
#: Words that say nothing by themselves.
SMALL = frozenset(
    "a an the and or but so then of to in on at from with for by off out up down into over is are "
    "was were be been has have had it its it's he she they we i you me us my our that this there "
    "here just still got get gave".split()
)
#: Where the wordings lie that come with fieldvoice.
COME_ALONG = Path(__file__).parent / "reader" / "wordings.json"
#: The place of a tree that may be a bare number: "nine was good to us".
BARE_TREE = "tree_or_number"
#: The longest filler has fewer words.
_LONGEST_FILLER = 8


@dataclass(frozen=True)
class Wording:
    """A sentence without its values and its fillers, and the notes or questions it makes.

    ``shape`` are their fields; "volume#2" stands for the second ``<volume>`` of
    ``masked``. ``id`` is the book's, for a wording that was learnt in it.
    """

    masked: str
    shape: Shape
    id: str | None = None

    @cached_property
    def tokens(self) -> tuple[str, ...]:
        """The words and places in their order."""
        return tuple(self.masked.split())

    @cached_property
    def words(self) -> frozenset[str]:
        """The words, without the places."""
        return frozenset(token for token in self.tokens if not _PLACE.fullmatch(token))

    @property
    def asks(self) -> bool:
        """Whether it is a question's."""
        return all("ask" in fields for fields in self.shape)


class KnownWords:
    """The words in which notes of a kind are told, by the wordings of such notes.

    A kind is the acts with what is told in them, whatever they are of and whenever it was. Small
    words say nothing by themselves, and are known to all.
    """

    def __init__(self, wordings: Iterable[Wording]) -> None:
        self._by_kind: dict[str, set[str]] = {}
        for one in wordings:
            if not one.asks:
                self._by_kind.setdefault(_kind(one.shape), set()).update(one.words)

    def has_all_of(self, wording: Wording) -> bool:
        """Whether some words tell what a wording's note is, and others tell such notes with all."""
        telling = wording.words - SMALL
        return bool(telling) and telling <= self._by_kind.get(_kind(wording.shape), set())


def _kind(shape: Shape) -> str:
    """Return what notes of a shape tell: their values where words alone make them."""
    told = (
        {
            name: "" if isinstance(value, str) and _VALUE.fullmatch(value) else value
            for name, value in fields.items() if name not in _OF_WHAT_AND_WHEN
        }
        for fields in shape
    )  # fmt: skip
    return "; ".join(sorted(json.dumps(fields, sort_keys=True) for fields in told))


#: What a note is of and when it was: told in the same words of anything, at any time.
_OF_WHAT_AND_WHEN = frozenset({"tree", "trees", "vessel", "site", "at", "day"})


def passed_over(fillers: Phrases, *, asking: bool = False) -> Phrases:
    """Return the fillers that no wording hangs on: not those that tell of more than one.

    ``asking``: those of a question's wordings, on whose articles nothing hangs either.
    """
    return (fillers | _ARTICLES if asking else fillers) - _SAY_ALL


def as_asked(words: Sequence[str]) -> tuple[str, ...]:
    """Return a sentence's words as the wordings of questions have them."""
    return tuple(_SAME_IN_QUESTION.get(word, word) for word in words)


def come_along() -> tuple[Wording, ...]:
    """Return the wordings that come with fieldvoice (``models.reader.wordings`` makes them).

    Raises:
        OSError, ValueError: the file is missing or damaged.
    """
    rows = json.loads(COME_ALONG.read_text(encoding="utf-8"))
    return tuple(Wording(said, tuple(shape)) for shape, alike in rows for said in alike)


def masked(words: Sequence[str], pieces: Sequence[Span], fillers: Phrases) -> str:
    """Return ``words`` with each of ``pieces`` as ``<sort>``, without breaks and fillers."""
    starting = {piece.start: piece for piece in pieces}
    tokens: list[str] = []
    at = 0
    while at < len(words):
        if at in starting:
            tokens.append(f"<{starting[at].sort}>")
            at = starting[at].end
            continue
        upto = min((start for start in starting if start > at), default=len(words))
        passed = _passed_over(words[:upto], at, fillers)
        if not passed:
            tokens.append(words[at])
        at += max(passed, default=1)
    return " ".join(tokens)


def _passed_over(words: Sequence[str], at: int, fillers: Phrases) -> list[int]:
    """Return how many words may be passed over from a place on, if any."""
    if words[at] == BREAK:
        return [1]
    lengths = range(1, min(_LONGEST_FILLER, len(words) - at) + 1)
    return [length for length in lengths if tuple(words[at : at + length]) in fillers]


def whole(pieces: Sequence[Span]) -> list[Span]:
    """Return the pieces that are no part of a longer one of which they may be cut off.

    "Nine" of "tree nine", and "eleven gallons" of "two eleven gallons", are none; "two" of "two
    quarts" is one, for these may be jars.
    """
    sizes = {(piece.start, piece.end) for piece in pieces if piece.sort == "size"}
    return [one for one in pieces if not any(_is_cut_from(one, other, sizes) for other in pieces)]


def _is_cut_from(one: Span, other: Span, sizes: Collection[tuple[int, int]]) -> bool:
    if len(one) >= len(other) or one.start < other.start or one.end > other.end:
        return False
    if one.sort == "number" and other.sort == "volume":
        return (one.end, other.end) not in sizes
    if one.sort == "number":
        return other.sort not in _HOLD_A_NUMBER
    return one.sort == other.sort or (one.sort == "tree" and other.sort == "trees")


def meanings_by(
    wording: Wording, words: Sequence[str], pieces: Sequence[Span], fillers: Phrases
) -> tuple[Meaning, ...] | None:
    """Return what a sentence says by a wording; None where it has another, or says two things.

    ``pieces`` are ``whole``.
    """
    laid = _laid(wording.tokens, words, len(words), pieces, fillers)
    ways = {repr(sorted(way.items())): way for way in laid}
    if len(ways) != 1:
        return None
    values = next(iter(ways.values()))
    if any("capacity_gal" in fields for fields in wording.shape) and any(
        how_many(words[one.start : one.end]) for one in pieces if one.sort == "volume"
    ):
        return None  # several of a size, which is not what each of them holds
    try:
        return tuple(
            meaning_from({name: _filled(value, values) for name, value in fields.items()})
            for fields in wording.shape
        )
    except ValueError:
        return None


def _filled(value: Any, values: Mapping[str, Any]) -> Any:
    return values[value] if isinstance(value, str) and _VALUE.fullmatch(value) else value


def _laid(
    tokens: tuple[str, ...],
    words: Sequence[str],
    end: int,
    pieces: Sequence[Span],
    fillers: Phrases,
) -> Iterator[dict[str, Any]]:
    """Yield the values that each way of laying ``tokens`` over the first ``end`` words gives."""
    if not end:
        yield from () if tokens else ({},)
        return
    for start in _before_filler(words, end, fillers):
        yield from _laid(tokens, words, start, pieces, fillers)
    if not tokens:
        return
    before, last = tokens[:-1], tokens[-1]
    if words[end - 1] == last:
        yield from _laid(before, words, end - 1, pieces, fillers)
    place = _PLACE.fullmatch(last)
    for piece in pieces:
        if place is not None and piece.end == end and _may_stand(piece, place[1]):
            for way in _laid(before, words, piece.start, pieces, fillers):
                yield {**way, f"{place[1]}#{before.count(last) + 1}": piece.value}


def _may_stand(piece: Span, sort: str) -> bool:
    return piece.sort == sort or (sort == BARE_TREE and piece.sort in ("tree", "number"))


def _before_filler(words: Sequence[str], end: int, fillers: Phrases) -> list[int]:
    """Return where the words begin that end at a place and may be passed over."""
    starts = range(max(0, end - _LONGEST_FILLER), end)
    return [at for at in starts if words[at:end] == (BREAK,) or tuple(words[at:end]) in fillers]


class NoWordingError(ValueError):
    """A value of the note is no one piece's, nor told by the words."""


def as_said(_: str, value: Any) -> Any:
    """Return a value as it was said: nothing is known of what it may stand for."""
    return value


def wording_of(
    words: Sequence[str],
    pieces: Sequence[Span],
    meanings: Sequence[Meaning],
    fillers: Phrases,
    *,
    stands_for: Callable[[str, Any], Any] = as_said,
    by_pieces_alone: bool = False,
    near: float = 1e-6,
) -> Wording | None:
    """Return the wording of a sentence that means ``meanings``; None where nothing is to be learnt.

    Each value must be one piece's, and no other's. What no piece says ("started") belongs to the
    words; with ``by_pieces_alone`` only where the note says nothing else, and then no number may be
    left over. ``stands_for`` gives what a piece's value comes to in a field (a name the tree's
    number); ``near`` is by how much numbers may differ.
    """
    found = whole(pieces)

    def part_of(fields: Mapping[str, Any], act: str, name: str) -> Any:
        value = fields[name]
        fitting = _fitting(name, value, found, stands_for, near)
        if len(fitting) == 1:
            return _as_tree(fitting[0]) if name == "tree" else fitting[0]
        is_told = not fitting and _is_of_the_words(name, value, words)
        if not is_told or (by_pieces_alone and not _is_all_of(fields, act, name)):
            raise NoWordingError(name)
        return value

    try:
        shape = [_parts(meaning, part_of) for meaning in meanings]
        used = _used(shape)
    except NoWordingError:
        return None
    # Where the words tell a value that no piece has, any of them may.
    text = masked(words, used, fillers if _is_bound(shape) else frozenset())
    has_words = any(not _PLACE.fullmatch(token) for token in text.split())
    if not has_words or (by_pieces_alone and _leaves_numbers(found, used)):
        return None
    wording = Wording(text, _numbered(shape, used))
    again = meanings_by(wording, words, found, fillers)
    return wording if _come_to(again, meanings, stands_for, near) else None


def _is_bound(shape: Sequence[Mapping[str, Any]]) -> bool:
    """Whether every value is a piece's."""
    return all(
        name in _KINDS or isinstance(part, Span)
        for fields in shape
        for name, part in fields.items()
    )


def _as_tree(piece: Span) -> Span:
    """Return a bare number that is a tree as one: the next may be called so in full."""
    return replace(piece, sort=BARE_TREE) if piece.sort == "number" else piece


def _parts(
    meaning: Meaning, part_of: Callable[[Mapping[str, Any], str, str], Any]
) -> dict[str, Any]:
    """Return the fields of a note or question, each a piece or, if none has it, its value."""
    fields = meaning.json_fields()
    key = next((key for key in _KINDS if key in fields), None)
    if key is None:
        raise NoWordingError("no note")
    kind = fields.pop(key)
    return {key: kind, **{name: part_of(fields, kind, name) for name in fields}}


def _used(shape: Sequence[Mapping[str, Any]]) -> list[Span]:
    """Return the pieces in their order, of which each must say one thing, and none be cut."""
    said: dict[tuple[int, int, str], tuple[str, Span]] = {}
    for fields in shape:
        for name, part in fields.items():
            if isinstance(part, Span):
                first, _ = said.setdefault((part.start, part.end, part.sort), (name, part))
                if first != name:
                    raise NoWordingError(name)
    used = [said[place][1] for place in sorted(said)]
    if any(one.end > two.start for one, two in pairwise(used)):
        raise NoWordingError("cut")
    return used


def _fitting(
    name: str, value: Any, found: Sequence[Span], stands_for: Callable[[str, Any], Any], near: float
) -> list[Span]:
    """Return the pieces that have a field's value: of the likeliest sort, and the longest."""
    for sort in SORTS.get(name, ()):
        fitting = [
            piece
            for piece in found
            if piece.sort == sort and _same(value, stands_for(name, piece.value), near)
        ]
        longest = max(map(len, fitting), default=0)
        if fitting:
            return [piece for piece in fitting if len(piece) == longest]
    return []


def _same(value: Any, other: Any, near: float) -> bool:
    numbers = [one for one in (value, other) if isinstance(one, int | float)]
    if len(numbers) < 2 or any(isinstance(one, bool) for one in numbers):
        return bool(value == other)
    return abs(numbers[0] - numbers[1]) <= near


def _is_of_the_words(name: str, value: Any, words: Sequence[str]) -> bool:
    """Whether a value that no piece has is told by the words as a whole, and by no number."""
    if name in _WORDS_ALONE or name in _TIMES or isinstance(value, list):
        return False
    if name in _NAMED:
        return f" {value} " in f" {' '.join(words)} "
    if isinstance(value, bool | str):
        return True
    return name in _UNTOLD_NUMBERS or (name == "count" and value == 1)


def _is_all_of(fields: Mapping[str, Any], act: str, name: str) -> bool:
    """Whether a field is all that a note says of what it is about."""
    return fields.keys() - {*ACTS[act].spec.subject, "at"} == {name}


def _leaves_numbers(found: Collection[Span], used: Sequence[Span]) -> bool:
    """Whether a number stands in the sentence that no piece used has in it."""
    return any(
        piece.sort == "number"
        and not any(one.start <= piece.start and piece.end <= one.end for one in used)
        for piece in found
    )


def _numbered(shape: Sequence[Mapping[str, Any]], used: Sequence[Span]) -> Shape:
    """Return the shape with the place of each piece in the masked sentence."""
    seen: Counter[str] = Counter()
    places: dict[int, str] = {}
    for piece in used:
        seen[piece.sort] += 1
        places[piece.start] = f"{piece.sort}#{seen[piece.sort]}"
    return tuple(
        {
            name: places[part.start] if isinstance(part, Span) else part
            for name, part in fields.items()
        }
        for fields in shape
    )


def _come_to(
    again: Sequence[Meaning] | None,
    meanings: Sequence[Meaning],
    stands_for: Callable[[str, Any], Any],
    near: float,
) -> bool:
    """Whether the sentence means by its wording what it is to mean."""
    if again is None or len(again) != len(meanings):
        return False
    fields = (
        (one.json_fields(), two.json_fields()) for one, two in zip(again, meanings, strict=True)
    )
    return all(
        said.keys() == right.keys()
        and all(_same(right[name], stands_for(name, said[name]), near) for name in right)
        for said, right in fields
    )
