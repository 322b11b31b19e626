from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE, hear_memo
from fieldvoice.asr.audio import Recording
from fieldvoice.asr.pocketsphinx_engine import PocketsphinxRecogniser
from fieldvoice.book import Book
from fieldvoice.cli.recognisers import LISTENER, with_second
from fieldvoice.dialogue import Conversation
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Recogniser, Samples
    from fieldvoice.reply import Reply

#: A day in the season.
NOW = datetime(2027, 3, 12, 14, 0, tzinfo=UTC)
#: Encoders for the kinds of file that phones and recorders make.
ENCODERS = {
    ".wav": ("pcm_s16le", 44_100),
    ".flac": ("flac", 48_000),
    ".mp3": ("libmp3lame", 44_100),
    ".ogg": ("libopus", 48_000),
    ".opus": ("libopus", 48_000),
    ".m4a": ("aac", 44_100),
    ".webm": ("libopus", 48_000),
    ".3gp": ("libopencore_amrnb", 8_000),
    ".amr": ("libopencore_amrnb", 8_000),
}


def pieces(samples: Samples, rate: int, form: str, size: int) -> Any:
    """Yield frames of ``size`` samples at ``rate``, as an encoder wants them."""
    import av

    whole = av.AudioFrame.from_ndarray(samples.reshape(1, -1), "s16", "mono")
    whole.sample_rate = SAMPLE_RATE
    resampler = av.AudioResampler(form, "mono", rate)
    store = av.AudioFifo()
    for frame in (*resampler.resample(whole), *resampler.resample(None)):
        frame.pts = None
        store.write(frame)
    while (frame := store.read(size, partial=True)) is not None:
        frame.pts = None
        yield frame


def write_audio(path: Path, samples: Samples) -> Path:
    """Write ``samples`` as the kind of file that the path's ending names."""
    import av

    codec, rate = ENCODERS[path.suffix]
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate, layout="mono")
        coder = stream.codec_context
        for frame in pieces(samples, rate, coder.format.name, coder.frame_size or 1024):
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def silence(seconds: float) -> Samples:
    return np.zeros(round(seconds * SAMPLE_RATE), dtype=np.int16)


@pytest.fixture(scope="session")
def say() -> Callable[[str], Samples]:
    """Says words with the voice inside its package: 16 kHz, the same samples each time."""
    from fieldvoice.tts import HibariVoice

    voice = HibariVoice()
    said: dict[str, Samples] = {}

    def speak(text: str) -> Samples:
        if text not in said:
            sound = voice.render(text)
            said[text] = at_16_khz(sound.samples, sound.rate)
        return said[text]

    return speak


def at_16_khz(samples: Samples, rate: int) -> Samples:
    import av

    frame = av.AudioFrame.from_ndarray(samples.reshape(1, -1), "s16", "mono")
    frame.sample_rate = rate
    resampler = av.AudioResampler("s16", "mono", SAMPLE_RATE)
    parts = (*resampler.resample(frame), *resampler.resample(None))
    return np.concatenate([part.to_ndarray().reshape(-1) for part in parts]).astype(np.int16)


@pytest.fixture(scope="session")
def recogniser(hearing_cache: Path) -> PocketsphinxRecogniser:
    """The bundled recogniser on the real grammar, made once for all tests."""
    return PocketsphinxRecogniser(GRAMMAR, hearing_cache)


@pytest.fixture(scope="session")
def ears(recogniser: PocketsphinxRecogniser) -> Recogniser:
    """Both listeners, as everything is heard."""
    return with_second(recogniser, LISTENER, GRAMMAR, live=False)


@pytest.fixture(scope="session")
def replies_to(ears: Recogniser) -> Callable[..., list[Reply]]:
    """Returns what a conversation, after some notes, makes of a recording or of samples."""
    understander = Interpreter(GRAMMAR)

    def made(sound: Recording | Samples, *before: str) -> list[Reply]:
        memo = sound if isinstance(sound, Recording) else Recording("memo", "0", sound)
        with Book.in_memory_copy(None) as book:
            talk = Conversation(book, understander, clock=lambda: NOW)
            for note in before:
                assert talk.hear(typed(note)).outcome == "saved"
            return [
                talk.hear(one, source="memo") for one in hear_memo(memo, ears, talk.is_unfinished)
            ]

    return made


def noted(replies: list[Reply]) -> list[dict[str, object]]:
    """Return the meanings of what was saved."""
    saved = [reply for reply in replies if reply.outcome == "saved"]
    return [meaning.json_fields() for reply in saved for meaning in reply.meanings]
