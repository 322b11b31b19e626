"""What was saved, in as few words as possible: "Tree 12: nearly full, cloudy."."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.segments import Sentence, fact

if TYPE_CHECKING:
    from fieldvoice.meaning import Act


def told(act: Act) -> Sentence:
    """Return one note as a sentence."""
    return Sentence("fact", act.told())


def with_its_sound(remark: Act) -> Sentence:
    """Return the read-back of a remark whose words are unsure: its recording tells them."""
    return fact(remark.replace(text=None).told().head, ", with its sound")
