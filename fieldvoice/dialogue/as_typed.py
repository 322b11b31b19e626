"""The words of a remark as they were typed, where the grammar has them spelled out.

Of the number of a telephone or a pump little is left when it is told in words.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue.policy import Commit
from fieldvoice.nlu.normalise import words_of
from fieldvoice.schema.acts import Remark, Remind

if TYPE_CHECKING:
    from fieldvoice.dialogue.policy import Decision
    from fieldvoice.transcript import Transcript

_WORD = re.compile(r"\S+")


def as_typed(decided: Decision, heard: Transcript) -> Decision:
    """Return a decision to save with the remarks and reminders in it as they were typed."""
    if not (heard.is_typed and isinstance(decided, Commit)):
        return decided
    meanings = tuple(
        one.replace(text=part_typed(heard.text, one.text) or one.text)
        if isinstance(one, Remark | Remind) and one.text
        else one
        for one in decided.candidate.meanings
    )
    return replace(decided, candidate=replace(decided.candidate, meanings=meanings))


def part_typed(text: str, spelled: str) -> str | None:
    """Return the part of a typed ``text`` that is ``spelled`` out; None where none is.

    >>> part_typed("Note: call Ann at 802.", "call ann at eight hundred two")
    'call Ann at 802'
    """
    sought = words_of(spelled)
    words = list(_WORD.finditer(text))
    for first in words:
        if words_of(text[first.start() :])[: len(sought)] != sought:
            continue
        for last in words:
            part = text[first.start() : last.end()]
            if words_of(part) == sought:
                return " ".join(part.split()).rstrip(".,;:!?")
    return None
