"""A note and a question about it in one breath: "tank one smells off, should I dump it"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

#: Where one part of a breath may end and a question begin: a stop, or a word that asks.
_STOP = re.compile(r"\s*[,;.!?\n]+\s*(?:(?:and|so|but)\s+)?(?=\S)")
_ASKING = re.compile(
    r"\s+(?=(?:is|are|was|can|could|should|must|do|does|will|would|how|what|why|which|when)\b)",
    re.IGNORECASE,
)
#: Fewer words than this before the question are no note.
_LEAST = 2
#: So many places are tried: a breath has few parts, a pasted file has many.
_MOST = 6


def halves(text: str) -> Iterator[tuple[str, str]]:
    """Yield the parts before and after each place where a question may begin, the first first."""
    places = [(found.start(), found.end()) for found in _STOP.finditer(text)]
    places += [(found.start(), found.end()) for found in _ASKING.finditer(text)]
    for end, start in sorted(places)[:_MOST]:
        if len(text[:end].split()) >= _LEAST:
            yield text[:end], text[start:]
