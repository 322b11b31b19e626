"""From words to ranked readings: one weighted search through the grammar."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.nlu.interpreter import Interpreter

__all__ = ["Hypothesis", "Interpreter"]


def __getattr__(name: str) -> Any:
    """Load what is asked for: whoever only spells words out needs the memory for other things."""
    if name == "Hypothesis":
        from fieldvoice.nlu.hypothesis import Hypothesis

        return Hypothesis
    if name == "Interpreter":
        from fieldvoice.nlu.interpreter import Interpreter

        return Interpreter
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
