"""The settings file beside the book: ``season.toml`` for ``season.db``.

What is about listening and speaking stands in a table of its own, ``[live]``; what the columns of
somebody's spreadsheets were said to be, in ``[spreadsheets]``.
"""

from __future__ import annotations

import tomllib
from contextlib import contextmanager
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from fieldvoice.cli.faults import complain
from fieldvoice.dialogue import Settings
from fieldvoice.errors import FieldvoiceError
from fieldvoice.whole_files import one_at_a_time, write_whole

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fieldvoice.dialogue.choices import Choice, Value
    from fieldvoice.live.settings import LiveSettings

_NAMES = tuple(field.name for field in fields(Settings))
_LISTS = ("trees", "vessels")
_TABLES = ("capacities_gal", "pans_ft2")
_LIVE = "live"
_SPREADSHEETS = "spreadsheets"
_told: set[str] = set()


class SettingsError(FieldvoiceError):
    """A settings file that cannot be read or written, or holds what no setting is."""


def read_settings(path: Path) -> Settings:
    """Return the settings in ``path``; the usual ones where there is no such file.

    What cannot be read there is told of in a line each, and has its usual value.
    """
    written = _read_or_tell(path)
    written.pop(_LIVE, None)
    written.pop(_SPREADSHEETS, None)
    known: dict[str, Any] = {}
    for name, value in written.items():
        try:
            if name not in _NAMES:
                names = ", ".join(_NAMES)
                raise SettingsError(f"{path}: no setting is called {name}; there are {names}.")
            _check(path, name, value)
        except SettingsError as fault:
            _tell(fault)
        else:
            known[name] = tuple(value) if name in _LISTS else value
    return Settings(**known)


def read_live_settings(path: Path) -> LiveSettings:
    """Return the settings of the live conversation in ``path``, as ``read_settings`` does."""
    from fieldvoice.dialogue.choices import SettingError
    from fieldvoice.live.settings import LIVE_BY_FIELD, LiveSettings

    written = _read_or_tell(path).get(_LIVE, {})
    known: dict[str, Any] = {}
    if not isinstance(written, dict):
        _tell(SettingsError(f"{path}: [{_LIVE}] must be a table."))
        written = {}
    for name, value in written.items():
        if name not in LIVE_BY_FIELD:
            names = ", ".join(LIVE_BY_FIELD)
            _tell(SettingsError(f"{path}: no setting in [{_LIVE}] is called {name}; {names} are."))
            continue
        try:
            LIVE_BY_FIELD[name].check(value)
        except SettingError as fault:
            _tell(SettingsError(f"{path}: {name} cannot be {value!r}: {fault}"))
        else:
            known[name] = value
    return LiveSettings(**known)


def _read_or_tell(path: Path) -> dict[str, Any]:
    try:
        return _read(path)
    except SettingsError as fault:
        _tell(fault)
        return {}


def _tell(fault: SettingsError) -> None:
    """Say once what cannot be read, and that it goes on without."""
    told = f"{fault} Its usual value is used."
    if told not in _told:
        complain(told)
    _told.add(told)


def write_setting(path: Path, choice: Choice, value: Value, *, live: bool = False) -> None:
    """Set one setting in ``path``, or give it back its usual value with None.

    ``live`` tells that it is one of the live conversation. Everything else in the file stays as it
    is, remarks included.

    Raises:
        SettingsError: the file cannot be read or written.
    """
    import tomlkit

    with _document(path) as document:
        table = document.setdefault(_LIVE, tomlkit.table()) if live else document
        if value is None:
            table.pop(choice.field, None)
        else:
            table[choice.field] = value


@contextmanager
def _document(path: Path) -> Iterator[Any]:
    """Yield what is in the file, to be changed; it is written after the block.

    Raises:
        SettingsError: the file cannot be read or written.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        # Whoever sets another one at the same time finds this one in the file.
        with one_at_a_time(path):
            text = path.read_text(encoding="utf-8") if path.exists() else ""
            document = tomlkit.parse(text)
            yield document
            write_whole(path, tomlkit.dumps(document).encode("utf-8"))
    except (OSError, UnicodeDecodeError, TOMLKitError) as fault:
        raise SettingsError(f"The settings {path} cannot be written: {_reason(fault)}.") from None


def read_spreadsheets(path: Path) -> dict[str, list[str]]:
    """Return what columns were said to be, by the headings of their table."""
    written = _read_or_tell(path).get(_SPREADSHEETS, {})
    if not isinstance(written, dict):
        return {}
    return {
        headings: columns
        for headings, columns in written.items()
        if isinstance(columns, list) and all(isinstance(one, str) for one in columns)
    }


def write_spreadsheet(path: Path, headings: str, columns: list[str]) -> None:
    """Remember what the columns of a table with these headings are.

    Raises:
        SettingsError: the file cannot be read or written.
    """
    with _document(path) as document:
        import tomlkit

        document.setdefault(_SPREADSHEETS, tomlkit.table())[headings] = columns


def _read(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise SettingsError(f"The settings {path} cannot be read: {_reason(fault)}.") from None


def _reason(fault: Exception) -> str:
    """Return what was wrong, without the system's number for it."""
    return getattr(fault, "strerror", None) or str(fault)


def _check(path: Path, name: str, value: Any) -> None:
    """See that ``value`` is one that the setting takes.

    Raises:
        SettingsError: it is not; the text says what it takes.
    """
    if name in _LISTS:
        fits = isinstance(value, list) and all(isinstance(one, str) for one in value)
    elif name in _TABLES:
        fits = isinstance(value, dict) and all(map(_is_number, value.values()))
    else:
        # Imported when there is a file: the rules behind the choices are not needed without one.
        from fieldvoice.dialogue.choices import BY_FIELD, SettingError

        try:
            BY_FIELD[name].check(value)
        except SettingError as fault:
            raise SettingsError(f"{path}: {name} cannot be {value!r}: {fault}") from None
        fits = True
    if not fits:
        raise SettingsError(f"{path}: {name} cannot be {value!r}.")


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
