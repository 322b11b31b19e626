"""From what the net guesses and the pieces that have a value to notes, questions and commands.

The net chooses: which piece fills which field. The value is the piece's own, read by a rule of the
grammar. Where a number is left over that nobody accounts for, nothing is made of the sentence.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from fieldvoice.meaning import ACTS, ASKS, meaning_from
from fieldvoice.understanding.reader_roles import FREE, SHARED, SORTS, subjects
from fieldvoice.understanding.tokens import BREAK

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from fieldvoice.meaning import Meaning
    from fieldvoice.understanding.chunker import Span
    from fieldvoice.understanding.reader_net import Guess

#: Less likely kinds and states are not looked at.
LIKELY, THERE, ALONGSIDE = 0.1, 0.5, 0.85
#: A word of a free text is likelier that than anything else, in logarithms.
LIKELIEST = -1.1
#: What each piece costs, so that one is preferred to two: "two eleven" is one number.
A_PIECE = 0.7
#: What a word may be that has no value: nothing, or a number that counts for nothing.
NOTHING, NO_NUMBER = "O", "X"


@dataclass(frozen=True, slots=True)
class Bound:
    """One piece of the sentence with the role it was given; ``chance`` of it in logarithms."""

    kind: str
    field: str
    value: Any
    start: int
    end: int
    chance: float
    free: bool = False


@dataclass(slots=True)
class Draft:
    """A note, question or command being put together."""

    kind: str
    fields: dict[str, Any] = field(default_factory=dict)

    def takes(self, bound: Bound) -> bool:
        """Whether one more piece belongs to this note: its field is free, and not past its subject."""
        return (
            bound.kind == self.kind
            and bound.field not in self.fields
            and not (
                bound.field in subjects(bound.kind) and self.fields.keys() & subjects(bound.kind)
            )
        )


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the second reader makes of a sentence, and how sure it is of all of it (0 to 1).

    A plain one has a place for every number that was said, no name that only it knows, and no two
    notes of one kind about the same thing.
    """

    meanings: tuple[Meaning, ...]
    kind: str
    chance: float
    is_plain: bool = False


def bind(words: Sequence[str], guess: Guess, pieces: Sequence[Span]) -> Proposal | None:
    """Return what the sentence says; None when it says nothing, or a number would be lost."""
    kinds = guess.kinds()
    best, chance = kinds[0]
    likely = {kind.partition("=")[2]: one for kind, one in kinds if one >= LIKELY}
    if best.startswith("card="):
        return Proposal((_card(best),), best, chance)
    bounds, sureness = _roles(words, guess, pieces, likely)
    drafts = _grouped(bounds, words)
    named = {draft.kind for draft in drafts}
    for kind, one in kinds:
        name = kind.partition("=")[2]
        if kind.startswith("card=") or (kind.startswith("do=") and drafts):
            continue
        if one >= (ALONGSIDE if drafts else THERE) and name not in named:
            drafts.append(Draft(name))
            named.add(name)
    if not drafts:
        if chance < LIKELY:
            return None
        drafts = [Draft(best.partition("=")[2])]
    sureness = min(sureness, *(likely.get(draft.kind, 0.0) for draft in drafts))
    told = {name for draft in drafts for name in draft.fields}
    for draft in drafts:
        if sum(other.kind == draft.kind for other in drafts) == 1:
            sureness = min(sureness, _with_states(draft, guess, told))
    drafts = _for_each(drafts, words)
    for draft in drafts:
        _count_of_one(draft, bounds, words)
    try:
        meanings = tuple(meaning_from(_json(draft, guess)) for draft in drafts)
    except ValueError:
        return None
    return Proposal(meanings, best, sureness, _is_plain(words, bounds, meanings, guess))


def _is_plain(
    words: Sequence[str], bounds: Sequence[Bound], meanings: Sequence[Meaning], guess: Guess
) -> bool:
    bound = {at for one in bounds for at in range(one.start, one.end)}
    left_over = any(
        at not in bound and (word in _NUMBER_WORDS or guess.roles[at][NOTHING] < _SURELY_NOTHING)
        for at, word in enumerate(words)
    )
    about = [
        (type(one), tuple(getattr(one, name, None) for name in ("tree", "trees", "vessel", "site")))
        for one in meanings
    ]
    turned = any(word in _TURNING or word.endswith("n't") for word in words)
    named_only_here = turned or any(one.free for one in bounds)
    return not left_over and not named_only_here and len(set(about)) == len(about)


_NUMBER_WORDS = frozenset(
    "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
    "sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety "
    "hundred thousand dozen half quarter each apiece couple pair both".split()
)
#: With these a sentence may say what is not, was not, or is not yet: it is read back first.
_TURNING = frozenset(
    "not no never nothing if when unless would could should might may maybe perhaps tomorrow will "
    "gonna going want wish suppose supposed almost but like year years season ever said says told "
    "heard think thinks guess remember used until before because why what how who where which than "
    "looks next yet again either or felt feels".split()
)
#: A word that is left out is nothing with at least this chance, in logarithms.
_SURELY_NOTHING = -0.5


def _card(kind: str) -> Meaning:
    return meaning_from({"ask": "advice", "topic": kind.partition("=")[2]})


def _json(draft: Draft, guess: Guess) -> dict[str, Any]:
    for key in ("act", "ask", "do"):
        if f"{key}={draft.kind}" in guess.labels:
            break
    if key == "do" and draft.fields:
        return {"do": draft.kind, **draft.fields}
    return {key: draft.kind, **draft.fields}


def _roles(
    words: Sequence[str], guess: Guess, pieces: Sequence[Span], likely: Mapping[str, float]
) -> tuple[list[Bound], float]:
    """Return the likeliest roles of pieces that do not overlap, and how sure the least sure is."""
    best: list[tuple[float, Bound | None, int]] = [(0.0, None, 0)]
    starting: dict[int, list[Bound]] = {}
    for bound in _candidates(words, guess, pieces, likely):
        starting.setdefault(bound.end, []).append(bound)
    for end in range(1, len(words) + 1):
        free = _unbound(words[end - 1], guess, end - 1)
        choices: list[tuple[float, Bound | None, int]] = [(best[end - 1][0] + free, None, end - 1)]
        choices += [
            (best[one.start][0] + one.chance - A_PIECE, one, one.start)
            for one in starting.get(end, ())
        ]
        best.append(max(choices, key=lambda choice: choice[0]))
    bounds: list[Bound] = []
    sureness = 0.0
    at = len(words)
    while at > 0:
        _, chosen, before = best[at]
        if chosen is not None:
            bounds.append(chosen)
            sureness = min(sureness, chosen.chance / (chosen.end - chosen.start))
        else:
            sureness = min(sureness, _unbound(words[at - 1], guess, at - 1))
        at = before
    return bounds[::-1], math.exp(sureness)


def _unbound(word: str, guess: Guess, at: int) -> float:
    if word == BREAK:
        return 0.0
    roles = guess.roles[at]
    return max(roles[NOTHING], roles[NO_NUMBER])


def _candidates(
    words: Sequence[str], guess: Guess, pieces: Sequence[Span], likely: Mapping[str, float]
) -> Iterator[Bound]:
    for role in guess.roles[0]:
        kind, _, name = role.partition(".")
        if kind not in likely:
            continue
        for piece in pieces:
            if piece.sort in SORTS.get(name, ()):
                chance = sum(guess.roles[at][role] for at in range(piece.start, piece.end))
                if chance / len(piece) > -4:
                    yield Bound(kind, name, piece.value, piece.start, piece.end, chance)
        if name in FREE:
            yield from _free_words(words, guess, role)


def _free_words(words: Sequence[str], guess: Guess, role: str) -> Iterator[Bound]:
    """Yield runs of words that are likelier in this role than in any other."""
    kind, _, name = role.partition(".")
    if name in TEXTS:
        meant = [at for at, roles in enumerate(guess.roles) if roles[role] > LIKELIEST]
        if meant:
            said = words[meant[0] : meant[-1] + 1]
            chance = sum(guess.roles[at][role] for at in meant)
            text = " ".join(said).replace(f" {BREAK}", BREAK).replace(" 's", "'s")
            yield Bound(kind, name, text, meant[0], meant[-1] + 1, chance, free=True)
        return
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and words[end] != BREAK and guess.roles[end][role] > LIKELIEST:
            end += 1
        if end > at:
            said = [word for word in words[at:end] if word not in _ARTICLES]
            if said:
                chance = sum(guess.roles[one][role] for one in range(at, end))
                yield Bound(kind, name, " ".join(said), at, end, chance, free=True)
        at = max(end, at + 1)


#: Free words that are kept as they were said; of other names the article is no part.
TEXTS = frozenset({"text", "remark"})
_ARTICLES = frozenset({"the", "my", "our", "a", "an"})


def _grouped(bounds: Sequence[Bound], words: Sequence[str]) -> list[Draft]:
    """Return notes in the order said: a field said twice, or another subject, begins a new one.

    Where the speaker takes a value back ("two gallons, no wait, three"), the later one counts.
    """
    drafts: list[Draft] = []
    ends: dict[int, int] = {}
    for bound in bounds:
        draft = next((one for one in reversed(drafts) if one.kind == bound.kind), None)
        if bound.value == "today":  # that is when notes are made
            continue
        if draft is not None and bound.field == "at" and "at" in draft.fields:
            draft.fields["at"] = f"{draft.fields['at']} {bound.value}"
            continue
        again = draft is not None and bound.field in draft.fields
        if again and _taken_back(words[ends[id(draft)] : bound.start]):
            pass
        elif draft is None or not draft.takes(bound):
            draft = Draft(bound.kind)
            drafts.append(draft)
        assert draft is not None
        name, value = _as_field(bound)
        if value != "":
            draft.fields[name] = value
        ends[id(draft)] = bound.end
    return drafts


def _as_field(bound: Bound) -> tuple[str, Any]:
    """Return a piece as the field it fills; a length told round a trunk gives its diameter."""
    if bound.field == "at" and bound.kind == "weather":  # weather is of a day, whatever its hour
        return "day", " ".join(word for word in str(bound.value).split() if word not in _HOURS)
    if bound.field == "dieback" and bound.value < 1:  # "a quarter of the crown"
        return "dieback", bound.value * 100
    if bound.field == "girth":
        return "diameter_in", round(float(bound.value) / math.pi, 2)
    return bound.field, bound.value


#: What is said between a slip of the tongue and what was meant.
_SLIPS = (
    "no", "not", "wait", "sorry", "actually", "rather", "correction", "scratch that", "i mean", "make that",
    "well", "hold on", "strike that", "let me", "i take that back", "more like", "nope", "oops", "my mistake",
)  # fmt: skip


def _taken_back(between: Sequence[str]) -> bool:
    """Whether the words between two values of one field take the first one back."""
    said = f" {' '.join(word for word in between if word != BREAK)} "
    return any(f" {slip} " in said for slip in _SLIPS)


_ONE = frozenset({"a", "an", "another", "last", "new", "single"})
_HOLES = frozenset({"hole", "tap", "spile", "spout"})
_HOURS = frozenset({"morning", "noon", "afternoon", "evening", "night", "earlier"})


def _count_of_one(draft: Draft, bounds: Sequence[Bound], words: Sequence[str]) -> None:
    """Set how many of "a quart": one."""
    if draft.kind not in ("pack", "stock_out", "tap") or "count" in draft.fields:
        return
    sizes = [bound.start for bound in bounds if bound.field == "size"]
    holes = [at for at, word in enumerate(words) if word in _HOLES and draft.kind == "tap"]
    if any(words[max(at - 1, 0)] in _ONE for at in sizes + holes):
        draft.fields["count"] = 1


#: Said after an amount that each of several trees gave.
_EACH = frozenset({"each", "apiece"})


def _for_each(drafts: Sequence[Draft], words: Sequence[str]) -> list[Draft]:
    """Return a note a tree where an amount was said to be each tree's."""
    if not _EACH.intersection(words):
        return list(drafts)
    told: list[Draft] = []
    for draft in drafts:
        if "trees" not in draft.fields or not draft.fields.keys() & {"volume_gal", "count"}:
            told.append(draft)
            continue
        rest = {name: value for name, value in draft.fields.items() if name != "trees"}
        told += [Draft(draft.kind, {"tree": tree, **rest}) for tree in draft.fields["trees"]]
    return told


def _with_states(draft: Draft, guess: Guess, told: set[str]) -> float:
    """Set the fields that the sentence tells as a whole; return how sure the least sure is.

    What is in ``told`` was told by a piece of the sentence, of this note or of another.
    """
    least = 1.0
    for label, chance in guess.labels.items():
        name, _, value = label.partition("=")
        kind, dot, slot = name.rpartition(".")
        is_of_this = kind == draft.kind if dot else slot in SHARED and slot in _fields_of(draft)
        if not is_of_this or slot in draft.fields or (not dot and slot in told):
            continue
        if chance >= THERE:
            draft.fields[slot] = _plain(value)
            told.add(slot)
        least = min(least, max(chance, 1 - chance))
    return least


def _fields_of(draft: Draft) -> Collection[str]:
    model = ACTS.get(draft.kind) or ASKS.get(draft.kind)
    return model.model_fields if model is not None else ()


def _plain(value: str) -> Any:
    if value in ("True", "False"):
        return value == "True"
    try:
        return float(value)
    except ValueError:
        return value
