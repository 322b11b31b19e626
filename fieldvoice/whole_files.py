"""Files that are there whole or not at all, and that others on the machine cannot read."""

from __future__ import annotations

import errno
import hashlib
import json
import os
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

#: Rights of what is made: for its owner alone.
FILE_MODE, FOLDER_MODE = 0o600, 0o700
#: Holds the checksums of the files beside it.
_SEAL = "checksums.json"


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Yield a place beside ``path`` to write to; what is there after the block takes its place.

    It is on the disk before it gets the name. After an error the old file is as it was. Two
    writers write to places of their own, and the last to be done holds. A link stays, and what it
    leads to is written; a device, which is no file, is left alone.

    Raises:
        OSError: it cannot be written.
    """
    path = path.resolve()
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "it is no file", str(path))
    own_folder(path.parent)
    draft = path.with_name(f".{path.name}.{os.getpid()}.new")
    draft.unlink(missing_ok=True)
    draft.touch(FILE_MODE)
    try:
        yield draft
        with draft.open("rb+") as file:
            os.fsync(file.fileno())
        draft.replace(path)
        sync_folder(path.parent)
    finally:
        draft.unlink(missing_ok=True)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file at one go, as ``whole_file`` does.

    Raises:
        OSError: it cannot be written.
    """
    with whole_file(path) as draft:
        draft.write_bytes(content)


def with_sum(body: bytes) -> bytes:
    """Return what to write of ``body``, so that ``without_sum`` notices any change of it."""
    return _digest(body) + b"\n" + body


def without_sum(content: bytes) -> bytes | None:
    """Return the body that ``with_sum`` was given; None where it is another now."""
    head, _, body = content.partition(b"\n")
    return body if head == _digest(body) else None


def _digest(body: bytes) -> bytes:
    return hashlib.blake2b(body, digest_size=16).hexdigest().encode()


def seal(folder: Path) -> None:
    """Write down what the files in a folder are, so that it is noticed when they change."""
    sums = {path.name: _sum(path) for path in sorted(folder.iterdir()) if path.name != _SEAL}
    (folder / _SEAL).write_text(json.dumps(sums, indent=0), encoding="utf-8")


def is_sealed(folder: Path) -> bool:
    """Whether the files in a folder are what they were when it was sealed."""
    try:
        sums = json.loads((folder / _SEAL).read_text(encoding="utf-8"))
        return bool(sums) and all(_sum(folder / name) == told for name, told in sums.items())
    except (OSError, ValueError, AttributeError):
        return False


def _sum(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "blake2b").hexdigest()


@contextmanager
def one_at_a_time(path: Path) -> Iterator[None]:
    """Keep other programs of ours from changing ``path`` meanwhile, where the system can do that.

    Raises:
        OSError: the file to lock by cannot be made.
    """
    try:
        import fcntl
    except ImportError:  # another kind of system
        yield
        return
    own_folder(path.parent)
    with path.with_name(f".{path.name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def own_folder(path: Path) -> None:
    """Make a folder, and those above it, for its owner alone; one that is there stays as it is.

    Raises:
        OSError: it cannot be made.
    """
    if not path.exists():
        own_folder(path.parent)
        path.mkdir(FOLDER_MODE, exist_ok=True)


def sync_folder(path: Path) -> None:
    """Wait until the names in a folder are on the disk, where the system can do that."""
    with suppress(OSError):  # not every system opens folders
        folder = os.open(path, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
