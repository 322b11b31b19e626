"""Large dictionaries in JSON, kept as text: a tenth of the memory, microseconds to look into.

A natural voice comes with some 260,000 entries and looks a few hundred of them up for a sentence.
As Python's own dictionaries they take 100 MB, and more while they are read.
"""

from __future__ import annotations

import json
import re
from array import array
from bisect import bisect_left
from itertools import accumulate
from typing import Any

# Stands in no JSON text and before all that does: no key is mistaken for a longer one.
_ENDS_KEY = b"\0"

_TEXT = rb'"[^"\\]*(?:\\.[^"\\]*)*"'
_FLAT = rb'\%b[^][{}"]*(?:%b[^][{}"]*)*\%b'
_VALUE = rb"|".join([_TEXT, rb"[-+.\w]+", _FLAT % (b"[", _TEXT, b"]"), _FLAT % (b"{", _TEXT, b"}")])
_OPENS = re.compile(rb"\s*\{\s*(\}?)\s*")
_KEY = re.compile(rb"(%b)\s*:\s*" % _TEXT)
_PLAIN = re.compile(rb"(%b)\s*([,}])\s*" % _VALUE)
_MEMBER = re.compile(_KEY.pattern + _PLAIN.pattern)
_NEXT = re.compile(rb"\s*([,}])\s*")


class Table:
    """A JSON object that can be asked for the value of a key, and for nothing else.

    ``members`` are its keys, each with ``_ENDS_KEY`` and its value as it stands in the JSON text.
    """

    def __init__(self, members: list[bytes]) -> None:
        members.sort()
        self._starts = array("I", accumulate(map(len, members), initial=0))
        self._text = b"".join(members)

    def __len__(self) -> int:
        return len(self._starts) - 1

    def get(self, key: str, default: Any = None) -> Any:
        """Return the value of ``key``, ``default`` where there is none."""
        asked = key.encode() + _ENDS_KEY
        text, starts, length = self._text, self._starts, len(asked)

        def beginning(member: int) -> bytes:
            return text[starts[member] : starts[member] + length]

        at = bisect_left(range(len(self)), asked, key=beginning)
        if at == len(self) or not text.startswith(asked, starts[at]):
            return default
        return json.loads(text[starts[at] + length : starts[at + 1]])


def table(text: bytes) -> Table:
    """Return the JSON object in ``text`` as a table; its values may hold no more than plain values.

    Raises:
        ValueError: it is none, or holds more.
    """
    return _table(text, 0)[0]


def tables(text: bytes) -> dict[str, Any]:
    """Return the JSON object in ``text``, the objects among its values as tables.

    Raises:
        ValueError: it is none, or holds more than tables of plain values do.
    """
    found: dict[str, Any] = {}
    opens = _match(_OPENS, text, 0)
    at, ends = opens.end(), opens[1]
    while ends != b"}":
        key = _match(_KEY, text, at)
        if text.startswith(b"{", key.end()):
            value, at = _table(text, key.end())
            step = _match(_NEXT, text, at)
        else:
            step = _match(_PLAIN, text, key.end())
            value = json.loads(step[1])
        found[json.loads(key[1])] = value
        at, ends = step.end(), step[step.re.groups]
    return found


def _table(text: bytes, at: int) -> tuple[Table, int]:
    """Return the object that begins at ``at``, and where it ends."""
    members = []
    opens = _match(_OPENS, text, at)
    at, ends = opens.end(), opens[1]
    while ends != b"}":
        member = _match(_MEMBER, text, at)
        key, value, ends = member.groups()
        plain = key[1:-1] if b"\\" not in key else json.loads(key).encode()
        if _ENDS_KEY in plain:
            raise ValueError(f"This is no table in JSON: a key {plain!r}.")
        members.append(plain + _ENDS_KEY + value)
        at = member.end()
    return Table(members), at


def _match(pattern: re.Pattern[bytes], text: bytes, at: int) -> re.Match[bytes]:
    found = pattern.match(text, at)
    if found is None:
        raise ValueError(f"This is no table in JSON: {text[at : at + 20]!r}.")
    return found
