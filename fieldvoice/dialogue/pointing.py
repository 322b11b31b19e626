"""Words that point at several things or at the other one, and amounts told loosely, said plainly.

A way is only words: it counts where the exact reader knows it word for word.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.schema.names import VesselName

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from fieldvoice.schema import Act

_THOSE = re.compile(r"\b(?:those|them|these|both(?: of (?:them|those))?)\b", re.IGNORECASE)
_OTHER = re.compile(r"\bthe other(?: one| tank| tote| barrel| can)?\b", re.IGNORECASE)
#: How far from a mark, as it is said beside "just under" and "just over".
_LITTLE = r"(?:just )?(?:a |wee )*(?:bit|little(?: bit)?|tad|touch|hair|smidge)"
_HOLDER = r"(?:the |our )?(?:tank|tote|barrel|drum|can)(?: (?:one|two|three|four|five|six|\d))?"
_COUNTED = r"(?:gal|qt|quart|pint|inch|in\b|percent|%|deg|brix|lit|cm|and a|point|\.\d)"
_LOOSELY = (
    (
        re.compile(
            r"^(?:please )?(?:sum up|recap|summari[sz]e|how was|how did|how'd)"
            r" (?:the |our |my )?(?:day|today)(?: go)?(?: for (?:me|us))?(?= please|\W*$)",
            re.IGNORECASE,
        ),
        "what did we do today",
    ),
    (
        re.compile(
            r"\bin (?:about|around|roughly|maybe|like|approximately|(?:just )?(?:under|over)) "
            r"(?=(?:[\w-]+ ){1,4}?(?:min(?:ute)?s?|hours?|hrs?)\b)",
            re.I,
        ),
        "in ",
    ),
    # One into the other is a move, whatever it is called.
    (re.compile(rf"\bdumped (?=[^,]+ from [^,]+ in(?:to)? {_HOLDER})", re.I), "poured "),
    (
        re.compile(
            rf"\b(?:dumped|tipped|emptied) ({_HOLDER}) in(?:to)? ({_HOLDER}|the pan)\b", re.I
        ),
        r"poured \1 into \2",
    ),
    (
        re.compile(
            r"\b(tank|tote|barrel|drum) (one|two|three|\d) and (one|two|three|\d)\b"
            rf"(?! ?{_COUNTED})",
            re.I,
        ),
        r"\1 \2 and \1 \3",
    ),
    (re.compile(rf"\b{_LITTLE} (?:less than|under|below|short of|shy of)\b", re.I), "just under"),
    (re.compile(rf"\b{_LITTLE} (?:more than|over|above|past|better than)\b", re.I), "just over"),
    (re.compile(r"\bmaybe (?=(?:an?|half|one|two|three|four|five|six|ten|\d+)\b)", re.I), "about "),
    (re.compile(r"\bbit yellowish\b", re.I), "bit yellow"),
    (re.compile(r"(?<!a )\bbit (?=cloudy|hazy|yellow|milky|sour)", re.I), "a bit "),
)  # fmt: skip
#: The same done to two things: "rinsed the tank and the pan".
_TO_BOTH = re.compile(
    r"(?P<did>(?:i |we )?(?:rinsed|washed|scrubbed|cleaned|scalded|hosed)(?: (?:out|off|down))?) "
    r"(?P<one>(?:the |our |my |both )?.+?) and (?P<other>.+?)[\s.!]*",
    re.IGNORECASE,
)
#: What was read of a vessel, the figure first: "2.1 in tank two", "38 degrees in the tote".
_FIGURE_FIRST = re.compile(
    r"(?:and )?(?P<figure>\d+(?:\.\d+)?)(?P<unit> ?%| percent| degrees)? in (?P<what>.+?)[\s.!]*",
    re.IGNORECASE,
)


#: Words of which one is put right by another of its class: "yesterday, today i mean".
_CLASSES = (
    "today|yesterday|tomorrow|this morning|last night",
    "around|round|across|through",
    "gallons?|quarts?|pints?|cups?|lit(?:re|er)s?",
)
_TAKEN_BACK = [
    re.compile(
        rf"\b(?:{one})\b[\s.,;]*(?:(?:no|wait|sorry|oops|or rather|i mean)\b[\s.,;]*)+"
        rf"\b(?P<right>{one})\b(?!\s+\w)"
        rf"|\b(?:{one})\b[\s.,;]+(?P<meant>{one})[\s,]+i mean\b",
        re.IGNORECASE,
    )
    for one in _CLASSES
]


def plainly(text: str) -> str:
    """Return ``text`` with what is said loosely of an amount or a look in the usual words."""
    for pattern, word in _LOOSELY:
        text = pattern.sub(word, text)
    for taken_back in _TAKEN_BACK:
        text = taken_back.sub(lambda found: found["right"] or found["meant"], text)
    return text


_BOTH = re.compile(
    r"\bboth (?:of )?(?:the |our |my )?(tank|tote|barrel|drum|can)s\b", re.IGNORECASE
)


#: A look that two have alike: "tank one and tank two are full".
_ALIKE = re.compile(
    rf"(?P<one>{_HOLDER}) and (?P<other>{_HOLDER})(?:,? (?:both|all))?"
    r"(?P<are> (?:are|were))?(?P<look>(?: (?!gal|and\b)[a-z]+){1,3})[\s.!]*",
    re.IGNORECASE,
)


def with_both(text: str, vessels: Collection[str]) -> str:
    """Return ``text`` with "both tanks" as the two that there are."""
    found = _BOTH.search(text)
    two = [one for one in vessels if found is not None and found[1].lower() in one.split()]
    if found is not None and len(two) == 2:
        text = f"{text[: found.start()]}{two[0]} and {two[1]}{text[found.end() :]}"
    if alike := _ALIKE.fullmatch(text):
        look = f"{' is' if alike['are'] else ''}{alike['look']}"
        return f"{alike['one']}{look}, {alike['other']}{look}"
    return text


def pointed_at(text: str, last: Act | None, other: str | None) -> Iterator[str]:
    """Yield ``text`` with the trees of the ``last`` note for "those", and the ``other`` vessel."""
    trees = getattr(last, "trees", None)
    if trees and _THOSE.search(text):
        named = ", ".join(str(one) for one in trees[:-1])
        yield _THOSE.sub(f"trees {named} and {trees[-1]}", text, count=1)
    if other is not None and _OTHER.search(text):
        yield _OTHER.sub(other, text, count=1)


#: One of two told from the other by its size, and not asked which it is.
_BY_SIZE = re.compile(
    r"(?<!is )(?<!'s )(?<!whats )\bthe (?:(?P<big>big|bigger|large|larger)|small|smaller|little) "
    r"(?P<kind>tank|tote|barrel)\b",
    re.IGNORECASE,
)


def by_size(text: str, capacities: Mapping[str, float | None]) -> str:
    """Return ``text`` with "the big tank" as the larger of those whose ``capacities`` are known.

    One that is called so, or is as large as another, stays as it is.
    """

    def meant(found: re.Match[str]) -> str:
        kind, extreme = found["kind"].lower(), max if found["big"] else min
        sizes = {one: gal for one, gal in capacities.items() if VesselName.of(one).kind == kind}
        known = {one: gal for one, gal in sizes.items() if gal is not None}
        is_called_so = found[0].lower().removeprefix("the ") in capacities
        is_told = len(known) == len(sizes) > 1 and len({*known.values()}) == len(known)
        return extreme(known, key=known.__getitem__) if is_told and not is_called_so else found[0]

    return _BY_SIZE.sub(meant, text)


def to_both(text: str) -> str | None:
    """Return what was done to two things as said of each; None where it was not."""
    found = _TO_BOTH.fullmatch(text)
    return f"{found['did']} {found['one']}, {found['did']} {found['other']}" if found else None


def figure_first(text: str, *, tests: bool) -> Iterator[str]:
    """Yield a vessel's reading with the vessel first; with ``tests`` sugar was told before."""
    found = _FIGURE_FIRST.fullmatch(text)
    if found is None:
        return
    if "degrees" in (found["unit"] or ""):
        yield f"{found['what']} is at {found['figure']} degrees"
    elif found["unit"] or tests:
        yield f"{found['what']} tests {found['figure']} percent"
