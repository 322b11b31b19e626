"""Questions told apart by words that readers pass over: who got syrup, a tank, the time named."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.dialogue.noted import noted
from fieldvoice.dialogue.policy import Answer, Reject
from fieldvoice.dialogue.waiting import is_question
from fieldvoice.dialogue.weighing import weigh
from fieldvoice.schema import Ask
from fieldvoice.schema.acts import StockOut
from fieldvoice.schema.asks.boiling import BoilPlan, BoilReport, StartBy, SyrupEstimate
from fieldvoice.schema.asks.past import MadeIn, Money
from fieldvoice.schema.asks.places import Hangs, TreeList
from fieldvoice.schema.asks.sap import SapDays, SapStored, SapTotal
from fieldvoice.schema.asks.season import Advice, Before, Said, SeasonSummary
from fieldvoice.schema.asks.syrup import Stock, SyrupGone
from fieldvoice.schema.asks.trees import (
    BestTrees,
    SlowTrees,
    TreeCount,
    TreeHistory,
    TreeKinds,
    TreeSap,
    TreesSeen,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.dialogue.policy import Decision
    from fieldvoice.nlu.chunker import Span

#: Who says none of these asks something else about somebody.
_GOT = re.compile(
    r"\b(give|gave|given|get|got|gotten|gets|buy|bought|buys|pay|paid|pays|sell|sold|take|took|have"
    r"|had|owe|owes|receive|received|send|sent)\b",
    re.IGNORECASE,
)


#: What holds sap and hangs on no tree.
_VESSEL = re.compile(r"\b(?:tanks?|containers?|barrels?|totes?|vessels?|drums?)\b", re.IGNORECASE)


def narrowed(
    decided: Decision, text: str, moment: TurnContext, pieces: Callable[[], Sequence[Span]]
) -> Decision:
    """Return what is to be done about ``text`` by the words that tell its question from others.

    ``pieces`` returns those of it that have a value.
    """
    decided = _of_somebody(_of_vessels(decided, text, moment), text, moment)
    ask = _asked(decided)
    if ask is None or not isinstance(decided, Answer):
        return decided
    is_open = decided.echo or isinstance(ask, Advice) or getattr(ask, "words", None) is not None
    apart = _by_words(ask, text) or _of_things(ask, text, pieces) if is_open else None
    timed = _of_its_time(apart or ask, text, pieces) if apart or decided.echo else None
    meant = timed or apart
    return decided if meant is None else Answer(weigh((meant,), moment), echo=True)


def _asked(decided: Decision) -> Ask | None:
    """Return the one question that is to be answered, if it is one."""
    asked = decided.candidate.meanings if isinstance(decided, Answer) else ()
    return asked[0] if len(asked) == 1 and isinstance(asked[0], Ask) else None


def _of_vessels(decided: Decision, text: str, moment: TurnContext) -> Decision:
    """Return the question what is in store, where trees were looked for and tanks are named."""
    is_of_trees = isinstance(_asked(decided), TreesSeen | BestTrees | SlowTrees)
    if is_of_trees and _VESSEL.search(text) and "tree" not in text.lower():
        return Answer(weigh((SapStored(),), moment), echo=True)
    return decided


#: Who says this wants to know how it is told or counted, and not what the book has.
_HOW_TO = re.compile(
    r"\b(?:how (?:do|does|can|would|should) (?:i|we|you|it)|can you keep|do i have to|where"
    r"|is there|print|log|keep|track|wrong|fix|off|tell you|to sell)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class _Told:
    """A question that is ``asks``, where it was read as one of ``read`` and has the words ``says``.

    A name in ``read`` is that of a card; ``asks`` makes the question of what was found.
    """

    read: tuple[type[Ask] | str, ...]
    says: re.Pattern[str]
    asks: Callable[[re.Match[str]], Ask]


_ONE_TO_FOUR = {"one": 1, "a single": 1, "two": 2, "three": 3, "four": 4}
_WE = r"(?:we|i|you|she|it|they|any(?:body|one)|some(?:body|one))"


def _says(words: str) -> re.Pattern[str]:
    return re.compile(words, re.IGNORECASE)


#: What is told apart so, the first that fits.
_APART = (
    _Told(
        (Stock, SyrupEstimate, "syrup-in-stock", "selling"),
        _says(
            r"^(?!.*\b(?:left|not|unsold|still)\b)"
            rf".*\b(?:sold|bought|(?:did|have|has) {_WE} sell)\b"
        ),
        lambda _: SyrupGone(why="sold"),
    ),
    _Told(
        (Stock, "syrup-in-stock"),
        _says(r"\bwho(?:m|'s)?\b.*\b(?:got|gotten|had|took|taken|have|has|received)\b"),
        lambda _: SyrupGone(),
    ),
    _Told(
        (Stock, "syrup-in-stock", "prices", "selling"),
        _says(rf"\b(?:took in|taken in|earned|paid|(?:did|have|has) {_WE} (?:earn|take in))\b"),
        lambda _: Money(),
    ),
    _Told(("syrup-in-stock",), _says(""), lambda _: Stock()),
    _Told(("list-my-trees",), _says(r"\bhow many\b"), lambda _: TreeCount()),
    _Told(("list-my-trees",), _says(""), lambda _: TreeList()),
    _Told(
        ("what-i-said-today",),
        _says(r"\b(?:said|say|told|tell|noted|notes?|entries|wrote|written|put|day|morning)\b"),
        lambda _: Said(since="today"),
    ),
    _Told(
        ("how-long-a-season",),
        _says(rf"\bhow many (?:days|times|runs)\b.*\b(?:has|have|did) {_WE}\b"),
        lambda _: SapDays(),
    ),
    _Told(
        (TreeCount,),
        _says(r"\btrees?\b.*\b(one|a single|two|three|four) (?:taps?|spiles?|spouts?|holes?)\b"),
        lambda found: TreeList(count=_ONE_TO_FOUR[found[1].lower()]),
    ),
    _Told(
        (BoilPlan, Before),
        _says(rf"\b(?:did|has|have) {_WE} boil|\bboil(?:ed)? (?:yesterday|last)\b"),
        lambda _: BoilReport(),
    ),
    _Told(
        ("new-season", "keep-two-years"), _says(r"\b(?:compare|better|worse|ahead|than)\b"),
        lambda _: SeasonSummary(),
    ),
    _Told(
        (Before,), _says(r"\bwhen (?:are|will|do|should|must|is)\b.*\bboil"), lambda _: StartBy()
    ),
    _Told(
        ("rescue-off-flavor", "sour-sap", "sap-looks"),
        _says(r"\b(?:is|any|did|has) (?:any |some )?(?:of )?(?:the |our |my )?sap\b(?!.*\bif\b)"),
        lambda _: SapStored(),
    ),
)  # fmt: skip


def _by_words(ask: Ask, text: str) -> Ask | None:
    """Return the question that its words tell from the one it was taken for."""
    if _HOW_TO.search(text):
        return None
    read = ask.topic if isinstance(ask, Advice) else type(ask)
    for one in _APART:
        found = one.says.search(text) if read in one.read else None
        if found is not None:
            return one.asks(found)
    return None


#: From the first day on, where no day is named beside it.
_WHOLE = re.compile(
    r"\b(?:since (?:we|i|it|the (?:start|beginning))|so far|in total|altogether|all together|in all"
    r"|to date|(?:un)?till? now|up to now|overall|from the (?:start|beginning|first)|ever)\b"
    r"(?!.*\b(?:today|this morning|week|day)\b)",
    re.IGNORECASE,
)


#: Words that tell only when it was said.
_TIMED_WORDS = re.compile(
    r"(?:down )?(?:(?:for )?(?:this morning|today|so far)|(?:on )?\w+day|last night)?",
    re.IGNORECASE,
)
_TAPS = re.compile(r"\b(?:spiles?|taps?|spouts?|tapped)\b", re.IGNORECASE)
#: Trees put beside each other.
_BESIDE = re.compile(r"\b(?:more|less|better|worse|than|compared?|versus|vs|against)\b", re.I)


def _of_things(ask: Ask, text: str, pieces: Callable[[], Sequence[Span]]) -> Ask | None:
    """Return a question of all the trees or kinds that are compared, or of no more than words tell.

    "What did we write down this morning" is of no "down this morning".
    """
    if isinstance(ask, Said) and ask.words is not None and _TIMED_WORDS.fullmatch(ask.words):
        return Said(since="today")
    if isinstance(ask, Hangs) and ask.tree is not None and _TAPS.search(text):
        return TreeHistory(tree=ask.tree)
    if isinstance(ask, TreeKinds) and ask.species is not None:
        kinds = {one.value for one in pieces() if one.sort == "species"}
        return TreeKinds() if len(kinds) > 1 else None
    is_of_one = isinstance(ask, TreeSap | TreeHistory | BestTrees | SlowTrees)
    if not is_of_one or not _BESIDE.search(text) or getattr(ask, "trees", None):
        return None
    trees = tuple(dict.fromkeys(one.value for one in pieces() if one.sort == "tree"))
    said = {"span": ask.span, "since": ask.since} if isinstance(ask, TreeSap) else {}
    return TreeSap(trees=trees, **said) if len(trees) > 1 else None


def _of_its_time(ask: Ask, text: str, pieces: Callable[[], Sequence[Span]]) -> Ask | None:
    """Return a question with the time that its words name; None where it has one or takes none."""
    slots = type(ask).model_fields
    is_timed = any(getattr(ask, one, None) not in (None, "today") for one in ("since", "span"))
    if is_timed or not slots.keys() & {"since", "span"}:
        return None
    times = [one for one in pieces() if one.sort in _TIMES]
    found = max(times, key=lambda one: (one.sort in _RUNS, len(one)), default=None)
    if isinstance(ask, SapTotal):
        if found is None or found.value == "today":
            return SapTotal(since="season") if found is None and _WHOLE.search(text) else None
        runs_on = found.sort == "since" or found.value == "yesterday"
        return SapTotal(since=found.value) if runs_on else MadeIn(span=found.value)
    if found is None or (isinstance(ask, Said) and (ask.count or found.value == "today")):
        return None
    if isinstance(ask, Said) and found.sort == "since":
        return Said(tree=ask.tree, vessel=ask.vessel, words=ask.words, since=found.value)
    named: Ask = ask.replace(**{**dict.fromkeys(slots.keys() & {"since"}), "span": found.value})
    return named


_TIMES = frozenset({"since", "span_back", "when"})
#: Pieces of time that are surely what a question is of: "since monday", "last year".
_RUNS = frozenset({"since", "span_back"})


def _of_somebody(decided: Decision, text: str, moment: TurnContext) -> Decision:
    """Return the question what somebody got, where syrup is noted as gone to who is named.

    Only a question that nobody knows becomes one; one that asks where the syrup went, or what it
    brought in, is narrowed to who is named.
    """
    ask = _asked(decided)
    is_of_gone = isinstance(ask, SyrupGone | Money)
    if not is_of_gone and not (isinstance(decided, Reject) and is_question(text)):
        return decided
    name = _named(text, moment) if is_of_gone or _GOT.search(text) else None
    if name is None:
        return decided
    if isinstance(ask, SyrupGone):
        return Answer(weigh((ask.replace(to=name),), moment), echo=True)
    return Answer(weigh((SyrupGone(to=name),), moment), echo=True)


def _named(text: str, moment: TurnContext) -> str | None:
    """Return who of those that got syrup this year is named; none where two are."""
    got = {act.to for _, act in noted(StockOut, None, moment) if act.to}
    said = f" {' '.join(re.findall(r'[a-z]+', text.lower()))} "
    named = [name for name in got if f" {name.lower()} " in said or f" {_one(name)} " in said]
    return named[0] if len(named) == 1 else None


def _one(name: str) -> str:
    """Return "neighbor" of "neighbors"."""
    return name.lower().removesuffix("s")
