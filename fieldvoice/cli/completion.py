"""Completion from the grammar: the words with which a sentence can go on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from prompt_toolkit.completion import CompleteEvent, Completer, Completion

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from prompt_toolkit.document import Document


class GrammarCompleter(Completer):
    """Offers what may come next; ``next_words`` gives it for the words said so far."""

    def __init__(self, next_words: Callable[[str], Sequence[str]]) -> None:
        self._next_words = next_words

    def get_completions(self, document: Document, event: CompleteEvent) -> Iterator[Completion]:
        """Yield the words that begin with what is typed of the last one."""
        text = document.current_line_before_cursor
        said, begun = _last_word(text)
        for word in self._next_words(said):
            if word.startswith(begun.lower()) and word != begun:
                yield Completion(word, start_position=-len(begun))


def _last_word(text: str) -> tuple[str, str]:
    """Return the words said, and the beginning of the one being typed."""
    said, space, begun = text.rpartition(" ")
    return (said, begun) if space else ("", text)
