"""What the headings of other people's columns stand for.

A heading may stand for several things; which one is meant follows from the table that it is in
(``Kind``) and from what stands in the column.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, get_args

from fieldvoice.spreadsheet.amounts import kind_of, unit_named
from fieldvoice.spreadsheet.wordings import size

#: What a column holds.
Role = Literal[
    "date", "time", "year", "month", "day number", "tree", "place", "vessel", "sap", "fill",
    "look", "sugar", "temperature", "low", "high", "diameter", "girth", "species", "taps", "side",
    "health", "boiled", "fire lit", "fire out", "syrup", "draw temperature", "wood", "jars",
    "size", "colour", "fill temperature", "to", "price", "price each", "why", "remark",
]  # fmt: skip
ROLES: tuple[Role, ...] = get_args(Role)

#: What a table is about.
Kind = Literal["sap", "trees", "boils", "jars", "sales", "weather"]

#: What each role measures, where it is a quantity.
MEASURES: dict[Role, str] = {
    "sap": "volume", "boiled": "volume", "syrup": "volume", "diameter": "length",
    "girth": "length", "temperature": "temperature", "low": "temperature", "high": "temperature",
    "draw temperature": "temperature", "fill temperature": "temperature", "sugar": "share",
    "wood": "wood",
}  # fmt: skip
#: The roles whose cells are numbers.
NUMBERS = frozenset((*MEASURES, "taps", "jars", "price", "price each", "year", "day number"))


@dataclass(frozen=True, slots=True)
class Heading:
    """What a heading may stand for, the likeliest first, and the unit that it names."""

    roles: tuple[Role, ...]
    unit: str | None = None


#: The whole heading, without its unit and marks, against what it may stand for. The order matters:
#: the first that fits counts.
_KNOWN: tuple[tuple[str, tuple[Role, ...]], ...] = (
    (r"(the )?(date|day|when|datum|jour)s?( and time| time| of.*|local|time)?", ("date",)),
    (r"date (collected|gathered|boiled|packed|sold|bottled|tapped|measured|checked)", ("date",)),
    (r"year", ("year",)),
    (r"month", ("month",)),
    (r"day (no|number)", ("day number",)),
    (r"(time|hour|clock|heure|uhrzeit)( of day| collected)?", ("time", "date")),
    (r"(fire lit|lit|start(ed)?|start time|began|fire on)", ("fire lit",)),
    (r"(fire out|stop(ped)?|end(ed)?|end time|stop time|finish(ed)? at)", ("fire out",)),
    (r"(the )?(tree|arbre|baum|maple)s?( id| name| tag)?( no| nr| number)?", ("tree",)),
    (r"(tree |tag |bucket |pail )(no|nr|number|id|tag)|pail|tag", ("tree",)),
    (r"bucket", ("tree",)),
    (r"no|nr|number|id", ("tree", "jars")),
    (r"min|low|lows|minimum|t ?min|lowest|night(ly)?( low)?|overnight( low)?|"
     r"(low|min(imum)?)( air)? temp(erature)?|temp(erature)?( air)? (low|min(imum)?)|daily low",
     ("low",)),
    (r"max|high|highs|maximum|t ?max|highest|day(time)? high|"
     r"(high|max(imum)?)( air)? temp(erature)?|temp(erature)?( air)? (high|max(imum)?)|daily high",
     ("high",)),
    (r"(girth|circumference|circ|around|distance around)( at.*)?", ("girth",)),
    (r"(diameter|dbh|diam?|across|inches across|trunk|trunk size|width)( at.*)?", ("diameter",)),
    (r"(species|kind|variety|maple type|sort|tree type|essence)( of (tree|maple))?", ("species",)),
    (r"type", ("species", "why", "size")),
    (r"(taps?|holes?|spiles?|spouts?|buckets|entailles)( count| set| in)?|(no|nr|number) (of )?"
     r"(taps|holes|spiles|spouts|buckets)", ("taps",)),
    (r"(side|facing|direction|aspect|compass)( of (tree|trunk))?", ("side",)),
    (r"(health|tree (condition|health)|vigou?r|tree state)", ("health", "remark")),
    (r"condition|state", ("look", "health", "remark")),
    (r"draw ?(off)?( at| temp(erature)?)|temp(erature)? (drawn|at draw|of syrup|off)( off)?|"
     r"(syrup|finish(ing|ed)?|final|off) temp(erature)?",
     ("draw temperature",)),
    (r"draw(n)?( off)?", ("syrup", "draw temperature")),
    (r"(fill(ing)?|bottl(e|ing)|pack(ing)?|canning|jar) temp(erature)?", ("fill temperature",)),
    (r"(sap |sample |tank |air )?temp(erature)?s?( 2 ?m| air)?", ("temperature",)),
    (r"(sap )?(sugar|brix|sweet(ness)?|sugar content|sucre|zucker|test)( content| test| reading)?"
     r"( percent)?", ("sugar",)),
    (r"percent", ("sugar",)),
    (r"(how )?(it )?(look(ed|s)?|appearance|clarity|sap (look|condition|quality|clarity))"
     r"( it looked| of sap)?|how (it|the sap) looked|quality", ("look", "remark")),
    (r"(how full|full(ness)?|fill(ed)?|level|bucket level)( it was)?", ("fill",)),
    (r"wood( used| burn(ed|t))?|cords?|fuel|firewood", ("wood",)),
    (r"(sap )?(boiled|evaporated|cooked)( down)?( sap)?|sap (in(to)?( pan)?|used|processed)|"
     r"(in|into)( the)? pan|boil volume", ("boiled",)),
    (r"(finished |total )?syrup( made| out| drawn| yield| produced| off)?|made|"
     r"produced|finished|sirop|sirup", ("syrup",)),
    (r"(fill(ed)? into|into|poured into|stored in|tank|vessel|container|barrel|tote|storage|"
     r"collection tank|went into)( no| number)?", ("vessel",)),
    (r"(from|place|area|where|location|section|stand|site|row|woods|lot|bush)", ("place",)),
    (r"(sold |given |went )?to( whom)?|who|whom|customer|buyer|recipient|for whom|client|name|"
     r"person|family", ("to",)),
    (r"price each|each|unit price|price per.*|per jar", ("price each",)),
    (r"(total )?(price|paid|cost|received|dollars|money|cash|amount paid|revenue|income|sales)"
     r"( paid)?", ("price",)),
    (r"how|why|reason|sold or given|sale or gift|sold given|what for", ("why", "look")),
    (r"(jar|bottle|container) size|size", ("size", "diameter")),
    (r"colou?r|grade|colou?r grade|grade colou?r", ("colour", "look")),
    (r"(jars?|bottles?|containers?|qty|count|how many|pieces|units)( filled| sold| packed)?|"
     r"(no|number) of (jars|bottles|containers)", ("jars", "sap")),
    (r"(total )?(sap |amount |volume )?(collected|gathered|collection|harvest(ed)?|run|hauled|"
     r"picked up|emptied|récolté)( sap| of sap| volume| amount)?", ("sap",)),
    (r"(total )?(sap|amount|volume|quantity|yield|how much|eau|saft)( (of )?sap| amount| volume|"
     r" total| yield)?", ("sap", "boiled")),
    (r"(field )?(notes?|remarks?|comments?|observations?|memos?|remarques?|bemerkung(en)?|misc|"
     r"other|details|what happened)( and .*)?", ("remark",)),
)  # fmt: skip
#: Headings that are a unit alone.
_BY_UNIT: dict[str, tuple[Role, ...]] = {
    "volume": ("sap", "syrup", "boiled"), "length": ("diameter",),
    "temperature": ("temperature",), "share": ("sugar",), "wood": ("wood",),
}  # fmt: skip
_UNIT_AFTER = re.compile(
    r"(?:[\(\[]\s*(?:in\s+)?(?P<brackets>[^)\]]*)[\)\]]|,\s*(?P<comma>[\w°%\"]+)|\s+in\s+(?P<in>\w+)"
    r"|(?:\s|_)(?P<last>[\w°%]+))\s*$"
)
#: The headings of sums, which are left out.
SUMS = re.compile(
    r"(?:(?:grand|season|sub|year|month|week|day)[\s-]*)?(?:totals?|sums?|summe|somme|averages?|avg|"
    r"mean|median|max|min|count|carried forward|brought forward|carried over|balance|running total|"
    r"cumulative)(?: of .*| for .*| sap| gal| gallons| litres)?:?",
    re.I,
)


@lru_cache(4096)
def heading(text: str) -> Heading | None:
    """Return what a heading may stand for; None where it is not known."""
    plain, unit = _apart(text)
    return _known(plain, unit) or _known(_plain(text), None)


def _known(plain: str, unit: str | None) -> Heading | None:
    if not plain and unit:
        return Heading(_BY_UNIT[kind_of(unit)], unit)
    for pattern, roles in _KNOWN:
        measured = tuple(role for role in roles if _can_be_in(role, unit))
        if measured and re.fullmatch(pattern, plain):
            return Heading(measured, unit)
    alone = unit_named(plain)
    return Heading(_BY_UNIT[kind_of(alone)], alone) if alone else None


def _can_be_in(role: Role, unit: str | None) -> bool:
    return unit is None or role not in NUMBERS or MEASURES.get(role) == kind_of(unit)


def _apart(text: str) -> tuple[str, str | None]:
    """Return a heading in plain words, and the unit at its end."""
    found = _UNIT_AFTER.search(text.strip())
    if found:
        named = unit_named(next(filter(None, found.groups()), ""))
        if named:
            return _plain(text[: found.start()]), named
        if found["brackets"] is not None:
            return _plain(text[: found.start()]), None
    first, _, rest = text.strip().partition(" ")
    named = unit_named(first) if rest else None
    if named and kind_of(named) in ("volume", "wood", "share"):
        return _plain(rest.removeprefix("of ")), named
    return _plain(text), None


def _plain(text: str) -> str:
    """Return a heading as ``_KNOWN`` has them: small letters, no marks, "#" as a number."""
    words = re.sub(r"#|№|n°", " no ", text.casefold())
    words = re.sub(r"(?<=[a-z])(?=no\b)|[^\w%°]+|_", " ", words).replace("%", " percent ")
    return " ".join(words.split())


def jar_size(text: str) -> str | None:
    """Return the size of jars that heads a column of its own: "Pints", "½ pints", "250 ml"."""
    return size(re.sub(r"(?i)\b(number|no|#)\b( of)?|\bsold|\bfilled|\bpacked", "", text).strip())


def tree_label(text: str) -> int | None:
    """Return the number of the tree that heads a column of its own: "T4", "Tree 4", "#4", "4"."""
    found = re.fullmatch(
        r"(?:t|tree|arbre|bucket|maple|no\.?|#)?[\s.#-]*(\d{1,3})", text.strip(), re.I
    )
    return int(found[1]) if found else None
