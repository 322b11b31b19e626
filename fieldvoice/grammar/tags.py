"""Tags, the part of a grammar that says what words mean.

A tag follows the words it belongs to. Four kinds are used in ``grammars/``:

``{key=value}``     what these words set: ``half full {fill=0.5}``
``{key}``           the tagged words have a value of their own, which goes to ``key``; inside
                    them a fresh number is counted and fresh keys are set
``{key+}``          the same, but the value joins a list
``{+20} {*100} {/2.54} {.5}``  arithmetic on the number being counted: add, multiply, divide, and
                    write one decimal digit

Numbers are thus arithmetic written in tags: ``twenty {+20} two {+2}`` is 22, and
``two {+2} {*100} nineteen {+19}`` is 219.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

from fieldvoice.errors import GrammarError

#: One step in the meaning of a path: (kind, key, value).
Mark = tuple[str, str, object]

SET, OPEN, CLOSE, ADD, MULTIPLY, DECIMAL = "set", "open", "close", "add", "multiply", "decimal"

_ARITHMETIC = re.compile(r"([+*/.])\s*(-?\d+(?:\.\d+)?(?:/\d+)?)")
_KEY = re.compile(r"[a-z_]+\+?")


def is_tag(tag: str) -> bool:
    """Whether a tag is of one of the four kinds."""
    return bool("=" in tag or _ARITHMETIC.fullmatch(tag) or _KEY.fullmatch(tag))


@cache
def enclosing(tags: tuple[str, ...]) -> tuple[tuple[Mark, ...], tuple[Mark, ...]]:
    """Return the marks to place before and after the words that carry ``tags``.

    Raises:
        GrammarError: for a tag of none of the four kinds.
    """
    before: list[Mark] = []
    after: list[Mark] = []
    for tag in tags:
        arithmetic = _ARITHMETIC.fullmatch(tag)
        if arithmetic:
            after.append(_arithmetic(*arithmetic.groups()))
        elif "=" in tag:
            key, _, value = tag.partition("=")
            after.append((SET, key.strip(), _literal(value.strip())))
        elif _KEY.fullmatch(tag):
            before.insert(0, (OPEN, tag, None))
            after.append((CLOSE, tag, None))
        else:
            raise GrammarError(f"no such kind of tag: {{{tag}}}")
    return tuple(before), tuple(after)


def _arithmetic(sign: str, text: str) -> Mark:
    value = Fraction(text)
    match sign:
        case "+":
            return (ADD, "", value)
        case "*":
            return (MULTIPLY, "", value)
        case "/":
            return (MULTIPLY, "", 1 / value)
        case _:
            return (DECIMAL, "", int(text))


def _literal(text: str) -> object:
    if text in ("true", "false"):
        return text == "true"
    try:
        number = float(text)
    except ValueError:
        return text
    return int(number) if number.is_integer() and "." not in text else number
