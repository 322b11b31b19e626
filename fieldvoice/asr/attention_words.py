"""The attention words to choose from, with how they sound."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class AttentionWord:
    """A phrase that calls the assistant.

    ``phones`` are those of each of its words in ARPAbet, without stress. ``threshold`` is the
    likelihood ratio to free phones, as a power of ten, from which on it counts as said: the higher,
    the fewer false alarms and the more calls missed.
    """

    phrase: str
    phones: Mapping[str, tuple[str, ...]]
    threshold: int


#: The phrases to choose from: long, with sounds that trade talk seldom puts in a row.
ATTENTION_WORDS: Mapping[str, AttentionWord] = {
    word.phrase: word
    for word in (
        AttentionWord(
            "listen maple",
            {"listen": ("L IH S AH N",), "maple": ("M EY P AH L",)},
            -45,
        ),
        AttentionWord(
            "attention please",
            {"attention": ("AH T EH N SH AH N",), "please": ("P L IY Z",)},
            -45,
        ),
        AttentionWord(
            "hello woodpecker",
            {"hello": ("HH AH L OW", "HH EH L OW"), "woodpecker": ("W UH D P EH K ER",)},
            -40,
        ),
        AttentionWord(
            "field notebook",
            {"field": ("F IY L D",), "notebook": ("N OW T B UH K",)},
            -45,
        ),
        AttentionWord(
            "hello chickadee",
            {"hello": ("HH AH L OW", "HH EH L OW"), "chickadee": ("CH IH K AH D IY",)},
            -45,
        ),
    )
}
DEFAULT_WORD = "listen maple"
