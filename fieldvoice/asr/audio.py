"""Recordings of any kind that phones make, as 16 kHz mono samples."""

from __future__ import annotations

import hashlib
import tempfile
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from fieldvoice.errors import UnreadableAudioError
from fieldvoice.harmless import harmless
from fieldvoice.loudness_shape import shape_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

#: Samples a second, as the acoustic models want them.
SAMPLE_RATE = 16_000

#: One channel of 16-bit samples.
Samples = NDArray[np.int16]

#: Longer recordings are refused: nobody meant them as memos, and they take minutes to hear.
LONGEST_S = 2 * 60 * 60

#: Two hours at the highest rates that recorders know (96 kHz, 24 bits, two channels), and more.
LARGEST_BYTES = 5_000_000_000
#: What a head says may be so much longer than what is there, in seconds.
_SLACK_S = 0.5
#: Where the first frame of an MP3 file begins at the latest, pictures apart, in bytes.
_MP3_HEAD = 65_536
#: The most that a page of an Ogg file holds, in bytes.
_OGG_PAGE = 65_307

#: Samples to a step of a recording's shape, a tenth of a second; ten minutes of it tell enough.
_STEP, _MOST_STEPS = SAMPLE_RATE // 10, 6_000

#: Endings by which recordings are found in a folder.
AUDIO_SUFFIXES = frozenset(
    ".wav .flac .mp3 .ogg .oga .opus .m4a .aac .mp4 .3gp .3gpp .amr .wma .webm .aiff .aif "
    ".caf".split()
)

#: What the library may take a file for: forms that hold their sound themselves. Left to
#: itself it takes a page of text for a broadcast's address, and listens to the network for it.
_OPENS = {
    "format_whitelist": "wav,w64,flac,mp3,ogg,mov,mp4,aac,amr,amrnb,amrwb,asf,matroska,webm,aiff,"
    "caf,au,ac3,avi",
    "protocol_whitelist": "data",
}

# A mix with less than this share of the power of its louder side has been cancelled: of a voice on
# one side alone a quarter is left.
_CANCELLED = 0.05

# The library's own decoder for this codec loses time in silence; this one does not.
_DECODERS = {"amrnb": "libopencore_amrnb", "amr_nb": "libopencore_amrnb"}


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A recording as read: samples at ``SAMPLE_RATE``, and the hash of the file's own bytes.

    ``cut_off`` tells that the file broke off in the middle and holds what came before that; it may
    still be on its way. ``tags`` are what the container says of it.
    """

    name: str
    sha256: str
    samples: Samples
    cut_off: bool = False
    tags: Mapping[str, str] = field(default_factory=dict)

    @property
    def sound(self) -> str:
        """The hash of the samples: that of every file with this very sound in it."""
        return hashlib.sha256(np.ascontiguousarray(self.samples).data).hexdigest()

    @property
    def shape(self) -> str:
        """How loud it is from moment to moment: nearly the same in every format."""
        whole = len(self.samples) - len(self.samples) % _STEP
        steps = self.samples[: min(whole, _STEP * _MOST_STEPS)].reshape(-1, _STEP)
        power = np.square(steps.astype(np.float32)).mean(axis=1) / 2**30
        return shape_of((10 * np.log10(power + 1e-10)).tolist())

    @property
    def duration_s(self) -> float:
        """Its length in seconds."""
        return len(self.samples) / SAMPLE_RATE


def read_audio(path: Path, *, longest_s: float = LONGEST_S) -> Recording:
    """Return the recording in ``path``.

    The samples are kept in a nameless file and mapped, so that two hours of sound do not fill the
    memory of a small board.

    Raises:
        UnreadableAudioError: for a file that is missing, empty, not audio, cut off before its
            first sound, or longer than ``longest_s``.
    """
    name = harmless(path.name)
    digest = _sha256(path, name)
    with tempfile.TemporaryFile() as file:
        cut_off, tags = _decode(path, name, file, longest_s)
        file.flush()
        if file.tell() == 0:
            raise UnreadableAudioError(f"{name}: there is no sound in it")
        samples = np.asarray(np.memmap(file, dtype=np.int16, mode="r"))
    return Recording(name, digest, samples, cut_off, tags)


def _sha256(path: Path, name: str) -> str:
    digest = hashlib.sha256()
    try:
        # A pipe has no end, and some devices neither.
        if not (path.is_file() or path.is_dir()) and path.exists():
            raise UnreadableAudioError(f"{name}: it is no file, but a pipe or a device")
        if path.is_file() and path.stat().st_size > LARGEST_BYTES:
            raise UnreadableAudioError(f"{name}: larger than any recording of two hours; split it")
        with path.open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
        if path.stat().st_size == 0:
            raise UnreadableAudioError(f"{name}: the file is empty")
    except OSError as error:
        reason = error.strerror or "it cannot be opened"
        raise UnreadableAudioError(f"{name}: {reason.lower()}") from error
    return digest.hexdigest()


def _decode(path: Path, name: str, into: BinaryIO, longest_s: float) -> tuple[bool, dict[str, str]]:
    """Write the samples of ``path`` to ``into``; return whether it broke off, and its tags."""
    count = 0
    tags: dict[str, str] = {}
    expected: float | None = None
    try:
        # By the open file and not by the name, which might be taken for an address.
        with path.open("rb") as file, opened(file) as container:
            if not container.streams.audio:
                raise UnreadableAudioError(f"{name}: there is no sound in it")
            stream = container.streams.audio[0]
            tags = {
                key.lower(): value for key, value in (stream.metadata | container.metadata).items()
            }
            expected = _expected_s(container, stream)
            for samples in resampled(container):
                into.write(samples.tobytes())
                count += len(samples)
                if count > longest_s * SAMPLE_RATE:
                    longest = "two hours" if longest_s == LONGEST_S else f"{longest_s:.0f} seconds"
                    raise UnreadableAudioError(f"{name}: longer than {longest}; split it")
    except UnreadableAudioError:
        raise
    except Exception as error:  # the decoder raises many kinds of its own
        # A memo whose end is missing (a flat battery) still holds what was said before.
        if count == 0:
            raise UnreadableAudioError(f"{name}: not a recording that can be read") from error
        return True, tags
    short = expected is not None and count < (expected - _SLACK_S) * SAMPLE_RATE
    return short or _lacks_its_end(path), tags


def _expected_s(container: Any, stream: Any) -> float | None:
    """Return the length that the head of the file tells, where formats tell it there."""
    if not any(
        one in container.format.name for one in ("flac", "mov", "wav", "aiff", "caf", "matroska")
    ):
        return None
    if stream.duration is None:
        return None if container.duration is None else container.duration / 1e6
    return float(stream.duration * stream.time_base)


def _lacks_its_end(path: Path) -> bool:
    """Whether a file is shorter than its head says, or lacks the mark that ends it.

    The decoder takes such a file for a shorter one: sound files without gaps are read as they come.
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(12)
        if head[:4] == b"RIFF" and head[8:] == b"WAVE":
            said = int.from_bytes(head[4:8], "little")
            return 0 < said < 0xFFFFFFF0 and size < said + 8
        if head[:4] == b"FORM":
            return size < int.from_bytes(head[4:8], "big") + 8
        if head[:3] == b"ID3" or head[:1] == b"\xff":
            return size < _mp3_bytes(head + file.read(_MP3_HEAD))
        if head[:4] == b"OggS":
            file.seek(max(0, size - _OGG_PAGE))
            end = file.read()
            last = end.rfind(b"OggS")
            return last < 0 or last + 6 > len(end) or not end[last + 5] & 0x04
    return False


def _mp3_bytes(head: bytes) -> int:
    """Return how many bytes an MP3 file has by the note that encoders leave in its first frame."""
    place = max(head.find(b"Xing"), head.find(b"Info"))
    if place < 0:
        return 0
    frames, size = head[place + 7] & 1, head[place + 7] & 2
    start = place + 8 + 4 * frames
    return int.from_bytes(head[start : start + 4], "big") if size else 0


def opened(file: Any) -> Any:
    """Return the container of what can be read from ``file``: bytes of any kind of recording."""
    import av

    av.logging.set_level(av.logging.PANIC)
    return av.open(file, options=_OPENS)


def resampled(container: Any) -> Iterator[Samples]:
    """Yield the sound of a container as 16 kHz mono samples, as it is decoded."""
    import av

    resampler = av.AudioResampler(format="s16", layout="mono", rate=SAMPLE_RATE)
    stream = container.streams.audio[0]
    sides = _Sides() if stream.codec_context.layout.nb_channels == 2 else None
    for frame in _decoded(container):
        mixed = [*map(_samples, resampler.resample(frame))]
        yield from mixed if sides is None else sides.chosen(mixed, frame)


def _decoded(container: Any) -> Iterator[Any]:
    """Yield the frames of a recording, and None at its end."""
    stream = container.streams.audio[0]
    decoder = _better_decoder(stream)
    for packet in container.demux(stream):
        yield from decoder.decode(packet) if decoder else packet.decode()
    yield None


class _Sides:
    """The two channels of a recording, where one may be the other turned upside down.

    Mixed, such a pair is silence: a plug that does not fit, a switch at the microphone.
    """

    def __init__(self) -> None:
        import av

        self._resampler = av.AudioResampler(format="s16p", layout="stereo", rate=SAMPLE_RATE)
        self._power = np.zeros(3)  # of the mix, and of each side

    def chosen(self, mixed: list[Samples], frame: Any) -> Iterator[Samples]:
        """Yield the mix of a frame, or its louder side where the mix is next to nothing beside it.

        A frame of None stands for what is left at the end.
        """
        sides = [one.to_ndarray() for one in self._resampler.resample(frame)]
        for mix, both in zip(mixed, sides, strict=True):
            self._power += [(one.astype(np.float64) ** 2).sum() for one in (mix, *both)]
            louder = int(self._power[1:].argmax())
            yield mix if self._power[0] >= _CANCELLED * self._power[1 + louder] else both[louder]


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
