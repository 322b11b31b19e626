"""Recordings of any kind that phones make, as 16 kHz mono samples."""

from __future__ import annotations

import hashlib
import tempfile
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, BinaryIO

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

#: Longer recordings are refused: nobody meant them as memos, and they take minutes to hear.
LONGEST_S = 2 * 60 * 60

#: Endings by which recordings are found in a folder.
AUDIO_SUFFIXES = frozenset(
    ".wav .flac .mp3 .ogg .oga .opus .m4a .aac .mp4 .3gp .3gpp .amr .wma .webm .aiff .aif "
    ".caf".split()
)

# The library's own decoder for this codec loses time in silence; this one does not.
_DECODERS = {"amrnb": "libopencore_amrnb", "amr_nb": "libopencore_amrnb"}


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A recording as read: samples at ``SAMPLE_RATE``, and the hash of the file's own bytes.

    ``cut_off`` tells that the file broke off in the middle and holds what came before that.
    """

    name: str
    sha256: str
    samples: Samples
    cut_off: bool = False

    @property
    def duration_s(self) -> float:
        """Its length in seconds."""
        return len(self.samples) / SAMPLE_RATE


def read_audio(path: Path) -> Recording:
    """Return the recording in ``path``.

    The samples are kept in a nameless file and mapped, so that two hours of sound do not fill the
    memory of a small board.

    Raises:
        UnreadableAudioError: for a file that is missing, empty, not audio, cut off before its
            first sound, or longer than two hours.
    """
    digest = _sha256(path)
    with tempfile.TemporaryFile() as file:
        cut_off = _decode(path, file)
        file.flush()
        if file.tell() == 0:
            raise UnreadableAudioError(f"{path.name}: there is no sound in it")
        samples = np.asarray(np.memmap(file, dtype=np.int16, mode="r"))
    return Recording(path.name, digest, samples, cut_off)


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


def _decode(path: Path, into: BinaryIO) -> bool:
    """Write the samples of ``path`` to ``into``; return whether the file broke off."""
    import av

    av.logging.set_level(av.logging.PANIC)
    count = 0
    try:
        with av.open(str(path)) as container:
            if not container.streams.audio:
                raise UnreadableAudioError(f"{path.name}: there is no sound in it")
            for samples in _resampled(container):
                into.write(samples.tobytes())
                count += len(samples)
                if count > LONGEST_S * SAMPLE_RATE:
                    raise UnreadableAudioError(f"{path.name}: longer than two hours; split it")
    except UnreadableAudioError:
        raise
    except Exception as error:  # the decoder raises many kinds of its own
        # A memo whose end is missing (a flat battery) still holds what was said before.
        if count == 0:
            raise UnreadableAudioError(f"{path.name}: not a recording that can be read") from error
        return True
    return False


def _resampled(container: Any) -> Iterator[Samples]:
    import av

    resampler = av.AudioResampler(format="s16", layout="mono", rate=SAMPLE_RATE)
    stream = container.streams.audio[0]
    decoder = _better_decoder(stream)
    for packet in container.demux(stream):
        for frame in decoder.decode(packet) if decoder else packet.decode():
            yield from map(_samples, resampler.resample(frame))
    yield from map(_samples, resampler.resample(None))


def _better_decoder(stream: Any) -> Any:
    """Return the decoder to use instead of the stream's own, or None."""
    import av

    name = _DECODERS.get(stream.codec_context.name)
    if name is None:
        return None
    decoder: Any = av.CodecContext.create(name, "r")
    decoder.sample_rate = stream.codec_context.sample_rate
    decoder.layout = stream.codec_context.layout
    return decoder


def _samples(frame: Any) -> Samples:
    samples: Samples = frame.to_ndarray().reshape(-1).astype(np.int16, copy=False)
    return samples
