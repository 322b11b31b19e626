"""What is said like the note before it, said in full: "another quart", "tree two the same".

A way is only words: it counts where the exact reader knows it word for word.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.dialogue.numbers_said import NUMBER_OR_PART
from fieldvoice.nlu.normalise import words_of
from fieldvoice.rules.sugar import LITRES_PER_GAL
from fieldvoice.schema.acts import (
    Boil,
    Clean,
    Draw,
    Dump,
    Gather,
    Hang,
    Pack,
    Pan,
    Pull,
    Reading,
    Skip,
    StockOut,
    Store,
    Tap,
    Transfer,
    Vessel,
    Weather,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from fieldvoice.schema import Act

_UNIT = r"(?:gallons?|gals?|quarts?|qts?|pints?|pts?|cups?|half pints?|lit(?:re|er)s?|ml|l)"
_MORE = re.compile(
    rf"(?:and |then |plus )*(?:(?:another|one more) (?:{NUMBER_OR_PART} )?|{NUMBER_OR_PART} more )"
    rf"(?P<unit>(?:and a half )?{_UNIT}\b.*)",
    re.IGNORECASE,
)
_FIRST_NUMBER = re.compile(rf"\b{NUMBER_OR_PART}\b", re.IGNORECASE)
_AND_SOME = re.compile(
    rf"(?:and |then |plus |again )+(?P<what>{NUMBER_OR_PART}\b.*?)(?: more)?[\s.!]*", re.IGNORECASE
)
_SAME_AMOUNT = re.compile(
    r"(?:and )?(?P<what>.+?)[\s,]*(?:is |was |gave |had )?(?:the )?same(?: amount| again)?[\s.!]*",
    re.IGNORECASE,
)
_SAME_FOR = re.compile(
    r"(?:and )?(?:the )?same(?: amount| again)? (?:for|from|on|at) (?P<what>.+?)[\s.!]*",
    re.IGNORECASE,
)
_TOO = re.compile(
    r"(?:and )?(?P<what>.+?)[\s,]*\b(?:as well|too|also|likewise|ditto)[\s.!]*", re.IGNORECASE
)
_FROM_ONE = re.compile(
    rf"(?:and )?(?P<amount>{NUMBER_OR_PART}) (?P<rest>(?:from|off|out of) .+)", re.I
)
#: A tree and a number in words: amid a gathering an amount of the unit before.
_AFTER_A_THING = re.compile(
    rf"(?:(?:tree |number )?[\w ]+?[,:]\s*|tree \w+ )(?:{NUMBER_OR_PART})"
    r"(?: and (?:a half|a quarter|three quarters))?[\s.!]*",
    re.IGNORECASE,
)
_ALL_OF = re.compile(
    rf"(?:and |then )*(?P<what>(?:all of|half of|the rest of|{NUMBER_OR_PART}(?: {_UNIT})? from)"
    r" .+?)(?: too| as well| also)?[\s.!]*",
    re.IGNORECASE,
)
_THEN = re.compile(r"(?:and )?(?:then|next|after that) (?P<what>.+?)[\s.!]*", re.IGNORECASE)
_INTO = re.compile(r"\b(?:in|into|to)\b", re.IGNORECASE)
_IN_TOO = re.compile(
    r"(?:and )?(?:then )?(?:poured|put|added|dumped|adding|pouring|putting) (?P<what>.+?) in"
    r"(?: too| as well| also| now)?[\s.!]*",
    re.IGNORECASE,
)
_FED_FROM = re.compile(
    r"(?:and |we're |i'm )*(?:taking|drawing|using|feeding|running|pulling)(?: it| sap)?"
    r" (?:from|off|out of) (?P<what>.+?)(?: first)?[\s.!]*",
    re.IGNORECASE,
)
_ADDED = re.compile(
    r"(?:and |i |we )*(?:added|(?:put|poured|dumped|tipped|threw|chucked) in"
    r"|topped (?:it |the pan )?up with|fed it)"
    rf"(?: another)? (?P<much>{NUMBER_OR_PART} (?:more )?{_UNIT})(?: more)?"
    r"(?P<of> (?:from|out of|off) .+?)?[\s.!]*",
    re.IGNORECASE,
)
_COLOUR = re.compile(
    r"(?:(?:it|they|that|those|the syrup|all of it)\s*"
    r"(?:is|'s|was|were|are|'re|looks|came out)\s+)?"
    r"(?:nice and light,? |all |quite |pretty |really |rather |a bit |nice )*"
    r"(?P<what>(?:very )?dark|amber|golden|(?:light |medium )amber)[\s.!]*",
    re.IGNORECASE,
)
_TO_SOMEBODY = re.compile(
    rf"(?:and |then )*(?P<what>{NUMBER_OR_PART}(?: of them| jars?| bottles?)?) (?:went |goes )?"
    r"(?P<rest>(?:to|for) .+?)[\s.!]*",
    re.IGNORECASE,
)


def like_before(text: str, last: Act, unit: str | None) -> Iterator[str]:
    """Yield ways to say ``text`` as the note ``last`` before it was said."""
    for kind, ways in _WAYS.items():
        if isinstance(last, kind):
            yield from ways(text, last, unit)


def same_as(text: str, seen: Callable[[], Mapping[str, str]]) -> Iterator[str]:
    """Yield a tree that is the same as another, with what the other gave or looked like today.

    ``seen`` returns that for each tree, by its number or name.
    """
    found = _SAME_AS.fullmatch(text)
    if found is None:
        return
    other = words_of(re.sub(r"^(?:the |tree |number )+", "", found["other"], flags=re.IGNORECASE))
    for tree, told in seen().items():
        if words_of(tree) in (other, (*other, "tree")):
            yield f"{as_tree(found['what'])} {told}"


def anew_like(text: str, last: Act, said: str) -> Iterator[str]:
    """Yield ways to say what is put right in the note ``last`` by itself: "half pints", "dark".

    ``said`` are the words of that note.
    """
    if _BELOW_ZERO.match(text):
        yield from _colder(
            text if _CELSIUS.search(said) is None else f"{text} degrees celsius", last
        )
    count, size = getattr(last, "count", None), getattr(last, "size", None)
    if count is None or size is None:
        return
    price = f"{text} dollars" if _PRICE.fullmatch(text) else text
    verb = "packed" if isinstance(last, Pack) else _verb_of(last)
    yield f"{verb} {text}"
    yield f"{verb} {count} {text}"
    yield f"{verb} {count} {size} {price}"
    yield f"{verb} {count} {size} of {text}"


def _colder(text: str, last: Act) -> Iterator[str]:
    """Yield degrees below zero of what ``last`` told them: "minus four" of a night or a tank."""
    if isinstance(last, Weather):
        yield f"low of {text}" if last.low_f is not None else f"high of {text}"
    elif isinstance(last, Reading) and last.temp_f is not None:
        yield f"{last.vessel} is at {text}"


_CELSIUS = re.compile(r"\bcelsius\b|\d ?°? ?c\b", re.IGNORECASE)
_BELOW_ZERO = re.compile(r"(?:minus |negative |-)\s*\w", re.IGNORECASE)

_PRICE = re.compile(r"for [\w ]+(?<!dollars)(?<!bucks)", re.IGNORECASE)


def is_likewise(text: str) -> bool:
    """Whether nothing is said but that a thing is as the one before: "tree two as well"."""
    return any(one.fullmatch(text) for one in (_TOO, _SAME_AMOUNT, _SAME_FOR, _SAME_AS, _THEN))


def _drawn(text: str, _: Act, __: str | None) -> Iterator[str]:
    yield from (f"drew off {more}" for more in _more(text))


def _packed(text: str, last: Act, _: str | None) -> Iterator[str]:
    if found := _TO_SOMEBODY.fullmatch(text):
        count, size = found["what"].split()[0], getattr(last, "size", None)
        yield f"gave {count} {size} {found['rest']}"
    yield from (f"packed {more}" for more in _more(text))
    if found := _COLOUR.fullmatch(text):
        yield f"no {found['what']}"


def _poured(text: str, last: Act, _: str | None) -> Iterator[str]:
    for more in _more(text):  # "and four in the barrel" names another one
        is_named = _INTO.search(more) is not None
        yield (
            f"poured {more}" if is_named else f"poured {more} into {getattr(last, 'vessel', None)}"
        )


def _moved(text: str, last: Act, unit: str | None) -> Iterator[str]:
    found = _ALL_OF.fullmatch(text)
    into = getattr(last, "into", None)
    if found and into is not None:
        what = re.sub(rf"^({NUMBER_OR_PART}) from", rf"\1 {unit or 'gallons'} from", found["what"])
        yield f"moved {what} into {into}"
    vessel = getattr(last, "vessel", None)
    if vessel is not None and into is not None:
        yield from (f"moved {more} from {vessel} into {into}" for more in _more(text))


def _boiled(text: str, _: Act, __: str | None) -> Iterator[str]:
    if found := _THEN.fullmatch(text) or _IN_TOO.fullmatch(text):
        yield f"putting {found['what']} in the pan"
    if found := _ADDED.fullmatch(text):
        yield f"boiled {found['much']}{found['of'] or ''}"
    if found := _FED_FROM.fullmatch(text):
        yield f"boiling {found['what']}"


def _hung(text: str, last: Act, _: str | None) -> Iterator[str]:
    tree, item = getattr(last, "tree", None), getattr(last, "item", None)
    if (found := _HOLDS.fullmatch(text)) and tree is not None and item is not None:
        yield f"a {found['size']} gallon {item} hangs on tree {tree}"


_SAME_AS = re.compile(
    r"(?:and )?(?P<what>.+?)(?:,| is| was| looks)? (?:the )?same as (?P<other>.+?)[\s.!]*",
    re.IGNORECASE,
)
_HOLDS = re.compile(
    rf"(?:it|that|the new one|that one) (?:holds|takes|is) (?:a )?"
    rf"(?P<size>{NUMBER_OR_PART}) gallons?(?: one| bucket)?[\s.!]*",
    re.IGNORECASE,
)


def _gone(text: str, last: Act, _: str | None) -> Iterator[str]:
    verb, size = _verb_of(last), getattr(last, "size", None)
    if found := _TO_SOMEBODY.fullmatch(text):
        count = found["what"].split()[0]
        verb = verb if verb in ("sold", "gave") else "gave"
        yield f"{verb} {count} {size} {found['rest']}"
        yield f"gave {count} {size} {re.sub('^for ', 'to ', found['rest'])}"
    yield from (f"{verb} {more}" for more in _more(text))


def _verb_of(last: Act) -> str:
    """Return how jars went, as it is said: "gave" where it was not told."""
    return _DONE.get(getattr(last, "why", None) or "", "gave")


def _sized(text: str, last: Act, _: str | None) -> Iterator[str]:
    """Yield another vessel as large as the one before."""
    size = getattr(last, "capacity_gal", None)
    if size is not None and (found := _AS_LARGE.fullmatch(text)):
        yield f"{found['what']} can hold {size:g} gallons"


_AS_LARGE = re.compile(
    r"(?:and )?(?P<what>.+?)(?: is| holds|'s)?"
    r" (?:the same(?: size| again)?|too|as well|as big|as much)[\s.!]*",
    re.IGNORECASE,
)


def _done_too(text: str, last: Act, _: str | None) -> Iterator[str]:
    """Yield what was done to a tree as done to others: "1 to 10 too"."""
    if (found := _TOO.fullmatch(text)) and not _TELLS.search(found["what"]):
        what = found["what"]
        several = re.search(r"\b(?:to|through|thru|and)\b|[-–,]", what)
        trees = what if what.startswith("tree") else f"trees {what}"
        yield f"{_DONE_TO[type(last)]} {trees if several else as_tree(what)}"


_DONE_TO: dict[type[Act], str] = {
    Pull: "pulled", Tap: "tapped", Skip: "skipped", Dump: "dumped", Clean: "washed",
}  # fmt: skip
_DONE = {"sold": "sold", "eaten": "ate", "spoiled": "lost"}


def _gathered(text: str, last: Act, unit: str | None) -> Iterator[str]:
    volume_gal = getattr(last, "volume_gal", None)
    if getattr(last, "tree", None) is None or volume_gal is None:
        return
    for pattern in (_SAME_FOR, _SAME_AMOUNT, _TOO):
        if (found := pattern.fullmatch(text)) and not _TELLS.search(found["what"]):
            yield f"{as_tree(found['what'])} {amount_in_words(volume_gal, unit)}"
    if unit is not None and _AFTER_A_THING.fullmatch(text):
        yield f"{text.rstrip(' .!')} {unit}"
    if unit is not None and (found := _FROM_ONE.fullmatch(text)):
        yield f"{found['amount']} {unit} {found['rest']}"


#: What more than names a tree: "tree six is full, seven too" is no gathering from seven.
_TELLS = re.compile(
    r",|\b(?:is|was|are|were|has|had|gave|looks?|full|half|empty|dry)\b", re.IGNORECASE
)


def amount_in_words(volume_gal: float, unit: str | None) -> str:
    """Return an amount as it can be said: in litres where those were said."""
    if unit is not None and unit.lower().startswith("l"):
        return f"{round(volume_gal * LITRES_PER_GAL, 2):g} liters"
    return f"{volume_gal:g} gallons"


def _more(text: str) -> Iterator[str]:
    """Yield the amount that "another quart at 220" and "and a pint more" add."""
    if found := _MORE.fullmatch(text):
        number = _FIRST_NUMBER.search(text[: found.start("unit")].replace("one more", "one"))
        yield f"{number[0] if number else 'a'} {found['unit']}"
    if found := _AND_SOME.fullmatch(text):
        yield found["what"]


def as_tree(named: str) -> str:
    """Return a tree told by its number alone, or as one of several trees, as a tree."""
    named = re.sub(r"^trees ", "", named)
    number = named.lower()
    is_number = (
        re.fullmatch(r"\d+|\w+teen|\w+ty(?: \w+)?|ten|eleven|twelve", number) or number in _ONES
    )
    return f"tree {named}" if is_number else named


_ONES = frozenset("one two three four five six seven eight nine".split())

_WAYS: dict[type[Act], Callable[[str, Act, str | None], Iterator[str]]] = {
    Draw: _drawn,
    Pack: _packed,
    Store: _poured,
    Transfer: _moved,
    Boil: _boiled,
    Hang: _hung,
    StockOut: _gone,
    Gather: _gathered,
    Pan: _boiled,
    Vessel: _sized,
    **dict.fromkeys(_DONE_TO, _done_too),
}
