"""Archives from strangers: nothing is written outside the folder, and no bomb fills the disk."""

from __future__ import annotations

import shutil
import stat
import tarfile
import zipfile
from pathlib import Path, PurePosixPath

from fieldvoice.errors import FieldvoiceError

#: The largest models have a few gigabytes and a few hundred files.
LARGEST_BYTES = 8 * 2**30
MOST_FILES = 20_000


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
    except (zipfile.BadZipFile, tarfile.TarError, EOFError, RuntimeError, ValueError) as fault:
        raise ArchiveError(f"{archive.name} is damaged: {fault}.") from fault
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise ArchiveError(f"{archive.name} cannot be unpacked: {reason.lower()}.") from fault


def _unzip(archive: Path, into: Path) -> None:
    with zipfile.ZipFile(archive) as opened:
        members = opened.infolist()
        _check_size(archive, [one.file_size for one in members], into)
        for member in members:
            if stat.S_ISLNK(member.external_attr >> 16):
                raise ArchiveError(f"{archive.name} holds a link, {member.filename}.")
            target = _inside(archive, member.filename, into)
            if member.is_dir():
                target.mkdir(parents=True, exist_ok=True)
                continue
            target.parent.mkdir(parents=True, exist_ok=True)
            # The size in the table may be a lie; reading stops where it says the file ends.
            with opened.open(member) as file, target.open("wb") as out:
                shutil.copyfileobj(file, out)


def _untar(archive: Path, into: Path) -> None:
    with tarfile.open(archive) as opened:
        members = opened.getmembers()
        _check_size(archive, [one.size for one in members], into)
        for member in members:
            _inside(archive, member.name, into)
            if not (member.isfile() or member.isdir()):
                raise ArchiveError(f"{archive.name} holds a link, {member.name}.")
        # The library's own rules for data: no devices, no owners, nothing outside.
        opened.extractall(into, members=members, filter="data")


def _inside(archive: Path, name: str, into: Path) -> Path:
    path = PurePosixPath(name.replace("\\", "/"))
    if path.is_absolute() or ".." in path.parts or ":" in name:
        raise ArchiveError(f"{archive.name} holds a path that leads outside, {name}.")
    return into.joinpath(*path.parts)


def _check_size(archive: Path, sizes: list[int], into: Path) -> None:
    free = shutil.disk_usage(into).free
    if len(sizes) > MOST_FILES or sum(sizes) > LARGEST_BYTES:
        raise ArchiveError(f"{archive.name} holds more than a model can be.")
    if sum(sizes) > free:
        raise ArchiveError(
            f"{archive.name} needs {sum(sizes) / 1e6:.0f} MB; there are {free / 1e6:.0f} MB free."
        )
