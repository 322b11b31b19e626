"""Voices: small engines that turn a reply into sound, all without a network."""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from fieldvoice.errors import VoiceError
from fieldvoice.nlg.verbalise import speakable
from fieldvoice.tts.lighter import lighten

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import numpy as np
    from numpy.typing import NDArray


#: At its full volume the engine clips; measured peaks of 0.83 here.
_PICO_VOLUME = 0.6


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """Mono sound: 16-bit ``samples``, ``rate`` of them a second."""

    samples: NDArray[np.int16]
    rate: int

    @property
    def duration_s(self) -> float:
        """How long it lasts, in seconds."""
        return len(self.samples) / self.rate


class Voice(Protocol):
    """What every engine offers. Making one loads it, so that the first reply is not late.

    ``gain_db`` brings its speech to ``levelled.LUFS``, as measured over twenty replies.
    """

    name: str
    gain_db: float

    def render(self, text: str, pace: float = 1.0) -> Sound:
        """Return ``text``, written as in ``Reply.text``, as sound; empty where nothing is to say.

        ``pace`` 2 is twice as fast as usual.

        Raises:
            VoiceError: the engine failed.
        """
        ...


class Levelled:
    """A voice as loud as other programs and without long silences (``levelled``)."""

    gain_db = 0.0

    def __init__(self, voice: Voice) -> None:
        self._voice, self.name = voice, voice.name

    def render(self, text: str, pace: float = 1.0) -> Sound:
        """Return ``text`` as sound; see ``Voice``."""
        from fieldvoice.tts.levelled import levelled

        sound = self._voice.render(text, pace)
        return Sound(levelled(sound.samples / 32768, sound.rate, self._voice.gain_db), sound.rate)


class HibariVoice:
    """A natural American voice, its model inside the package; 24 kHz.

    The engine adds a little breath noise; with its ``seed`` fixed, the same text is the same
    sound, sample for sample.
    """

    name = "hibari"
    gain_db = 8.0
    about = "natural, American"

    def __init__(self, speed: float = 1.0, seed: int = 0) -> None:
        self._speed, self._seed = speed, seed
        self._engine = _started("hibari-tts", self._start)

    def _start(self) -> Any:
        engine = importlib.import_module("hibari").Hibari()
        lighten(engine)
        # Dictionary and network are read at the first words; take that wait here.
        engine("Ready.", seed=self._seed)
        return engine

    def render(self, text: str, pace: float = 1.0) -> Sound:
        """Return ``text`` as sound; see ``Voice``."""
        import numpy as np

        words = speakable(text)
        try:
            wave = self._engine(words, speed=self._speed * pace, seed=self._seed)
        except Exception as problem:  # engines name no errors of their own
            raise VoiceError(f"The voice {self.name} could not say that: {problem}") from problem
        loud = np.clip(np.asarray(wave) * 32767, -32768, 32767)
        return Sound(loud.astype(np.int16), int(self._engine.sample_rate))


class PicoVoice:
    """A light, clear voice for small boards, British or American; 16 kHz."""

    name = "pico"
    gain_db = -1.4
    about = "light, for small boards (package py-nanotts)"
    rate = 16_000

    def __init__(self, accent: str = "en-US") -> None:
        self._accent = accent
        self._engine = _started("py-nanotts", self._start)

    def _start(self) -> Any:
        return importlib.import_module("py_nanotts").NanoTTS()

    def _speak(self, words: str, pace: float) -> bytes:
        raw: bytes = self._engine.speak(words, voice=self._accent, speed=pace, volume=_PICO_VOLUME)
        return raw

    def render(self, text: str, pace: float = 1.0) -> Sound:
        """Return ``text`` as sound; see ``Voice``."""
        import numpy as np

        words = speakable(text)
        try:
            raw = self._speak(words, pace) if words else b""
        except Exception as problem:  # engines name no errors of their own
            raise VoiceError(f"The voice {self.name} could not say that: {problem}") from problem
        return Sound(np.frombuffer(raw, dtype="<i2").astype(np.int16), self.rate)


#: The voices there are, the most natural first.
VOICES: Mapping[str, type[HibariVoice] | type[PicoVoice]] = {
    voice.name: voice for voice in (HibariVoice, PicoVoice)
}


def named_voice(name: str) -> Voice:
    """Return the voice of this name, loaded and levelled.

    Raises:
        VoiceError: there is none of this name, or its package is missing or broken.
    """
    if name not in VOICES:
        raise VoiceError(f"There is no voice {name!r}; there are {', '.join(VOICES)}.")
    return Levelled(VOICES[name]())


def default_voice() -> Voice:
    """Return the first voice that can be loaded, the most natural one tried first.

    Raises:
        VoiceError: none can be; its text says why for each.
    """
    problems = []
    for name in VOICES:
        try:
            return named_voice(name)
        except VoiceError as problem:
            problems.append(str(problem))
    raise VoiceError(f"No voice can speak. {' '.join(problems)}")


def _started(package: str, start: Callable[[], Any]) -> Any:
    try:
        return start()
    except ImportError as problem:
        raise VoiceError(f"The voice package {package} is missing: {problem}.") from problem
    except Exception as problem:  # engines name no errors of their own
        raise VoiceError(f"The voice package {package} is broken: {problem}.") from problem
