"""Notes put together from the pieces that have roles, as they were said one after the other."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field
from itertools import accumulate
from typing import TYPE_CHECKING, Any

from fieldvoice.nlu.normalise import BREAK, text_of
from fieldvoice.nlu.reader_roles import SHARED, SORTS, subjects
from fieldvoice.nlu.role_search import NO_NUMBER, Bound
from fieldvoice.nlu.shared_units import (
    UNIT_WORDS,
    how_many,
    is_of_a_thing,
    names_celsius_alone,
    unit_in,
)
from fieldvoice.nlu.times import WEEKDAYS
from fieldvoice.schema import ACTS, ASKS

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.reader_net import Guess

#: A state is there from this chance on.
THERE = 0.5
#: Of the whole sentence, and not of one act's, it is no guess from this chance on.
SURELY_THERE = 0.99


@dataclass(slots=True)
class Draft:
    """A note, question or command being put together.

    ``is_guessed`` tells that a value in it was read off no piece of the sentence, ``is_put_right``
    that a value of it was taken back: what is told after that is told anew.
    """

    kind: str
    fields: dict[str, Any] = field(default_factory=dict)
    is_guessed: bool = False
    is_put_right: bool = False

    def takes(self, bound: Bound) -> bool:
        """Whether one more piece belongs to this note, and does not begin another."""
        return (
            bound.kind == self.kind
            and _named(bound) not in self.fields
            and not (
                bound.field in subjects(bound.kind) and self.fields.keys() & subjects(bound.kind)
            )
        )


def without_shares(bounds: Sequence[Bound], words: Sequence[str]) -> list[Bound]:
    """Return pieces but for a share of something taken for gallons: "half the tank two sap"."""
    return [
        one
        for one in bounds
        if not (
            (one.field.endswith("_gal") or one.field == "cords")
            and unit_in(words[one.start : one.end]) is None
            and is_of_a_thing(words, one.end - 1)
            and "cord" not in words[one.end : one.end + 3]
        )
    ]


def grouped(bounds: Sequence[Bound], words: Sequence[str]) -> list[Draft]:
    """Return notes in the order said: a field said twice, or another subject, begins a new one.

    Where the speaker takes a value back ("two gallons, no wait, three"), the later one counts.
    """
    drafts: list[Draft] = []
    ends: dict[int, int] = {}
    units: dict[str, float] = {}
    for bound in bounds:
        draft = _draft_of(bound, drafts, bounds)
        if bound.value == "today":  # that is when notes are made
            continue
        if draft is not None and bound.field == "at" and "at" in draft.fields:
            draft.fields["at"] = f"{draft.fields['at']} {bound.value}"
            continue
        again = draft is not None and _named(bound) in draft.fields
        told_anew_too = draft is not None and draft.is_put_right and not _is_subject(bound)
        if again and (told_anew_too or _taken_back(words[ends[id(draft)] : bound.start])):
            assert draft is not None
            draft.is_put_right = True
        elif draft is None or not draft.takes(bound):
            draft = Draft(bound.kind)
            drafts.append(draft)
        assert draft is not None
        name, value = _as_field(bound, words)
        if name.endswith("_gal"):
            unit = unit_in(words[bound.start : bound.end])
            if unit is None:
                after = unit_in(words[bound.end : bound.end + 1])  # "ten" of "ten liters"
                said = after or _unit_taken_back(words[: bound.start]) or units.get(draft.kind)
                # Gallons, where nobody said any unit: it may be lost.
                draft.is_guessed = draft.is_guessed or said != 1.0
                unit = said or 1.0
                value = round(value * unit, 4)
            units[draft.kind] = unit
        if name in _HEATS and _is_celsius_too(bound, words):
            value, draft.is_guessed = value * 9 / 5 + 32, True
        if value != "":
            draft.fields[name] = value
        ends[id(draft)] = bound.end
    return drafts


def _draft_of(bound: Bound, drafts: Sequence[Draft], bounds: Sequence[Bound]) -> Draft | None:
    """Return the note that a piece may belong to; a count right before a size is that size's.

    "A quart and two pints" are no two quarts.
    """
    draft = next((one for one in reversed(drafts) if one.kind == bound.kind), None)
    counts_the_next = bound.field == "count" and any(
        (one.kind, one.field, one.start) == (bound.kind, "size", bound.end) for one in bounds
    )
    return None if counts_the_next and draft is not None and "size" in draft.fields else draft


def _named(bound: Bound) -> str:
    """Return the field that a piece fills: a length told round a trunk is its diameter too."""
    return "diameter_in" if bound.field == "girth" else bound.field


def _is_subject(bound: Bound) -> bool:
    return bound.field in subjects(bound.kind)


_HEATS = frozenset(name for name, sorts in SORTS.items() if "temperature" in sorts)


def _is_celsius_too(bound: Bound, words: Sequence[str]) -> bool:
    """Whether the unit was said with another temperature: "high six celsius, low minus five"."""
    return names_celsius_alone(words) and "celsius" not in words[bound.start : bound.end]


_DAY_AFTER = {
    "yesterday": "today",
    **dict(zip(WEEKDAYS, (*WEEKDAYS[1:], WEEKDAYS[0]), strict=True)),
}


def _day(said: Any) -> str:
    """Return the day of a time as said, without its hour."""
    return " ".join(word for word in str(said).split() if word not in _HOURS and ":" not in word)


def _as_field(bound: Bound, words: Sequence[str]) -> tuple[str, Any]:
    """Return a piece as the field it fills; a length told round a trunk gives its diameter."""
    if bound.field == "fill" and "percent" in words[bound.start : bound.end]:
        return "fill", bound.value / 100 if bound.value > 1 else bound.value
    if bound.kind.startswith("weather") and bound.field in ("at", "day", "span"):
        # Of a day, whatever its hour; last night's low is today's, and friday night's saturday's.
        name = "span" if bound.field == "span" else "day"
        if name == "span" and str(bound.value).endswith(" night"):
            said = _day(bound.value)
            return name, _DAY_AFTER.get(said, said)
        return name, "" if bound.value == "yesterday night" else _day(bound.value)
    if bound.field == "since":
        return "since", _day(bound.value)
    if bound.field == "dieback" and bound.value < 1:  # "a quarter of the crown"
        return "dieback", bound.value * 100
    if bound.field == "girth":
        return _named(bound), round(float(bound.value) / math.pi, 2)
    return bound.field, bound.value


def _unit_taken_back(before: Sequence[str]) -> float | None:
    """Return the unit of an amount that was taken back: of "two quarts, no, three" quarts."""
    at = next((at for at in reversed(range(len(before))) if unit_in(before[at : at + 1])), None)
    return unit_in(before[at : at + 1]) if at is not None and _taken_back(before[at:]) else None


#: What is said between a slip of the tongue and what was meant.
_SLIPS = (
    "no", "not", "wait", "sorry", "actually", "rather", "correction", "scratch that", "i mean",
    "make that", "well", "hold on", "strike that", "let me", "i take that back", "more like",
    "nope", "oops", "whoops", "my mistake", "i lie", "i tell a lie", "pardon", "er", "hang on",
    "let me see", "did i say", "oh i", "correct that", "better say", "call it", "make it",
    "nah", "or rather", "no that was", "sorry that was",
)  # fmt: skip


def _taken_back(between: Sequence[str]) -> bool:
    """Whether the words between two values of one field take the first one back."""
    said = f" {' '.join(word for word in between if word != BREAK)} "
    said = said.replace(" and actually ", " and ")
    return any(f" {slip} " in said for slip in _SLIPS)


def taken_back_at(bounds: Sequence[Bound], words: Sequence[str], guess: Guess) -> set[int]:
    """Return where words stand that another value took the place of, and those that say so.

    "Two gallons, no, three": what is between two values of one field, or between a number that
    counts for nothing and the value after it, if it is nothing but a slip of the tongue.
    """
    told = Counter((one.kind, one.field) for one in bounds)
    # What is told twice itself may be what was taken back: two trees with an amount each.
    valued = {
        at for one in bounds if told[one.kind, one.field] == 1 for at in range(one.start, one.end)
    }
    found: set[int] = set()
    for at, later in enumerate(bounds):
        alike = [one for one in bounds[:at] if (one.kind, one.field) == (later.kind, later.field)]
        number = max((at for at in range(later.start) if _counts_not(guess, at)), default=None)
        starts = [one.end for one in alike[-1:]] + ([] if number is None else [number + 1])
        for start in starts:
            between = [
                word for at, word in enumerate(words[start : later.start], start)
                if word != BREAK and word not in UNIT_WORDS and at not in valued
            ]  # fmt: skip
            if not _is_slip_alone(between):
                continue
            found.update(range(start, later.start))
            while start > 0 and _counts_not(guess, start - 1):
                start -= 1
                found.add(start)
    return found


def number_taken_back(words: Sequence[str], guess: Guess) -> set[int]:
    """Return where a number stands that counts for nothing, since it is taken back after it."""
    return {
        at for at in range(len(guess.roles))
        if _counts_not(guess, at) and _taken_back(words[at + 1 :])
    }  # fmt: skip


def _counts_not(guess: Guess, at: int) -> bool:
    """Whether a word is surely a number that counts for nothing."""
    return guess.roles[at].get(NO_NUMBER, -99.0) >= SURELY_NONE


#: A number counts for nothing from this chance on, in logarithms.
SURELY_NONE = -0.1


def _is_slip_alone(between: Sequence[str]) -> bool:
    """Whether words only take back what was said before them."""
    said = f" {' '.join(between)} "
    for slip in sorted((*_SLIPS, *_SAYS_ANEW), key=len, reverse=True):
        said = said.replace(f" {slip} ", "  ").replace("  ", " ")
    return _taken_back(between) and not said.strip()


#: What else is said between a slip and what was meant: "no, that's three", "it was tree four".
_SAYS_ANEW = (
    "that", "was", "is", "'s", "it", "it was", "that was", "the", "a", "an", "tree", "number",
    "from", "of", "in", "into", "at", "to", "on", "so", "just", "only", "oh", "um", "uh", "i",
    "think", "say", "count", "should be",
)  # fmt: skip


_ONE = frozenset({"a", "an", "another", "last", "new", "single"})
_HOLES = frozenset({"hole", "tap", "spile", "spout"})
_HOURS = frozenset({"morning", "noon", "afternoon", "evening", "night", "earlier"})


#: What jars are called, where there is more than one.
_SEVERAL = frozenset("pints quarts gallons liters litres jars bottles jugs halves".split())


def count_of_one(draft: Draft, bounds: Sequence[Bound], words: Sequence[str]) -> None:
    """Set how many of "a quart": one."""
    if draft.kind not in ("pack", "stock_out", "tap") or "count" in draft.fields:
        return
    size = next(
        (one for one in bounds if one.field == "size" and one.value == draft.fields.get("size")),
        None,
    )
    holes = [at for at, word in enumerate(words) if word in _HOLES and draft.kind == "tap"]
    if any(words[max(at - 1, 0)] in _ONE for at in holes):
        draft.fields["count"] = 1
    elif size is not None and draft.kind != "tap":
        many = words[size.end - 1 : size.end + 1]
        if _SEVERAL.isdisjoint(many):  # no "pint jars"
            draft.fields["count"] = 1


def count_of_size(draft: Draft, bounds: Sequence[Bound], words: Sequence[str]) -> None:
    """Set how many hang, and what each holds, by "three two gallon" buckets."""
    size = next((one for one in bounds if one.field == "capacity_gal"), None)
    many = how_many(words[size.start : size.end]) if size is not None else None
    if many and draft.kind == "hang" and "capacity_gal" in draft.fields:
        draft.fields |= {"count": many, "capacity_gal": draft.fields["capacity_gal"] / many}


def of_what_follows(drafts: Sequence[Draft]) -> None:
    """Give a note that names nothing the one tree that is named after it in the same breath.

    "Sap's yellow on fourteen, pulled her tap": what was told first is of fourteen, whatever tree
    was spoken of before. What is told after a name has it anyway.
    """
    named = [one for one in drafts if one.fields.keys() & _TREES]
    trees = {str(one.fields.get("tree", one.fields.get("trees"))) for one in named}
    if len(trees) != 1:
        return
    name = next(iter(named[0].fields.keys() & _TREES))
    for draft in drafts[: drafts.index(named[0])]:
        model = ACTS.get(draft.kind)
        if model is None or name not in model.spec.subject:
            continue
        if not draft.fields.keys() & {*model.spec.subject, "vessel", "into"}:
            draft.fields[name], draft.is_guessed = named[0].fields[name], True


_TREES = frozenset({"tree", "trees"})

#: Said after an amount that each of several trees gave.
EACH = frozenset({"each", "apiece"})
_AMOUNTS = frozenset({"volume_gal", "count"})


def for_each(drafts: Sequence[Draft], words: Sequence[str]) -> list[Draft]:
    """Return a note a tree where an amount was said to be each tree's."""
    if not EACH.intersection(words):
        return list(drafts)
    _share_out(drafts)
    told: list[Draft] = []
    for draft in drafts:
        if "trees" not in draft.fields or not draft.fields.keys() & _AMOUNTS:
            told.append(draft)
            continue
        rest = {name: value for name, value in draft.fields.items() if name != "trees"}
        told += [Draft(draft.kind, {"tree": tree, **rest}) for tree in draft.fields["trees"]]
    return told


def _share_out(drafts: Sequence[Draft]) -> None:
    """Give what was said once, "a gallon apiece", to trees of which nothing else was said."""
    amounts = [one for one in drafts if one.fields.keys() & _AMOUNTS]
    bare = [one for one in drafts if one.fields.keys() == {"tree"}]
    if len(amounts) == 1 and all(one.kind == amounts[0].kind for one in bare):
        said = amounts[0].fields
        for draft in bare:
            draft.fields.update({name: said[name] for name in said.keys() - {"tree"}})


def price_of_all(draft: Draft, bounds: Sequence[Bound], words: Sequence[str]) -> None:
    """Make of "twelve dollars a pint" the price of all the pints."""
    count = draft.fields.get("count")
    said = next((one for one in bounds if one.field == "price"), None)
    if said is None or count is None or "price" not in draft.fields:
        return
    after = [word for word in words[said.end : said.end + 3] if word not in _MONEY]
    if after and (after[0] in EACH or (after[0] in _PER and after[1:] and after[1] in _JARS)):
        draft.fields["price"] = round(draft.fields["price"] * count, 2)


_MONEY = frozenset({"dollar", "dollars", "buck", "bucks", "euros", "euro", "pounds", "pound"})
_PER = frozenset({"a", "per", "the", "for"})
_JARS = frozenset({"pint", "quart", "gallon", "half", "jar", "bottle", "jug", "piece", "one"})


def left_over_states(drafts: Sequence[Draft], guess: Guess) -> float:
    """Set a state that the sentence tells and no piece has, on the one note that says nothing else.

    "Seven's full, eight's half, nine never woke up": nine is the one that is empty. Returns how
    sure the least sure one is.
    """
    least = 1.0
    for slot in ("fill", "sap"):
        said = {one.fields[slot] for one in drafts if slot in one.fields}
        bare = [
            one for one in drafts
            if slot in _fields_of(one) and one.fields.keys() <= {"tree", "trees", "vessel", "at"}
        ]  # fmt: skip
        likely = [
            (_plain(label.partition("=")[2]), chance)
            for label, chance in guess.labels.items()
            if label.startswith(f"{slot}=") and chance >= THERE
        ]
        left = [(value, chance) for value, chance in likely if value not in said]
        if len(bare) == 1 and len(left) == 1:
            bare[0].fields[slot], bare[0].is_guessed = left[0][0], True
            least = min(least, left[0][1])
    return least


def shared_states(drafts: Sequence[Draft], guess: Guess) -> float:
    """Set what is told once of several notes of one kind: "sold a pint to ann and one to bob".

    Returns how sure the least sure one is.
    """
    least = 1.0
    for kind in {one.kind for one in drafts}:
        of_it = [one for one in drafts if one.kind == kind]
        if len(of_it) == 1:
            continue
        likely: dict[str, list[tuple[str, float]]] = {}
        for label, chance in guess.labels.items():
            name, _, value = label.partition("=")
            if name.startswith(f"{kind}.") and chance >= THERE:
                likely.setdefault(name.rpartition(".")[2], []).append((value, chance))
        for slot, told in likely.items():
            if len(told) == 1 and not any(slot in one.fields for one in of_it):
                for draft in of_it:
                    draft.fields[slot], draft.is_guessed = _plain(told[0][0]), True
                least = min(least, told[0][1])
    return least


#: How jars leave the pantry, by the words that tell it.
_WHYS = {
    "sold": "sold", "bought": "sold", "gave": "given", "given": "given", "ate": "eaten",
    "eaten": "eaten", "broke": "spoiled", "broken": "spoiled", "spoiled": "spoiled",
}  # fmt: skip


def why_of_each(drafts: Sequence[Draft], bounds: Sequence[Bound], words: Sequence[str]) -> None:
    """Tell jars that left in several ways apart: "two pints sold, one given to my sister".

    What tells it stands in the same part of the sentence, or else before.
    """
    gone = [one for one in drafts if one.kind == "stock_out"]
    sizes = [one.start for one in bounds if (one.kind, one.field) == ("stock_out", "size")]
    if len({_WHYS[word] for word in words if word in _WHYS}) < 2 or len(gone) < 2:
        return
    part_of = list(accumulate(word in (BREAK, "and") for word in words))
    whys = [(part_of[at], _WHYS[word]) for at, word in enumerate(words) if word in _WHYS]
    for draft, at in zip(gone, sizes, strict=False):
        before = [why for part, why in whys if part <= part_of[at]]
        draft.is_guessed = True
        if before and len(sizes) == len(gone):
            draft.fields["why"] = before[-1]


def to_whom(drafts: Sequence[Draft], bounds: list[Bound], words: Sequence[str]) -> None:
    """Tell who got jars in all the words of it: "gave a pint to a colleague"; and bind them.

    A name begins after the one "to" and ends where something else is told, or with four words.
    """
    gone = [one for one in drafts if one.kind == "stock_out"]
    if len(gone) != 1 or len(drafts) != 1 or words.count("to") != 1:
        return
    known = next((one for one in bounds if one.field == "to"), None)
    if known is not None and not known.free:
        return
    others = {at for one in bounds if one is not known for at in range(one.start, one.end)}
    start = end = words.index("to") + 1
    while end < len(words) and end not in others and words[end] not in _ENDS_A_NAME:
        end += 1
    if known is not None and not start <= known.start <= known.end <= end:
        return
    name = words[start + (tuple(words[start : start + 1]) in _BEFORE_A_NAME) : end]
    if not 0 < len(name) <= 4 or _NO_NAMES.intersection(name):
        return
    if known is not None:
        bounds.remove(known)
    gone[0].fields["to"] = text_of(name)
    bounds.append(Bound("stock_out", "to", text_of(name), start, end, 0.0, free=True))


_ENDS_A_NAME = frozenset({BREAK, "for", "and", "at", "today", "yesterday", "this", "last", "on"})
_BEFORE_A_NAME = [(one,) for one in ("a", "an", "the", "my", "our")]
_NO_NAMES = frozenset(
    "go get eat be it him her them us me you that make take sell try say tell report admit spare "
    "boot share start".split()
)

#: Of jars filled from one pan these are told once, at the end: "nine pints, six quarts, amber".
_OF_ALL_JARS = ("colour", "temp_f")
_ALL = frozenset({"all", "both", "everything", "each"})


def once_for_all(drafts: Sequence[Draft], words: Sequence[str]) -> None:
    """Give every note what was told of all: the colour of "all amber", the time of the first."""
    jars = [one for one in drafts if one.kind == "pack"]
    if len(jars) > 1 and _ALL.intersection(words):
        for slot in _OF_ALL_JARS:
            if [slot in one.fields for one in jars] == [False] * (len(jars) - 1) + [True]:
                for draft in jars[:-1]:
                    draft.fields[slot], draft.is_guessed = jars[-1].fields[slot], True
    if _NOW.intersection(words):
        return
    for kind in {one.kind for one in drafts} - _TIMES_OF_THEIR_OWN:
        of_it = [one for one in drafts if one.kind == kind]
        timed = [one for one in of_it if "at" in one.fields]
        if len(timed) == 1 < len(of_it) and timed[0] in (of_it[0], of_it[-1]):
            for draft in of_it:
                draft.fields["at"], draft.is_guessed = timed[0].fields["at"], True


#: What lasts of a tree or vessel is told anew, and no note is put right by it.
_LASTING = frozenset({"measure", "health", "vessel", "stand", "hang"})


def told_anew(drafts: list[Draft]) -> list[Draft]:
    """Return drafts without a correction that only says of what the note beside it is.

    "Change tree nine to red maple" is a note of tree nine.
    """
    notes = [one for one in drafts if one.kind in _LASTING]
    changed = [one for one in drafts if one.kind == "correct"]
    if not len(notes) == len(changed) == 1 == len(drafts) - 1:
        return drafts
    if not changed[0].fields.keys() <= {"tree", "vessel"}:
        return drafts
    for name, value in changed[0].fields.items():
        notes[0].fields.setdefault(name, value)
    return notes


#: What a piece told by itself puts right in the note before, by its sort.
_PUT_RIGHT = {
    "colour": "colour", "size": "size", "species": "species", "side": "side", "sap": "sap",
    "fill": "fill", "volume": "volume_gal", "temperature": "temp_f", "sugar": "brix",
    "length": "diameter_in", "tree": "tree", "vessel": "vessel", "number": "number",
}  # fmt: skip


def what_is_put_right(drafts: Sequence[Draft], pieces: Sequence[Span]) -> None:
    """Give a correction that says nothing the one piece of the sentence: "it was amber"."""
    bare = [one for one in drafts if one.kind == "correct" and not one.fields]
    of_value = [piece for piece in pieces if piece.sort in _PUT_RIGHT]
    longest = max((len(piece) for piece in of_value), default=0)
    whole = [piece for piece in of_value if len(piece) == longest]
    if len(bare) == len(drafts) == len(whole) == 1:
        bare[0].fields[_PUT_RIGHT[whole[0].sort]] = whole[0].value


#: Words of a time that can be nothing else, as "at nine" can.
_OF_A_DAY = frozenset(
    "morning afternoon evening night yesterday noon midnight ago overnight "
    "monday tuesday wednesday thursday friday saturday sunday".split()
)


def timed_by_what_is_left(
    drafts: Sequence[Draft], bounds: Sequence[Bound], pieces: Sequence[Span], words: Sequence[str]
) -> None:
    """Give notes the time that was said and that no piece has: "this morning" is never chatter."""
    notes = [one for one in drafts if one.kind in ACTS and one.kind not in _TIMES_OF_THEIR_OWN]
    if not notes or any("at" in one.fields for one in drafts) or _NOW.intersection(words):
        return
    taken = {at for one in bounds for at in range(one.start, one.end)}
    left = [
        one for one in pieces
        if one.sort == "when" and _OF_A_DAY.intersection(words[one.start : one.end])
        and taken.isdisjoint(range(one.start, one.end))
    ]  # fmt: skip
    longest = [one for one in left if len(one) == max(map(len, left))]
    if len({(one.start, one.end) for one in longest}) == 1:
        for draft in notes:
            draft.fields["at"] = longest[0].value


def boiled_since(
    drafts: Sequence[Draft], bounds: list[Bound], pieces: Sequence[Span], words: Sequence[str]
) -> None:
    """Give a fire lit "since six o'clock", or kept "until ten", its hour, and bind it."""
    fires = [one for one in drafts if one.kind == "boil"]
    taken = {at for one in bounds for at in range(one.start, one.end)}
    hours = [
        one for one in pieces
        if one.sort == "clock" and one.start > 0 and words[one.start - 1] in _ENDS_AT
        and taken.isdisjoint(range(one.start, one.end))
    ]  # fmt: skip
    if len(fires) != 1 or "at" in fires[0].fields or len({one.start for one in hours}) != 1:
        return
    hour = max(hours, key=len)
    told = hour.value if isinstance(hour.value, dict) else {"hour": hour.value}
    late = next((one for one in _LATE if tuple(words[hour.end : hour.end + len(one)]) == one), ())
    at = f"{'afternoon ' if late else ''}{told['hour']}:{told.get('minute', 0):02d}"
    fires[0].fields |= {"phase": _ENDS_AT[words[hour.start - 1]], "at": at}
    bounds.append(Bound("boil", "at", at, hour.start, hour.end + len(late), 0.0))


_LATE = (("in", "the", "night"), ("at", "night"), ("in", "the", "evening"))
#: How a fire is told by the hour after one of these.
_ENDS_AT = {"since": "start", "until": "stop", "till": "stop", "til": "stop"}


def weather_to_come(drafts: Sequence[Draft], bounds: list[Bound], words: Sequence[str]) -> None:
    """Give weather the day to come that no piece has, as "the low tomorrow is 24", and bind it."""
    days = {"day", "at"}
    weather = [one for one in drafts if one.kind == "weather" and not days & one.fields.keys()]
    if not weather or "tomorrow" not in words:
        return
    for draft in weather:
        draft.fields["day"] = "tomorrow"
    at = words.index("tomorrow")
    if not any(one.start <= at < one.end for one in bounds):
        bounds.append(Bound("weather", "day", "tomorrow", at, at + 1, 0.0))


#: With these some of it was now; and what has a beginning and an end has two times.
_NOW = frozenset({"today", "now", "tonight", "then"})
_TIMES_OF_THEIR_OWN = frozenset({"boil", "round", "weather", "water", "pan", "draw"})


#: What is said once more without its thing is said of the thing before.
_SAID_TWICE = frozenset({"size", "fill", "sap", "smell"})


def without_repeats(drafts: Sequence[Draft]) -> list[Draft]:
    """Return the drafts without those that say again what another has said of the same thing.

    A trunk without a measure beside another note tells nothing.
    """
    kept: list[Draft] = []
    for draft in drafts:
        about = subjects(draft.kind) - {"all", "which"}
        is_said = any(
            one.kind == draft.kind and one.fields == draft.fields and one.fields.keys() & about
            for one in kept
        )  # fmt: skip
        says_nothing = draft.kind == "measure" and len(drafts) > 1 and draft.fields.keys() <= about
        # "four pints, hang on, five pints"; "nothing in tree twenty, bone dry"
        is_said = is_said or any(
            one.kind == draft.kind and draft.fields.keys() <= _SAID_TWICE
            and draft.fields.items() <= one.fields.items()
            for one in kept if draft.fields
        )  # fmt: skip
        if not is_said and not says_nothing:
            kept.append(draft)
    return kept


def with_states(draft: Draft, guess: Guess, told: set[str]) -> float:
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
            draft.is_guessed = draft.is_guessed or (not dot and chance < SURELY_THERE)
            told.add(slot)
        least = min(least, max(chance, 1 - chance))
    return least


def moved_from(drafts: list[Draft], words: Sequence[str]) -> list[Draft]:
    """Return drafts with the vessel that sap was moved from: "moved ten gallons from tank one".

    A pouring in of which only the vessel is known is none beside it.
    """
    moved = [one for one in drafts if one.kind == "transfer" and "vessel" not in one.fields]
    bare = [one for one in drafts if one.kind == "store" and one.fields.keys() == {"vessel"}]
    if len(moved) != 1 or len(bare) != 1 or not _WHENCE.intersection(words):
        return drafts
    moved[0].fields["vessel"] = bare[0].fields["vessel"]
    return [one for one in drafts if one is not bare[0]]


_WHENCE = frozenset({"from", "out", "off"})


def lid_alone(draft: Draft) -> None:
    """Of a bucket whose lid came off only the lid is gone."""
    if draft.kind == "hang" and draft.fields.get("lid") == "off":
        draft.fields.pop("gone", None)


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
