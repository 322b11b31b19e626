"""How a remark begins ("make a note …"), after which anything may be said."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldvoice.grammar.grammar import Grammar

_RULE = "notes.make_note"


class RemarkOpenings:
    """The openings that the grammar has; a grammar without remarks has none."""

    def __init__(self, grammar: Grammar) -> None:
        phrases = grammar.phrases_of(_RULE) if _RULE in grammar.networks else frozenset()
        self._phrases = frozenset(" ".join(words) for words in phrases)
        self._longest = max((len(words) for words in phrases), default=0)

    def words_in(self, text: str) -> int:
        """Return how many words of ``text`` open a remark; 0 where none do, or nothing follows."""
        words = text.split()
        lengths = range(min(self._longest, len(words) - 1), 0, -1)
        return next((n for n in lengths if " ".join(words[:n]) in self._phrases), 0)
