"""What a household has settled about listening and speaking; it lasts until told otherwise."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldvoice.asr.endpoint import LONGEST_PAUSE_S, PAUSE_S, SHORTEST_PAUSE_S
from fieldvoice.asr.wake_word import ATTENTION_WORDS, DEFAULT_WORD
from fieldvoice.dialogue.choices import Choice
from fieldvoice.tts import VOICES
from fieldvoice.tts.speech_output import FASTEST, LOUDEST, SLOWEST, SOFTEST

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldvoice.dialogue.choices import Value

    #: Takes settings that were changed aloud: the fields, with their values from now on.
    Settle = Callable[[Mapping[str, Value]], None]


@dataclass(frozen=True, slots=True)
class LiveSettings:
    """Choices of the live conversation. Everything has a working default.

    ``listening`` is how it is called: by ``attention_word`` (``word``), not at all (``open``), by a
    key (``touch``) or while one is held down (``hold``). ``pause_s`` of silence end an utterance.
    ``microphone`` and ``loudspeaker`` are parts of a device's name, None for the usual one.
    ``loudness`` and ``pace`` multiply the voice's own. ``reads_back`` is false after "quiet".
    """

    listening: str = "word"
    attention_word: str = DEFAULT_WORD
    pause_s: float = PAUSE_S
    microphone: str | None = None
    loudspeaker: str | None = None
    voice: str | None = None
    loudness: float = 1.0
    pace: float = 1.0
    reads_back: bool = True

    def with_values(self, changed: Mapping[str, Value]) -> LiveSettings:
        """Return these settings with the ``changed`` ones, by their fields."""
        return replace(self, **changed)  # type: ignore[arg-type]  # checked where they come in


#: All of them, in the order of their list.
LIVE_CHOICES: tuple[Choice, ...] = (
    Choice(
        "listening", "listening", "How it is called.",
        values={
            "word": ("word", "by the attention word, or a key"),
            "open": ("open", "not at all: everything that is said is for it"),
            "touch": ("touch", "by a key, from one press to the next"),
            "hold": ("hold", "while a key is held down"),
        },
    ),
    Choice(
        "attention-word", "attention_word", "The word that calls it.",
        values={phrase: (phrase, "say it, then the note") for phrase in ATTENTION_WORDS},
    ),
    Choice(
        "pause", "pause_s", "How long a silence ends what you say.",
        within=(SHORTEST_PAUSE_S, LONGEST_PAUSE_S), unit="s",
    ),
    Choice("microphone", "microphone", "A part of its name; not set, the usual one."),
    Choice("loudspeaker", "loudspeaker", "A part of its name; not set, the usual one."),
    Choice(
        "voice", "voice", "Who speaks; not set, the most natural voice that is installed.",
        values={name: (name, voice.about) for name, voice in VOICES.items()},
    ),
    Choice(
        "loudness", "loudness", "How loud the voice is; 1 is its own loudness.",
        within=(SOFTEST, LOUDEST),
    ),
    Choice(
        "pace", "pace", "How fast the voice speaks; 1 is its own pace.", within=(SLOWEST, FASTEST)
    ),
    Choice(
        "read-back", "reads_back", "Whether notes are said back; answers and warnings always are.",
        values={"yes": (True, "in words"), "no": (False, "by a short sound alone")},
    ),
)  # fmt: skip

#: The same by their name in the file.
LIVE_BY_FIELD: Mapping[str, Choice] = {one.field: one for one in LIVE_CHOICES}
