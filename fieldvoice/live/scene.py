"""What a live conversation shows: a value for the screen, and what a screen must do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, Protocol

if TYPE_CHECKING:
    from fieldvoice.reply import Reply

#: ``waiting``: for the attention word or a touch. ``listening``: for anything. ``hearing``: someone
#: speaks to it. ``thinking``, ``speaking``: it does. ``deaf``: the microphone is gone.
State = Literal["waiting", "listening", "hearing", "thinking", "speaking", "deaf"]


@dataclass(frozen=True, slots=True)
class Scene:
    """How things stand: what it does, the words so far, how loud the microphone is (0 to 1)."""

    state: State
    words: str = ""
    level: float = 0.0


class Screen(Protocol):
    """Shows a live conversation."""

    def scene(self, scene: Scene) -> None:
        """Show how things stand now."""
        ...

    def reply(self, reply: Reply) -> None:
        """Show what came of an utterance."""
        ...

    def aside(self, text: str) -> None:
        """Show a line that is no reply: the microphone is gone, a recording was finished."""
        ...
