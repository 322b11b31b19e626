"""The settings file beside the book: ``season.toml`` for ``season.db``.

What is about listening and speaking stands in a table of its own, ``[live]``.
"""

from __future__ import annotations

import os
import tomllib
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue import Settings
from fieldvoice.errors import FieldvoiceError

if TYPE_CHECKING:
    from pathlib import Path

    from fieldvoice.dialogue.choices import Choice, Value
    from fieldvoice.live.settings import LiveSettings

_NAMES = tuple(field.name for field in fields(Settings))
_LISTS = ("trees", "vessels")
_TABLES = ("capacities_gal", "pans_ft2")
_LIVE = "live"


class SettingsError(FieldvoiceError):
    """A settings file that cannot be read or written, or holds what no setting is."""


def read_settings(path: Path) -> Settings:
    """Return the settings in ``path``; the defaults where there is no such file.

    Raises:
        SettingsError: it is no TOML, or a setting is unknown or of the wrong kind.
    """
    written = _read(path)
    written.pop(_LIVE, None)
    for name, value in written.items():
        if name not in _NAMES:
            names = ", ".join(_NAMES)
            raise SettingsError(f"{path}: no setting is called {name}; there are {names}.")
        _check(path, name, value)
    lists = {name: tuple(written[name]) for name in _LISTS if name in written}
    return Settings(**{**written, **lists})


def read_live_settings(path: Path) -> LiveSettings:
    """Return the settings of the live conversation in ``path``; the defaults where there are none.

    Raises:
        SettingsError: it is no TOML, or a setting is unknown or of the wrong kind.
    """
    from fieldvoice.dialogue.choices import SettingError
    from fieldvoice.live.settings import LIVE_BY_FIELD, LiveSettings

    written = _read(path).get(_LIVE, {})
    if not isinstance(written, dict):
        raise SettingsError(f"{path}: [{_LIVE}] must be a table.")
    for name, value in written.items():
        if name not in LIVE_BY_FIELD:
            names = ", ".join(LIVE_BY_FIELD)
            raise SettingsError(f"{path}: no setting in [{_LIVE}] is called {name}; {names} are.")
        try:
            LIVE_BY_FIELD[name].check(value)
        except SettingError as fault:
            raise SettingsError(f"{path}: {name} cannot be {value!r}: {fault}") from None
    return LiveSettings(**written)


def write_setting(path: Path, choice: Choice, value: Value, *, live: bool = False) -> None:
    """Set one setting in ``path``, or give it back its usual value with None.

    ``live`` tells that it is one of the live conversation. Everything else in the file stays as it
    is, remarks included.

    Raises:
        SettingsError: the file cannot be read or written.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        text = path.read_text(encoding="utf-8") if path.exists() else ""
        document = tomlkit.parse(text)
        table = document.setdefault(_LIVE, tomlkit.table()) if live else document
        if value is None:
            table.pop(choice.field, None)
        else:
            table[choice.field] = value
        path.parent.mkdir(parents=True, exist_ok=True)
        draft = path.with_name(f"{path.name}.new")
        draft.write_text(tomlkit.dumps(document), encoding="utf-8")
        os.replace(draft, path)  # noqa: PTH105  # one step: a half-written file never stands there
    except (OSError, UnicodeDecodeError, TOMLKitError) as fault:
        raise SettingsError(f"The settings {path} cannot be written: {fault}.") from None


def _read(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise SettingsError(f"The settings {path} cannot be read: {fault}.") from None


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
