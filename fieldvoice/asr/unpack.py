"""Archives from strangers: nothing is written outside the folder, and no bomb fills the disk."""

from __future__ import annotations

import gzip
import lzma
import shutil
import stat
import tarfile
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import IO

from fieldvoice.asr.fetch import LARGEST_BYTES
from fieldvoice.errors import FieldvoiceError

#: The largest models have a few hundred files.
MOST_FILES = 20_000

_PIECE = 2**20
# What the libraries raise at bytes that are not as they were packed.
_DAMAGED = (
    zipfile.BadZipFile,
    tarfile.TarError,
    gzip.BadGzipFile,
    zlib.error,
    lzma.LZMAError,
    EOFError,
    RuntimeError,
    ValueError,
)


class ArchiveError(FieldvoiceError):
    """An archive that cannot be read, or that must not be unpacked."""


def is_archive(path: Path) -> bool:
    """Return whether ``path`` is a zip or tar file."""
    return path.is_file() and (zipfile.is_zipfile(path) or tarfile.is_tarfile(path))


def unpack(archive: Path, into: Path) -> None:
    """Write the files of a zip or tar ``archive`` into the folder ``into``.

    Raises:
        ArchiveError: it is no archive or a damaged one, holds links or paths that lead outside,
            or more than a model can be.
    """
    try:
        if zipfile.is_zipfile(archive):
            _unzip(archive, into)
        elif tarfile.is_tarfile(archive):
            _untar(archive, into)
        else:
            raise ArchiveError(f"{archive.name} is no archive that can be read (zip, tar).")
    except _DAMAGED as fault:
        raise ArchiveError(f"{archive.name} is damaged: {fault}.") from fault
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise ArchiveError(f"{archive.name} cannot be unpacked: {reason.lower()}.") from fault


def _unzip(archive: Path, into: Path) -> None:
    with zipfile.ZipFile(archive) as opened:
        members = opened.infolist()
        check_size(archive.name, [one.file_size for one in members], into)
        for member in members:
            if stat.S_ISLNK(member.external_attr >> 16):
                raise ArchiveError(f"{archive.name} holds a link, {member.filename}.")
        for member in members:
            target = _inside(archive, member.filename, into)
            _write(None if member.is_dir() else opened.open(member), target)


def _untar(archive: Path, into: Path) -> None:
    with tarfile.open(archive) as opened:
        members = opened.getmembers()
        # The tar ends before what it was packed in does; the check sum stands at the end of that.
        while opened.fileobj is not None and opened.fileobj.read(_PIECE):
            pass
        check_size(archive.name, [one.size for one in members], into)
        targets = [_inside(archive, one.name, into) for one in members]
        for member in members:
            if not (member.isfile() or member.isdir()):
                raise ArchiveError(f"{archive.name} holds a link or a device, {member.name}.")
        for member, target in zip(members, targets, strict=True):
            _write(opened.extractfile(member), target)


def _write(file: IO[bytes] | None, target: Path) -> None:
    """Write the bytes of one member, or make a folder where it has none.

    Nothing else of it counts: no owner, no rights (set-uid), no times. The tar library's own rules
    for data would do as much, but Python 3.11 has them only from 3.11.4 on.
    """
    if file is None:
        target.mkdir(parents=True, exist_ok=True)
        return
    target.parent.mkdir(parents=True, exist_ok=True)
    # The size in the table may be a lie; reading stops where it says the file ends.
    with file, target.open("wb") as out:
        shutil.copyfileobj(file, out)


def _inside(archive: Path, name: str, into: Path) -> Path:
    path = PurePosixPath(name.replace("\\", "/"))
    if path.is_absolute() or ".." in path.parts or ":" in name:
        raise ArchiveError(f"{archive.name} holds a path that leads outside, {name}.")
    return into.joinpath(*path.parts)


def check_size(name: str, sizes: list[int], into: Path) -> None:
    """See that files of such sizes may be a model, and that there is room for them.

    Raises:
        ArchiveError: there are too many, or they are too large.
    """
    free = shutil.disk_usage(into).free
    if len(sizes) > MOST_FILES or sum(sizes) > LARGEST_BYTES:
        raise ArchiveError(f"{name} holds more than a model can be.")
    if sum(sizes) > free:
        raise ArchiveError(
            f"{name} needs {sum(sizes) / 1e6:.0f} MB; there are {free / 1e6:.0f} MB free."
        )
