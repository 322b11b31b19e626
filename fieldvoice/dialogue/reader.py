"""What the conversation needs of understanding."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

from fieldvoice.dialogue.learning import Learner

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.transcript import Transcript


class Reader(Learner, Protocol):
    """Who reads what is said, and what was learnt of it."""

    def read(
        self, heard: Transcript, *, expecting: str | None = None, names: EntityNames = ...
    ) -> Sequence[Hypothesis]:
        """Return the readings of what was heard, cheapest first."""
        ...

    def opening(self, text: str) -> int:
        """Return how many words of ``text`` begin a remark, after which anything may be said."""
        ...

    def is_unfinished(self, text: str, names: EntityNames = ...) -> bool:
        """See ``Interpreter.is_unfinished``."""
        ...

    def named(self, text: str, names: EntityNames = ...) -> Sequence[Span]:
        """Return the trees and vessels that ``text`` names, whatever it says of them."""
        ...

    def pieces(self, text: str, names: EntityNames = ...) -> Sequence[Span]:
        """See ``Interpreter.pieces``."""
        ...

    def value_by(self, rule: str, slot: str, text: str, names: EntityNames = ...) -> Any:
        """See ``Interpreter.value_by``."""
        ...

    def tells_a_value(self, text: str, names: EntityNames = ...) -> bool:
        """See ``Interpreter.tells_a_value``."""
        ...
