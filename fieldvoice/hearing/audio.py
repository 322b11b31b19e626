"""Recordings of any kind that phones make, as 16 kHz mono samples."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from fieldvoice.errors import UnreadableAudioError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

#: Samples a second, as the acoustic models want them.
SAMPLE_RATE = 16_000

#: One channel of 16-bit samples.
Samples = NDArray[np.int16]

#: Longer recordings are refused rather than filling the memory of a small board: two hours of
#: samples take 230 MB.
LONGEST_S = 2 * 60 * 60

#: Endings by which recordings are found in a folder.
AUDIO_SUFFIXES = frozenset(
    ".wav .flac .mp3 .ogg .oga .opus .m4a .aac .mp4 .3gp .3gpp .amr .wma .webm .aiff .aif "
    ".caf".split()
)

# The library's own decoder for this codec loses time in silence; this one does not.
_DECODERS = {"amrnb": "libopencore_amrnb", "amr_nb": "libopencore_amrnb"}


@dataclass(frozen=True, slots=True)
class Recording:
    """A recording as read: samples at ``SAMPLE_RATE``, and the hash of the file's own bytes."""

    name: str
    sha256: str
    samples: Samples

    @property
    def duration_s(self) -> float:
        """Its length in seconds."""
        return len(self.samples) / SAMPLE_RATE


def read_audio(path: Path) -> Recording:
    """Return the recording in ``path``.

    Raises:
        UnreadableAudioError: for a file that is missing, empty, not audio, cut off before its
            first sound, or longer than two hours.
    """
    digest = _sha256(path)
    try:
        chunks = list(_decoded(path))
    except UnreadableAudioError:
        raise
    except Exception as error:  # the decoder raises many kinds of its own
        raise UnreadableAudioError(f"{path.name}: not a recording that can be read") from error
    if not chunks or not sum(map(len, chunks)):
        raise UnreadableAudioError(f"{path.name}: there is no sound in it")
    return Recording(path.name, digest, np.concatenate(chunks))


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
        if path.stat().st_size == 0:
            raise UnreadableAudioError(f"{path.name}: the file is empty")
    except OSError as error:
        reason = error.strerror or "it cannot be opened"
        raise UnreadableAudioError(f"{path.name}: {reason.lower()}") from error
    return digest.hexdigest()


def _decoded(path: Path) -> Iterator[Samples]:
    import av

    av.logging.set_level(av.logging.PANIC)
    with av.open(str(path)) as container:
        if not container.streams.audio:
            raise UnreadableAudioError(f"{path.name}: there is no sound in it")
        resampler = av.AudioResampler(format="s16", layout="mono", rate=SAMPLE_RATE)
        count = 0
        for frame in _frames(container):
            for piece in resampler.resample(frame):
                samples = piece.to_ndarray().reshape(-1).astype(np.int16, copy=False)
                count += len(samples)
                if count > LONGEST_S * SAMPLE_RATE:
                    raise UnreadableAudioError(f"{path.name}: longer than two hours; split it")
                yield samples


def _frames(container: Any) -> Iterator[Any]:
    """Yield decoded frames, what can be had of a cut-off file, and None to flush the resampler."""
    import av

    stream = container.streams.audio[0]
    better = _DECODERS.get(stream.codec_context.name)
    decoder = None
    if better is not None:
        decoder = av.CodecContext.create(better, "r")
        decoder.sample_rate = stream.codec_context.sample_rate
        decoder.layout = stream.codec_context.layout
    heard_any = False
    try:
        for packet in container.demux(stream):
            for frame in decoder.decode(packet) if decoder else packet.decode():
                heard_any = True
                yield frame
    except (av.FFmpegError, EOFError):
        # A memo whose end is missing (a flat battery) still holds what was said before.
        if not heard_any:
            raise
    if heard_any:
        yield None
