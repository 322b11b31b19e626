"""Record the demo sessions again: every memo of every ``session.toml``, by synthetic voices.

    python demo_sessions/record_sessions.py            # all sessions
    python demo_sessions/record_sessions.py sugarhouse # one of them

It needs fieldvoice installed, ``pip install py-nanotts`` and Debian's ``flite`` (or another
build of flite 2.2 with the voices slt, rms and awb). Voices and licences stand in README.md.

Each sentence is spoken by itself and brought to one level; 1.2 to 2 seconds of pause lie between
two sentences, and faint noise as of air and leaves lies under all. Pauses and noise come from a
random generator seeded by the memo's name, so that a new recording is the same recording, as far
as the encoders agree; the Pico voice alone varies a little in length from one run to another.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import tomllib
import wave
import zlib
from pathlib import Path
from typing import TYPE_CHECKING

import av
import numpy as np

from fieldvoice.tts import HibariVoice, PicoVoice, Sound

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

HERE = Path(__file__).parent
RATE = 16_000
SPEECH_DB = -22  # RMS of each sentence, dB of full scale: an ordinary recording without clipping
NOISE_DB = -62  # 40 dB under the speech: a still morning
LEAD_S, TAIL_S = 0.6, 0.8
PAUSE_S = (1.2, 2.0)

#: For each kind of file: encoder, sample format, bits a second (None where nothing is lost).
ENCODERS: Mapping[str, tuple[str, str, int | None]] = {
    ".wav": ("pcm_s16le", "s16", None),
    ".flac": ("flac", "s16", None),
    ".mp3": ("libmp3lame", "s16p", 48_000),
    ".ogg": ("libopus", "s16", 24_000),
}


def flite(voice: str) -> Callable[[str], Sound]:
    """Return the flite voice ``voice``; the program runs once a sentence."""

    def say(text: str) -> Sound:
        with tempfile.NamedTemporaryFile(suffix=".wav") as file:
            subprocess.run(["flite", "-voice", voice, "-t", text, "-o", file.name], check=True)
            with wave.open(file.name) as spoken:
                samples = np.frombuffer(spoken.readframes(spoken.getnframes()), "<i2")
                return Sound(samples.astype(np.int16), spoken.getframerate())

    return say


VOICES: Mapping[str, Callable[[], Callable[[str], Sound]]] = {
    "hibari": lambda: HibariVoice().render,
    "pico en-GB": lambda: PicoVoice("en-GB").render,
    "flite slt": lambda: flite("slt"),
    "flite rms": lambda: flite("rms"),
    "flite awb": lambda: flite("awb"),
}


def resampled(sound: Sound) -> NDArray[np.float64]:
    """Return samples at 16 kHz, from -1 to 1."""
    frame = av.AudioFrame.from_ndarray(sound.samples[None, :], format="s16", layout="mono")
    frame.sample_rate = sound.rate
    resampler = av.AudioResampler(format="s16", layout="mono", rate=RATE)
    frames = [*resampler.resample(frame), *resampler.resample(None)]
    return np.concatenate([part.to_ndarray().ravel() for part in frames]) / 32768


def sentence(say: Callable[[str], Sound], text: str) -> NDArray[np.float64]:
    """Return ``text`` spoken at the common level, without the silence around it."""
    samples = resampled(say(f"{text[:1].upper()}{text[1:]}."))
    heard = np.flatnonzero(np.abs(samples) > 0.01)
    margin = RATE // 20
    samples = samples[max(0, heard[0] - margin) : heard[-1] + margin]
    return samples * decibels(SPEECH_DB) / np.sqrt(np.mean(samples**2))


def decibels(level: float) -> float:
    """Return the amplitude of a level in dB of full scale."""
    return float(10 ** (level / 20))


def air(count: int, chance: np.random.Generator) -> NDArray[np.float64]:
    """Return ``count`` samples of soft low noise that swells and falls over seconds."""
    spectrum = np.fft.rfft(chance.standard_normal(count))
    hertz = np.fft.rfftfreq(count, 1 / RATE)
    noise = np.fft.irfft(spectrum / np.sqrt(np.maximum(hertz, 40)), count)
    seconds = np.arange(count) / RATE
    swell = 1 + 0.4 * np.sin(2 * np.pi * (seconds / 5.3 + chance.random()))
    noise *= swell
    return noise * decibels(NOISE_DB) / np.sqrt(np.mean(noise**2))


def memo_samples(say: Callable[[str], Sound], memo: Mapping[str, object]) -> NDArray[np.int16]:
    """Return one memo: its sentences with pauses between them, over the noise."""
    chance = np.random.default_rng(zlib.crc32(str(memo["file"]).encode()))
    parts = [np.zeros(int(LEAD_S * RATE))]
    for number, text in enumerate(memo["said"]):
        if number:
            parts.append(np.zeros(int(chance.uniform(*PAUSE_S) * RATE)))
        parts.append(sentence(say, text))
    parts.append(np.zeros(int(TAIL_S * RATE)))
    speech = np.concatenate(parts)
    mixed = speech + air(len(speech), chance)
    if np.abs(mixed).max() >= 0.99:
        raise ValueError(f"{memo['file']} would clip")
    return np.round(mixed * 32767).astype(np.int16)


def write(path: Path, samples: NDArray[np.int16]) -> None:
    """Encode ``samples`` as the ending of ``path`` says."""
    encoder, sample_format, bits = ENCODERS[path.suffix]
    with av.open(str(path), "w") as file:
        stream = file.add_stream(encoder, rate=RATE)
        stream.layout, stream.format = "mono", sample_format
        if bits:
            stream.bit_rate = bits
        frame = av.AudioFrame.from_ndarray(samples[None, :], format="s16", layout="mono")
        frame.sample_rate = RATE
        for packet in [*stream.encode(frame), *stream.encode(None)]:
            file.mux(packet)


def record(session: Path) -> None:
    """Record every memo of a session's folder."""
    with (session / "session.toml").open("rb") as file:
        memos = tomllib.load(file)["memo"]
    voices: dict[str, Callable[[str], Sound]] = {}
    for memo in memos:
        name = memo["voice"]
        if name not in voices:
            voices[name] = VOICES[name]()
        samples = memo_samples(voices[name], memo)
        path = session / memo["file"]
        write(path, samples)
        peak = np.abs(samples.astype(int)).max() / 32768
        print(
            f"{session.name}/{path.name}: {len(samples) / RATE:.1f} s, peak {peak:.2f}, "
            f"{path.stat().st_size / 1024:.0f} KiB, {name}"
        )


if __name__ == "__main__":
    for name in sys.argv[1:] or sorted(path.parent.name for path in HERE.glob("*/session.toml")):
        record(HERE / name)
