"""Whether what is said is meant for the assistant: the ways of calling it, and for how long."""

from __future__ import annotations

from typing import Literal

#: ``word``: an utterance begins with the attention word. ``open``: everything is meant for it.
#: ``touch``: a key, or a button that sends one.
Way = Literal["word", "open", "touch"]

#: How long it waits for the first word after a call, in seconds.
WAITS_S = 8.0
#: After a question of its own: people look at the bucket before they answer.
WAITS_FOR_ANSWER_S = 15.0
#: After a touch.
WAITS_AFTER_TOUCH_S = 30.0


class Address:
    """The ear's door.

    Times are seconds of sound heard so far: while the microphone is gone, none passes.
    """

    def __init__(self, way: Way) -> None:
        self.way = way
        self._until_s = float("-inf")
        self._touched = False

    def is_open(self, now_s: float) -> bool:
        """Whether what begins now is listened to without a call."""
        return self.way == "open" or now_s < self._until_s

    def is_sure(self, now_s: float) -> bool:
        """Whether what begins now is surely meant for the assistant: it was called or touched."""
        return now_s < self._until_s

    def is_touched(self, now_s: float) -> bool:
        """Whether it is open because of a touch."""
        return self._touched and now_s < self._until_s

    def open(self, now_s: float, for_s: float = WAITS_S) -> None:
        """Listen without a call for a while."""
        self._until_s = max(self._until_s, now_s + for_s)

    def touch(self, now_s: float) -> None:
        """Open by hand."""
        self._touched = True
        self.open(now_s, WAITS_AFTER_TOUCH_S)

    def close(self) -> None:
        """Wait for a call again."""
        self._until_s = float("-inf")
        self._touched = False
