"""What was saved, in as few words as possible: "Tree 12: nearly full, cloudy."."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.nlg.written import Style, phrase, sentence, written
from fieldvoice.segments import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.meaning import Act


def told(act: Act) -> Sentence:
    """Return one note as a sentence."""
    return Sentence("fact", act.told())


def subject(act: Act) -> str:
    """Return what a note is about, "tree 12" or "tank 2"; empty when it names nothing."""
    return phrase(act.subject())


def readback(act: Act, metric: bool = False) -> str:
    """Return one note as one short sentence."""
    return sentence(told(act), Style(metric))


def with_its_sound(remark: Act) -> str:
    """Return the read-back of a remark whose words are unsure: its recording tells them."""
    return f"{readback(remark.replace(text=None)).rstrip('.')}, with its sound."


def readbacks(acts: Iterable[Act], metric: bool = False) -> str:
    """Return notes as sentences, those about the same thing in one: "Tree 14: full, cloudy."."""
    return written(map(told, acts), Style(metric))
