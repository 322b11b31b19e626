"""How a reply is given: which sound, whether in words, and the commands about the voice itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.meaning import Command

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldvoice.reply import Reply
    from fieldvoice.speaking.mouth import Mouth
    from fieldvoice.speaking.tones import Tone

_VOICE: Mapping[str, Callable[[Mouth], None]] = {
    "louder": lambda mouth: mouth.louder(),
    "softer": lambda mouth: mouth.louder(-1),
    "slower": lambda mouth: mouth.slower(),
    "faster": lambda mouth: mouth.slower(-1),
}


class Manner:
    """Gives replies through ``mouth``.

    After "quiet" notes are not read back any more: the short sounds tell that they were taken.
    Answers, questions and warnings are still said, for somebody waits for them. "Louder" or "say
    that again" ends the quiet.
    """

    def __init__(self, mouth: Mouth) -> None:
        self._mouth = mouth
        self._quiet = False

    def answer(self, reply: Reply) -> None:
        """Give ``reply``: its sound first, then its words."""
        commands = {one.do for one in reply.meanings if isinstance(one, Command)}
        if "quiet" in commands:
            self._quiet = True
            self._mouth.stop()
            self._mouth.sound("got_it")
            return
        if commands & {"louder", "repeat"}:
            self._quiet = False
        for name in commands & _VOICE.keys():
            _VOICE[name](self._mouth)
        sound = tone_of(reply)
        if sound is not None:
            self._mouth.sound(sound)
        if not self._quiet or _is_waited_for(reply):
            self._mouth.say(reply.text)


def tone_of(reply: Reply) -> Tone | None:
    """Return the sound that goes before the words of ``reply``; an answer needs none."""
    if reply.outcome == "kept":
        return "say_again"
    if any(finding.level != "note" for finding in reply.findings):
        return "careful"
    if reply.outcome in ("saved", "done"):
        return "got_it"
    return None


def _is_waited_for(reply: Reply) -> bool:
    warned = any(finding.level == "stop" for finding in reply.findings)
    return warned or reply.outcome in ("answered", "asked", "kept")
