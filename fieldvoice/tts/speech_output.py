"""Says replies: sentence by sentence, so that the first is heard while the next is being made."""

from __future__ import annotations

import queue
import re
import threading
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.errors import VoiceError
from fieldvoice.tts.levelled import limited
from fieldvoice.tts.manner import FASTEST, LOUDER, LOUDEST, SLOWER, SLOWEST, SOFTEST
from fieldvoice.tts.tones import tone
from fieldvoice.tts.voices import Sound

if TYPE_CHECKING:
    from fieldvoice.tts.player import Player
    from fieldvoice.tts.tones import Tone
    from fieldvoice.tts.voices import Voice

_SENTENCE = re.compile(r"(?<=[.!?;])\s+")


class SpeechOutput:
    """A voice and a player. ``say`` and ``sound`` return at once; what they give is heard in order.

    Without a ``voice`` it only makes the short sounds. ``loudness`` and ``pace`` multiply the
    voice's own.
    """

    def __init__(
        self, player: Player, voice: Voice | None, loudness: float = 1.0, pace: float = 1.0
    ) -> None:
        self._player, self._voice = player, voice
        self._loudness, self._pace = loudness, pace
        self._to_say: queue.SimpleQueue[tuple[int, str | Sound, bool] | None] = queue.SimpleQueue()
        self._waiting = 0
        self._round = 0  # raised by ``stop``: what was asked for before it is not said
        self._lock = threading.Lock()
        self._worker = threading.Thread(target=self._work, name="mouth", daemon=True)
        self._worker.start()

    @property
    def speaking(self) -> bool:
        """Whether anything is being said, or is about to be; the short sounds do not count."""
        return self._waiting > 0 or self._player.speaking

    @property
    def level(self) -> float:
        """Root mean square, full scale 1, of what left the loudspeaker just now."""
        return self._player.level

    @property
    def loudness(self) -> float:
        """How loud it speaks, as a multiple of the voice's own loudness."""
        return self._loudness

    @property
    def pace(self) -> float:
        """How fast it speaks, as a multiple of the voice's own pace."""
        return self._pace

    def say(self, text: str) -> None:
        """Say ``text``, as in ``Reply.spoken``; what is written for the eye is said as well."""
        if self._voice is not None:
            for sentence in _SENTENCE.split(text.strip()):
                if sentence:
                    with self._lock:
                        self._waiting += 1
                        self._to_say.put((self._round, sentence, True))

    def play(self, words: Sound) -> None:
        """Play ``words`` that somebody has said, after what is being said already."""
        with self._lock:
            self._waiting += 1
            self._to_say.put((self._round, words, True))

    def sound(self, name: Tone) -> None:
        """Make one of the short sounds."""
        self._to_say.put((self._round, tone(name), False))

    def stop(self) -> None:
        """Fall silent at once."""
        with self._lock:
            self._round += 1
            self._waiting = 0
        self._player.stop()

    def louder(self, steps: int = 1) -> None:
        """Speak louder from now on, or softer for a negative number of steps."""
        self._loudness = min(LOUDEST, max(SOFTEST, self._loudness * LOUDER**steps))

    def slower(self, steps: int = 1) -> None:
        """Speak slower from now on, or faster for a negative number of steps."""
        self._pace = min(FASTEST, max(SLOWEST, self._pace * SLOWER**steps))

    def close(self) -> None:
        """Fall silent and give the loudspeaker back."""
        self.stop()
        self._to_say.put(None)
        self._worker.join(timeout=5)
        self._player.close()

    def _work(self) -> None:
        while (asked := self._to_say.get()) is not None:
            called, what, words = asked
            if not words:
                assert isinstance(what, Sound)
                self._play(what, called, words=False)
                continue
            try:
                sound = what if isinstance(what, Sound) else self._rendered(what)
                self._play(sound, called, words=True)
            except VoiceError:
                pass  # the words stand on the screen
            finally:
                with self._lock:
                    if called == self._round:
                        self._waiting -= 1

    def _play(self, sound: Sound, called: int, *, words: bool) -> None:
        with self._lock:
            if called == self._round:
                self._player.play(self._as_loud(sound), words=words)

    def _rendered(self, text: str) -> Sound:
        assert self._voice is not None
        return self._voice.render(text, self._pace)

    def _as_loud(self, sound: Sound) -> Sound:
        if self._loudness == 1.0:
            return sound
        samples = limited(sound.samples / 32767 * self._loudness)
        return Sound((samples * 32767).astype(np.int16), sound.rate)
