"""What a household has settled about listening and speaking; it lasts until told otherwise."""

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

from pydantic import ConfigDict
from pydantic.dataclasses import dataclass

from fieldvoice.asr.attention_words import ATTENTION_WORDS, DEFAULT_WORD
from fieldvoice.asr.pauses import LONGEST_PAUSE_S, PAUSE_S, SHORTEST_PAUSE_S
from fieldvoice.dialogue.choices import Choice, choices_of
from fieldvoice.tts import VOICES
from fieldvoice.tts.manner import FASTEST, LOUDEST, SLOWEST, SOFTEST

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldvoice.dialogue.choices import Value

    #: Takes settings that were changed aloud: the fields, with their values from now on.
    Settle = Callable[[Mapping[str, Value]], None]


@dataclass(frozen=True, slots=True, config=ConfigDict(extra="forbid"))
class LiveSettings:
    """Choices of the live conversation, each with what it means; all have a working default."""

    listening: Annotated[
        str,
        Choice(
            "listening",
            "How it is called.",
            values={
                "word": ("word", "by the attention word, or a key"),
                "open": ("open", "not at all: everything that is said is for it"),
                "touch": ("touch", "by a key, from one press to the next"),
                "hold": ("hold", "while a key is held down"),
            },
        ),
    ] = "word"
    attention_word: Annotated[
        str,
        Choice(
            "attention-word",
            "The word that calls it.",
            values={phrase: (phrase, "say it, then the note") for phrase in ATTENTION_WORDS},
        ),
    ] = DEFAULT_WORD
    pause_s: Annotated[
        float,
        Choice(
            "pause",
            "How long a silence ends what you say.",
            within=(SHORTEST_PAUSE_S, LONGEST_PAUSE_S),
            unit="s",
        ),
    ] = PAUSE_S
    microphone: Annotated[
        str | None,
        Choice("microphone", "A part of its name; not set, the usual one."),
    ] = None
    loudspeaker: Annotated[
        str | None,
        Choice("loudspeaker", "A part of its name; not set, the usual one."),
    ] = None
    voice: Annotated[
        str | None,
        Choice(
            "voice",
            "Who speaks; not set, the most natural voice that is installed.",
            values={name: (name, voice.about) for name, voice in VOICES.items()},
        ),
    ] = None
    loudness: Annotated[
        float,
        Choice(
            "loudness",
            "How loud the voice is; 1 is its own loudness.",
            within=(SOFTEST, LOUDEST),
        ),
    ] = 1.0
    pace: Annotated[
        float,
        Choice(
            "pace",
            "How fast the voice speaks; 1 is its own pace.",
            within=(SLOWEST, FASTEST),
        ),
    ] = 1.0
    reads_back: Annotated[
        bool,
        Choice(
            "read-back",
            "Whether notes are said back; answers and warnings always are.",
            values={"yes": (True, "in words"), "no": (False, "by a short sound alone")},
        ),
    ] = True

    def with_values(self, changed: "Mapping[str, Value]") -> "LiveSettings":
        """Return these settings with the ``changed`` ones, by their fields."""
        return replace(self, **changed)  # type: ignore[arg-type]  # checked where they come in


#: All of them, in the order of their list, and by their name in the file.
LIVE_CHOICES = choices_of(LiveSettings)
LIVE_BY_FIELD = {one.field: one for one in LIVE_CHOICES}
