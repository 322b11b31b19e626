"""What thumbs type, as it is said: "thats it im done", "a gallon n half", "ate one lol"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fieldvoice.dialogue.numbers_said import NUMBER, SEVERAL

if TYPE_CHECKING:
    from datetime import datetime

#: Words that are none without their apostrophe, and what they stand for.
_APOSTROPHES = {
    "thats": "that's", "im": "i'm", "ive": "i've", "theres": "there's", "heres": "here's",
    "theyre": "they're", "youre": "you're", "weve": "we've", "didnt": "didn't",
    "couldnt": "couldn't", "wouldnt": "wouldn't", "shouldnt": "shouldn't", "doesnt": "doesn't",
    "dont": "don't", "isnt": "isn't", "wasnt": "wasn't", "werent": "weren't", "arent": "aren't",
    "havent": "haven't", "hasnt": "hasn't", "hadnt": "hadn't", "cant": "can't", "aint": "isn't",
}  # fmt: skip
_BARE = re.compile(rf"\b(?:{'|'.join(_APOSTROPHES)})\b", re.IGNORECASE)
#: Before what belongs to a tree "its" is no "it's".
_ITS = re.compile(
    r"\bits\b(?! (?:own|first|last|lid|bucket|pail|bag|tap|taps|spile|spiles|sap|side|bark|hole"
    r"|top|bottom|trunk|crown|place|name)\b)",
    re.IGNORECASE,
)
#: A range that begins a line is of trees, unless a unit follows it.
_TREES = re.compile(
    r"^(\d+)\s*[-–]\s*(\d+)(?=[ ,:]+(?!gal|qt|quart|pt\b|pint|l\b|lit|cup|deg|°|%|percent|inch|in\b"
    r"|feet|ft|dollar|buck|hour|day|week|min)\D)",
    re.IGNORECASE,
)
_DAY = (
    r"(?:(?:on |this |next )?(?:mon|tues|wednes|thurs|fri|satur|sun)day|tomorrow|tmrw|tonight"
    r"|in (?:\w+ ){1,3}(?:minutes?|mins?|hours?|days?))"
)
_IN_THE_USUAL_WORDS = (
    (re.compile(r"^(remind (?:me|us)) (?:on )?sat(?:urday)?(?= )", re.I), r"\1 on saturday"),
    (re.compile(r"^(remind (?:me|us)) (?:on )?sun(?:day)?(?= )", re.I), r"\1 on sunday"),
    # "2" where only "to" can stand
    (re.compile(rf"\b(remind (?:me|us)(?: {_DAY})?) (?:2|too|two) (?=[a-z])", re.I), r"\1 to "),
    (
        re.compile(r"(?<=[a-z] )2 (?=(?:mrs?|ms|dr|my|the|our|mom|dad|grandma|grandpa)\b)", re.I),
        "to ",
    ),
    (re.compile(r"(?<=[a-z\d]) ea\b\.?", re.I), " each"),
    (
        re.compile(
            rf"\b((?:{SEVERAL}|one|1|half an?)(?: and an? (?:half|quarter))? ?"
            r"(?:gallons?|gals?|quarts?|qts?|pints?|lit(?:er|re)s?|l|g))(?: per | a |/)tree\b",
            re.I,
        ),
        r"\1 each",
    ),
    (re.compile(r"(?<=\d) ?(?:in ?hg|inches of mercury)\b", re.I), ""),
    (
        re.compile(r"(?:from )?(\b(?:the )?\w+ \w+) ?(?:->|=>|→) ?(?=\w)", re.I),
        r"from \1 to ",
    ),
    # what is to be thought of
    (
        re.compile(
            rf"^(?:please )?(?:tell|say) (me|us) ({_DAY}) (?:to|that i (?:must|should)) ", re.I
        ),
        r"remind \1 \2 to ",
    ),
    (
        re.compile(rf"^reminder[:,]? (?:for )?({_DAY})[:,]? (?:to )?(?=\w)", re.I),
        r"remind me \1 to ",
    ),
    (re.compile(rf"^reminder[:,]? (?:to )?(.+?),? ({_DAY})$", re.I), r"remind me \2 to \1"),
    (re.compile(r"\b2day\b", re.I), "today"),
    (re.compile(r"\b2nite\b", re.I), "tonight"),
    (re.compile(r"\byday\b", re.I), "yesterday"),
    (re.compile(r"\bthis wk\b", re.I), "this week"),
    (re.compile(r"(?<=\w) n (?!side\b|face\b|facing\b)(?=\w)", re.I), " and "),
    (re.compile(r"\b(?:how much|what) \$(?=\s|$)", re.I), "how much money"),
    (re.compile(r"\bplus (?=\d+\b)", re.I), ""),
    # a laugh tells nothing
    (re.compile(r"\W*\b(?:lo+l|lmao|rofl|(?:ha){2,}h?|(?:he){2,}|omg|smh|tbh|btw)\b", re.I), ""),
)


#: So many of them, as old people say it: "three gallon and a quart", but not "a three gallon pail".
_ONE_FOR_MANY = re.compile(
    rf"\b({SEVERAL}) (gallon|quart|pint|inch)(?=\W*$|[,;.] | (?:and|from|off|out|of sap|apiece|each"
    r"|in|into|down|today|so far|this|last|at|deep|across|around|left)\b)",
    re.IGNORECASE,
)
#: Metres, which the grammar has not: "1.2 m", "2 metres".
_METRES = re.compile(r"\b(\d+(?:\.\d+)?) ?met(?:er|re)s?\b|\b(\d+\.\d+) ?m\b", re.IGNORECASE)


#: A wish put as a question: "can you remind me tomorrow to …?"
_ASKED_TO = re.compile(
    r"^(?:(?:hey|ok(?:ay)?|so|please|and)\W+)*(?:(?:can|could|would|will) (?:you|ya|u)"
    r"|(?:i|we)(?:'d like| would like| want| need) you to)\W+(?:(?:please|kindly|just|also)\W+)*"
    r"(?=(?:remind|note|write (?!it|that|this)|jot|make a note|take a note|set|start|mark|record"
    r"|log)\b)(.+?)\W*$",
    re.IGNORECASE,
)
#: The half after the unit: "five litres and a half".
_AND_A_HALF = re.compile(
    rf"\b({SEVERAL}) (gallons|quarts|pints|lit(?:er|re)s|inches|feet) and (?:a )?"
    r"(half|quarter|third)\b(?! (?:full|of|an?\b|gallons?|quarts?|pints?|cord|inch|hour))",
    re.IGNORECASE,
)
_ONE_AND_PART = re.compile(
    r"\b(?:an?|one) (gallon|quart|pint|lit(?:er|re)) and (a third|two thirds|three quarters)\b"
    r"(?! (?:full|of))",
    re.IGNORECASE,
)
_UNTIL = re.compile(
    rf"\b((?:trees|buckets|numbers) {NUMBER}) (?:until|till|til) (?={NUMBER}\b)", re.IGNORECASE
)


def written_out(text: str) -> str:
    """Return ``text`` with the apostrophes and words that thumbs leave out or make short."""
    text = _BARE.sub(lambda found: _APOSTROPHES[found[0].lower()], text)
    text = _ITS.sub("it's", text)
    text = _TREES.sub(r"trees \1-\2", text)
    text = _ASKED_TO.sub(r"\1", text)
    text = _ONE_FOR_MANY.sub(_several, text)
    text = _AND_A_HALF.sub(_with_half, text)
    text = _ONE_AND_PART.sub(r"one and \2 \1s", text)
    text = _UNTIL.sub(r"\1 to ", text)
    text = _METRES.sub(lambda found: f"{float(found[1] or found[2]) * 100:g} centimeters", text)
    for pattern, word in _IN_THE_USUAL_WORDS:
        text = pattern.sub(word, text)
    return text.lstrip(" ,.!")


def with_half_of_day(text: str, now: datetime) -> str:
    """Return ``text`` with "2:20" as the last one that was, where it tells what was done.

    Spelled out it would be as like as not how hot a pan is.
    """
    if _TO_COME.search(text):
        return text

    in_the_morning = re.search(r"\bmorning\b", text, re.IGNORECASE) is not None

    def told(found: re.Match[str]) -> str:
        is_past = (now.hour - 12, now.minute) >= (int(found[1]), int(found[2]))
        return f"{found[0]} {'pm' if is_past and not in_the_morning else 'am'}"

    return _LIKE_HEAT.sub(told, text)


#: An hour in figures that read aloud is a heat: "two nineteen".
_LIKE_HEAT = re.compile(r"(?<![\d:])0?([12]):([0-5]\d)(?![\d:]|\s*[ap]\.?m\b|\s*o'?clock)", re.I)
_TO_COME = re.compile(
    r"\b(?:remind\w*|timer|alarm|tomorrow|will|wake|until|till|by)\b|\?\s*$", re.I
)


def _several(found: re.Match[str]) -> str:
    if _may_be_a_tree(found):
        return found[0]
    return f"{found[1]} {'inches' if found[2].lower() == 'inch' else f'{found[2]}s'}"


def _with_half(found: re.Match[str]) -> str:
    return found[0] if _may_be_a_tree(found) else f"{found[1]} and a {found[3]} {found[2]}"


def _may_be_a_tree(found: re.Match[str]) -> bool:
    """Whether the number before a unit may be a tree's: "tree twelve gallon and a half"."""
    before, after = found.string[: found.start()], found.string[found.end() :]
    if not before.strip():
        return _FROM_A_TREE.search(after) is None
    return _NUMBERED.search(before) is not None


_FROM_A_TREE = re.compile(r"\b(?:from|off|out of)\b", re.IGNORECASE)
#: After one of these, or the tens of a number, a number is not how much there is.
_NUMBERED = re.compile(
    r"(?:\b(?:trees?|number|no|buckets?|pails?|taps?|spiles?|maples?|from|of|off|and|t)\W*"
    r"|ty[ -])$",
    re.IGNORECASE,
)
