"""Sound to a WAV file, with the standard library alone."""

from __future__ import annotations

import wave
from typing import TYPE_CHECKING

from fieldvoice.errors import VoiceError

if TYPE_CHECKING:
    from pathlib import Path

    from fieldvoice.tts.voices import Sound


def write_wav(path: Path, sound: Sound) -> None:
    """Write ``sound`` as 16-bit mono PCM, over whatever was at ``path``.

    Raises:
        VoiceError: the file cannot be written.
    """
    try:
        with path.open("wb") as file, wave.open(file, "wb") as out:
            out.setnchannels(1)
            out.setsampwidth(2)
            out.setframerate(sound.rate)
            out.writeframes(sound.samples.astype("<i2").tobytes())
    except OSError as problem:
        raise VoiceError(f"The sound cannot be written to {path}: {problem.strerror}.") from problem
