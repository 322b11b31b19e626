"""What a setting is: its name, its meaning, and the values it may have.

It stands beside its field, in the class of the settings, and pydantic checks values by it.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, get_type_hints

from pydantic_core.core_schema import no_info_before_validator_function

from fieldvoice.errors import FieldvoiceError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from pydantic import GetCoreSchemaHandler
    from pydantic_core import CoreSchema

Value = bool | float | str | None

#: Words that give a setting back its usual value.
USUAL = ("usual", "default", "unset")


class SettingError(FieldvoiceError):
    """A setting that there is not, or a value that it cannot have; the text says what can be."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One setting: ``values`` are those it may have, each with its meaning, or a ``within`` range.

    Without either it may be any words, as a device's name, or those of a ``form``: a pattern that
    they begin with, and what that is called. ``rules`` are the rules that go by it. ``units`` are
    factors for other units that a number may be given in. ``field`` is its name in the class and in
    the file, filled in by ``choices_of``.
    """

    name: str
    meaning: str
    values: Mapping[str, tuple[Value, str]] | None = None
    within: tuple[float, float] | None = None
    form: tuple[str, str] | None = None
    unit: str = ""
    units: Mapping[str, float] | None = None
    rules: tuple[str, ...] = ()
    field: str = ""

    @property
    def variable(self) -> str:
        """What it is called in the environment."""
        return f"FIELDVOICE_{self.name.upper().replace('-', '_')}"

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Have pydantic take what ``check`` takes."""
        return no_info_before_validator_function(self._checked, handler(source))

    def _checked(self, value: object) -> Value:
        try:
            return None if value is None else self.check(value)
        except SettingError as fault:
            raise ValueError(str(fault)) from None

    def parse(self, text: str) -> Value:
        """Return the value that ``text`` means.

        Raises:
            SettingError: it is none that this setting may have; the text says which there are.
        """
        said = " ".join(text.lower().split())
        if self.values is not None:
            if said not in self.values:
                hint = nearest(said, self.values)
                known = ", ".join(self.values)
                raise SettingError(f"{self.name} is one of {known}; not {text!r}. {hint}".rstrip())
            return self.values[said][0]
        if self.within is None:
            return self.check(text.strip())
        return self.check(self._number(said, text))

    def check(self, value: object) -> Value:
        """Return ``value``, as it stands in the file, if this setting may have it.

        Raises:
            SettingError: it may not; the text says what it may.
        """
        if self.values is not None:
            kept = [one for one, _ in self.values.values()]
            if not any(value is one or (value == one and type(value) is type(one)) for one in kept):
                names = ", ".join(_written(one) for one in kept)
                raise SettingError(f"{self.name} is one of {names}; not {value!r}.")
            return value  # type: ignore[return-value]  # it is one of the kept values
        if self.within is None:
            if not isinstance(value, str) or not value:
                raise SettingError(f"{self.name} is a name; not {value!r}.")
            if self.form is not None and re.match(self.form[0], value) is None:
                raise SettingError(f"{self.name} is {self.form[1]}; not {value!r}.")
            return value
        low, high = self.within
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not low <= value <= high
        ):
            unit = f" {self.unit}" if self.unit else ""
            raise SettingError(
                f"{self.name} is a number from {low:g} to {high:g}{unit}; not {value!r}."
            )
        return float(value)

    def shown(self, settings: object) -> str:
        """Return this setting's value as people write it."""
        value = getattr(settings, self.field)
        if value is None:
            return "not set"
        if self.values is not None:
            return next(
                (name for name, (kept, _) in self.values.items() if kept == value), str(value)
            )
        return f"{value:g} {self.unit}".strip() if self.within is not None else str(value)

    def _number(self, said: str, text: str) -> float:
        area = _AREA.fullmatch(said)
        if area and self.unit == "ft²":
            return round(float(area[1]) * float(area[2]) / _TO_A_FOOT[area[3] or "ft"] ** 2, 2)
        plain = re.fullmatch(r"(-?\d+(?:[.,]\d+)?)\s*(\D*)", said)
        if plain is None:
            raise SettingError(f"{self.name} is a number{self._for_example()}; not {text!r}.")
        factor = _factor(plain[2].strip(), self.unit, self.units or {})
        if factor is None:
            raise SettingError(f"{self.name} is told in {self.unit}; not in {plain[2].strip()}.")
        return round(float(plain[1].replace(",", ".")) * factor, 2)

    def _for_example(self) -> str:
        return ", such as 2x4 or 8 ft²" if self.unit == "ft²" else ""


#: "2x4", "2 ft by 4 ft", "60x120 cm", with how many of each make a foot.
_LENGTH = r"(?: ?(?:ft|feet|cm|in|inches))?"
_AREA = re.compile(
    rf"(\d+(?:\.\d+)?){_LENGTH} ?(?:x|by) ?(\d+(?:\.\d+)?)(?: ?(ft|feet|cm|in|inches))?"
)
_TO_A_FOOT = {"ft": 1.0, "feet": 1.0, "in": 12.0, "inches": 12.0, "cm": 30.48}


def _factor(said: str, unit: str, units: Mapping[str, float]) -> float | None:
    plain = said.replace("²", "2").replace("square feet", "ft2").replace("feet", "ft")
    if plain in ("", unit.replace("²", "2").lower()):
        return 1.0
    return units.get(plain)


def _written(value: Value) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def choices_of(kind: type) -> tuple[Choice, ...]:
    """Return the settings declared in a class, in its order, each with the name of its field."""
    hints = get_type_hints(kind, include_extras=True)
    return tuple(
        replace(one, field=field)
        for field, hint in hints.items()
        for one in getattr(hint, "__metadata__", ())
        if isinstance(one, Choice)
    )


def choice(name: str, among: tuple[Choice, ...]) -> Choice:
    """Return the setting of ``among`` that is called ``name`` (or so in the file).

    Raises:
        SettingError: there is none; the text names the nearest.
    """
    plain = name.lower().replace("_", "-")
    for one in among:
        if plain == one.name or name == one.field:
            return one
    names = [one.name for one in among]
    hint = nearest(plain, names) or f"There are {', '.join(names)}."
    raise SettingError(f"There is no setting {name!r}. {hint}")


def nearest(said: str, names: Iterable[str]) -> str:
    """Return "Did you mean pan-area?", or nothing where no name is near."""
    near = difflib.get_close_matches(said, list(names), n=1)
    return f"Did you mean {near[0]}?" if near else ""
