"""What speaks against a note as it was read: it is not done, nobody's own, or another thing.

The readers take in what words say; these tell that they say it of something else: "thirty one isn't
tapped yet", "we stacked three cords", "two to three gallons". Such a note is not written, and not
put to the speaker either; what may be so all the same is put as a question.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from fieldvoice.dialogue.at_odds import are_at_odds
from fieldvoice.dialogue.changed_level import may_be_change
from fieldvoice.dialogue.hearsay import is_hearsay
from fieldvoice.dialogue.numbers_said import NUMBER_OR_PART
from fieldvoice.schema import Act
from fieldvoice.schema.acts import StockOut

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

_UNIT = r"(?:gal|quart|qt|pint|lit|l\b)"
_DID = (
    r"(?:tap|pull|empt|gather|collect|pour|wash|rins|clean|dump|toss|boil|pack|bottl|canned"
    r"|draw|drew|drill|sell|sold|burn|full\b|cut)"
)
#: A part of a sentence that tells a note: chatter beside one may say what it likes.
_TELLS = re.compile(rf"\d|\b(?!an? |one of ){NUMBER_OR_PART}\b|\b{_DID}|\bit\b", re.IGNORECASE)
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
    _rule(_DONE, rf"^(?:no one|nobody|none of us) (?:has |bought |{_DID})"),
    _rule(
        _DONE | _SEEN | {"dump"},
        r"\bother (?:tank|barrel|drum|tote|bucket|can)\b",
        weighs=Objection.ASK,
    ),
    _rule(
        "ice_out",
        r"^(?:there(?:'s| is| was) |had |some )?ice (?:in|on|at)\b",
        weighs=Objection.ASK,
    ),
    _rule("hang", r"(?:n't|\bnot) (?:off|on|gone|missing)\b"),
    _rule(_DONE, r"\w+n't\W*$|\b(?:is|are|was|were|did|has|have) not\W*$"),
    _rule(_SEEN, r"(?:n't|\bnot|\bnever) (?:half )?full\b"),
    _rule(  # a bucket, or the night
        _SEEN,
        r"^it (?:all )?(?:froze\b|(?:was|got) (?:frozen|clear|cloudy) (?:last |over|in the )night)",
        weighs=Objection.ASK,
    ),
    _rule(_DONE, r"\b(?:forgot|forget|needs?|ha(?:ve|s)|wants?|about|meant) to \w+"),
    _rule(_DONE | {"dump"}, rf"\bshould(?:'ve| have) {_DID}"),
    _rule(
        _DONE | _SEEN | {"dump"},
        r"\b(?:tomorrow|next (?:week|weekend|month|fall|spring|year|season)|this weekend)\b",
    ),
    _rule("stand", r"\b(?:next|tomorrow|should|will|'ll|going to)\b", r"\bfind\b|\bis in\b"),
    _rule(
        _DONE | _SEEN,
        r"\b(?:will|gonna|going to|shall|would|expect(?:s|ing)?|wish"
        r"|plan(?:s|ning)? (?:to|on)|promised?|order(?:s|ed)|wants?|supposed|looking to|unless)\b"
        r"|'ll\b|^if\b",
    ),
    _rule(_DONE | _SEEN, r"\b(?:should|ought to) (?:give|make|hold|get)\b"),
    _rule(_DONE | _SEEN, r"\b(?:should|ought|hop(?:e|es|ing))\b", weighs=Objection.ASK),
    _rule(_DONE | _SEEN, r"\bmight (?!have|be\b)"),
    _rule(_DONE | _SEEN, r"\bmight(?:'ve)?\b", weighs=Objection.ASK),
    _rule(
        _DONE | _SEEN | {"health", "measure", "sweetness", "pan", "dump"},
        r"\bin (?:19|20)\d\d\b|\bused to (?:give|make|have|hold)\b"
        r"|\byears? (?:ago|back)\b|\blast (?:year|season|spring)\b|\bthe year before\b",
    ),
    _rule(
        "gather store fuel stock_out",
        r"\b(?:usually|normally|typically|always|generally|tends? to)\b"
        r"|\b\w+s? (?:a|per|every|each) (?:day|week|month)\b",
    ),
    _rule(
        "gather",
        r"(?:\bis|'s) (?:good for|due)\b|\b(?:can|could) (?:give|do|make|hold|take)\b"
        r"|\bfigure\b.*\bfor\b",
        r"\bthis (?:time|morning)\b|\btoday\b|\bnow\b|\bonly\b", Objection.ASK,
    ),
)  # fmt: skip

_PACKED = r"\b(?:pack|cann|bottl|put up|seal|jarred|fill|made)"
_OTHERS = r"(?:neighbou?rs?|friends?|cousins?|guy|fellow|folks)"
#: Looked for in the whole: words that tell of another thing, act by act.
_ANOTHER = (
    # Others' doings and things.
    _rule(
        _DONE, rf"^(?:the |my |our |a )?{_OTHERS} (?:sold|packed|made|gathered|tapped|boiled)\b"
    ),
    _rule(
        _DONE | _SEEN | {"measure", "health"},
        rf"\b{_OTHERS}'s? (?:old |big )?(?:trees?|maples?|tanks?|totes?|yard|bush)\b",
    ),
    # A tree pruned, one tank after another, one of two hours.
    _rule("stand", r"\b(?:cut|trimmed|pruned)\b.*\bback\b", r"\bdown\b"),
    _rule("transfer", r"\b(?:done|finished|through) with\b", weighs=Objection.ASK),
    _rule("remind", rf"\b{NUMBER_OR_PART} or {NUMBER_OR_PART}\b", weighs=Objection.ASK),
    # No sap taken: lost, left, in sum, compared, a price, a size, and how little it was.
    _rule(
        "gather", r"^(?:i |we )?left\b|\b(?:spilled|spilt|lost|knocked over|drank)\b",
        r"\b(?:got|gave|took|collected|gathered|emptied|poured|still)\b",
    ),
    _rule(
        "gather",
        r"\b(?:this|for the|all) (?:week|month|season|year)\b|\bagain at\b|\btwice\b"
        rf"|\b(?:as much as|(?:more|less) than) (?:tree )?{NUMBER_OR_PART}\W*$"
        rf"|\bout of {NUMBER_OR_PART} {_UNIT}"
        r"|\b(?:price|charg\w+|costs?|dollars?|bucks|sold)\b|\bfor the (?:pint|quart)\b|\beach to\b"
        rf"|\b(?:buckets?|pails?) (?:is|are) (?:all )?(?:an? )?{NUMBER_OR_PART} gallon\b",
    ),
    _rule("gather draw boil", r"\b(?:gallons?|quarts?) (?:of sap )?made\b|\bfrom .*\bof sap\b"),
    _rule("gather store", r"\b(?:not even|at most|less than|no more than)\b"),
    _rule(_DONE | _SEEN, r"\b(?:more|less|fewer|higher|lower) than (?:i|we|you) (?:said|told)\b"),
    _rule("gather store reading inspect", r"\brain ?water\b|\bhalf (?:rain|ice|water)\b"),
    _rule("gather", rf"^between {NUMBER_OR_PART} and {NUMBER_OR_PART}\b", weighs=Objection.ASK),
    _rule(
        "inspect reading",
        r"\b(?:half|thirds?|quarters?) gone\b|\b(?:less|more) than (?:half|a )",
        weighs=Objection.ASK,
    ),
    # Not poured in, but out; not what is there, but by how much it changed, or has room.
    _rule(
        "store",
        r"\b(?:drained|used|drank|lost|leaked|spilled)\b"
        r"|\b(?:took|drew)\b.* (?:out of|from|off) (?:the )?(?:tank|barrel|tote|can|drum|keg)\b",
        r"\b(?:into|in|to)\b",
    ),
    _rule(
        "store",
        r"\b(?:was|now) at\b|\b(?:less|minus)\b|\bpoured (?:off|out)\b.* from\b"
        r"|\bfrom the (?:bottom|top)\b|\bdumped the last\b|\b(?:took|brought)\b.* (?:down|up) to\b",
    ),
    # What stands there, and was not poured in now: "tank one's got about forty gallons".
    _rule(
        "store",
        r"\b(?:has|have|holds|says|shows|reads|measures|there(?:'s| is| are))\b|'s (?:got|at)\b"
        r"|^(?:about|around|roughly|maybe)\b",
        r"\b(?:pour|put|add|dump|tip|went|go|into|empt|brought|haul|carr|stor|pump|fill|top|mov|took)",
        Objection.ASK,
    ),
    _rule("transfer", r"\bsplit\b.* between\b|\btopped (?:up|off)\b(?!.* with )"),
    _rule(
        "reading",
        r"\b(?:went|gone|rose|risen) (?:up|down|from)\b|\b(?:short of|room for|can take)\b"
        rf"|\bis (?:an? )?{NUMBER_OR_PART} gallon\b(?!s)",
    ),
    _rule("vessel", r"\bthere(?:'s| is)(?: still)? room\b|, room for\b|\bmore gallons\b"),
    _rule(
        "ice_out",
        r"\b(?:put|threw(?! out)|added|dropped)\b.*\bice (?:in|into|on)\b"
        r"|\bwas ice\b.*\b(?:just|only|so)\b",
    ),
    _rule("dump clean", r"\b(?:all|every\w*)\b.* (?:except|but) (?:the |our )?(?!tree|\d)"),
    _rule("dump", rf"\b(?:except(?: for)?|all but|everything but) {NUMBER_OR_PART} {_UNIT}"),
    _rule("clean", r"\b(?:drained|emptied|covered|filled)\b", r"\b(?:wash|rins|clean|scrub|hos)"),
    # Taps that stay, or are none; so many trees are no tree of that number.
    _rule(
        "tap pull",
        r"\bstill (?:in|tapped|there|on)\b(?! it)"
        r"|\bstill (?:has|have|got) (?:its |their )?(?:taps?|spiles?)\b",
    ),
    _rule("tap inspect", r"\bno (?:taps?|spiles?|buckets?)\b"),
    _rule("tap", rf"\b(?:tapped|did) {NUMBER_OR_PART} (?:trees|maples|more)\b|\bnone\b"),
    _rule("weather", r"\b(?:pull|tapp|rest|skip|miss)(?:ed|ing)\b|\babove \w+ ran\b"),
    _rule("draw", r"\b(?:over|above|past) boiling\b|\b\w+ over\W*$|\bof sap\b"),
    # Jars counted, packed before, brought back, owed, or bought empty.
    _rule(
        "pack",
        r"\b(?:counted|left|short|there should|filter\w*|labell?ed)\b"
        r"|\bof the (?:pints|quarts|jars|half pints)\b",
        _PACKED,
    ),
    _rule("pack", r"\b(?:re-?(?:pack|seal|label)\w*|moved|in stock|on hand)\b"),
    _rule(
        "pack", r"\bon the shel|\bin the (?:pantry|cupboard|cellar|basement|freezer)\b",
        _PACKED, Objection.ASK,
    ),
    _rule(
        "stock_out",
        r"\b(?:short|return\w*|refund\w*|brought back|ow(?:es?|ed))\b|\b(?:gave|took) \w+ back\b"
        r"|^(?:i |we |need to |to )?(?:bought|buy) .*\b(?:jars?|bottles?|lids?)\b"
        r"|\bmoved\b.* to the\b",
    ),
    _rule("stock_out pack", r"\b(?:all|everything) but\b"),
    _rule(
        "pack stock_out fuel draw", r"\bso far\b|\bthis (?:year|season)\b", weighs=Objection.ASK
    ),
    # A day in figures that nobody reads, or a share: "3/9 tree 9 2 gal", "3/5 full".
    _rule(
        _DONE | _SEEN,
        r"(?<![\d/])(?!(?:1/2|[12]/3|[13]/4|[1357]/8|[3579]/16)(?![\d/]))\d+/\d+|\b\d{4}-\d\d?-\d",
        weighs=Objection.ASK,
    ),
    # Wood that was not burned.
    _rule(
        "fuel",
        r"\b(?:cut|chop\w*|saw(?:ed|ing|n)|buck(?:ed|ing)|stack\w*|split\w*|deliver\w*|bought|left"
        r"|remain\w*|down to)\b",
        r"\b(?:burn\w*|went|gone|fed|feed|fire|used|threw|toss\w*|stok\w*|ate|into|under|took)\b",
    ),
    _rule("fuel", r"\b(?:all|everything) but\b|\bexcept\b|\bcords? (?:lasts|makes)\b"),
    _rule(
        "fuel", r"\b(?:brought|carried|hauled) in\b", r"\b(?:burn|fire|stove)", Objection.ASK
    ),
)  # fmt: skip


def objection(text: str, meanings: Sequence[Meaning]) -> Objection | None:
    """Return how much speaks against the notes among ``meanings``, read from ``text``, if any."""
    acts = [one for one in meanings if isinstance(one, Act)]
    if not acts:
        return None
    found = {rule.weighs for rule in _ANOTHER if rule.holds(text, acts)}
    found |= {rule.weighs for part in _telling(text) for rule in _NOT_SO if rule.holds(part, acts)}
    if Objection.KEEP in found or are_at_odds(text, acts):
        return Objection.KEEP
    if found or is_hearsay(text) or may_be_change(text, meanings):
        return Objection.ASK
    return Objection.ASK if any(_is_odd_price(text, one) for one in acts) else None


def _is_odd_price(text: str, act: Act) -> bool:
    """Whether a price may be another: each one's of several, or "nine fifty" no 950 dollars."""
    if not isinstance(act, StockOut) or act.price is None:
        return False
    if act.price > _DEAREST * (act.count or 1):
        return True
    return (act.count or 0) > 1 and bool(_AT_A_PRICE.search(text)) and not _OF_EACH.search(text)


#: No jar costs so many dollars (a choice, far above what a gallon brings).
_DEAREST = 120
_AT_A_PRICE = re.compile(rf"\bat \$?{NUMBER_OR_PART}\b", re.IGNORECASE)
_OF_EACH = re.compile(
    r"\b(?:each|apiece|a (?:pint|quart|jar)|for all|total|altogether)\b", re.IGNORECASE
)


def _telling(text: str) -> Iterator[str]:
    """Yield the parts of a text that tell something, without what only leads to it."""
    for part in _PARTED.split(text.replace("’", "'")):
        told = _LEADING.sub("", part).strip()
        if _TELLS.search(told):
            yield told
