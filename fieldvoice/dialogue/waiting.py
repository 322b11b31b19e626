"""What waits for the family: notes that were not understood or not answered, and questions."""

from __future__ import annotations

import re
from itertools import dropwhile
from typing import TYPE_CHECKING

from fieldvoice.schema import ACTS
from fieldvoice.segments import Count, Sentence, fact, listed

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping
    from datetime import datetime
    from typing import Any

    from fieldvoice.book import Utterance
    from fieldvoice.dialogue.context import TurnContext

#: Utterances looked through for what was summed up before.
_LOOK_BACK = 100

#: Words that open a question, and those that ask to be told.
_OPENS = frozenset(
    "what what's whats how how's hows who who's whose when when's where where's why which is are "
    "am was were do does did don't doesn't didn't can could should shall would will may might must "
    "has have isn't aren't can't couldn't shouldn't wouldn't won't any anybody anything".split()
)
_TELL_ME = (("tell", "me"), ("show", "me"), ("remind", "me"), ("do", "you"), ("i", "wonder"))
#: What may be said before the question itself.
_BEFORE = frozenset("and so but hey ok okay well now then um uh say please also or".split())


#: What somebody does not know is asked for: "not sure how much that was"; an amount is told.
_UNSURE = re.compile(
    r"^(?!.*\b(?:gallons?|quarts?|gal|lit(?:re|er)s?)\b).*\b(?:not sure|(?:can't|cannot|don't)"
    r" (?:remember|recall)|don't know|forgot|forget|wondering|no idea)\b.*"
    r"\b(?:how|what|when|who|where|which|whether|if)\b",
    re.IGNORECASE,
)


#: An amount is told, whatever is asked beside it.
_FIGURE = re.compile(
    r"\b(?:\d+|an?|half|one|two|three|four|five|six|seven|eight|nine|ten|twenty)"
    r" (?:and a half )?(?:gallons?|gal|quarts?|pints?|lit(?:re|er)s?|inches|percent|degrees)\b",
    re.IGNORECASE,
)


def is_question(text: str) -> bool:
    """Whether words ask something, by how they begin or end."""
    if text.rstrip().endswith("?") or _UNSURE.search(text):
        return True
    if _is_asked_in_short(text):
        return True
    if _ASKS_LATER.search(text) and not _FIGURE.search(text):
        return True
    words = _from_the_opening(text)
    if words[:1] and words[0].endswith("n't") and _DOINGS.intersection(words[1:2]):
        return False  # "couldn't get to nine" tells of somebody who is not named
    return bool(words) and (words[0] in _OPENS or tuple(words[:2]) in _TELL_ME)


_DOINGS = frozenset(
    "get make go reach walk bother do have see find touch need want like pull tap gather empty "
    "collect wash boil draw pack sell measure test look check".split()
)


def _from_the_opening(text: str) -> list[str]:
    """Return the words from the one on that may open a question."""
    words = text.lower().replace("’", "'").replace(",", " ").split()
    return list(dropwhile(_BEFORE.__contains__, words))


def _is_asked_in_short(text: str) -> bool:
    """Whether words ask without an opening of their own: "size tank two", "tank two how full"."""
    return bool(_HAS.fullmatch(text) or _ASKED_AFTER.match(text) or _TO_WHOM.match(text))


#: What is asked after other words: "in the last night how many degrees", "what did it say".
_ASKS_LATER = re.compile(
    r"\bhow (?:many|much|long|old|far|warm|cold|often)\b|\b(?:vs|versus|compared (?:to|with))\b"
    r"|\b(?:what|who|when|which|where) (?:did|was|is|were|are|do|does|has|have)\b[\w' ]{0,30}\W*$",
    re.IGNORECASE,
)

#: Words that open nothing but a question, and those that do before certain others.
_ASK_ALWAYS = frozenset("should could would shall why who whose where which is are isn't".split())
_ASKED_OF = frozenset(
    "i we you it they he she the that this there any anyone anybody somebody someone anything my "
    "our all every".split()
)
_ASK_BEFORE = {
    **dict.fromkeys(("can", "do", "did", "will", "have", "am"), _ASKED_OF),
    "does": _ASKED_OF | {"tree", "number", "tank", "barrel", "tote", "one"},
    # "did tree nine, two gallons" tells
    **dict.fromkeys(("was", "were", "has"), _ASKED_OF | {"tree", "trees", "number", "tank"}),
    # "had my coffee, then got two gallons" tells
    "had": frozenset("i we you it they he she that this there any anyone anybody".split()),
    "when": frozenset("is are was were did do does will should can could has have must".split()),
}
#: After these a first word tells, and asks nothing: "what a day", "what i got was".
_TELLERS = frozenset("i we he she they".split())
_TELLS_AFTER = {
    "what": _TELLERS | {"a", "an"}, "which": _TELLERS, "where": _TELLERS, "how": {"about"},
}  # fmt: skip


def is_surely_question(text: str, *, is_plain: bool = True) -> bool:
    """Whether words are so begun that they can be no note.

    A short word at the beginning that was not heard plainly may be another: "is" for "it's".
    """
    if is_plain and _is_asked_in_short(text):
        return True
    if is_plain and _WHATS.match(text) and not _FIGURE.search(text):
        return True
    words = _from_the_opening(text)
    if len(words) < _LEAST_ASKED:
        return False
    first, second = words[:2]
    if not is_plain and len(first) <= _EASILY_MISHEARD:
        return False
    if first in _TELLS_AFTER:
        return second not in _TELLS_AFTER[first]
    return first in _ASK_ALWAYS or second in _ASK_BEFORE.get(first, ())


#: What is asked after the thing that it is asked of: "tank two how full", "tree six washed when".
_ASKED_AFTER = re.compile(
    r"(?:the |my |our )?(?:sap in |sap of |temp |size |\w+ (?=can|barrel|tank|tote|keg))?"
    r"(?:(?:trees?|tanks?|barrels?|totes?|kegs?|cans?|number)\s?\w*|t ?\d+)[,:]? "
    r"(?:(?:it|is|was|has|gave|got|made|tested|tests|taken|last|sap|been|we|washed|tapped|emptied"
    r"|cleaned) )*"
    r"(?:how (?:full|much|many|old|warm|cold|hot|sweet|big|thick|far|long|high|wide)"
    r"|(?:when|where)(?: (?:it|washed|tapped|emptied|cleaned|was|did|is|last)\b|\W*$)"
    r"|(?:is|has|have|does|did|was|can|are) (?:it|she|he|they|there|we|that)"
    r"|who (?:emptied|did|was|filled|put)"
    r"|what (?:size|temp|temperature|kind|sugar|brix|species|day|date))\b",
    re.IGNORECASE,
)
#: A question that a small word leads, and the short forms of those that open one.
_TO_WHOM = re.compile(
    r"(?:to|from|in|on|at|for|of|by|since|until|with|out of) (?:who|whom|which|what|whose|how)\b",
    re.IGNORECASE,
)
_WHATS = re.compile(r"(?:what|who|where|when|how)['’]?(?:s|d)\b", re.IGNORECASE)
#: What a thing has, and only the thing: "size tank two".
_HAD = (
    r"(?:(?:taps|spiles|gallons?|gals?|size|temp|temperature|age|brix|kind|species|level|room|total"
    r"|girth|story|problems?|sugar|sap|amount|so far|today|yesterday|(?:this|last) \w+)\b ?)+"
)
_HAS = re.compile(
    rf"{_HAD}(?:(?:of|on|in|for) )?(?:the )?(?:(?:tree|tank|barrel|tote|keg) ?\w+|t ?\d+)\W*"
    rf"|(?:the )?(?:(?:tree|tank|barrel|tote|keg) ?\w+|t ?\d+),? {_HAD}\W*"
    r"|(?:next|last|any|our|my) (?:reminder|boil|round|note|visit|wash|lot)s?\W*"
    r"|(?:(?:tapped|untapped|missed) trees|(?:gallons|sap) (?:stored|on hand)"
    r"|tot(?:al)? (?:gals?|gallons|sap)(?: (?:today|yesterday|this week|so far))?"
    r"|not (?:emptied|visited)(?: yet| today)?|low (?:last night|today|yesterday)"
    r"|(?:lowest|highest|coldest|warmest) (?:low|high|night|day|temp))\W*"
    r"|(?:all |total )?(?:buckets|bags|pails|taps|jars|(?:half )?pints|quarts)"
    r" (?:out|up|hung|left|sold|packed)\W*",
    re.IGNORECASE,
)
#: Fewer words say too little to tell.
_LEAST_ASKED = 3
_EASILY_MISHEARD = 3

#: Things that nobody asks about but who makes syrup, or of which the book is full.
_OURS = re.compile(
    r"\b(?:trees?|maples?|saps?|syrup|tanks?|totes?|barrels?|jars?|pints?|quarts?|boil(?:ed|ing|s)?"
    r"|fire|buckets?|pails?|spiles?|taps?|tapped|wood|pan|gallons?|notes?|sweet|batch|round|season"
    r"|reminders?|t\d+)\b",
    re.IGNORECASE,
)


def is_asked_of_ours(text: str) -> bool:
    """Whether words are surely a question and name a thing that the book is about."""
    return is_surely_question(text) and _OURS.search(text) is not None


#: What makes a question of a note said before it; and before what "right" is no such word.
_AGREED = re.compile(
    r"\b(?<!all )(?<!the )(?<!is )(?<!just )(?<!looks )(right|correct|isn'?t it|didn'?t (i|we|it))$"
)


def is_bare(text: str) -> bool:
    """Whether words only name a thing and what is asked of it: "tree one this week"."""
    return _HAS.fullmatch(text) is not None


def asks_to_agree(text: str) -> bool:
    """Whether a note ends in words that ask whether it is so: "two taps, right"."""
    return _AGREED.search(text.lower().replace("’", "'").rstrip(" .!")) is not None


def is_note(kept: Utterance) -> bool:
    """Whether what waits may be a note: that is asked about, or words that ask nothing."""
    if kept.pending is not None:
        return any(one.get("act") in ACTS for option in kept.pending["options"] for one in option)
    has_words = any(letter.isalpha() for letter in kept.text) or kept.audio is not None
    return has_words and not kept.meanings and not is_question(kept.text)


def notes_first(waiting: Iterable[Utterance]) -> list[Utterance]:
    """Return what waits with the questions last; notes and questions each in their order."""
    return sorted(waiting, key=lambda one: not is_note(one))


def still_waits(moment: TurnContext, summed_up: str) -> Sentence:
    """Return how many notes wait for review, beside what the book adds up; no words for none.

    ``summed_up`` is the question or command. Each is told of it once a day, and again when more
    wait.
    """
    waiting = [one for one in moment.book.kept() if is_note(one)]
    told_at = _told_at(moment, summed_up)
    if not waiting or (told_at is not None and told_at >= waiting[-1].at):
        return fact()
    return fact(_so_many(len(waiting)))


def _told_at(moment: TurnContext, summed_up: str) -> datetime | None:
    """Return when the same was last summed up today."""
    today = moment.now.date()
    for one in reversed(moment.book.utterances(_LOOK_BACK)):
        if one.at.astimezone(moment.now.tzinfo).date() != today:
            return None
        if one.outcome != "kept" and summed_up in map(_kind, one.meanings):
            return one.at
    return None


def _kind(fields: Mapping[str, Any]) -> str | None:
    return fields.get("ask") or fields.get("do")


def counted(waiting: Collection[Utterance]) -> Sentence:
    """Return how many notes there are to review, and apart from them how many questions."""
    count = sum(map(is_note, waiting))
    others = len(waiting) - count
    notes = Count(count, "to review", "to review") if count else None
    asked = Count(others, "question that was not understood", "questions that were not understood")
    return fact(listed([one for one in (notes, asked if others else None) if one]))


def _so_many(count: int) -> Count:
    return Count(count, "note waits for review", "notes wait for review")
