"""The settings file beside the book: ``season.toml`` for ``season.db``.

What is about listening and speaking stands in a table of its own, ``[live]``; what the columns of
somebody's spreadsheets were said to be, in ``[spreadsheets]``.
"""

from __future__ import annotations

import os
import re
import tomllib
from contextlib import contextmanager
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from fieldvoice.cli.faults import complain
from fieldvoice.dialogue.choices import SettingError, nearest
from fieldvoice.dialogue.settings import CHOICES, Settings
from fieldvoice.errors import FieldvoiceError
from fieldvoice.whole_files import one_at_a_time, write_whole

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from typing import TypeVar

    from fieldvoice.dialogue.choices import Choice, Value
    from fieldvoice.live.settings import LiveSettings

    Made = TypeVar("Made", Settings, LiveSettings)

_LIVE = "live"
_SPREADSHEETS = "spreadsheets"
#: The remark beside what was told by voice.
_SAID = "said aloud"
#: A file with more lines wrong than this is none of settings.
_MOST_WRONG = 20
_told: set[str] = set()


class SettingsError(FieldvoiceError):
    """A settings file that cannot be read or written, or holds what no setting is."""


def read_settings(path: Path) -> Settings:
    """Return the settings in ``path``; the usual ones where there is no such file.

    What the environment sets goes before the file (``Choice.variable``). What cannot be read in
    either is told of in a line each, and has its usual value; so has what stands in a line of the
    file that is wrong.
    """
    written = _read_or_tell(path)
    written = {name: one for name, one in written.items() if name not in (_LIVE, _SPREADSHEETS)}
    return _made(Settings, CHOICES, written, path)


def read_live_settings(path: Path) -> LiveSettings:
    """Return the settings of the live conversation in ``path``, as ``read_settings`` does."""
    from fieldvoice.live.settings import LIVE_CHOICES, LiveSettings

    written = _read_or_tell(path).get(_LIVE, {})
    if not isinstance(written, dict):
        _tell(SettingsError(f"{path}: [{_LIVE}] must be a table."))
        written = {}
    return _made(LiveSettings, LIVE_CHOICES, written, path, f" in [{_LIVE}]")


def _made(
    kind: type[Made],
    among: tuple[Choice, ...],
    written: dict[str, Any],
    path: Path,
    where: str = "",
) -> Made:
    """Return settings made of what is ``written`` and set in the environment, as far as it fits."""
    given = {**written, **_of_environment(among)}
    try:
        return kind(**given)
    except ValidationError as found:
        wrong = {str(one["loc"][0]): one for one in found.errors()}
    for name, fault in wrong.items():
        if fault["type"] == "unexpected_keyword_argument":
            names = [one.name for one in fields(kind)]
            hint = nearest(name, names) or f"There are {', '.join(names)}."
            _tell(SettingsError(f"{path}: no setting{where} is called {name}. {hint}"))
        else:
            why = fault["msg"].removeprefix("Value error, ")
            _tell(SettingsError(f"{path}: {name} cannot be {given[name]!r}: {why}"))
    return kind(**{name: value for name, value in given.items() if name not in wrong})


def _of_environment(among: tuple[Choice, ...]) -> dict[str, Value]:
    """Return what the environment sets, by fields."""
    found: dict[str, Value] = {}
    for one in among:
        said = os.environ.get(one.variable)
        if said:
            try:
                found[one.field] = one.parse(said)
            except SettingError as fault:
                _tell(SettingsError(f"{one.variable}: {fault}"))
    return found


def source_of(choice: Choice, path: Path, *, live: bool) -> str:
    """Return where a setting has its value from: "usual", "file", "said" or "environment"."""
    import tomlkit

    if os.environ.get(choice.variable):
        return "environment"
    try:
        table: Any = tomlkit.parse(path.read_text(encoding="utf-8"))
        table = table.get(_LIVE, {}) if live else table
        return "said" if _SAID in table.item(choice.field).trivia.comment else "file"
    except (OSError, UnicodeDecodeError, KeyError, AttributeError, tomlkit.exceptions.TOMLKitError):
        return "usual"


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


def write_setting(
    path: Path, choice: Choice, value: Value, *, live: bool = False, said: bool = False
) -> None:
    """Set one setting in ``path``, or give it back its usual value with None.

    ``live`` tells that it is one of the live conversation, ``said`` that it was told by voice.
    Everything else in the file stays as it is, remarks included.

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
            remark = table.item(choice.field).trivia
            if said:
                remark.comment_ws, remark.comment = "  ", f"# {_SAID}"
            elif _SAID in remark.comment:
                remark.comment_ws, remark.comment = "", ""


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
        written = path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except OSError as fault:
        raise SettingsError(f"The settings {path} cannot be read: {_reason(fault)}.") from None
    lines = written.splitlines()
    for _ in range(_MOST_WRONG):
        try:
            return tomllib.loads(b"\n".join(lines).decode("utf-8"))
        except (UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
            number = _wrong_line(lines, fault)
            if number is None:
                break
            _tell(SettingsError(f"{path}, line {number + 1} cannot be read: {_plain(fault)}."))
            lines[number] = b""
    raise SettingsError(f"The settings {path} cannot be read: they are not TOML.")


def _wrong_line(lines: list[bytes], fault: ValueError) -> int | None:
    """Return which line alone is wrong; None where it may be part of something longer."""
    if isinstance(fault, UnicodeDecodeError):
        number = fault.object[: fault.start].count(b"\n")
    else:
        found = re.search(r"at line (\d+)", str(fault))
        number = len(lines) - 1 if found is None else int(found[1]) - 1
    try:  # where what stands before is whole, no value goes on in this line
        tomllib.loads(b"\n".join(lines[:number]).decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError):
        return None
    return number if lines[number].strip() else None


def _plain(fault: ValueError) -> str:
    """Return what is wrong in a line, without where in the file."""
    if isinstance(fault, UnicodeDecodeError):
        return "it is no UTF-8"
    return str(fault).partition(" (at ")[0]


def _reason(fault: Exception) -> str:
    """Return what was wrong, without the system's number for it."""
    return getattr(fault, "strerror", None) or str(fault)
