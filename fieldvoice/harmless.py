"""Text that a terminal only shows: control characters in it, which could steer it, do nothing."""

from __future__ import annotations

#: Shown in the place of what cannot be shown.
_SIGN = "\N{REPLACEMENT CHARACTER}"
#: Signs that turn the direction of writing, so that a name could look like another one.
_TURNS = frozenset("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def harmless(text: str, *, keep: str = "") -> str:
    """Return ``text`` with a sign for each control character, half character and turn in it.

    Those in ``keep`` stay: line ends, where a text has several lines.
    """
    if text.isprintable():
        return text
    return "".join(one if one in keep or _shows(one) else _SIGN for one in text)


def _shows(sign: str) -> bool:
    return sign.isprintable() or (sign.isspace() and sign > "\x9f") or (
        sign not in _TURNS and sign > "\x9f" and not "\ud800" <= sign <= "\udfff"
    )  # fmt: skip
