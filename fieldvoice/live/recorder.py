"""What was said, kept as sound before anything is made of it.

Each utterance is written to a FLAC file of its own, beside the book, while it is being said. The
book knows a recording by the hash of its content; a file whose hash it does not know was not dealt
with when the program ended, and is dealt with at the next start. Only files that are done with are
ever removed to make room.
"""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.errors import FieldvoiceError
from fieldvoice.transcript import AudioSpan

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from pathlib import Path

    from fieldvoice.asr import Samples

#: Room for the recordings in a book's folder: about ten hours of speech.
LIMIT_MB = 500.0

_SUFFIX = ".flac"
#: Ends the name of what was not surely meant for the assistant: it had not been called.
_OVERHEARD = "-overheard.flac"
#: What was listened to and not understood, when nobody had called: looked at by people, if at all.
_PASSED_OVER = "passed_over"
#: The share of the room that it may take.
_PASSED_OVER_SHARE = 0.1
# Colons may not stand in file names everywhere.
_NAME = "%Y-%m-%dT%H-%M-%S.%f%z"
#: Samples handed to the encoder at once, a quarter of a second: what a crash may cost.
_BLOCK = SAMPLE_RATE // 4


class TapeError(FieldvoiceError):
    """The sound cannot be written to disk."""


@dataclass(frozen=True, slots=True)
class Recording:
    """A finished recording: one utterance, said at ``at``."""

    path: Path
    sha256: str
    at: datetime

    @property
    def overheard(self) -> bool:
        """Whether it was not surely meant for the assistant."""
        return self.path.name.endswith(_OVERHEARD)

    def span(self, duration_s: float) -> AudioSpan:
        """Return the place of an utterance that fills the first ``duration_s`` seconds of it."""
        return AudioSpan(self.path.name, self.sha256, 0.0, duration_s)


class Take:
    """One recording under way. ``finish`` or ``discard`` it.

    Raises:
        TapeError: the disk is full or may not be written to.
    """

    def __init__(self, path: Path, at: datetime) -> None:
        import av

        self._path, self._at = path, at
        self._waiting: list[Samples] = []
        self._count = 0
        try:
            # Every packet goes to the file at once, not when a buffer is full.
            self._container: Any = av.open(str(path), "w", options={"flush_packets": "1"})
            self._stream: Any = self._container.add_stream("flac", rate=SAMPLE_RATE, layout="mono")
            self._stream.codec_context.options = {"frame_size": str(_BLOCK)}
        except OSError as fault:
            raise _tape_error(path, fault) from fault

    def write(self, sound: Samples) -> None:
        """Add ``sound`` (16 kHz mono)."""
        self._waiting.append(sound)
        self._count += len(sound)
        if self._count >= _BLOCK:
            self._encode(whole_only=True)

    def finish(self) -> Recording:
        """Close the file and wait until the disk has it."""
        self._encode(whole_only=False)
        try:
            self._container.mux(self._stream.encode(None))
            self._container.close()
            with self._path.open("rb+") as file:
                os.fsync(file.fileno())
                digest = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as fault:
            raise _tape_error(self._path, fault) from fault
        return Recording(self._path, digest, self._at)

    def discard(self) -> None:
        """Throw the recording away: it was not meant for the assistant."""
        try:
            self._container.close()
        finally:
            self._path.unlink(missing_ok=True)

    def _encode(self, *, whole_only: bool) -> None:
        import av

        sound = np.concatenate(self._waiting) if self._waiting else np.zeros(0, dtype=np.int16)
        size = self._stream.codec_context.frame_size or _BLOCK
        last = len(sound) - len(sound) % size if whole_only else len(sound)
        try:
            for at in range(0, last, size):
                block = np.ascontiguousarray(sound[at : at + size]).reshape(1, -1)
                frame = av.AudioFrame.from_ndarray(block, "s16", "mono")
                frame.sample_rate = SAMPLE_RATE
                self._container.mux(self._stream.encode(frame))
        except OSError as fault:
            raise _tape_error(self._path, fault) from fault
        self._waiting = [sound[last:]]
        self._count = len(sound) - last


class Recorder:
    """The recordings in ``folder``, ``limit_mb`` of them at most."""

    def __init__(self, folder: Path, limit_mb: float = LIMIT_MB) -> None:
        self.folder = folder
        self._limit = limit_mb * 1e6

    def begin(self, at: datetime, *, overheard: bool = False) -> Take:
        """Return a new recording of something said at ``at``, a time with its offset.

        ``overheard`` tells that it is not surely meant for the assistant.

        Raises:
            TapeError: the disk is full or may not be written to.
        """
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise _tape_error(self.folder, fault) from fault
        ending = _OVERHEARD if overheard else _SUFFIX
        return Take(self.folder / f"{at.strftime(_NAME)}{ending}", at)

    def meant(self, taped: Recording) -> Recording:
        """Return a recording under the name of one that was meant for the assistant."""
        if not taped.overheard:
            return taped
        name = taped.path.name.removesuffix(_OVERHEARD) + _SUFFIX
        return replace(taped, path=_moved(taped.path, taped.path.with_name(name)))

    def pass_over(self, taped: Recording) -> None:
        """Put a recording aside of which nothing was understood."""
        aside = self.folder / _PASSED_OVER
        aside.mkdir(exist_ok=True)
        _moved(taped.path, aside / taped.path.name)

    def discard(self, taped: Recording) -> None:
        """Remove a recording that holds nothing for the assistant."""
        taped.path.unlink(missing_ok=True)

    def unknown(self, known: Collection[str]) -> Iterator[Recording]:
        """Yield the recordings whose hash is not among ``known``, oldest first."""
        for path in self._files():
            at = _said_at(path)
            if at is None:
                continue
            digest = _hash_of(path)
            if digest is not None and digest not in known:
                yield Recording(path, digest, at)

    def make_room(self, needed: Collection[str]) -> list[str]:
        """Remove the oldest recordings above the limit but not the ``needed`` ones, by file name.

        Returns the names removed.
        """
        aside = sorted((self.folder / _PASSED_OVER).glob(f"*{_SUFFIX}"))
        removed = _trim(aside, self._limit * _PASSED_OVER_SHARE, needed=())
        return removed + _trim(self._files(), self._limit, needed)

    def _files(self) -> list[Path]:
        return sorted(self.folder.glob(f"*{_SUFFIX}"))


def _trim(paths: list[Path], limit: float, needed: Collection[str]) -> list[str]:
    sizes = {path: path.stat().st_size for path in paths}
    total, removed = sum(sizes.values()), []
    for path, size in sizes.items():
        if total <= limit:
            break
        if path.name not in needed:
            path.unlink(missing_ok=True)
            total -= size
            removed.append(path.name)
    return removed


def _moved(path: Path, to: Path) -> Path:
    try:
        return path.replace(to)
    except OSError as fault:
        raise _tape_error(path, fault) from fault


def _said_at(path: Path) -> datetime | None:
    name = path.name.removesuffix(_OVERHEARD).removesuffix(_SUFFIX)
    try:
        return datetime.strptime(name, _NAME)
    except ValueError:
        return None  # not a recording of ours


def _hash_of(path: Path) -> str | None:
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None


def _tape_error(path: Path, fault: OSError) -> TapeError:
    reason = (fault.strerror or "it cannot be written").lower()
    return TapeError(f"What is said cannot be kept in {path}: {reason}.")
