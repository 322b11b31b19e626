"""What speaks against a note as it was read: it is not done, nobody's own, or another thing.

The readers take in what words say; these tell that they say it of something else: "thirty one isn't
tapped yet", "we stacked three cords", "two to three gallons". Such a note is not written, and not
put to the speaker either; what may be so all the same is put as a question.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum
from itertools import combinations
from typing import TYPE_CHECKING

from fieldvoice.dialogue.changed_level import may_be_change
from fieldvoice.dialogue.hearsay import is_hearsay
from fieldvoice.schema import Act
from fieldvoice.schema.acts import Pull

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.schema import Meaning


class Objection(Enum):
    """How much speaks against a note: it is asked about, or kept as words."""

    ASK = "it may be none as it stands"
    KEEP = "the words say something else"


#: What is done once, at a time: no state that lasts, no plan and no weather to come.
_DONE = frozenset(
    "gather store tap pull boil draw pack clean transfer ice_out rain_in stock_out fuel hang "
    "filter defoam".split()
)
_SEEN = frozenset({"inspect", "reading"})

_NUMBER = (
    r"(?:\d[\d./]*|an?|half|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve"
    r"|\w+teen|(?:twen|thir|for|fif|six|seven|eigh|nine)ty(?:[ -]\w+)?|a couple)"
)
_UNIT = r"(?:gal|quart|qt|pint|lit|l\b)"
_DID = (
    r"(?:tap|pull|empt|gather|collect|pour|wash|rins|clean|dump|toss|boil|pack|bottl|canned"
    r"|draw|drew|drill|sell|sold|burn|full\b|cut)"
)
#: A part of a sentence that tells a note: chatter beside one may say what it likes.
_TELLS = re.compile(rf"\d|\b(?!an? |one of ){_NUMBER}\b|\b{_DID}|\bit\b", re.IGNORECASE)
_PARTED = re.compile(r"[,;.!?]+(?=\s|$)|\b(?:but|so|because|anyway|anyhow)\b", re.IGNORECASE)
#: How people lead to what they tell, whatever these words say elsewhere.
_LEADING = re.compile(
    r"\b(?:(?:i |we )?(?:would|should|'d) like to|one of these days|as expected|last year's"
    r"|(?:want(?:ed)?|forgot) to (?:say|tell|mention|note)|you should see|would you"
    r"|(?:should|shall) (?:i|we)"
    r"|(?:you|this|that)(?:'ll| will| would)|for tomorrow|and a promise|i hope i|if i"
    r"|than (?:i |we )?(?:expected|hoped|last \w+)|going to (?:say|call it))\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class _Rule:
    """Words that speak against notes of some acts, unless others stand beside them."""

    acts: frozenset[str]
    words: re.Pattern[str]
    unless: re.Pattern[str] | None = None
    weighs: Objection = Objection.KEEP

    def holds(self, text: str, acts: Sequence[Act]) -> bool:
        """Whether this speaks against one of the notes read from (a part of) a text."""
        if not any(one.act in self.acts for one in acts) or not self.words.search(text):
            return False
        return self.unless is None or not self.unless.search(text)


def _rule(
    acts: frozenset[str] | str, words: str, unless: str = "", weighs: Objection = Objection.KEEP
) -> _Rule:
    names = frozenset(acts.split()) if isinstance(acts, str) else acts
    but = re.compile(unless, re.IGNORECASE) if unless else None
    return _Rule(names, re.compile(words, re.IGNORECASE), but, weighs)


#: Looked for in each part of a sentence that tells a note: not done, not yet, not now.
_NOT_SO = (
    _rule(_DONE, rf"(?:n't|\bnot|\bnever)(?: \w+)?? (?:been |quite |even )?{_DID}"),
    _rule(_DONE, r"\w+n't\W*$|\b(?:is|are|was|were|did|has|have) not\W*$"),
    _rule(_SEEN, r"(?:n't|\bnot|\bnever) (?:half )?full\b"),
    _rule(_DONE, r"\b(?:forgot|forget|needs?|ha(?:ve|s)|wants?|about|meant) to \w+"),
    _rule(_DONE, rf"\bshould(?:'ve| have) {_DID}"),
    _rule(
        _DONE | _SEEN | {"dump"},
        r"\b(?:tomorrow|next (?:week|weekend|month|fall|spring|year|season)|this weekend)\b",
    ),
    _rule("stand", r"\b(?:next|tomorrow|should|will|'ll|going to)\b", r"\bfind\b|\bis in\b"),
    _rule(
        _DONE | _SEEN,
        r"\b(?:will|gonna|going to|shall|should|ought|would|expect(?:s|ing)?|hop(?:e|es|ing)|unless"
        r"|plan(?:s|ning)? to|promised?|order(?:s|ed)|wants?|supposed|looking to)\b|'ll\b|^if\b",
    ),
    _rule(_DONE | _SEEN, r"\bmight (?!have|be\b)"),
    _rule(_DONE | _SEEN, r"\bmight(?:'ve)?\b", weighs=Objection.ASK),
    _rule(
        _DONE | _SEEN | {"health", "measure", "sweetness", "pan", "dump"},
        r"\byears? (?:ago|back)\b|\blast (?:year|season|spring)\b|\bthe year before\b",
    ),
    _rule(
        "gather store fuel",
        r"\b(?:usually|normally|typically|always|generally|tends? to)\b"
        r"|\b\w+s? (?:a|per|every|each) day\b",
    ),
    _rule(
        "gather",
        r"(?:\bis|'s) (?:good for|due)\b|\b(?:can|could) (?:give|do|make)\b"
        r"|\bfigure\b.*\bfor\b",
        r"\bthis (?:time|morning)\b|\btoday\b|\bnow\b|\bonly\b", Objection.ASK,
    ),
)  # fmt: skip

#: Looked for in the whole: what is in stock, asked for, brought back, left behind, lost.
_PACKED = r"\b(?:pack|cann|bottl|put up|seal|jarred|fill|made)"
_ANOTHER = (
    _rule(
        "fuel", r"\b(?:stack\w*|split\w*|deliver\w*|bought|left|remain\w*|down to)\b",
        r"\b(?:burn\w*|went|gone|fed|feed|fire|used|threw|toss\w*|stok\w*|ate|into|under|took)\b",
    ),
    _rule(
        "fuel", r"\b(?:brought|carried|hauled) in\b", r"\b(?:burn|fire|stove)", Objection.ASK
    ),
    _rule("pack", r"\b(?:counted|left|short|there should)\b", _PACKED),
    _rule(
        "pack", r"\b(?:on the shel\w+|in the (?:pantry|cupboard|cellar|basement))\b", _PACKED,
        Objection.ASK,
    ),
    _rule(
        "pack stock_out fuel draw", r"\bso far\b|\bthis (?:year|season)\b", weighs=Objection.ASK
    ),
    _rule("dump", rf"\b(?:except(?: for)?|all but|everything but) {_NUMBER} {_UNIT}"),
    _rule("gather draw boil", r"\b(?:gallons?|quarts?) (?:of sap )?made\b|\bfrom .*\bof sap\b"),
    _rule("transfer", r"\bsplit\b.* between\b|\btopped (?:up|off)\b(?!.* with )"),
    _rule("inspect reading", r"\b(?:half|thirds?|quarters?) gone\b", weighs=Objection.ASK),
    _rule(
        "stock_out",
        r"\b(?:short|return\w*|brought back|ow(?:es?|ed))\b|\b(?:gave|took) \w+ back\b",
    ),
    _rule("stock_out", r"^(?:i |we |need to |to )?(?:bought|buy) .*\b(?:jars?|bottles?|lids?)\b"),
    _rule(
        "gather", r"^(?:i |we )?left\b|\b(?:spilled|spilt|lost|knocked over)\b",
        r"\b(?:got|gave|took|collected|gathered|emptied|poured|still)\b",
    ),
    _rule(
        "store",
        r"\b(?:drained|used|drank|lost|leaked|spilled)\b"
        r"|\b(?:took|drew)\b.* (?:out of|from|off) (?:the )?(?:tank|barrel|tote|can|drum|keg)\b",
        r"\b(?:into|in|to)\b",
    ),
    _rule("draw", r"\b(?:over|above|past) boiling\b|\b\w+ over\W*$"),
    _rule("reading", r"\b(?:went|gone|rose|risen) (?:up|down|from)\b"),
    _rule(
        "tap pull",
        r"\bstill (?:in|tapped|there|on)\b(?! it)"
        r"|\bstill (?:has|have|got) (?:its |their )?(?:taps?|spiles?)\b",
    ),
    _rule("tap", rf"\b(?:tapped|did) {_NUMBER} (?:trees|maples)\b"),
    _rule("gather store", r"\b(?:not even|at most|less than|no more than)\b"),
)  # fmt: skip

#: Two values of which one is meant, or how far something went: "two or three gallons".
_EITHER = re.compile(
    rf"\b{_NUMBER}(?: \w+)?,? or(?: was it| maybe| so)? {_NUMBER}\b|\bcouple three\b", re.IGNORECASE
)
_BETWEEN = re.compile(
    rf"\b{_NUMBER}(?: \w+)?,? (?:to|maybe|by) {_NUMBER}\b"
    rf"|\bfrom (?:\w+ )?{_NUMBER}(?: \w+)? to\b",
    re.IGNORECASE,
)
#: A part of what was told before, or one that was lost.
_PART_OF = re.compile(
    rf"\b(?:{_NUMBER}|some|most|rest) of (?:them|those|these|it|the {_NUMBER})\b"
    rf"|\b(?:traded|swapped)\b"
    r"|\b(?:but|only) (?:i |we |she |he )?(?:\w+ )?(?:only )?(?:spilled|lost|took|paid)\b",
    re.IGNORECASE,
)
#: What is left out of all, or all that it was of.
_BUT_FOR = re.compile(
    r"\b(?:except|besides|apart from|other than)\b"
    r"|\b(?:all|every\w*) (?:\w+ ){0,3}but\b"
    r"|\b(?:half|most|some) (?:of )?the\b",
    re.IGNORECASE,
)
_SO_MANY = re.compile(rf"\b{_NUMBER} (?:taps|spiles)\b", re.IGNORECASE)
#: A time that belongs to what is to come: "bob took two pints, will pay friday".
_PLANNED = re.compile(
    r"(?:\b(?:will|gonna|going to)\b|'ll\b)[^,.;]*\b(?:\w+day|tomorrow|tonight|later)\b",
    re.IGNORECASE,
)
_GAUGED = frozenset({"measure", "health", "reading", "sweetness", "weather"})
_LATER = re.compile(r"\b(?:now|then|later|morning|noon|night|yesterday|today|after)\b", re.I)


def objection(text: str, meanings: Sequence[Meaning]) -> Objection | None:
    """Return how much speaks against the notes among ``meanings``, read from ``text``, if any."""
    acts = [one for one in meanings if isinstance(one, Act)]
    if not acts:
        return None
    found = {rule.weighs for rule in _ANOTHER if rule.holds(text, acts)}
    found |= {rule.weighs for part in _telling(text) for rule in _NOT_SO if rule.holds(part, acts)}
    if Objection.KEEP in found or _is_choice_or_part(text, acts):
        return Objection.KEEP
    if found or is_hearsay(text) or may_be_change(text, meanings):
        return Objection.ASK
    return None


def _telling(text: str) -> Iterator[str]:
    """Yield the parts of a text that tell something, without what only leads to it."""
    for part in _PARTED.split(text.replace("’", "'")):
        told = _LEADING.sub("", part).strip()
        if _TELLS.search(told):
            yield told


def _is_choice_or_part(text: str, acts: Sequence[Act]) -> bool:
    """Whether a number is one of two, or of a part, or an exception is in no note."""
    alike = [pair for pair in combinations(acts, 2) if pair[0].act == pair[1].act]
    if alike and (_EITHER.search(text) or _PART_OF.search(text)):
        return True
    of_one = [pair for pair in alike if _subject(pair[0]) == _subject(pair[1])]
    if of_one and _BETWEEN.search(text):
        return True
    if any(_contradict(one, other) for one, other in of_one) and not _LATER.search(text):
        return True
    if any(map(_is_of_all, acts)) and _BUT_FOR.search(text):
        return True
    if any(isinstance(one, Pull) and one.all for one in acts) and _SO_MANY.search(text):
        return True
    return any(one.at for one in acts) and bool(_PLANNED.search(text))


def _subject(act: Act) -> list[object]:
    return [getattr(act, name, None) for name in (*act.spec.subject, "at", "day")]


def _contradict(one: Act, other: Act) -> bool:
    """Whether two notes of one thing tell a value that it has but one of."""
    said, told = one.json_fields(), other.json_fields()
    return one.act in _GAUGED and any(
        isinstance(said[name], int | float) and said[name] != told[name]
        for name in said.keys() & told.keys()
    )


def _is_of_all(act: Act) -> bool:
    """Whether a note is of every tree, with none left out."""
    told = act.json_fields()
    if "but" in told:
        return False
    trees = told.get("trees", ())
    in_a_row = len(trees) > 1 and list(trees) == list(range(trees[0], trees[0] + len(trees)))
    return bool(told.get("all")) or told.get("which") == "all" or in_a_row
