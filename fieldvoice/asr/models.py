"""Recogniser models that the user has added: kept, checked, listed and removed."""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal
from urllib.parse import unquote, urlsplit

from fieldvoice.asr.unpack import check_size, is_archive, unpack
from fieldvoice.errors import FieldvoiceError

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr.fetch import Progress

#: ``vosk``: a folder that the Vosk recogniser opens. ``whisper``: one that faster-whisper opens.
Kind = Literal["vosk", "whisper"]

#: With fewer of the grammar's words (a share of them) a model is of another language, or too small.
KNOWS_ENOUGH = 0.9

#: What a model's folder holds, by which it is known. Without its tokenizer a Whisper model would
#: have one looked for on the internet.
_SIGNS: dict[Kind, tuple[str, ...]] = {
    "vosk": ("am", "graph"),
    "whisper": ("model.bin", "config.json", "tokenizer.json", "vocabulary.*"),
}
_ABOUT = "fieldvoice.json"
_DOWNLOADS = ".downloads"
_NAME = re.compile(r"[a-z0-9][a-z0-9._-]*")
_ARCHIVE_ENDINGS = (".zip", ".tar.gz", ".tgz", ".tar.bz2", ".tar.xz", ".tar")


class ModelError(FieldvoiceError):
    """A model that is not there, or cannot be added or removed."""


@dataclass(frozen=True, slots=True)
class Model:
    """An added model. ``knows`` is the share of the grammar's words that it knows, 0 to 1.

    None where that could not be found out, or where it is held to no words.
    """

    name: str
    kind: Kind
    folder: Path
    source: str
    knows: float | None = None

    @property
    def megabytes(self) -> float:
        """Its size on disk."""
        return sum(one.stat().st_size for one in self.folder.rglob("*") if one.is_file()) / 1e6


class ModelStore:
    """The models in ``folder``, each in a folder of its name."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def models(self) -> list[Model]:
        """Return the models, by name."""
        found = (self._read(path) for path in sorted(self._folder.glob("*/")))
        return [one for one in found if one is not None]

    def add(
        self,
        source: str,
        *,
        name: str | None = None,
        sha256: str | None = None,
        progress: Progress = lambda there, whole: None,
        knows: Callable[[Kind, Path], float | None] = lambda kind, folder: None,
    ) -> Model:
        """Add the model at ``source``: a folder, an archive, or the web address of one.

        An archive's SHA-256 is compared with ``sha256`` (hexadecimal) if it is given. ``knows``
        returns the share of the words needed that a model folder knows.

        Raises:
            FetchError: the download failed; tried again, it goes on where it stopped.
            ArchiveError: the archive cannot be used.
            ModelError: there is no model in it, the sum is another one, or the name is taken.
        """
        name = _checked_name(name or _name_of(source))
        if (self._folder / name).exists():
            raise ModelError(f"There is a model called {name!r} already; remove it first.")
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(dir=self._folder, prefix=".draft-") as draft:
                root = self._brought(source, Path(draft), sha256, progress)
                kind = kind_of(root)
                assert kind is not None
                about = {"kind": kind, "source": source, "knows": knows(kind, root)}
                (root / _ABOUT).write_text(json.dumps(about), encoding="utf-8")
                root.rename(self._folder / name)
        except OSError as fault:
            raise ModelError(f"The model cannot be added: {fault.strerror or fault}.") from fault
        added = self._read(self._folder / name)
        assert added is not None
        return added

    def remove(self, name: str) -> None:
        """Delete a model.

        Raises:
            ModelError: there is none of this name, or it cannot be deleted.
        """
        if name not in {one.name for one in self.models()}:
            names = ", ".join(one.name for one in self.models()) or "none"
            raise ModelError(f"There is no model called {name!r}; there is: {names}.")
        try:
            shutil.rmtree(self._folder / name)
        except OSError as fault:
            raise ModelError(f"{name} cannot be removed: {fault.strerror or fault}.") from fault

    def _brought(self, source: str, draft: Path, sha256: str | None, progress: Progress) -> Path:
        """Bring what is at ``source`` into ``draft``; return the model's own folder in it."""
        # Here, for who lists models needs nothing of the web.
        from fieldvoice.asr.fetch import fetch, is_address, sha256_of

        if is_address(source):
            downloads = self._folder / _DOWNLOADS
            downloads.mkdir(exist_ok=True)
            archive = downloads / _file_name(source)
            fetch(source, archive, progress, sha256)
            try:
                unpack(archive, draft)
            finally:
                archive.unlink(missing_ok=True)
            return _root_in(draft, source)
        path = Path(source).expanduser()
        if path.is_dir():
            if sha256 is not None:
                raise ModelError(f"{source} is a folder, which has no SHA-256; give its archive.")
            _root_in(path, source)
            _check_folder(path.resolve(), source, draft)
            shutil.copytree(path, draft / "model")
            return _root_in(draft, source)
        if not is_archive(path):
            raise ModelError(f"{source}: neither a folder nor an archive that can be read.")
        if sha256 is not None and (found := sha256_of(path)) != sha256.lower():
            raise ModelError(f"{source}: its SHA-256 is {found}, not the one given.")
        unpack(path, draft)
        return _root_in(draft, source)

    def _read(self, folder: Path) -> Model | None:
        kind = kind_of(folder)
        if kind is None or folder.name.startswith("."):
            return None
        try:
            about = json.loads((folder / _ABOUT).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            about = {}  # put there by hand
        return Model(folder.name, kind, folder, about.get("source", ""), about.get("knows"))


def kind_of(folder: Path) -> Kind | None:
    """Return what kind of model a folder holds; None for none."""
    for kind, signs in _SIGNS.items():
        if all(any(folder.glob(sign)) for sign in signs):
            return kind
    return None


def _root_in(folder: Path, source: str) -> Path:
    """Return the model's folder: ``folder`` or the one inside it that archives wrap around it."""
    for candidate in (folder, *sorted(folder.glob("*/")), *sorted(folder.glob("*/*/"))):
        if kind_of(candidate) is not None:
            return candidate
    raise ModelError(f"There is no model that can be used in {source}.")


def _check_folder(folder: Path, source: str, into: Path) -> None:
    """See that a folder holds what an archive may: files, no links out of it, not too much.

    Raises:
        ModelError: it holds something else.
    """
    sizes = []
    for path in folder.rglob("*"):
        place = path.relative_to(folder)
        try:
            inside = path.resolve(strict=True).is_relative_to(folder)
        except OSError:
            inside = False
        if not inside:
            raise ModelError(f"{source} holds a link that leads out of it or nowhere, {place}.")
        if path.is_file():
            sizes.append(path.stat().st_size)
        elif not path.is_dir() or path.is_symlink():
            raise ModelError(f"{source} holds something that is no file, {place}.")
    check_size(source, sizes, into)


def _file_name(source: str) -> str:
    return Path(unquote(urlsplit(source).path)).name or "model"


def _name_of(source: str) -> str:
    from fieldvoice.asr.fetch import is_address

    name = _file_name(source) if is_address(source) else Path(source).expanduser().resolve().name
    for ending in _ARCHIVE_ENDINGS:
        name = name.removesuffix(ending)
    return name


def _checked_name(name: str) -> str:
    plain = re.sub(r"[\s]+", "-", name.lower())
    if not _NAME.fullmatch(plain):
        raise ModelError(f"{name!r} cannot be a model's name; use letters, digits and hyphens.")
    return plain
