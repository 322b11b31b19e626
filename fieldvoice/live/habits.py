"""What was said about listening itself: how it is called, and how long it waits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.asr.pauses import LONGEST_PAUSE_S, SHORTEST_PAUSE_S
from fieldvoice.schema import Command

if TYPE_CHECKING:
    from fieldvoice.asr.stream import UtteranceStream
    from fieldvoice.live.settings import Settle
    from fieldvoice.live.wake_policy import Address
    from fieldvoice.reply import Reply

#: How much longer or shorter the pause each time, in seconds.
PAUSE_STEP_S = 0.4


class Habits:
    """Changes ``address`` and ``stream`` as it is told, and hands what lasts to ``settle``."""

    def __init__(self, address: Address, stream: UtteranceStream, settle: Settle) -> None:
        self._address, self._stream, self._settle = address, stream, settle

    def heed(self, reply: Reply) -> None:
        """Do what the commands in ``reply`` ask for."""
        for one in reply.meanings:
            if isinstance(one, Command):
                self._do(one)

    def _do(self, command: Command) -> None:
        match command.do:
            case "wait_longer":
                self._wait(PAUSE_STEP_S)
            case "wait_less":
                self._wait(-PAUSE_STEP_S)
            case "listen":
                self._listen(command.fields.get("word"), command.fields.get("way"))

    def _wait(self, more_s: float) -> None:
        wanted = round(self._stream.pause_s + more_s, 2)
        self._stream.pause_s = min(LONGEST_PAUSE_S, max(SHORTEST_PAUSE_S, wanted))
        self._settle({"pause_s": self._stream.pause_s})

    def _listen(self, word: str | None, way: str | None) -> None:
        self._address.way = "open" if way == "open" else "word"
        self._settle({"listening": self._address.way, **({"attention_word": word} if word else {})})
