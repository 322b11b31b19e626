"""Backups: the whole book as one file, made also while it is in use, and by themselves each day.

A backup is a ZIP archive: the database, the settings, the kept sound, and a list of their hashes.
"""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import sqlite3
import tempfile
import zipfile
import zlib
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from pathlib import Path, PurePosixPath
from typing import IO, TYPE_CHECKING

from fieldvoice.book.connection import book_version, open_to_read
from fieldvoice.book.faults import plain_faults
from fieldvoice.book.verify import verify
from fieldvoice.errors import BookError
from fieldvoice.telling import untold
from fieldvoice.whole_files import FILE_MODE, own_folder, sync_folder, whole_file

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from fieldvoice.telling import Tell

_LIST, _BOOK, _SETTINGS, _SOUND = "list.json", "book.db", "settings.toml", "sound/"
#: Files that SQLite keeps beside a book; they belong to that file alone.
BESIDE = ("-journal", "-wal", "-shm")
#: How many days and months of backups are kept; of every season the last one is.
DAYS, MONTHS = 10, 3


def settings_of(book: Path) -> Path:
    """Return where the settings of a book lie: ``season.toml`` beside ``season.db``."""
    return book.with_suffix(".toml")


def sound_of(book: Path) -> Path:
    """Return the folder of a book's recordings: ``season_sound`` beside ``season.db``."""
    return book.with_name(f"{book.stem}_sound")


def back_up(
    book: Path,
    to: Path,
    *,
    with_sound: bool = True,
    tell: Tell = untold,
) -> None:
    """Write the book as it is now, its settings and its sound into the one file ``to``.

    ``tell`` hears meanwhile how many bytes have been written, and how many there are.

    Raises:
        BookError: there is no book, another file is in the backup's place, or it cannot be written.
    """
    if not book.exists():
        raise BookError(f"There is no season book at {book}.")
    if to.is_file() and to.stat().st_size and not is_whole(to):
        raise BookError(f"{to} is there already and is no backup; give the backup another name.")
    try:
        own_folder(to.parent)
        with whole_file(to) as draft, tempfile.TemporaryDirectory() as folder:
            copy = Path(folder) / _BOOK
            with plain_faults(book):
                _copy_of(book, copy)
            _pack(draft, {_BOOK: copy, **_beside(book, with_sound=with_sound)}, tell)
            _check(draft)
    except OSError as fault:
        raise BookError(f"The backup {to} cannot be written: {fault.strerror}.") from fault


def restore(backup: Path, to: Path, *, replace: bool = False, tell: Tell = untold) -> list[Path]:
    """Put the book of a backup, with its settings and sound, at ``to``.

    With ``replace`` what is there already is put aside under another name; those are returned.
    ``tell`` hears how much of the book has been looked at.

    Raises:
        BookError: it is no whole backup; a book is there already; it cannot be written.
    """
    there = [path for path in (to, settings_of(to)) if path.exists()]
    if there and not replace:
        raise BookError(f"{there[0]} is there already; --replace puts it aside.")
    try:
        own_folder(to.parent)
        with tempfile.TemporaryDirectory(dir=to.parent, prefix=".restore-") as folder:
            place = Path(folder)
            _unpack(backup, place)
            found = verify(place / _BOOK, tell)
            if not found.sound:
                raise BookError(f"The book in {backup} is not sound. {found.faults[0].text}")
            aside = [_put_aside(path) for path in there]
            _put_in_place(place, to)
        sync_folder(to.parent)
    except OSError as fault:
        raise BookError(f"{to} cannot be written: {fault.strerror}.") from fault
    return aside


def _copy_of(book: Path, copy: Path) -> None:
    with (
        closing(open_to_read(book)) as source,
        closing(sqlite3.connect(copy, isolation_level=None)) as target,
    ):
        book_version(source, book)
        source.backup(target)
        target.execute("PRAGMA journal_mode = DELETE")


def _beside(book: Path, *, with_sound: bool) -> dict[str, Path]:
    """Return the files that belong to a book beside its database, by their names in a backup."""
    settings, sound = settings_of(book), sound_of(book)
    found = {_SETTINGS: settings} if settings.is_file() else {}
    if with_sound and sound.is_dir():
        for path in sorted(sound.rglob("*")):
            if path.is_file() and not path.is_symlink():
                found[_SOUND + path.relative_to(sound).as_posix()] = path
    return found


def _pack(archive: Path, files: dict[str, Path], tell: Tell) -> None:
    hashes = {}
    packed_bytes, whole = 0, sum(path.stat().st_size for path in files.values() if path.exists())
    with zipfile.ZipFile(archive, "w", compresslevel=1) as packed:
        for name, path in files.items():
            try:
                info = zipfile.ZipInfo.from_file(path, name)
                source = path.open("rb")
            except FileNotFoundError:
                continue  # a recording that made room meanwhile
            # Sound is packed already.
            packs = not name.startswith(_SOUND)
            info.compress_type = zipfile.ZIP_DEFLATED if packs else zipfile.ZIP_STORED
            with source, packed.open(info, "w") as target:
                hashes[name] = _digest(source, target)
            packed_bytes += info.file_size
            tell(packed_bytes, whole)
        packed.writestr(_LIST, json.dumps({"format": 1, "files": hashes}, indent=1))


def _digest(source: IO[bytes], target: IO[bytes] | None = None) -> str:
    """Return the hash of what ``source`` holds, written on to ``target`` meanwhile."""
    digest = hashlib.sha256()
    while block := source.read(1 << 20):
        digest.update(block)
        if target is not None:
            target.write(block)
    return digest.hexdigest()


def _check(archive: Path) -> None:
    """See that an archive holds what its list says.

    Raises:
        BookError: it does not.
    """
    try:
        with zipfile.ZipFile(archive) as packed:
            listed = json.loads(packed.read(_LIST))["files"]
            for name, digest in listed.items():
                with packed.open(name) as file:
                    if _digest(file) != digest:
                        raise BookError(f"{archive} is damaged: {name} is not as it was written.")
            if _BOOK not in listed:
                raise KeyError(_BOOK)
    except (zipfile.BadZipFile, KeyError, ValueError, EOFError, zlib.error) as fault:
        raise BookError(f"{archive} is no whole backup of a season book.") from fault


def is_whole(archive: Path) -> bool:
    """Whether a file is a backup that holds what its list says."""
    try:
        _check(archive)
    except (BookError, OSError):
        return False
    return True


def _unpack(archive: Path, place: Path) -> None:
    if not archive.is_file():
        raise BookError(f"There is no backup at {archive}.")
    _check(archive)
    with zipfile.ZipFile(archive) as packed:
        for name in json.loads(packed.read(_LIST))["files"]:
            parts = PurePosixPath(name).parts
            if name.startswith("/") or ".." in parts or "\\" in name:
                raise BookError(f"{archive} is no backup of a season book: it holds {name!r}.")
            own_folder((place / name).parent)
            with packed.open(name) as source, (place / name).open("wb") as target:
                shutil.copyfileobj(source, target)
            (place / name).chmod(FILE_MODE)


def _put_in_place(place: Path, to: Path) -> None:
    """Move what was unpacked to where it belongs, the database last: it makes the book."""
    sound = place / _SOUND
    if sound.is_dir():
        shutil.copytree(sound, sound_of(to), dirs_exist_ok=True)
    if (place / _SETTINGS).exists():
        (place / _SETTINGS).replace(settings_of(to))
    (place / _BOOK).replace(to)


def _put_aside(path: Path) -> Path:
    """Give a file another name, and those that SQLite keeps beside it the like; return it."""
    number = 1
    while (aside := path.with_name(f"{path.stem}-replaced-{number}{path.suffix}")).exists():
        number += 1
    for end in BESIDE:
        beside = path.with_name(path.name + end)
        if beside.exists():
            beside.replace(aside.with_name(aside.name + end))
    return path.replace(aside)


@dataclass(slots=True)
class DailyBackups:
    """Backups that are made by themselves before a day's first note, and thinned out.

    They lie in ``chosen``, a folder that may come and go (a memory stick), or else beside the book.
    ``tell`` takes a line about what could not be done.
    """

    book: Path
    chosen: Path | None
    tell: Callable[[str], None]
    _done: date | None = None

    def see_to(self, today: date) -> None:
        """Make today's backup unless it is there; a note is never kept waiting by a fault in it."""
        if self._done == today:
            return
        self._done = today
        folder = self.folder()
        backup = folder / f"{self.book.stem}-{today.isoformat()}.zip"
        if backup.exists():
            return
        try:
            back_up(self.book, backup, with_sound=False)
            for old in _too_many(folder.glob(f"{self.book.stem}-*.zip"), self.book.stem):
                old.unlink(missing_ok=True)
        except (BookError, OSError) as fault:
            self.tell(f"Today's backup was not made. {fault}")

    def made(self) -> list[Path]:
        """Return the backups that are there, the newest day first."""
        dated = _by_day(self.folder().glob(f"{self.book.stem}-*.zip"), self.book.stem)
        return [dated[day] for day in sorted(dated, reverse=True)]

    def folder(self) -> Path:
        """Return where they lie."""
        usual = self.book.with_name(f"{self.book.stem}_backups")
        if self.chosen is None:
            return usual
        if self.chosen.is_dir():
            return self.chosen
        self.tell(f"{self.chosen} is not there; today's backup is kept in {usual}.")
        return usual


def _too_many(backups: Iterable[Path], stem: str) -> list[Path]:
    """Return the backups that need not be kept: beside the days the months, and every season."""
    dated = _by_day(backups, stem)
    newest = sorted(dated, reverse=True)
    months: dict[tuple[int, int], date] = {}
    years: dict[int, date] = {}
    for day in newest:
        months.setdefault((day.year, day.month), day)
        years.setdefault(day.year, day)
    kept = {*newest[:DAYS], *list(months.values())[:MONTHS], *years.values()}
    return [path for day, path in dated.items() if day not in kept]


def _by_day(backups: Iterable[Path], stem: str) -> dict[date, Path]:
    dated = {}
    for path in backups:
        found = re.fullmatch(rf"{re.escape(stem)}-(\d{{4}}-\d\d-\d\d)", path.stem)
        if found:
            dated[date.fromisoformat(found[1])] = path
    return dated
