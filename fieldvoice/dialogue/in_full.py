"""What was said in short, said in full: "how old is it" of the tank in hand, "six as well".

Words that no reader knows for certain are said anew in other ways that mean the same: without the
words around them that tell nothing, with the thing in hand in place of "it", with the unit that the
amount before had. A way counts only where the exact reader knows it word for word.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from fieldvoice.dialogue.like_before import as_tree, like_before, same_as
from fieldvoice.dialogue.pointing import figure_first, pointed_at, to_both
from fieldvoice.dialogue.told_otherwise import told_otherwise
from fieldvoice.schema.acts import (
    Boil,
    Draw,
    Filter,
    Gather,
    Inspect,
    Pack,
    StockOut,
    Sweetness,
)
from fieldvoice.schema.asks.follow_ups import Verdict
from fieldvoice.schema.asks.sap import Sugar

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Mapping, Sequence

    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.schema import Act, Ask, TreeId

#: Words before and after what is said that tell nothing of it. None denies or asks.
_LEADS = re.compile(
    r"(?:(?:(?:does|do) (?:anybody|anyone|you|we) know|i(?:'d| would) like to know|i want to know"
    r"|(?:can|could) (?:you|anybody|somebody) (?:tell|say)(?: me)?|(?:my |the )?\w+ wants to know"
    r"|tell me|l(?:et me|emme) know"
    r"|ok(?:ay)?|so|and|oh|well|wait|then|now|yeah|right|alright|sorry|hey|look|anyway"
    r"|(?:(?:my|our|the) )?(?!it|i|we|you)\w+ (?:says|said|asks|thinks|reckons|tells me)(?: that)?"
    r"|(?:my|our|the) (?:(?:grand)?(?:son|daughter|father|mother|kids)|boys?|girls?|wife|husband"
    r"|brother|sister|neighbor|uncle|aunt|cousin|nephew|niece|dog|wind)"
    r"(?= (?:got|gathered|collected|brought|emptied|poured|spilled|knocked|tipped|dumped|washed)"
    r"\b.*\b(?:from|off|out of|into|in|bucket|tree|tank)\b)"
    r"(?: that)?|i think|i guess|looks like)\b[\s,:]*)+",
    re.IGNORECASE,
)
_TRAILS = re.compile(
    r"[\s,]*\b(?:too|as well|also|again|now|then|though|already|please|by the way|i think"
    r"|i guess|or so it seems|at the moment|right now|so far today)[\s.!]*$",
    re.IGNORECASE,
)
_BETWEEN = re.compile(r"\b(?:also|just|only|finally|still|all in all|kind of)\s+", re.IGNORECASE)
_DENIES = re.compile(r"no\b[\s,]*", re.IGNORECASE)
#: The walk is over, where there is one.
_ROUND_DONE = re.compile(
    r"(?:\W*(?:(?:ok(?:ay)?|so|and|well|now)\W+)*(?:(?:we(?:'?re| are)|were|i(?:'?m| am)|all)\s+)?"
    r"(?:(?:all )?(?:done|finished|through)(?: (?:here|for (?:today|now)|out here"
    r"|with (?:the|our|my|this) round))?"
    r"|(?:that'?s|that (?:is|was)) (?:it|everything|the lot|every(?: last)? (?:one|tree)"
    r"|all (?:of (?:them|it)|the trees|there is|for (?:today|now)))(?: for (?:today|now))?)\W*)+",
    re.IGNORECASE,
)
_USED_UP = r"gave|sold|ate|used|opened|finished"
_GONE = rf"{_USED_UP}|gave away|took"
_TO_SIX = r"one|two|three|four|five|six"
_TO_TEN = rf"{_TO_SIX}|seven|eight|nine|ten"
#: An amount that may lack its unit: "5", "two and a half".
_AMOUNT = (
    rf"(?:\d+(?:\.\d+)?|(?:a|{_TO_TEN}|eleven|twelve)"
    r"(?: and (?:a half|a quarter|three quarters))?)"
)
#: Jars given or used up without their size, where there is one size alone.
_OF_JARS = re.compile(
    rf"\b({_GONE})\s+(a|an|{_TO_SIX}|\d+)(?: (?:jars?|of them|bottles?))?"
    r"(?=\s+to\b|\s+for\b|\s+away\b|\s*$)",
    re.IGNORECASE,
)
#: The same said of what is left: "ate the last one", "gave it to my daughter".
_OF_THE_LAST = re.compile(
    rf"\b({_GONE})\s+(it|the (?:last|other|only) "
    r"(?:one|two|three|jar|bottle)|the rest(?: of (?:it|them))?)(?= already\b|\s+to\b|\s+for\b"
    r"|\s+away\b|\s*$)",
    re.IGNORECASE,
)
#: Jars that broke, or went to somebody, as they are said of those just packed.
_JARS_THAT = re.compile(
    rf"(?:and )?(?P<count>an?|{_TO_SIX}|\d+|the rest)"
    r"(?: of (?:them|the jars|those))?"
    r"(?: jars?| bottles?)? (?:(?P<lost>broke|cracked|leaked|spoiled)"
    r"|(?:goes|went|is going|are going) (?P<to>to .+))[\s.!]*",
    re.IGNORECASE,
)
#: One of a size, as the speaker and the hearer know it: "gave the quart to my sister".
_THE_ONE = re.compile(
    rf"\b({_USED_UP}|took) the (?:last |other |only )?"
    r"((?:half )?(?:pint|quart|gallon))\b",
    re.IGNORECASE,
)
_SIZE = re.compile(r"\b((?:half )?(?:pint|quart|gallon))s?\b", re.IGNORECASE)
_GAVE_SOMEBODY = re.compile(
    r"^(?:i |we )?gave\s+((?:(?:my|the|our) )?(?!him\b|her\b|them\b|it\b|away\b)[a-z]+)\s+"
    rf"(a|{_TO_SIX}|\d+)(?: (?:jars?|of them|bottles?))?[\s.!]*$",
    re.IGNORECASE,
)
#: Degrees of the night: "minus 4 in the night and plus 7 today", "19 overnight".
_OF_NIGHTS = re.compile(
    r"(?:^|\bplus |\bminus |-)\d+\b.*\b(?:last night|in the night|overnight|during the night)\b",
    re.IGNORECASE,
)
_NIGHT = re.compile(r"\b(?:in the night|during the night|overnight)\b", re.IGNORECASE)
_PLUS = re.compile(r"\bplus (?=\d)", re.IGNORECASE)
_POURED_THOSE = re.compile(
    r"((?:i |we )?(?:put|poured|tipped|emptied|added|pumped)) (?:those|them|these|both)\b",
    re.IGNORECASE,
)
#: As much from each of two.
_MUCH = (
    r"(?P<much>(?:half an?|[\w./]+(?: and (?:a half|a quarter|three quarters))?) "
    r"(?:gallons?|quarts?|pints?|lit(?:re|er)s?))"
)
_INTO = r"(?P<into> (?:into|in|to) .+?)?[\s.!]*"
_EACH = re.compile(
    rf"{_MUCH} each (?:from|off|out of) (?P<one>.+?) and (?P<other>.+?){_INTO}", re.IGNORECASE
)
_THINGS_EACH = re.compile(
    rf"(?P<one>.+?) and (?P<other>.+?)[,:]? (?:gave )?{_MUCH} each{_INTO}", re.IGNORECASE
)
#: After an amount with its unit one without: "tree one gave 6 litres, tree two 5".
_NEXT_AMOUNT = re.compile(
    r"(?:,|\band\b)\s*(?:and )?(?:tree |number )?\w+(?: gave| had| made)?[\s,]+"
    rf"{_AMOUNT}[\s.!]*$",
    re.IGNORECASE,
)
#: What points at the thing in hand.
_POINTS = re.compile(r"\b(?:it|her|him|she|he|there|that one|this one)\b", re.IGNORECASE)
_AT_A_TREE = re.compile(
    r"^(?:the )?([\w\s]+?)'s (bucket|pail|bag|lid|spile|tap)\b(.*)$", re.IGNORECASE
)
_LIKEWISE = re.compile(
    r"^((?:tree |number )?[\w\s]+?)[\s,]*\b(?:as well|too|also|likewise|ditto)[\s.!]*$",
    re.IGNORECASE,
)
_UNITS = re.compile(
    r"\b(gallons?|gals?|quarts?|qts?|pints?|pts?|lit(?:re|er)s?|l|percent|%)(?!\w)", re.IGNORECASE
)
#: A thing, and after it an amount that lacks its unit: "two gave 5". Alone it may be sugar.
_BARE_AMOUNT = re.compile(
    rf"\b(?:gave|had|did|made|got|also|just|only|another)\s+{_AMOUNT}[\s.!]*$", re.IGNORECASE
)
#: After these an amount without more is of syrup.
OF_SYRUP = (Boil, Draw, Filter, Pack)
#: After "should we throw it out".
_DID = re.compile(
    r"(?:ok(?:ay)?\W+)?(?:so )?(?:we|i)(?: just| already)? (?:did|have|did (?:that|it|so)"
    r"|got rid of it)[\s.!]*",
    re.IGNORECASE,
)
#: One thing seen, and in the same breath another like it: "tree six is full, seven too".
_ONE_TOO = re.compile(
    r"(?P<note>.+?)(?:,| and|, and) (?P<what>(?:tree |number )?[\w ]+?),? (?:is )?"
    r"(?:too|as well|also|likewise|the same)[\s.!]*",
    re.IGNORECASE,
)
_HOW_MANY_LEFT = re.compile(
    r"how many(?: of them)?(?: (?:are|do (?:we|i) have|have (?:we|i) (?:got)?|is|'s))?\s*"
    r"(?:there )?(?:still )?(?:left|now)[\s?]*",
    re.IGNORECASE,
)
#: A temperature, and what was drawn off at it.
_DRAWN_AT = re.compile(
    r"(?:it'?s |at )?(?P<degrees>2[12]\d(?:\.\d+)?|10\d(?:\.\d+)?)(?: degrees)?(?: now)?[\s,.;]+"
    r"(?:so )?(?:i |we )?(?:just )?(?:drew|poured|took|ladled|drained|pulled)(?: it)?"
    r"(?: off| out)? (?P<what>.+?)[\s.!]*",
    re.IGNORECASE,
)
#: What syrup just made went in: "that made three half pints", "it's one jar of 250 ml".
_MADE = re.compile(
    r"(?:and )?(?:that|it|this|they|the syrup|all of it|it all)(?:'s| is| was| were)?"
    r"(?: (?:went in(?:to)?|filled(?: up)?|made|makes|gave|gives|came to|fit in(?:to)?))? "
    rf"(?:just |exactly |about )?(?P<what>(?:an?|{_TO_TEN}|\d+) .+?)[\s.!]*",
    re.IGNORECASE,
)
_JARS_OF = re.compile(
    r"(?P<count>\w+) (?:(?:small|little|big|large) )?(?:jars?|bottles?) of (?P<size>.+)", re.I
)
_SAP_THERE = re.compile(
    r"(?:(?:the|its) )?sap(?: in (?:it|there))?(?:'s | (?=is\b|was\b|looks\b))(?:is )?",
    re.IGNORECASE,
)
#: A pan's two sides, mostly told in feet: "24 by 48 inches".
_SIDES = re.compile(
    r"\b(\d+(?:\.\d+)?)(?: ?(?:inch(?:es)?|in|cm|centimet(?:er|re)s?|\"))? ?(?:by|x) ?"
    r"(\d+(?:\.\d+)?) ?(?:(?P<inches>inch(?:es)?\b|in\b|\")|(?:cm|centimet(?:er|re)s?)\b)",
    re.IGNORECASE,
)
_SQCM_PER_SQFT = 30.48**2
_THAT = re.compile(r"\b(is|was|does|will|can|should) (?:that|it)(?: one)?\b", re.IGNORECASE)


#: Whether something was noted, and what it was: in the book's words "what did we note about".
_NOTED = re.compile(
    r"(?:did (?:i|we|you|anybody|anyone) (?:note|write|say|mention|put|tell you)"
    r"(?: down)?(?: anything| something)?(?: (?:about|on|that))?(?: an?| any| the)?"
    r"|what(?:'s|s| is| was) (?:that|noted|written)(?: down)? (?:note )?(?:about|on|with)(?: the)?"
    r"|what(?:'d| did| has| have)? (?:my |our |the )?\w+ (?:write|wrote|written|say|said|note|noted"
    r"|mention|mentioned|tell you|told you|put|enter)(?: down)?"
    r" (?:about|on(?! \w+day\b))(?: the| our| my)?)"
    r" (?P<what>.+?)[\s?.!]*",
    re.IGNORECASE,
)
_NOTES = re.compile(
    r"(?:(?:any|our|my|the) )?notes? (?:on|about|for) (?:the )?(?P<what>.+?)[\s?.!]*",
    re.IGNORECASE,
)
#: What was done is what was noted: "what did mom do on thursday".
_DONE = re.compile(
    r"what(?: all)? (?:did|have) (?:(?:my |our )?\w+)"
    r" (?:do|done|get done|get up to|(?:write|note|put) down|write|note)"
    r" (?P<then>(?:on |last |yesterday|today|this ).*?)[\s?.!]*",
    re.IGNORECASE,
)
#: A number after what was asked of a tree.
_AND_NUMBER = re.compile(
    r"(?:and|what about|how about) (?:number )?(?!\w+ed\b)(\w+(?: (?!it\b|them\b)\w+)?)"
    r"[\s?.!]*",
    re.I,
)


#: After a note of one tree: how it is with the others.
_AND_OTHERS = re.compile(
    r"(?:and|what about|how about) (?:(?:all )?(?:of )?the )?"
    r"(?:others?|other ones|rest|other trees)[\s?.!]*",
    re.I,
)


def is_round_done(text: str) -> bool:
    """Whether somebody on a round says with these words that it is over: "okay, were done"."""
    return _ROUND_DONE.fullmatch(text) is not None


def is_and_what(text: str) -> bool:
    """Whether these words only go on with the question before, of another thing: "and six"."""
    return _AND_NUMBER.fullmatch(text) is not None


def of_the_others(text: str, acts: Sequence[Act], asks: Sequence[Ask]) -> str:
    """Return "and the others" after a note or question of one tree as what is asked of them."""
    told = (*acts, *asks)[-1:]
    if not told or "tree" not in told[0].json_fields() or not _AND_OTHERS.fullmatch(text):
        return text
    if isinstance(told[0], Sweetness | Sugar):
        return "which trees are sweetest"
    return "which trees did i miss" if isinstance(told[0], Gather | Inspect) else text


def with_names(text: str, names: EntityNames) -> str:
    """Return ``text`` with names of several words in full, where their last word stands alone.

    Who called a tree "big bertha" soon says "bertha". A last word that two names have, or that is
    a word of the trade, stays as it is.
    """
    given = [str(one) for one in (*names.trees, *names.vessels)]
    for name in given:
        first, _, last = name.rpartition(" ")
        is_one = sum(other.rpartition(" ")[2] == last for other in given) == 1
        if first and is_one and last not in _COMMON and name not in text.lower():
            text = re.sub(rf"\b{re.escape(last)}\b", name, text, flags=re.IGNORECASE)
        elif first and is_one and last in _HOLDERS and name not in text.lower():
            if any(other.startswith(last) for other in given):  # "barrel 1" beside "blue barrel"
                continue
            the = rf"\bthe {last}\b(?! (?:one|two|three|\d))"
            text = re.sub(the, f"the {name}", text, flags=re.IGNORECASE)
    return text


def with_vessels(text: str, vessels: Collection[str]) -> str:
    """Return ``text`` with "the barrel" as the blue barrel, where ``vessels`` have no other.

    A name written in one word is that of two: "milkcan".
    """
    for name in vessels:
        kind = name.rpartition(" ")[2]
        short = " ".join(name.split()[1:])
        is_one = sum(one == short or one.endswith(f" {short}") for one in vessels) == 1
        if " " in short and is_one and not kind.isdecimal() and name not in text.lower():
            text = re.sub(rf"\bthe {re.escape(short)}\b", f"the {name}", text, flags=re.I)
        if kind != name and not kind.isdecimal():
            text = re.sub(rf"\b{re.escape(name.replace(' ', ''))}\b", name, text, flags=re.I)
        others = [one for one in vessels if kind in one.split()]
        if kind == name or kind.isdecimal() or len(others) > 1 or name in text.lower():
            continue
        text = re.sub(
            rf"\bthe {re.escape(kind)}\b(?! (?:number|\d))", f"the {name}", text, flags=re.I
        )
    return text


#: Last words of names that are said of other things too.
_COMMON = frozenset(
    "tree trees maple maples tank can barrel drum tote pail bucket jug cooler vat pan one two "
    "three top row yard twin half full side big small old new sugar sap syrup".split()
)


#: Of these the only one that the book knows may be called so: "the barrel" is the blue one.
_HOLDERS = frozenset({"can", "barrel", "drum", "tote", "tub", "jug", "cooler"})


@dataclass(frozen=True, slots=True)
class Around:
    """What is known where something is said in short.

    ``thing`` is what is in hand ("tree 9", "tank 1"), ``vessel`` that where it is no tree, ``unit``
    that of the amount told before,
    ``size`` the size of jar that is meant, of which ``left`` are in the pantry; ``walks`` tells
    that a round is under way; ``last`` is the note just before, ``asked`` the question;
    ``seen`` returns what each tree, by its number or name, gave or looked like today ("2 gallons",
    "half full"); ``other`` the one vessel of its kind beside the one in hand. ``asks_tree`` tells
    that the question before was of one tree; ``said`` are the words of the note before.
    """

    thing: str | None = None
    vessel: str | None = None
    unit: str | None = None
    size: str | None = None
    walks: bool = False
    left: int = 0
    last: Act | None = None
    asks_tree: bool = False
    asked: Ask | None = None
    said: str = ""
    seen: Callable[[], Mapping[str, str]] = dict
    other: str | None = None


def in_full(text: str, around: Around, *, is_question: bool) -> Iterator[str]:
    """Yield other ways to say ``text``, those nearest to it first."""
    if around.walks and is_round_done(text):
        yield "that's the round"
    tried = {text}
    short = dict.fromkeys((text, _trimmed(text), _BETWEEN.sub("", _trimmed(text))))
    in_words = partial(told_otherwise, last=around.last, vessel=around.vessel)
    told = [one for bare in short if not is_question for one in in_words(bare)]
    again = [two for one in told for two in in_words(one)]
    for bare in (*short, *told, *again):
        for one in _ways(bare, around, is_question=is_question):
            if one and one not in tried:
                tried.add(one)
                yield one


def _ways(text: str, around: Around, *, is_question: bool) -> Iterator[str]:
    thing = around.thing
    yield text
    yield from _of_questions(text, around)
    if _OF_NIGHTS.search(text):
        by_night = _NIGHT.sub("last night", _PLUS.sub("", text))
        yield by_night
        yield f"it was {by_night}"
    if _POURED_THOSE.match(text):
        yield _POURED_THOSE.sub(r"\1 it", text)
    yield from pointed_at(text, around.last, around.other)
    yield from _of_jars(text, around)
    if is_question and isinstance(around.last, Pack | StockOut) and _HOW_MANY_LEFT.fullmatch(text):
        yield "how many jars are left"
    if not is_question:
        yield from _told(text, around)
    if found := _EACH.fullmatch(text) or _THINGS_EACH.fullmatch(text):
        into = found["into"] or ""
        yield ", ".join(f"{as_tree(found[one])} {found['much']}{into}" for one in ("one", "other"))
    if found := _AT_A_TREE.match(text):
        yield f"the {found[2]} on tree {found[1]}{found[3]}"
    if (found := _LIKEWISE.match(text)) and thing is not None and not is_question:
        yield f"{found[1]} the same"
    said = _UNITS.findall(text)
    known = said[-1] if said else around.unit
    is_bare = _BARE_AMOUNT.search(text) or (said and _NEXT_AMOUNT.search(text))
    if known is not None and is_bare and not is_question:
        yield f"{text.rstrip(' .!')} {known}"
    if thing is not None:
        yield from _of_thing(text, thing, is_question=is_question)


def _of_questions(text: str, around: Around) -> Iterator[str]:
    """Yield whether something was noted as what was, and a number as the tree asked about next."""
    if found := _NOTED.fullmatch(text) or _NOTES.fullmatch(text):
        yield f"what did we note about {found['what']}"
    if found := _DONE.fullmatch(text):
        yield f"what did i say {found['then']}"
    if found := _AND_NUMBER.fullmatch(text):
        if around.asks_tree:
            yield f"and tree {found[1]}"
        kind, _, number = (getattr(around.asked, "vessel", None) or "").rpartition(" ")
        if number.isdecimal():
            yield f"and {kind} {found[1]}"


def _told(text: str, around: Around) -> Iterator[str]:
    """Yield ways to say a note like those before it, or in the measures of the grammar."""
    if "pan" in text.lower() and (sides := _SIDES.search(text)) is not None:
        area = float(sides[1]) * float(sides[2]) / (144 if sides["inches"] else _SQCM_PER_SQFT)
        yield f"{text[: sides.start()]}{area:.2f} square feet{text[sides.end() :]}"
    if found := _ONE_TOO.fullmatch(text):
        yield f"{found['note']}, {as_tree(found['what'])} the same"
    if around.last is not None:
        yield from like_before(text, around.last, around.unit)
        yield from _hung_there(text, around.last, around.said)
    to_dump = around.asked
    if isinstance(to_dump, Verdict) and to_dump.use == "dump" and _DID.fullmatch(text):
        thing = thing_in_hand(to_dump.tree, to_dump.vessel) or around.thing
        yield f"dumped {thing}" if thing is not None else text
    yield from same_as(text, around.seen)
    for one in (text, *pointed_at(text, around.last, around.other)):
        yield from figure_first(one, tests=isinstance(around.last, Sweetness))
    if (both := to_both(text)) is not None:
        yield both
    if found := _DRAWN_AT.fullmatch(text):
        yield f"drew off {found['what']} at {found['degrees']}"
    made = _MADE.fullmatch(text) if isinstance(around.last, OF_SYRUP) else None
    if made is not None:
        yield f"packed {made['what']}"
        if sized := _JARS_OF.fullmatch(made["what"]):
            yield f"packed {sized['count']} {sized['size']} bottles"
            yield f"packed {sized['count']} {sized['size']}"


def _hung_there(text: str, last: Act, said: str) -> Iterator[str]:
    """Yield what hangs again, or now, on the tree of the note before: "hung it back up"."""
    tree = getattr(last, "tree", None)
    found = _HUNG_AGAIN.fullmatch(text) or _SWAPPED.fullmatch(text)
    if tree is None or found is None or getattr(last, "lid", None) == "off":
        return
    named = found.groupdict().get("item") or next(iter(_HANGING.findall(said)), "bucket")
    yield f"a {named} hangs on {thing_in_hand(tree, None)}"


_HANGING = re.compile(r"\b(bucket|pail|bag|jug|can)\b", re.IGNORECASE)
_HUNG_AGAIN = re.compile(
    r"(?:so |and |then )*(?:i |we |dad |mom )?(?:hung|put|got) (?:it|the (?P<item>bucket|pail|bag))"
    r" (?:back up|up again)(?: there| again| now)*[\s.!]*",
    re.IGNORECASE,
)
_SWAPPED = re.compile(
    r"(?:so |and |then )*(?:i |we )?(?:swapped|changed|traded|switched) (?:it|that|the \w+)"
    r" (?:for|with|to) an? (?:new )?(?P<item>bucket|pail|bag)[\s.!]*",
    re.IGNORECASE,
)


def _of_thing(text: str, thing: str, *, is_question: bool) -> Iterator[str]:
    """Yield ``text`` with the thing in hand in place of what points at it."""
    if is_question and _THAT.search(text):
        yield _THAT.sub(rf"\1 {thing}", text)
    if _SAP_THERE.match(text):
        said = _SAP_THERE.sub(f"the sap in {thing} ", text)
        yield re.sub(rf"(in {re.escape(thing)}) at\b", r"\1 is at", said)
    if _OF_SYRUP_SAID.match(text):
        return  # "filtered it and it's still cloudy" is said of no tank
    for place in _POINTS.finditer(text):
        yield f"{text[: place.start()]}{thing}{text[place.end() :]}"


#: What is filtered is syrup, whatever is in hand.
_OF_SYRUP_SAID = re.compile(r"(?:i |we )?filter(?:ed|ing)?\b", re.IGNORECASE)


def _of_jars(text: str, around: Around) -> Iterator[str]:
    """Yield jars with the size that is meant."""
    named = _SIZE.findall(text)
    size = named[-1] if named else around.size
    if found := _THE_ONE.search(text):
        yield f"{text[: found.start()]}{found[1]} one {found[2]}{text[found.end() :]}"
    if size is None:
        return
    if _OF_JARS.search(text):
        yield _OF_JARS.sub(rf"\1 \2 {size}", text)
    if gave := _GAVE_SOMEBODY.match(text):
        yield f"gave {gave[2]} {size} to {gave[1]}"
    if (found := _OF_THE_LAST.search(text)) and (count := _how_many(found[2], around.left)):
        yield f"{text[: found.start()]}{found[1]} {count} {size}{text[found.end() :]}"
    if found := _JARS_THAT.fullmatch(text):
        lost, to = found["lost"], found["to"]
        count = _how_many(found["count"], around.left)
        yield f"{count} {size} {lost}" if lost else f"gave {count} {size} {to}"


def _how_many(said: str, left: int) -> str:
    """Return how many "two", "the last two", "the rest" and "it" are; "" where nobody knows."""
    if said.lower() == "it":
        return "one" if left == 1 else ""
    if said.lower().startswith("the rest"):
        return str(left)
    last = said.split()[-1]
    return "one" if last.lower() in ("one", "jar", "bottle") else last


def _trimmed(text: str) -> str:
    denied = _DENIES.match(text)
    rest = text[denied.end() :] if denied else text
    led = _LEADS.match(rest)
    rest = rest[led.end() :] if led else rest
    return ("no " if denied else "") + _TRAILS.sub("", rest)


def thing_in_hand(tree: TreeId | None, vessel: str | None) -> str | None:
    """Return how the tree or vessel in hand is called."""
    if tree is not None:
        return f"tree {tree}" if isinstance(tree, int) else str(tree)
    return vessel


def unit_in(text: str) -> str | None:
    """Return the last unit of an amount that ``text`` names, as it is written there."""
    return next(reversed(_UNITS.findall(text)), None)


def pointed_out(text: str, thing: str | None) -> str:
    """Return ``text`` with the thing in hand in place of the first word that points at it."""
    return text if thing is None else _POINTS.sub(thing, text, count=1)
