"""The settings file beside the book: ``season.toml`` for ``season.db``."""

from __future__ import annotations

import tomllib
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from fieldvoice.conversation import Settings
from fieldvoice.errors import FieldvoiceError

if TYPE_CHECKING:
    from pathlib import Path

_NAMES = tuple(field.name for field in fields(Settings))
_NUMBERS = ("elevation_ft", "pan_ft2", "boil_rate_gal_ft2_h")
_TEXTS = ("schedule", "jurisdiction")
_LISTS = ("trees", "vessels")


class SettingsError(FieldvoiceError):
    """A settings file that cannot be read, or holds what no setting is."""


def read_settings(path: Path) -> Settings:
    """Return the settings in ``path``; the defaults where there is no such file.

    Raises:
        SettingsError: it is no TOML, or a setting is unknown or of the wrong kind.
    """
    try:
        written = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Settings()
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise SettingsError(f"The settings {path} cannot be read: {fault}.") from None
    for name, value in written.items():
        if name not in _NAMES:
            names = ", ".join(_NAMES)
            raise SettingsError(f"{path}: no setting is called {name}; there are {names}.")
        if not _fits(name, value):
            raise SettingsError(f"{path}: {name} cannot be {value!r}.")
    lists = {name: tuple(written[name]) for name in _LISTS if name in written}
    return Settings(**{**written, **lists})


def _fits(name: str, value: Any) -> bool:
    """Whether ``value`` is of the kind that the setting takes."""
    if name == "metric":
        return isinstance(value, bool)
    if name in _NUMBERS:
        return _is_number(value)
    if name in _TEXTS:
        return isinstance(value, str)
    if name in _LISTS:
        return isinstance(value, list) and all(isinstance(one, str) for one in value)
    return isinstance(value, dict) and all(map(_is_number, value.values()))


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
