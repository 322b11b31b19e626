"""From what the net guesses and the pieces that have a value to notes, questions and commands.

The net chooses: which piece fills which field. The value is the piece's own, read by a rule of the
grammar. Where a number is left over that nobody accounts for, nothing is made of the sentence.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from fieldvoice.meaning import meaning_from
from fieldvoice.understanding.reader_roles import FREE, SORTS, SUBJECTS
from fieldvoice.understanding.tokens import BREAK

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldvoice.meaning import Meaning
    from fieldvoice.understanding.chunker import Span
    from fieldvoice.understanding.reader_net import Guess

#: Less likely kinds and states are not looked at.
LIKELY, THERE = 0.1, 0.5
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


@dataclass(slots=True)
class Draft:
    """A note, question or command being put together."""

    kind: str
    fields: dict[str, Any] = field(default_factory=dict)

    def takes(self, bound: Bound) -> bool:
        """Whether one more piece belongs to this note: its field is free, and not past its subject."""
        return bound.kind == self.kind and bound.field not in self.fields and not (
            bound.field in SUBJECTS and self.fields.keys() & SUBJECTS
        )


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the second reader makes of a sentence, and how sure it is of all of it (0 to 1)."""

    meanings: tuple[Meaning, ...]
    kind: str
    chance: float
    unused: tuple[str, ...] = ()


def bind(words: Sequence[str], guess: Guess, pieces: Sequence[Span]) -> Proposal | None:
    """Return what the sentence says; None when it says nothing, or a number would be lost."""
    kinds = guess.kinds()
    best, chance = kinds[0]
    likely = {kind.partition("=")[2]: one for kind, one in kinds if one >= LIKELY}
    if best.startswith("card="):
        return Proposal((_card(best),), best, chance)
    bounds, sureness = _roles(words, guess, pieces, likely)
    drafts = _grouped(bounds)
    named = {draft.kind for draft in drafts}
    for kind, one in kinds:
        name = kind.partition("=")[2]
        if one >= THERE and name not in named and not kind.startswith("card="):
            drafts.append(Draft(name))
            named.add(name)
    if not drafts:
        if chance < LIKELY:
            return None
        drafts = [Draft(best.partition("=")[2])]
    sureness = min(sureness, *(likely.get(draft.kind, 0.0) for draft in drafts))
    for draft in drafts:
        alone = sum(other.kind == draft.kind for other in drafts) == 1
        sureness = min(sureness, _with_states(draft, guess, alone=alone))
    try:
        meanings = tuple(meaning_from(_json(draft, guess)) for draft in drafts)
    except ValueError:
        return None
    return Proposal(meanings, best, sureness)


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
            (best[one.start][0] + one.chance, one, one.start) for one in starting.get(end, ())
        ]
        best.append(max(choices, key=lambda choice: choice[0]))
    bounds: list[Bound] = []
    sureness = 0.0
    at = len(words)
    while at > 0:
        _, bound, before = best[at]
        if bound is not None:
            bounds.append(bound)
            sureness = min(sureness, bound.chance / (bound.end - bound.start))
        else:
            sureness = min(sureness, _unbound(words[at - 1], guess, at - 1))
        at = before
    import math

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
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and words[end] != BREAK and guess.roles[end][role] > -0.7:
            end += 1
        if end > at:
            said = [word for word in words[at:end] if word not in ("the", "my", "our", "a")]
            if said:
                chance = sum(guess.roles[one][role] for one in range(at, end))
                yield Bound(kind, name, " ".join(said), at, end, chance)
        at = max(end, at + 1)


def _grouped(bounds: Sequence[Bound]) -> list[Draft]:
    """Return notes in the order said: a field said twice, or another subject, begins a new one."""
    drafts: list[Draft] = []
    for bound in bounds:
        draft = next((one for one in reversed(drafts) if one.kind == bound.kind), None)
        if draft is None or not draft.takes(bound):
            draft = Draft(bound.kind)
            drafts.append(draft)
        draft.fields[bound.field] = bound.value
    return drafts


def _with_states(draft: Draft, guess: Guess, *, alone: bool) -> float:
    """Set the fields that the sentence tells as a whole; return how sure the least sure is."""
    least = 1.0
    for label, chance in guess.labels.items():
        name, _, value = label.partition("=")
        kind, dot, slot = name.partition(".")
        if not dot or kind != draft.kind or slot in draft.fields:
            continue
        if chance >= THERE and alone:
            draft.fields[slot] = _plain(value)
            least = min(least, chance)
        elif alone:
            least = min(least, 1 - chance)
    return least


def _plain(value: str) -> Any:
    if value in ("True", "False"):
        return value == "True"
    try:
        return float(value)
    except ValueError:
        return value
