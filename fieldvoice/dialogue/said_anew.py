"""A note put right by telling it anew: "no, the high was 40", "tree nine was three, not two".

Who says no, and then a whole note of a thing that was just noted, puts that note right.
"""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

from fieldvoice.dialogue.corrections import LOOK_BACK, PutRight, to_correct
from fieldvoice.schema import Act, Command

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import Meaning

_DENIED = re.compile(
    r"(?:(?:no|nope|sorry|wait|oops|whoops|actually|correction|wrong|hang on|hold on|my mistake"
    r"|i meant|i mean|that(?:'s| is| was) wrong|they were|it was|that was)\b[\s,.:]*)+",
    re.IGNORECASE,
)
_NOT_THAT = re.compile(r"[\s,]+(?:and )?not (?:the |a |an )?[\w.]+(?: [\w.]+){0,3}[\s.!]*$", re.I)
#: A note told so long ago is no longer what is put right by telling another.
_STILL_MEANT = timedelta(hours=12)
#: What a note that names nothing may be put right by: the same of the last breath alone.
_LATELY = timedelta(minutes=30)


def told_anew(text: str) -> str | None:
    """Return the note that words tell in the place of another; None where they deny nothing."""
    denied = _DENIED.match(text)
    rest = text[denied.end() :] if denied else text
    bare = _NOT_THAT.sub("", rest)
    return bare if bare and (denied or bare != rest) else None


def in_place_of(meanings: Sequence[Meaning], moment: TurnContext) -> Command | None:
    """Return the correction that a note makes of the last one like it; None where there is none."""
    if len(meanings) != 1 or not isinstance(meanings[0], Act):
        return None
    act = meanings[0]
    said = {key: one for key, one in act.json_fields().items() if key not in ("act", "at")}
    about = {key: said[key] for key in act.spec.subject if key in said}
    right = {key: one for key, one in said.items() if key not in about}
    newest = moment.book.newest_entries(LOOK_BACK)
    for entry in reversed(newest):
        if moment.now - entry.at > (_STILL_MEANT if about else _LATELY):
            return None
        told = entry.act.json_fields()
        is_like = entry.act.act == act.act and all(told.get(key) == about[key] for key in about)
        if not is_like or not right.keys() & told.keys():
            continue
        if all(told.get(key) == right[key] for key in right):
            return None
        of_it = {"of": about} if about.keys() & {"tree", "vessel"} else {}
        for fields in (right, {**right, **of_it}):
            command = Command(do="correct", fields=fields)
            target = to_correct(moment, command)
            if isinstance(target, PutRight) and target.entries == (entry,):
                return command
        return None
    return None
