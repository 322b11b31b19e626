"""From what the net guesses and the pieces that have a value to notes, questions and commands.

The net chooses: which piece fills which field. The value is the piece's own, read by a rule of the
grammar. Where a number is left over that nobody accounts for, nothing is made of the sentence.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from fieldvoice.nlu.chunker import numbered, sides, sizes_of_pails
from fieldvoice.nlu.drafts import (
    EACH,
    THERE,
    Draft,
    boiled_since,
    count_of_one,
    count_of_size,
    for_each,
    grouped,
    left_over_states,
    lid_alone,
    moved_from,
    number_taken_back,
    of_what_follows,
    once_for_all,
    price_of_all,
    shared_states,
    taken_back_at,
    timed_by_what_is_left,
    to_whom,
    told_anew,
    weather_to_come,
    what_is_put_right,
    why_of_each,
    with_states,
    without_repeats,
    without_shares,
)
from fieldvoice.nlu.normalise import BREAK, text_of
from fieldvoice.nlu.questions import of_that_day, of_that_water, one_question
from fieldvoice.nlu.role_search import bound_roles, nothing_at, sureness_of
from fieldvoice.nlu.shared_units import UNIT_WORDS
from fieldvoice.schema import Act, meaning_from
from fieldvoice.schema.acts import Boil, Defoam, Equipment, Filter, Pan, Remark, Stand, Store
from fieldvoice.schema.asks.season import Before

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.reader_net import Guess
    from fieldvoice.nlu.role_search import Bound
    from fieldvoice.schema import Meaning

#: Less likely kinds are not looked at; a kind without a piece of its own stands beside others only
#: where it is as likely as this.
LIKELY, ALONGSIDE = 0.1, 0.85


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the second reader makes of a sentence, and how sure it is of all of it (0 to 1).

    A plain one has a place for every number that was said, no name that only it knows, and no two
    notes of one kind about the same thing. ``unbound`` is where words stand that are in
    none of its pieces (start, end), if it has any. A whole one has a place for every number, a
    short one for all but those in one part between its pieces, ``lost`` (start, end). ``states``
    is how sure it is of what no piece tells but the sentence as a whole: a fire lit, or out.
    Every number of an accounted one has its place, and no numbered thing a name of its own.
    """

    meanings: tuple[Meaning, ...]
    kind: str
    chance: float
    is_plain: bool = False
    is_whole: bool = False
    unbound: tuple[tuple[int, int], ...] = ()
    lost: tuple[int, int] | None = None
    is_short: bool = False
    states: float = 1.0
    is_accounted: bool = True


def bind(words: Sequence[str], guess: Guess, pieces: Sequence[Span]) -> Proposal | None:
    """Return what the sentence says; None when it says nothing, or a number would be lost.

    Where that is of several kinds and leaves something out, what is whole as the likeliest alone.
    """
    best, chance = guess.kinds()[0]
    if best.startswith("card="):
        return Proposal((_card(best),), best, chance)
    likely = {kind.partition("=")[2]: one for kind, one in guess.kinds() if one >= LIKELY}
    pieces = [*pieces, *numbered(tuple(words)), *sides(tuple(words), pieces)]
    proposal = _bound(words, guess, pieces, likely)
    if proposal is not None and proposal.is_whole:
        return proposal
    name = best.partition("=")[2]
    if any(one >= ALONGSIDE for kind, one in likely.items() if kind != name):
        return proposal
    # What a word is may be guessed by another kind, "two" of "sealed the last two pints" as gone.
    alone = _bound(words, guess, pieces, {name: likely.get(name, 0.0)})
    return alone if alone is not None and alone.is_whole else proposal


def _bound(
    words: Sequence[str], guess: Guess, pieces: Sequence[Span], likely: Mapping[str, float]
) -> Proposal | None:
    """Return what the sentence says, if it is of no other kinds than are ``likely``."""
    best, _ = guess.kinds()[0]
    bounds = bound_roles(words, guess, pieces, likely)
    bounds = without_shares(bounds, words)
    drafts = without_repeats(_with_bare(grouped(bounds, words), guess, likely))
    drafts = one_question(told_anew(moved_from(drafts, words)), words, likely)
    if not drafts:
        return None
    to_whom(drafts, bounds, words)
    sureness = min(
        sureness_of(words, guess, bounds), *(likely.get(draft.kind, 0.0) for draft in drafts)
    )
    told = {name for draft in drafts for name in draft.fields}
    states = 1.0
    for draft in drafts:
        if sum(other.kind == draft.kind for other in drafts) == 1:
            states = min(states, with_states(draft, guess, told))
    sureness = min(sureness, states, left_over_states(drafts, guess), shared_states(drafts, guess))
    why_of_each(drafts, bounds, words)
    what_is_put_right(drafts, pieces)
    boiled_since(drafts, bounds, pieces, words)
    timed_by_what_is_left(drafts, bounds, pieces, words)
    weather_to_come(drafts, bounds, words)
    once_for_all(drafts, words)
    of_that_day(drafts, bounds, words)
    of_that_water(drafts, bounds, pieces)
    of_what_follows(drafts)
    drafts = for_each(drafts, words)
    for draft in drafts:
        count_of_one(draft, bounds, words)
        count_of_size(draft, bounds, words)
        price_of_all(draft, bounds, words)
        lid_alone(draft)
        if draft.kind == "remark" and "text" not in draft.fields:
            draft.fields["text"] = text_of(words).replace(f" {BREAK}", BREAK)
    try:
        meanings = tuple(meaning_from(_json(draft, guess)) for draft in drafts)
    except ValueError:
        return None
    if any(_says_nothing(one) or _is_of_all_and_one(one) for one in meanings):
        return None
    guessed = any(draft.is_guessed for draft in drafts)
    back = taken_back_at(bounds, words, guess)
    if not any(_AMOUNTS & one.json_fields().keys() for one in meanings):
        back |= set(sizes_of_pails(words))
    plain = not guessed and _is_plain(words, bounds, meanings, guess, back)
    tells_all = any(isinstance(one, Remark) for one in meanings)
    is_shared = _is_shared(meanings)
    gone = number_taken_back(words, guess)
    lost = [] if tells_all else _lost(words, bounds, back | gone, is_shared)
    all_needs = not guessed and _has_all_it_needs(meanings)
    return Proposal(
        meanings, best, sureness, plain, all_needs and not lost, _unbound(words, bounds),
        lost[0] if lost else None, all_needs and len(lost) == 1, states,
        not _has_more_numbers(words, bounds)
        and not any(_is_misnamed(one, words) for one in bounds),
    )  # fmt: skip


#: What a number of gallons may be in a note.
_AMOUNTS = frozenset({"volume_gal", "capacity_gal", "size", "syrup_gal"})


def _has_more_numbers(words: Sequence[str], bounds: Sequence[Bound]) -> bool:
    """Whether a number is in no piece; how many taps is looked at in the question as a whole."""
    taken = {at for one in bounds for at in range(one.start, one.end)}
    return any(
        _counts(words, at)
        and word not in _NO_NUMBERS
        and "tap" not in "".join(words[at + 1 : at + 2])
        for at, word in enumerate(words)
        if at not in taken
    )


#: What these say in a question: "which one", "what first", "a second bucket", "in each".
_NO_NUMBERS = frozenset({"one", "first", "second", "each"})


def _is_misnamed(bound: Bound, words: Sequence[str]) -> bool:
    """Whether a thing with a number is called by a word that no rule has: "tonk two"."""
    is_thing = bound.free and bound.field in ("tree", "vessel", "into")
    return is_thing and not NUMBER_WORDS.isdisjoint(words[bound.start : bound.end + 1])


def _is_shared(meanings: Sequence[Meaning]) -> bool:
    """Whether "each" has its place: "two quarts each" is a note a tree, a price each is of all."""
    return len(meanings) > 1 or any("price" in one.json_fields() for one in meanings)


def _lost(
    words: Sequence[str], bounds: Sequence[Bound], back: set[int], is_shared: bool
) -> list[tuple[int, int]]:
    """Return where words stand between the pieces in which there is a number or a unit."""
    taken = {at for one in bounds for at in range(one.start, one.end)} | back
    lost: list[tuple[int, int]] = []
    for at, word in enumerate(words):
        if at in taken or (is_shared and word in EACH):
            continue
        if not _counts(words, at) and word not in UNIT_WORDS:
            continue
        if lost and not any(one in taken for one in range(lost[-1][1], at)):
            lost[-1] = lost[-1][0], at + 1
        else:
            lost.append((at, at + 1))
    return lost


def _has_all_it_needs(meanings: Sequence[Meaning]) -> bool:
    """Whether what each note cannot do without was said."""
    return all(
        isinstance(one, Act)
        and all(one.json_fields().keys() & set(group) for group in one.spec.needs)
        and (not one.spec.subject or one.json_fields().keys() & set(one.spec.subject))
        for one in meanings
    )


def _says_nothing(meaning: Meaning) -> bool:
    """Whether a note names a thing and tells nothing of it, so that a yes to it would be empty.

    What is about to be done, without the work, has nothing to mind: "pour gas on the fire".
    """
    if not isinstance(meaning, Act) or meaning.spec.needs:
        return isinstance(meaning, Before) and meaning.task is None
    if not meaning.json_fields().keys() <= {"act", "at", *meaning.spec.subject}:
        return False
    if isinstance(meaning, Boil):
        return meaning.vessel is None
    told = meaning.told()
    is_bare = told.head == meaning.subject() or isinstance(meaning, Equipment | Pan)
    return is_bare and not told.details


def _is_of_all_and_one(meaning: Meaning) -> bool:
    """Whether a total over the yard would be one tree's too: a number was taken for a tree."""
    told = meaning.json_fields() if isinstance(meaning, Act) else {}
    return told.get("all") is True and not {"tree", "trees"}.isdisjoint(told)


def _unbound(words: Sequence[str], bounds: Sequence[Bound]) -> tuple[tuple[int, int], ...]:
    """Return where words stand before, between and after the pieces that were bound."""
    taken = {at for one in bounds for at in range(one.start, one.end)}
    ends = [at for at in range(len(words)) if at in taken or words[at] == BREAK]
    starts = [0, *(at + 1 for at in ends)]
    runs = zip(starts, [*ends, len(words)], strict=True)
    return tuple((start, end) for start, end in runs if end > start)


def _with_bare(drafts: list[Draft], guess: Guess, likely: Mapping[str, float]) -> list[Draft]:
    """Add what the sentence says without a piece of its own: "lit the fire"."""
    whole = list(drafts)
    for kind, chance in guess.kinds():
        name = kind.partition("=")[2]
        if name not in likely or kind.startswith("card=") or (kind.startswith("do=") and whole):
            continue
        if name == "boil" and any(one.kind == "water" for one in whole):
            continue  # "put the kettle on, it boiled at two eleven"
        if chance >= (ALONGSIDE if whole else THERE) and all(one.kind != name for one in whole):
            whole.append(Draft(name))
    best, chance = guess.kinds()[0]
    return whole or ([Draft(best.partition("=")[2])] if chance >= LIKELY else [])


def _is_plain(
    words: Sequence[str], bounds: Sequence[Bound], meanings: Sequence[Meaning], guess: Guess,
    back: set[int],
) -> bool:  # fmt: skip
    bound = {at for one in bounds for at in range(one.start, one.end)} | back
    shared = _is_shared(meanings)
    left_over = any(
        at not in bound
        and not (shared and word in EACH)
        and (
            _counts(words, at)
            or _has_lost_its_value(words, at, bounds)
            or nothing_at(guess, at) < _SURELY_NOTHING
        )
        and not _leads_to(bounds, words, guess, at)
        for at, word in enumerate(words)
    )
    about = [_about(one) for one in meanings]
    if any(_tells_only_what_it_is_of(one) for one in meanings):
        return False
    if all(_counts(words, at) or word in (BREAK, "point") for at, word in enumerate(words)):
        return False  # numbers and nothing else: whose, and of what, is a guess
    if len(meanings) > 1 and any(not any(named) for _, named in about):
        return False
    if any(isinstance(one, Store) for one in meanings) and _POURS.isdisjoint(words):
        return False
    named_only_here = any(
        one.free
        and one.field not in _SAID_FREELY
        and (one.kind, one.field) not in _PLACES
        and (one.kind, one.value) not in _HANG_ON_TREES
        and not _is_called_a_vessel(one)
        for one in bounds
    )
    return (
        not left_over and not named_only_here and not _is_turned(words, bounds, back)
        and len(set(about)) == len(about)
    )  # fmt: skip


def _counts(words: Sequence[str], at: int) -> bool:
    """Whether a word is a number or names a day.

    The first of what is not counted is neither, nor "every one", nor "back" without days.
    """
    word, before = words[at], words[max(at - 2, 0) : at]
    after = words[at + 1] if at + 1 < len(words) else BREAK
    if word == "first":
        return after in NUMBER_WORDS or after in (BREAK, "of", "and")
    if word == "one" and before and before[-1] in ("every", "this", "that"):
        return False
    if word in ("back", "past"):
        return not _SPANS.isdisjoint(before)
    return word in NUMBER_WORDS


def _has_lost_its_value(words: Sequence[str], at: int, bounds: Sequence[Bound]) -> bool:
    """Whether a word tells what was counted or where: "twenty five taps", "tree nine side".

    A number that was taken for how many (or before one bucket for its tree) has its place.
    """
    if words[at] == "side":
        return words[max(at - 1, 0)] not in _COMPASS
    if at == 0 or words[at] not in _COUNTED or words[at - 1] not in NUMBER_WORDS:
        return False
    has_place = {"count", "tree"} if words[at] == "bucket" else {"count"}
    return not any(one.end == at and one.field in has_place for one in bounds)


_COMPASS = frozenset({"north", "south", "east", "west"})


#: What a number before it counts, and no tree.
_COUNTED = frozenset("tap taps spile spiles spout spouts hole holes bucket buckets jars".split())
#: With these words a time is so long ago.
_SPANS = frozenset("hour hours day days week weeks month months quarter half minutes".split())


def _leads_to(bounds: Sequence[Bound], words: Sequence[str], guess: Guess, at: int) -> bool:
    """Whether a small word and those after it lead to a piece in whose role it is: "as of eight".

    A number is never one of them.
    """
    after = next((one for one in bounds if one.start > at), None)
    if after is None or not _LEADING.issuperset(words[at : after.start]):
        return False
    role = max(guess.roles[at], key=lambda name: guess.roles[at][name])
    return role == f"{after.kind}.{after.field}"


#: Sap told of a vessel was poured in, or is found there: some word tells that it was poured.
_POURS = frozenset(
    "into poured pour pouring put puts putting dumped dump dumping emptied empty added add adding "
    "went going goes gone pumped pump pumping filled fill tipped tip hauled carried brought stored "
    "store storing tossed topped top lugged sent ran run drained moved more another".split()
)

#: Who got it, and what was put in against foam: nothing is called by it from then on.
_SAID_FREELY = frozenset({"to", "agent"})
#: Where trees stand is called by the family's own words.
_PLACES = frozenset({("stand", "site")})

#: What hangs on trees is called by no other names.
_HANG_ON_TREES = frozenset(
    ("hang", item) for item in "bucket pail bag sack jug can buckets pails bags jugs cans".split()
)

#: What holds sap: a vessel that is called one needs no other telling.
_VESSELS = frozenset(
    "tank tote barrel drum vat can keg cooler tub washtub pot carboy milkcan trough cistern".split()
)


def _is_called_a_vessel(bound: Bound) -> bool:
    """Whether a name that nobody knows says that it is a vessel's: "the old bath tank"."""
    is_vessel = bound.field in ("vessel", "into") and isinstance(bound.value, str)
    return is_vessel and bound.value.rpartition(" ")[2] in _VESSELS


def _about(meaning: Meaning) -> tuple[type[Meaning], tuple[Any, ...]]:
    """Return what tells a note from others of its kind: its tree or vessel; of jars their size."""
    is_of_nothing = isinstance(meaning, Act) and not meaning.spec.subject
    told_by = _SUBJECTLESS if is_of_nothing else _ABOUT
    named = tuple(getattr(meaning, name, None) for name in told_by)
    return type(meaning), (is_of_nothing, *named)


def _tells_only_what_it_is_of(meaning: Meaning) -> bool:
    """Whether it is not known what was said of a thing; "skipped tree nine" tells it all."""
    if isinstance(meaning, Filter | Defoam):
        return False
    if isinstance(meaning, Stand) and meaning.site is not None:
        return False
    if meaning.json_fields().keys() - {"act", "at", *_ABOUT}:
        return False
    return not isinstance(meaning, Act) or bool(meaning.spec.needs) or not meaning.told().details


def _is_turned(words: Sequence[str], bounds: Sequence[Bound], back: set[int]) -> bool:
    """Whether words may say what is not, was not or is not yet, or take back what was said.

    Within a piece they are part of what it is worth: "not a drop", "like water". Nor does "but"
    turn what is told after it, "or so" an amount, or "the felt" anything. What was taken back for
    another value is gone.
    """
    if ("used", "to") in pairwise(words) or _is_hardly(words):
        return True
    starts = {one.start for one in bounds}
    valued = {at for one in bounds if not one.free for at in range(one.start, one.end)} | back
    states = {one.start for one in bounds if one.field in ("sap", "smell")}
    first = min(starts, default=len(words))
    for at, word in enumerate(words):
        if at in valued or not (word in TURNING or word.endswith("n't")):
            continue
        beside = {tuple(words[at : at + 2]), tuple(words[max(at - 1, 0) : at + 1])}
        if not _TURN_NOTHING.isdisjoint(beside):
            continue
        begins_chatter = word == "but" and at < first
        exclaims = tuple(words[at : at + 2]) == ("what", "a")
        of_now = word == "year" and at > 0 and words[at - 1] == "this"
        is_read_off = word == "maybe" or words[max(at - 1, 0)] in _GAUGES
        before_value = word in _TELLING and not starts.isdisjoint(range(at + 1, at + 3))
        tells = (before_value and is_read_off) or (word in ("like", "going") and at + 1 in states)
        tells = tells or tuple(words[max(at - 1, 0) :]) in _HEDGES
        tells = tells or (at > 0 and tuple(words[at : at + 2]) == _WHAT_WAS)
        if not (begins_chatter or exclaims or of_now or tells):
            return True
    return False


def _is_hardly(words: Sequence[str]) -> bool:
    """Whether something nearly was done: "nearly forgot tree forty", but not "… to tell you"."""
    return any(
        word in ("nearly", "almost") and (after.endswith("ed") or after in _DONE) and then != "to"
        for word, after, then in zip(words, words[1:], (*words[2:], ""), strict=False)
    )


#: What was done, where its form does not tell.
_DONE = frozenset(
    "forgot lost hit fell broke ran drew got had took threw gave left cut put burnt spilt".split()
)

#: Words beside which they say nothing of their own: a filter, a sum, about as much, when it was.
_TURN_NOTHING = frozenset(
    {("the", "felt"), ("a", "felt"), ("felt", "filter"), ("all", "told"), ("or", "so")}
    | {("before", meal) for meal in ("breakfast", "lunch", "dinner", "supper", "dark", "bed")}
)

#: Said last they only tell that somebody may err, and "threw out what was in nine" asks nothing.
_HEDGES = frozenset({("i", "think"), ("i", "guess"), ("i", "would", "say")})
_WHAT_WAS = ("what", "was")

#: Before a value these only say how it was come by.
_TELLING = frozenset({"says", "said", "maybe"})
#: What says a value, where people only tell of one.
_GAUGES = frozenset(
    "refractometer hydrometer thermometer gauge meter tape scale stick dial it".split()
)
_SUBJECTLESS = ("size", "phase")
_ABOUT = ("tree", "trees", "vessel", "site")
NUMBER_WORDS = frozenset(
    "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
    "sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety "
    "hundred thousand dozen half quarter each apiece couple pair both "
    # and what names a day that nobody has read
    "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth "
    "fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth thirtieth january "
    "february march april may november december midnight past ago back".split()
)
#: With these a sentence may say what is not, was not, or is not yet: it is read back first.
TURNING = frozenset(
    "not no never nothing if when unless would could should might may maybe perhaps tomorrow will "
    "gonna going want wish suppose supposed almost but like year years season ever said says told "
    "heard think thinks guess remember until before because why what how who where which than "
    "next yet either or felt feels "
    # of some alone: "two apiece in the big ones"; of somebody else's
    "ones others most his their theirs else say returned "
    # and with these it may take back what it said
    "wait sorry oops whoops pardon scratch strike correction rather mistake lie".split()
)
#: Words that only lead to what is told.
_LEADING = frozenset("a an the my our of on at in to for from as by about around with".split())
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
