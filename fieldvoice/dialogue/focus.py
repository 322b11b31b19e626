"""The tree or vessel in hand, so that "bucket half full" need not say which tree.

Focus is written into the journal with every utterance and read back from the newest one: a new
process picks up where the last one stopped.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, Self

from fieldvoice.schema import Act, Ask, EntityMention, Meaning

if TYPE_CHECKING:
    from fieldvoice.book import Source, Utterance
    from fieldvoice.schema import TreeId
    from fieldvoice.transcript import AudioSpan

#: How long a tree stays in hand after it was last named (a design choice: the walk to the next
#: tree and its bucket take a few minutes; after ten nobody means the old one by "it").
FOCUS_LASTS = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Focus:
    """One tree, several trees, or one vessel in hand, and when it was last named."""

    tree: TreeId | None = None
    vessel: str | None = None
    named_at: datetime | None = None

    def __bool__(self) -> bool:
        return self.tree is not None or self.vessel is not None

    @classmethod
    def carried(
        cls,
        last: Utterance | None,
        now: datetime,
        source: Source,
        audio: AudioSpan | None = None,
    ) -> Self:
        """Return the focus that the newest utterance left, if it still holds.

        It does not pass between memos and conversation: whoever recorded a memo in the woods knew
        nothing of what was typed meanwhile. Nor does it pass from one memo to another (``audio`` is
        the place of what was just heard).
        """
        if last is None or (last.source == "memo") != (source == "memo"):
            return cls()
        if source == "memo" and not _in_one_recording(last.audio, audio):
            return cls()
        named_at = datetime.fromisoformat(last.focus.get("at") or last.at.isoformat())
        # A clock set back counts as no time at all.
        if now - named_at > FOCUS_LASTS:
            return cls()
        return cls(last.focus.get("tree"), last.focus.get("vessel"), named_at)

    def same_thing(self, other: Self) -> bool:
        """Whether the same tree or vessel is in hand."""
        return (self.tree, self.vessel) == (other.tree, other.vessel)

    def after(self, meanings: tuple[Meaning, ...], now: datetime) -> Self:
        """Return the focus once ``meanings`` were said at ``now``."""
        focus = self
        for meaning in meanings:
            focus = focus._after_one(meaning, now)
        return focus

    def _after_one(self, meaning: Meaning, now: datetime) -> Self:
        named = named_in(meaning)
        if "tree" in named:
            return type(self)(tree=named["tree"], named_at=now)
        if "vessel" in named and not named.keys() & {"trees", "site"}:
            return type(self)(vessel=named["vessel"], named_at=now)
        # Several trees, or a whole site: no single one is in hand any more. Nor is one at the pan.
        at_the_pan = isinstance(meaning, Act) and meaning.spec.at_the_pan
        return type(self)() if named or at_the_pan else self

    def as_json(self) -> dict[str, Any]:
        """Return what the journal keeps; empty when nothing is in hand."""
        if not self or self.named_at is None:
            return {}
        named = {"tree": self.tree} if self.tree is not None else {"vessel": self.vessel}
        return {**named, "at": self.named_at.isoformat()}


#: Who says these speaks of the day or the yard, unless a word beside them points at one tree.
_OF_ALL = frozenset("we we've us our today everybody everyone altogether overall".split())
_OF_ONE = frozenset("it it's its this that that's here she he her him his them these those".split())


_ASKS = frozenset(
    "what how when where who which why did does do is are was were can should will has have it that"
    .split()
)  # fmt: skip


def is_of_another(text: str) -> bool:
    """Whether words go on with a question, about another thing: "and tree twelve"."""
    first, _, rest = text.lower().partition(" ")
    if first in ("what", "how"):
        first, _, rest = rest.partition(" ")
    return first in ("and", "about") and _ASKS.isdisjoint(rest.split())


def goes_on(text: str) -> bool:
    """Whether words ask something else of the same thing: "and how much wood"."""
    return text.lower().startswith("and ") and not is_of_another(text)


def is_of_several(text: str) -> bool:
    """Whether words that name no tree are not of the one in hand: "we got two gallons"."""
    words = set(text.lower().replace("’", "'").replace(",", " ").split())
    is_other = not words.isdisjoint(_OF_ALL) or _BY_ITS_LOOKS.search(text) is not None
    return is_other and words.isdisjoint(_OF_ONE)


#: A tree told by where it stands or what it is, and so none in hand: "the mailbox tree".
_BY_ITS_LOOKS = re.compile(
    r"\bthe (?!other |same |next |last |first |whole |only |that |this )(?:[a-z]+ ){1,2}"
    r"(?:tree|maple|one)\b(?! (?:\d|one|two|three|four|five|six|seven|eight|nine|ten))",
    re.IGNORECASE,
)


_MORE = re.compile(r"\b(?:another|one more|more|again|second time)\b", re.IGNORECASE)


def tells_more(text: str) -> bool:
    """Whether words tell of more of what was told before: "another gallon from tree two"."""
    return _MORE.search(text) is not None


_WHOLE_YARD = re.compile(
    r"\s*(?:(?:from|off|of)\s+)?(?:all(?: (?:of them|the trees|of it|the buckets|trees))?"
    r"|every (?:tree|one)|everything|(?:the )?whole (?:yard|bush|sugarbush|woods))[\s.!]*",
    re.IGNORECASE,
)


def is_whole_yard(text: str) -> bool:
    """Whether this names all the trees, where one tree was asked for."""
    return _WHOLE_YARD.fullmatch(text) is not None


def _in_one_recording(one: AudioSpan | None, other: AudioSpan | None) -> bool:
    """Whether both were recorded together, the second no longer after than a focus lasts."""
    if one is None or other is None:
        return one is other
    gap_s = other.start_s - one.end_s
    return one.sha256 == other.sha256 and gap_s <= FOCUS_LASTS.total_seconds()


def named_in(meaning: Meaning) -> dict[str, Any]:
    """Return the references (tree, trees, vessel, site) that a meaning carries."""
    fields: dict[str, Any] = {}
    if isinstance(meaning, Act | Ask):
        fields = meaning.json_fields()
    elif isinstance(meaning, EntityMention):
        fields = meaning.mention
    return {key: fields[key] for key in ("tree", "trees", "vessel", "site") if key in fields}
