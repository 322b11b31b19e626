"""Replies to speech: words as they are said, voices, sound files."""

from fieldvoice.nlg.numbers import say_number
from fieldvoice.nlg.verbalise import speakable
from fieldvoice.tts.voices import (
    VOICES,
    HibariVoice,
    PicoVoice,
    Sound,
    Voice,
    default_voice,
    named_voice,
)
from fieldvoice.tts.wav import write_wav

__all__ = [
    "VOICES",
    "HibariVoice",
    "PicoVoice",
    "Sound",
    "Voice",
    "default_voice",
    "named_voice",
    "say_number",
    "speakable",
    "write_wav",
]
