"""What a household can settle: each setting's name, its meaning, and the values it may have.

The values stand where the rules have them (schedules, jurisdictions, fuels), so that a new one is
offered as soon as a rule knows it.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.errors import FieldvoiceError
from fieldvoice.rules.boiling import FUELS
from fieldvoice.rules.jurisdictions import JURISDICTIONS
from fieldvoice.rules.storage import LIMITS
from fieldvoice.rules.taps import SCHEDULES

if TYPE_CHECKING:
    from collections.abc import Mapping

Value = bool | float | str | None

#: Words that give a setting back its usual value.
USUAL = ("usual", "default", "unset")


class SettingError(FieldvoiceError):
    """A setting that there is not, or a value that it cannot have; the text says what can be."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One setting: ``values`` are those it may have, each with its meaning, or a ``within`` range.

    Without either it may be any words: a device's name, a telephone number. ``field`` is its name
    in ``Settings`` and in the file. ``rules`` are the rules that go by it.
    ``units`` are factors for other units that a number may be given in.
    """

    name: str
    field: str
    meaning: str
    values: Mapping[str, tuple[Value, str]] | None = None
    within: tuple[float, float] | None = None
    unit: str = ""
    units: Mapping[str, float] | None = None
    rules: tuple[str, ...] = ()

    def parse(self, text: str) -> Value:
        """Return the value that ``text`` means.

        Raises:
            SettingError: it is none that this setting may have; the text says which there are.
        """
        said = " ".join(text.lower().split())
        if self.values is not None:
            if said not in self.values:
                near = difflib.get_close_matches(said, self.values, n=1)
                hint = f" Did you mean {near[0]}?" if near else ""
                raise SettingError(
                    f"{self.name} is one of {', '.join(self.values)}; not {text!r}.{hint}"
                )
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
                raise SettingError(f"{self.field} is one of {names}; not {value!r}.")
            return value  # type: ignore[return-value]  # it is one of the kept values
        if self.within is None:
            if not isinstance(value, str) or not value:
                raise SettingError(f"{self.name} is a name; not {value!r}.")
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
        area = re.fullmatch(r"(\d+(?:\.\d+)?) ?(?:x|by) ?(\d+(?:\.\d+)?)(?: ?(?:ft|feet))?", said)
        if area and self.unit == "ft²":
            return float(area[1]) * float(area[2])
        plain = re.fullmatch(r"(-?\d+(?:[.,]\d+)?)\s*(\D*)", said)
        if plain is None:
            raise SettingError(f"{self.name} is a number{self._for_example()}; not {text!r}.")
        factor = _factor(plain[2].strip(), self.unit, self.units or {})
        if factor is None:
            raise SettingError(f"{self.name} is told in {self.unit}; not in {plain[2].strip()}.")
        return round(float(plain[1].replace(",", ".")) * factor, 2)

    def _for_example(self) -> str:
        return ", such as 2x4 or 8 ft²" if self.unit == "ft²" else ""


def _factor(said: str, unit: str, units: Mapping[str, float]) -> float | None:
    plain = said.replace("²", "2").replace("square feet", "ft2").replace("feet", "ft")
    if plain in ("", unit.replace("²", "2").lower()):
        return 1.0
    return units.get(plain)


def _written(value: Value) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _heat(name: str, heat_btu: float) -> str:
    if heat_btu > 1e6:
        return f"{heat_btu / 1e6:g} million BTU a cord"
    return f"{heat_btu:,.0f} BTU a {'therm' if name == 'natural gas' else 'gallon'}"


#: A hydrometer's own error, in Brix, beyond which it is broken.
_SURE = (-5.0, 5.0)

#: All settings, in the order of their list.
CHOICES: tuple[Choice, ...] = (
    Choice(
        "units", "metric", "What answers are told in; notes may be in either.",
        values={
            "us": (False, "gallons, inches, feet and °F"),
            "metric": (True, "litres, centimetres and °C"),
        },
    ),
    Choice(
        "tap-schedule", "schedule",
        "Which published guideline says how many taps a trunk carries.",
        values={name: (name, one.in_words()) for name, one in SCHEDULES.items()},
        rules=("tap-limit", "over-tapped", "supplies"),
    ),
    Choice(
        "jurisdiction", "jurisdiction", "Whose law says how dense syrup must be.",
        values={
            name: (name, f"{one.minimum_brix:g} to {one.maximum_brix:g} Brix, drawn "
                         f"{one.rise_f:g} °F above water's boil")
            for name, one in JURISDICTIONS.items()
        },
        rules=("draw-off", "draw-check", "density", "syrup-estimate", "adjust-density",
               "cleaning-alcohol"),
    ),
    Choice(
        "sap-limit", "sap_limit", "How long stored sap is given before it should be in the pan.",
        values={name: (name, one.told) for name, one in LIMITS.items()},
        rules=("storage-age", "boil-order"),
    ),
    Choice(
        "elevation", "elevation_ft",
        "How high you boil above the sea: water boils cooler higher up.",
        within=(-1000, 12_000), unit="ft",
        units={"m": 3.280839895, "meters": 3.280839895, "metres": 3.280839895},
        rules=("draw-off", "draw-check", "product-target"),
    ),
    Choice(
        "pan-area", "pan_ft2", "The pan's flat area; 2x4 means feet by feet.",
        within=(0.25, 500), unit="ft²", units={"m2": 10.7639}, rules=("boil-time", "pan-shallow"),
    ),
    Choice(
        "pan-rate", "boil_rate_gal_ft2_h",
        "What a square foot boils off in an hour; 1 is a flat pan on a good fire.",
        within=(0.1, 5), unit="gal/ft²/h", rules=("boil-time",),
    ),
    Choice(
        "least-batch", "least_batch_gal",
        "The least sap you light a fire for; not set, two inches of the pan, or 10 gal.",
        within=(0, 2000), unit="gal", units={"l": 0.264172, "litres": 0.264172, "liters": 0.264172},
        rules=("boil-order",),
    ),
    Choice(
        "fuel", "fuel", "What you burn under the pan.",
        values={name: (name, _heat(name, heat)) for name, heat in FUELS.items()},
        rules=("fuel-needed",),
    ),
    Choice(
        "sap-instrument", "sap_instrument", "What you test the sugar of sap with.",
        values={
            "hydrometer": ("hydrometer", "floats in a cup; corrected for the sap's temperature"),
            "refractometer": ("refractometer", "no ATC, zeroed at 68 °F; corrected to that"),
            "refractometer zeroed": ("refractometer zeroed", "no ATC, zeroed on water in use"),
            "refractometer atc": ("refractometer atc", "one that corrects by itself"),
        },
        rules=("sap-sugar", "refractometer"),
    ),
    Choice(
        "sap-hydrometer", "sap_hydrometer_f", "The temperature printed on your sap hydrometer.",
        within=(32, 80), unit="°F", rules=("sap-sugar",),
    ),
    Choice(
        "sap-hydrometer-reads-high", "sap_hydrometer_reads_high",
        "How much too high it reads, found by testing it; negative where it reads low.",
        within=_SURE, unit="Brix", rules=("sap-sugar",),
    ),
    Choice(
        "syrup-hydrometer", "syrup_hydrometer_f",
        "The temperature printed on your syrup hydrometer.",
        within=(50, 80), unit="°F", rules=("density",),
    ),
    Choice(
        "syrup-hydrometer-reads-high", "syrup_hydrometer_reads_high",
        "How much too high it reads; many of those tested read low.",
        within=_SURE, unit="Brix", rules=("density",),
    ),
    Choice(
        "buckets", "buckets_hang", "Where the buckets are; on the ground they need drop tubing.",
        values={"ground": (False, "on the ground, with tubing"),
                "hanging": (True, "on the spile")},
        rules=("supplies",),
    ),
    Choice(
        "emergency-number", "emergency_number",
        "What to call where somebody is in danger: 911, or your own country's.",
    ),
    Choice(
        "poison-line", "poison_number", "What to call where somebody swallowed or breathed poison.",
    ),
    Choice(
        "backups", "backup_folder",
        "The folder for each day's backup, on a memory stick perhaps; not set, beside the book.",
    ),
)  # fmt: skip

#: Settings by their name in the file.
BY_FIELD: Mapping[str, Choice] = {one.field: one for one in CHOICES}


def choice(name: str, among: tuple[Choice, ...] = CHOICES) -> Choice:
    """Return the setting of ``among`` that is called ``name`` (or so in the file).

    Raises:
        SettingError: there is none; the text names the nearest.
    """
    plain = name.lower().replace("_", "-")
    for one in among:
        if plain == one.name or name == one.field:
            return one
    names = [one.name for one in among]
    near = difflib.get_close_matches(plain, names, n=1)
    hint = f"Did you mean {near[0]}?" if near else f"There are {', '.join(names)}."
    raise SettingError(f"There is no setting {name!r}. {hint}")
