"""What people write into the cells of a notebook in words: looks, health, sizes, grades, ways."""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import TYPE_CHECKING

from fieldvoice.errors import RangeError
from fieldvoice.rules.packing import container_gal
from fieldvoice.rules.species import species_named

if TYPE_CHECKING:
    from collections.abc import Mapping


def _table(text: str) -> Mapping[str, str]:
    """Return alias → meaning from lines "meaning: alias, alias"."""
    found: dict[str, str] = {}
    for line in text.strip().splitlines():
        meaning, _, aliases = line.partition(":")
        for alias in (meaning, *aliases.split(",")):
            if alias.strip():
                found[alias.strip()] = meaning.strip()
    return MappingProxyType(found)


LOOKS = _table("""
clear: good, fine, ok, clean, like water, clair
hazy: slightly cloudy, a bit cloudy, a little cloudy, bit cloudy, milky tint, a bit hazy
cloudy: very cloudy, milky, trouble, trüb
yellow: yellowish, yellow tint
ropey: ropy, stringy, slimy
sour: smells sour, off, gone off
buddy: smells buddy, bud, buds
frozen: ice, solid, iced, frozen solid
""")
HEALTHS = _table("""
sound: good, healthy, fine, ok, great, excellent, strong
stressed: poor, fair, weak, some dieback
damaged: broken, storm damage, split, hurt
dying: mostly dead, nearly dead
""")
COLOURS = _table("""
golden: gold, light, golden delicate
amber: medium, medium amber, amber rich
dark: dark robust
very dark: vdark, v dark, extra dark, very dark strong
""")
WHYS = _table("""
sold: sale, sell, cash, paid, market
given: gift, gave, given away, gifted, free, present, donated, donation
eaten: ate, used, kitchen, home, own use, us, ourselves, kept, house
spoiled: spoilt, lost, broke, broken, mold, mould, mouldy, dumped
""")
FILLS: Mapping[str, float] = MappingProxyType({
    "empty": 0.0, "dry": 0.0, "quarter": 0.25, "quarter full": 0.25, "third": 1 / 3, "half": 0.5,
    "half full": 0.5, "two thirds": 2 / 3, "three quarters": 0.75, "three quarters full": 0.75,
    "nearly full": 0.9, "almost full": 0.9, "full": 1.0, "overflowing": 1.0,
})  # fmt: skip
SIDES = _table("""
north: n
south: s
east: e
west: w
northeast: ne, north east
northwest: nw, north west
southeast: se, south east
southwest: sw, south west
""")
#: The words of each role that takes no others.
TABLES: Mapping[str, Mapping[str, str]] = MappingProxyType({
    "look": LOOKS, "health": HEALTHS, "colour": COLOURS, "why": WHYS, "side": SIDES,
})  # fmt: skip
_SIZES = MappingProxyType({
    "pt": "pint", "half pt": "half pint", "1/2 pint": "half pint", "1/2 pt": "half pint",
    "½ pint": "half pint", "½ pt": "half pint", "qt": "quart", "gal": "gallon",
    "1/2 gal": "half gallon", "1/2 gallon": "half gallon", "½ gallon": "half gallon",
    "half gal": "half gallon", "8 oz": "half pint", "16 oz": "pint", "32 oz": "quart",
})  # fmt: skip


def plain(cell: str) -> str:
    """Return a cell as the tables here have it: small letters, no marks at its ends."""
    return " ".join(cell.casefold().replace("-", " ").strip(" .!").split())


def known_word(role: str, cell: str) -> str | None:
    """Return what a cell means in a column of ``TABLES``; None where nobody knows."""
    return TABLES[role].get(plain(cell).removeprefix("grade a ").strip())


def species(cell: str) -> str | None:
    """Return the name of a maple; None where it is none that is known."""
    try:
        return species_named(plain(cell)).name
    except RangeError:
        return None


def size(cell: str) -> str | None:
    """Return a container's size as notes have it: "pint", "250 ml"; None where it is none."""
    words = plain(re.sub(r"\b(jars?|bottles?|jugs?)\b", "", cell))
    known = _SIZES.get(words.removesuffix("s"), words.removesuffix("s"))
    try:
        gallons = container_gal(known)
    except RangeError:
        return None
    if not known[:1].isdigit():
        return known
    return f"{round(gallons * 3785.411784):d} ml"


def vessel(cell: str) -> str:
    """Return a vessel's name as notes have it: "Tank 2" and "tank #2" are "tank 2"."""
    words = " ".join(re.sub(r"#|\bno\.?\s", " ", cell.casefold()).split())
    return re.sub(r"^(tank|tote|barrel|can|drum|bucket|pail)(\d)", r"\1 \2", words)


def site(cell: str) -> str:
    """Return a place's name as notes have it, without its article."""
    words = " ".join(cell.casefold().split())
    return words.removeprefix("the ")
