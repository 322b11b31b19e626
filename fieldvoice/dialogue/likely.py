"""What is likely to be typed next: what was asked, the next tree, and what this household says."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue.prompts import open_question
from fieldvoice.dialogue.round import missed_trees, open_round

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from fieldvoice.book import Book, Season, Utterance

#: So many of the newest utterances tell how people talk at this time of the season.
_LOOKED_AT = 200
#: What came of words that were understood.
_UNDERSTOOD = ("saved", "answered", "done", "asked")


def likely(book: Book, season: Season, now: datetime) -> list[str]:
    """Return sentences that are likely now, the likeliest first, for their words to be offered.

    Raises:
        BookError: the book cannot be read.
    """
    said = [one for one in book.utterances(_LOOKED_AT) if one.outcome in _UNDERSTOOD and one.text]
    found = [*_answers(book, season, now), *_next_trees(season, now), *_after_such(said)]
    return list(dict.fromkeys(found))


def _answers(book: Book, season: Season, now: datetime) -> Iterator[str]:
    """Yield what answers the question that is open."""
    question = open_question(book.last_utterance(), now, "typed")
    expected = question.expects if question is not None else None
    if expected == "yes_no":
        yield from ("yes", "no")
    elif expected == "tree":
        yield from (f"tree {tree}" for tree in season.trees)
    elif expected in ("vessel", "into"):
        yield from season.vessels


def _next_trees(season: Season, now: datetime) -> Iterator[str]:
    if open_round(season, now) is not None:
        missed = missed_trees(season, now)
        yield from (f"tree {tree}" for tree in season.walk if tree in missed)


def _after_such(said: Sequence[Utterance]) -> list[str]:
    """Return what was said after something like the last, then what is said at all: often first."""
    if not said:
        return []
    last = _kind(said[-1].meanings)
    after = Counter(later.text for one, later in pairwise(said) if _kind(one.meanings) == last)
    at_all = Counter(one.text for one in said)
    return [text for told in (after, at_all) for text, _ in told.most_common()]


def _kind(meanings: Sequence[dict[str, Any]]) -> str | None:
    first = next(iter(meanings), {})
    return next((first[key] for key in ("act", "ask", "do") if key in first), None)
