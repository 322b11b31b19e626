"""How a reply is given: which sound, whether in words, and what was said about the voice itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.handbook.loader import shipped
from fieldvoice.schema import Command
from fieldvoice.schema.asks.season import Advice

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldvoice.live.settings import Settle
    from fieldvoice.reply import Reply
    from fieldvoice.tts.speech_output import SpeechOutput
    from fieldvoice.tts.tones import Tone

_VOICE: Mapping[str, Callable[[SpeechOutput], None]] = {
    "louder": lambda mouth: mouth.louder(),
    "softer": lambda mouth: mouth.louder(-1),
    "slower": lambda mouth: mouth.slower(),
    "faster": lambda mouth: mouth.slower(-1),
}


class ResponsePresenter:
    """Gives replies through ``mouth``; what is changed for good is handed to ``settle``.

    After "quiet" notes are not read back any more: the short sounds tell that they were taken.
    Answers, questions and warnings are still said, for somebody waits for them. "Louder" or "say
    that again" ends the quiet.
    """

    def __init__(self, mouth: SpeechOutput, settle: Settle, *, reads_back: bool = True) -> None:
        self._mouth, self._settle = mouth, settle
        self._reads_back = reads_back

    def answer(self, reply: Reply) -> None:
        """Give ``reply``: its sound first, then its words."""
        commands = {one.do for one in reply.meanings if isinstance(one, Command)}
        if "quiet" in commands:
            self._read_back(False)
            self._mouth.stop()
            self._mouth.sound("got_it")
            return
        if commands & {"louder", "repeat"}:
            self._read_back(True)
        for name in commands & _VOICE.keys():
            _VOICE[name](self._mouth)
            self._settle({"loudness": self._mouth.loudness, "pace": self._mouth.pace})
        sound = tone_of(reply)
        if sound is not None:
            self._mouth.sound(sound)
        if self._reads_back or _is_waited_for(reply):
            self._mouth.say(reply.spoken)

    def _read_back(self, wanted: bool) -> None:
        if wanted != self._reads_back:
            self._reads_back = wanted
            self._settle({"reads_back": wanted})


def tone_of(reply: Reply) -> Tone | None:
    """Return the sound that goes before the words of ``reply``; an answer needs none."""
    if reply.outcome == "kept":
        return "say_again"
    if any(finding.level != "note" for finding in reply.findings):
        return "careful"
    if reply.outcome in ("saved", "done"):
        return "got_it"
    return None


def is_urgent(reply: Reply) -> bool:
    """Whether somebody is or may be hurt: it is said at once, and to the end."""
    urgent = shipped().urgent
    return any(isinstance(one, Advice) and one.topic in urgent for one in reply.meanings)


def _is_waited_for(reply: Reply) -> bool:
    warned = any(finding.level == "stop" for finding in reply.findings)
    return warned or reply.outcome in ("answered", "asked", "kept")
