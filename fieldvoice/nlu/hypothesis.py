"""One way to read an utterance: the meanings found and what it cost to find them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldvoice.nlu.wordings import Wording
    from fieldvoice.schema import Meaning


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """Meanings in the order they were said, with the price of every liberty taken.

    ``cost`` is 0 for words exactly as the grammar has them; each skipped, supplied or near-sounding
    word adds to it, and so does a less likely hearing. ``text`` is the hearing it comes from;
    ``skipped`` the words left out, ``repaired`` pairs of (heard, taken for), ``supplied`` the small
    words put in; ``rules`` the rules of the grammar that it goes through, by full name; ``runs``
    the words left out, those that stood side by side together. ``nouns`` are those of the words
    left out or put in that name a thing, so that it may be that thing which was spoken of: "bucket
    on tree three is cracked". ``left_out`` are the words passed over that tell something, as they
    were said. ``wording`` is the learnt one that it was read by, if it was. ``bill`` says what
    ``cost`` is made of: (what for, how much); what an open question takes off is not in it.
    """

    meanings: tuple[Meaning, ...]
    cost: float
    text: str
    skipped: tuple[str, ...] = ()
    repaired: tuple[tuple[str, str], ...] = ()
    supplied: tuple[str, ...] = ()
    nouns: tuple[str, ...] = ()
    left_out: str = ""
    rules: tuple[str, ...] = field(default=(), compare=False, repr=False)
    runs: tuple[tuple[str, ...], ...] = field(default=(), compare=False, repr=False)
    wording: Wording | None = None
    bill: tuple[tuple[str, float], ...] = field(default=(), compare=False, repr=False)
