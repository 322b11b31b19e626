"""Which question is meant by words beside those that it was read by: one table, line by line.

A reader finds what a question is about; a word that it passes over may ask something else about it:
"did we *sell* any syrup" is not of what is in stock, "when did we *test* tree one" of no visit.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fieldvoice.schema.asks.boiling import (
    BoilReport,
    BoilTime,
    FuelNeeded,
    PlanRest,
    SyrupEstimate,
)
from fieldvoice.schema.asks.follow_ups import AmountThen, InUnits
from fieldvoice.schema.asks.past import MadeIn, Money, WeatherNoted, WoodBurned
from fieldvoice.schema.asks.places import Hangs, TreeList, WhenTapped
from fieldvoice.schema.asks.sap import (
    SapDays,
    SapStored,
    SapTotal,
    Sugar,
    VesselLevel,
)
from fieldvoice.schema.asks.season import (
    Advice,
    Said,
    SeasonSummary,
    TimeToStop,
    TimeToTap,
)
from fieldvoice.schema.asks.syrup import Stock, SyrupGone
from fieldvoice.schema.asks.trees import (
    BestTrees,
    LastVisit,
    MissedTrees,
    SlowTrees,
    SweetestTrees,
    TapLimit,
    TreeCount,
    TreeHistory,
    TreeSap,
    TreeSizes,
    TreesSeen,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.schema import Ask

#: What no reader knows is read as this.
NOBODY = "nobody knows"


@dataclass(frozen=True, slots=True)
class _Meant:
    """What is asked (``asks``), where it was read as one of ``read`` and its words are ``says``.

    A name in ``read`` is that of a card. ``asks`` is given what was found, and the tree or vessel
    that the question names.
    """

    read: tuple[type[Ask] | str, ...]
    says: str
    asks: Callable[[re.Match[str], dict[str, Any]], Ask]


_WE = r"(?:we|i|you|she|it|they|he|mom|dad|any(?:body|one)|some(?:body|one))"
#: Who says this wants to know how it is told or counted, and not what the book has.
_HOW_TO = re.compile(
    r"\b(?:how (?:do|does|can|would|should) (?:i|we|you|it)|can you keep|do i have to|where do"
    r"|print|log|keep|track|fix|off|tell you|to sell)\b",
    re.IGNORECASE,
)
_SYRUP = (Stock, SyrupEstimate, "syrup-in-stock", "selling", "prices", "is-it-worth-it")

_TABLE = (
    # what became of the syrup, and what came in for it
    _Meant(
        _SYRUP,
        r"^(?!.*\b(?:left|not|unsold|still)\b)"
        rf".*\b(?:sold|bought|(?:did|have|has|when'?d) {_WE} (?:ever |last )?sell)\b",
        lambda *_: SyrupGone(why="sold"),
    ),
    _Meant(
        (*_SYRUP, NOBODY),
        r"\bwho(?:m|'s)?\b.*\b(?:jar|pint|quart|syrup|bottle)\b.*\b(?:got|gotten|had|took|taken|have"
        r"|has|received)\b|\bwho(?:m|'s)?\b.*\b(?:got|gotten|had|took|taken|has|gave|given|received)\b.*\b(?:"
        r"jars?|pints?|quarts?|syrup|bottles?)\b|\b(?:pint|jar|quart)\b.*\bwho\b.*\bto\b",
        lambda *_: SyrupGone(),
    ),
    _Meant(
        _SYRUP,
        rf"\b(?:took in|taken in|earned|paid|(?:did|have|has) {_WE} (?:earn|take in))\b"
        r"|^(?:our |the )?(?:money|cash|income|sales|earnings)\b.{0,12}$",
        lambda *_: Money(),
    ),
    _Meant(
        (InUnits, NOBODY),
        r"\b(?:jars|pints|quarts|syrup|bottles)\b.*\bsold\b",
        lambda *_: SyrupGone(why="sold"),
    ),
    _Meant(("syrup-in-stock",), "", lambda *_: Stock()),
    _Meant((PlanRest,), r"\b(?:syrup|jars?|pints?|quarts?)\b", lambda *_: Stock()),
    _Meant(
        (SeasonSummary, "look-back", "will-it-be-a-good-year", NOBODY),
        r"\b(?:how (?:much|many (?:gallons|quarts|pints|liters|litres) of)|what) syrup"
        rf" (?:did|have|has) {_WE} (?:make|made|get|got|draw|drawn)\b",
        lambda *_: MadeIn(),
    ),
    _Meant(
        (Money,),
        r"^(?!.*\b(?:money|dollars?|bucks|cash|earn\w*|sales|sold|profit)\b).*\bend(?:ed)? up"
        r" (?:making|with)\b",
        lambda *_: MadeIn(),
    ),
    # trees, counted and listed
    _Meant(
        (MissedTrees,), r"\b(?:tapped|(?:taps?|spiles?)(?: still)? in)\b",
        lambda *_: TreeList(tapped=True),
    ),
    _Meant(
        ("yield-a-tap",), r"\b(?:by|per|each|every) tree\b|\btree by tree\b",
        lambda *_: BestTrees(),
    ),
    _Meant(
        ("look-back",), r"\b(?:which|what)(?: \w+)? trees?\b|^best trees?\b", lambda *_: BestTrees()
    ),
    _Meant((NOBODY,), r"^not (?:emptied|visited)\b", lambda *_: MissedTrees()),
    _Meant((TreeList,), r"^(?:the |our |all )?tapped trees", lambda *_: TreeList(tapped=True)),
    _Meant(("list-my-trees",), r"^(?!.*\b(?:where|is there)\b)", lambda *_: TreeList()),
    _Meant(
        (SlowTrees, TreesSeen),
        r"\bnothing\b.*\b(?:today|yet)\b"
        r"|\bleft to (?:empty|visit|see|check|look at|gather|collect|do)\b",
        lambda *_: MissedTrees(),
    ),
    _Meant(
        (TimeToTap,),
        r"^(?!.*\b(?:should|can|shall|could)\b)"
        rf".*\b(?:tapped|when(?: did|'d) {_WE} (?:start |begin )?(?:to )?tap(?:ping)?)\b",
        lambda *_: WhenTapped(),
    ),
    _Meant(
        (Sugar, TreeSap, TreeHistory, BestTrees, NOBODY),
        r"\b(?:sweeter|(?:more|less) sweet)\b|\bwho\b.*\bsweetest\b",
        lambda *_: SweetestTrees(),
    ),
    # one tree
    _Meant(
        (TimeToTap,), r"\btap (?:it|him|her|(?:that|this) one)\b|\b(?:it|he|she) worth tapping\b",
        lambda _, thing: TapLimit(**thing),
    ),
    _Meant(
        (TreeHistory, TreeSap, NOBODY),
        r"^who(?:'s| was| is| has| had)?\b.*\b(?:last|at|checked|visited|saw|emptied)\b",
        lambda _, thing: LastVisit(**thing),
    ),
    _Meant(
        (TreeSap, TreeHistory, NOBODY),
        r"\b(?:thicker|fatter|wider|(?:more|less) thick)\b",
        lambda *_: TreeSizes(),
    ),
    _Meant((LastVisit,), r"\b(?:test(?:ed)?|sugar|brix)\b", lambda _, thing: Sugar(**thing)),
    _Meant(
        (LastVisit,), r"\bhow (?:many times|often)\b",
        lambda _, thing: Said(**thing),
    ),
    _Meant(
        (Hangs,),
        r"\b(?:spiles?|taps?|spouts?|tapped)\b",
        lambda _, thing: TreeHistory(**thing) if thing else TreeCount(),
    ),
    _Meant(
        (LastVisit,),
        r"\b(?:sap|gallons?|gal|gave|give)\b",
        lambda _, thing: TreeSap(**thing),
    ),
    # sap in store, and the days that it came in
    _Meant(
        (NOBODY,),
        r"^(?!.*\bby the end\b)"
        r".*\b(?:collected|gathered|brought in|hauled|did .*\b(?:collect|gather|bring in|haul))\b",
        lambda *_: SapTotal(),
    ),
    _Meant(
        (NOBODY, VesselLevel), r"\bin (?:each|every|all)(?: of)?(?: the| our)?\b",
        lambda *_: SapStored(),
    ),
    # the boil
    _Meant(
        (FuelNeeded,),
        r"\b(?:did|has|have) (?:that|it|this|we|i|the (?:last )?boil)\b"
        r"|\b(?:used|burned|burnt|gone through|went through)\b",
        lambda *_: WoodBurned(),
    ),
    _Meant(
        (SapDays, NOBODY), rf"\bhow long (?:were|was) {_WE} (?:at it|boiling|going|on it)\b",
        lambda *_: BoilReport(),
    ),
    _Meant(
        (NOBODY, TimeToStop),
        r"^(?:so |and )?how (?:much (?:longer|more time)|long (?:to go|left|still))\W*$",
        lambda *_: BoilTime(),
    ),
    _Meant((AmountThen,), r"\b(?:wood|fuel|propane)\b", lambda *_: FuelNeeded()),
    _Meant((BoilTime,), r"\b(?:did|has) (?:it|that|this|we)\b.*\btak", lambda *_: BoilReport()),
    _Meant(
        (NOBODY,),
        r"^(?!.*\b(?:going to|will|should)\b)"
        r".*(?:\b(?:last|lst|when|date)\b.*\bboil(?:ed)?\b|\bboil\b.*\b(?:last|when|date)\b)",
        lambda *_: BoilReport(),
    ),
    # the season, the weather, and what was said
    _Meant(
        (SapTotal, SeasonSummary, NOBODY),
        r"\b(?:against|versus|vs|than|beside|compared? (?:to|with))\b.*\blast week\b",
        lambda *_: SapTotal(since="last week"),
    ),
    _Meant(
        (SapTotal, SeasonSummary, MadeIn, "what-i-said-today", NOBODY),
        r"\b(?:summary|summarize|sum up|recap|wrap up|rundown|overview)\b"
        r".*\b(?:the day|my day|our day|today)\b",
        lambda *_: Said(since="today"),
    ),
    _Meant(
        (Said,), r"\b(?:temperatures?|temps?|weather|thermometer)\b", lambda *_: WeatherNoted()
    ),
    _Meant((Said,), r"^what(?:'s| has)?(?: all)? happened today\b", lambda *_: Said(since="today")),
    _Meant(
        ("keep-two-years", "will-it-be-a-good-year", NOBODY),
        r"^(?!.*\btree\b).*\bthis (?:year|season)\b.*\blast\b",
        lambda *_: SeasonSummary(),
    ),
    _Meant(
        ("what-i-said-today",),
        r"^(?!.*\b(?:where|is there)\b)"
        r".*\b(?:said|say|told|tell|noted|notes?|entries|wrote|written|put|day|morning)\b",
        lambda *_: Said(since="today"),
    ),
)  # fmt: skip
_ROWS = [(one, re.compile(one.says, re.IGNORECASE)) for one in _TABLE]


def asked_otherwise(ask: Ask | None, text: str, thing: dict[str, Any]) -> Ask | None:
    """Return what ``text`` asks, where that is something else than the ``ask`` it was read as.

    None was read where nobody knows it. ``thing`` is the one tree or vessel that it names.
    """
    if _HOW_TO.search(text):
        return None
    read = {NOBODY} if ask is None else {type(ask)}
    if isinstance(ask, Advice):
        read = {ask.topic or ""}
    for one, says in _ROWS:
        found = None if read.isdisjoint(one.read) else says.search(text)
        if found is not None:
            return one.asks(found, thing)
    return None
