"""Numbers and units as people write them into cells: "2½ gal", "1,5 L", "$14.00", "40 °F"."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

_VULGAR = {"½": ".5", "¼": ".25", "¾": ".75", "⅓": ".333333", "⅔": ".666667", "⅛": ".125",
           "⅜": ".375", "⅝": ".625", "⅞": ".875"}  # fmt: skip
_NUMBER = re.compile(
    r"(?P<sign>[-−–]?)\s*[$€£]?\s*(?P<whole>\d[\d.,'  ]*|\.\d+|(?=[½¼¾⅓⅔⅛⅜⅝⅞]))"
    r"\s*(?P<vulgar>[½¼¾⅓⅔⅛⅜⅝⅞])?(?:(?P<top>\d+)\s*/\s*(?P<bottom>\d+))?\s*(?P<unit>[^\d]*)",
)
_FRACTION = re.compile(
    r"(?:(?P<whole>\d+)[\s-]+)?(?P<top>\d{1,2})\s*/\s*(?P<bottom>\d{1,2})\s*(?P<unit>[^\d]*)"
)
#: What is written where there is nothing to write.
NOTHING = frozenset(("", "-", "--", "–", "—", "n/a", "na", "none", "nil", "x", "/", ".", "m"))

#: Units by the names they go by, each with its kind and what one of them is in the stored unit:
#: US gallons, inches; temperatures are known by their sign.
UNITS: Mapping[str, tuple[str, str, float]] = MappingProxyType({
    alias: (kind, name, factor)
    for kind, name, factor, aliases in (
        ("volume", "gal", 1.0, "gal gals gallon gallons gal. us-gal g"),
        ("volume", "qt", 1 / 4, "qt qts quart quarts qt."),
        ("volume", "pt", 1 / 8, "pt pts pint pints pt."),
        ("volume", "cup", 1 / 16, "cup cups"),
        ("volume", "fl oz", 1 / 128, "floz fl-oz oz"),
        ("volume", "L", 1 / 3.785411784, "l lt ltr lit liter liters litre litres liter(s) litres."),
        ("volume", "ml", 1 / 3785.411784, "ml milliliter milliliters millilitre millilitres"),
        ("length", "in", 1.0, 'in in. inch inches " ″ ”'),
        ("length", "cm", 1 / 2.54, "cm centimeter centimeters centimetre centimetres"),
        ("length", "mm", 1 / 25.4, "mm millimeter millimeters millimetre millimetres"),
        ("length", "ft", 12.0, "ft foot feet ' ft."),
        ("length", "m", 100 / 2.54, "m meter meters metre metres"),
        ("temperature", "°F", 1.0, "°f f degf fahrenheit"),
        ("temperature", "°C", 1.0, "°c c degc celsius centigrade"),
        ("share", "%", 1.0, "% percent pct brix °brix °bx bx"),
        ("wood", "cord", 1.0, "cord cords"),
    )
    for alias in aliases.split()
})  # fmt: skip
_METRIC = frozenset(("L", "ml", "cm", "mm", "m", "°C"))


def unit_named(text: str) -> str | None:
    """Return the unit that goes by a name, "Litres" or "°f"; None where it is none."""
    found = UNITS.get(re.sub(r"\s+", "-", text.strip().lower())) or UNITS.get(
        re.sub(r"[\s.]+", "", text.lower().replace("º", "°").replace("deg", "°").replace("°°", "°"))
    )
    return found[1] if found else None


def kind_of(unit: str) -> str:
    """Return what a unit measures: volume, length, temperature, share or wood."""
    return _BY_NAME[unit][0]


def is_metric(unit: str) -> bool:
    """Whether a unit is a metric one."""
    return unit in _METRIC


def stored(value: float, unit: str) -> float:
    """Return a value in its stored unit: gallons, inches, °F, percent, cords."""
    if unit == "°C":
        return round(value * 1.8 + 32, 1)
    return value * _BY_NAME[unit][1]


_BY_NAME = {name: (kind, factor) for kind, name, factor in UNITS.values()}


@dataclass(slots=True)
class Marks:
    """How the numbers of a table are written, as far as they tell: gathered cell by cell."""

    commas: int = 0
    points: int = 0
    either: int = 0

    def see(self, cell: str) -> None:
        """Take what one cell tells of the decimal mark."""
        digits = re.fullmatch(r"[^\d]*(\d[\d.,]*)[^\d]*", cell)
        if digits is None:
            return
        text = digits[1].rstrip(".,")
        if "," in text and "." in text:
            self.commas += text.rfind(",") > text.rfind(".")
            self.points += text.rfind(",") < text.rfind(".")
        elif re.fullmatch(r"\d+,\d+", text):
            self.commas += len(text.partition(",")[2]) != 3
            self.either += len(text.partition(",")[2]) == 3
        elif re.fullmatch(r"\d+\.\d+", text):
            self.points += 1

    def decimal_comma(self, delimiter: str) -> bool:
        """Whether a comma is the decimal mark: by what was seen, else by what separates cells."""
        if self.commas != self.points:
            return self.commas > self.points
        return delimiter == ";" and not self.points


@dataclass(frozen=True, slots=True)
class Amount:
    """A number in a cell and the unit that it has there; None where none stands there."""

    value: float
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Numerals:
    """Reads numbers as one table writes them."""

    decimal_comma: bool = False
    _seen: dict[str, Amount | None] = field(default_factory=dict, compare=False)

    def read(self, cell: str) -> Amount | None:
        """Return the number in a cell; None where it is none, or something stands beside it."""
        if len(self._seen) > 5000:
            self._seen.clear()
        if cell not in self._seen:
            self._seen[cell] = self._read(cell.strip())
        return self._seen[cell]

    def _read(self, cell: str) -> Amount | None:
        fraction = _FRACTION.fullmatch(cell)
        if fraction and int(fraction["bottom"]):
            value = int(fraction["whole"] or 0) + int(fraction["top"]) / int(fraction["bottom"])
            return _with_unit(value, fraction["unit"])
        found = _NUMBER.fullmatch(cell)
        if found is None or found["top"]:
            return None
        whole = self._plain(found["whole"].strip()) if found["whole"] else "0"
        if whole is None:
            return None
        value = float(whole) + float(_VULGAR[found["vulgar"]] if found["vulgar"] else 0)
        return _with_unit(-value if found["sign"] else value, found["unit"])

    def _plain(self, digits: str) -> str | None:
        """Return digits as Python reads them; None where its marks are in no order."""
        mark, other = (",", ".") if self.decimal_comma else (".", ",")
        text = re.sub(r"['  ]", "", digits).rstrip(other)
        grouped = re.fullmatch(rf"\d{{1,3}}(?:\{other}\d{{3}})+(\{mark}\d*)?", text)
        if grouped:
            text = text.replace(other, "")
        elif other in text:
            return None
        text = text.replace(mark, ".")
        return text if re.fullmatch(r"\d*\.?\d*", text) and text.strip(".") else None


def _with_unit(value: float, unit: str) -> Amount | None:
    text = unit.strip()
    if not text or text in "$€£":
        return Amount(value)
    named = unit_named(text)
    return Amount(value, named) if named else None
