"""Speaking on the loudspeaker, where there is one: for commands that say something and end."""

from __future__ import annotations

import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fieldvoice.live import LiveSettings
    from fieldvoice.tts import Sound
    from fieldvoice.tts.speech_output import SpeechOutput

#: Between two looks whether the sound is over, in seconds.
_WAIT_S = 0.05
#: So much longer than its sound a loudspeaker may take, in seconds.
_SLOW_S = 2.0
#: A loudspeaker that is unplugged never comes to the end of what is said; a minute is long for it.
_LONGEST_S = 60.0


class Mouth:
    """Says one thing after the other, and returns when each is over."""

    def __init__(self, output: SpeechOutput) -> None:
        self._output = output

    def say(self, text: str) -> None:
        """Say ``text``, as in ``Reply.spoken``."""
        self._output.say(text)
        self._wait(_LONGEST_S)

    def play(self, sound: Sound) -> None:
        """Play what was recorded."""
        self._output.play(sound)
        self._wait(sound.duration_s + _SLOW_S)

    def start(self, sound: Sound) -> None:
        """Play what was recorded, and return at once."""
        self._output.play(sound)

    def wait(self) -> None:
        """Return when all that was started is over."""
        self._wait(_LONGEST_S)

    def _wait(self, longest_s: float) -> None:
        until = time.monotonic() + longest_s
        while self._output.speaking and time.monotonic() < until:
            time.sleep(_WAIT_S)


@contextmanager
def mouth(settings: LiveSettings, *, speaks: bool = True) -> Iterator[Mouth]:
    """Yield what speaks, with the household's voice and loudspeaker; one that only plays without.

    Raises:
        SoundDeviceError: there is no loudspeaker, or no library to use it with.
        VoiceError: no voice can speak.
    """
    from fieldvoice.soundcard import sound_system
    from fieldvoice.tts import default_voice, named_voice
    from fieldvoice.tts.player import DevicePlayer
    from fieldvoice.tts.speech_output import SpeechOutput

    player = DevicePlayer(sound_system(None, settings.loudspeaker), settings.loudspeaker)
    output = None
    try:
        voice = None
        if speaks:
            voice = named_voice(settings.voice) if settings.voice else default_voice()
        output = SpeechOutput(player, voice, settings.loudness, settings.pace)
        yield Mouth(output)
    finally:
        (output or player).close()


def live_settings(book: Path | None) -> LiveSettings:
    """Return how the household of a book wants to be spoken to."""
    from fieldvoice.cli.app import default_book
    from fieldvoice.cli.settings_file import read_live_settings

    return read_live_settings((book or default_book()).with_suffix(".toml"))
