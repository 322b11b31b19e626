"""What a household has settled once: units, guideline, sizes and names.

The values that a setting may have stand where the rules have them (schedules, jurisdictions,
fuels), so that a new one is offered as soon as a rule knows it.
"""

from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import Annotated

from pydantic import ConfigDict
from pydantic.dataclasses import dataclass

from fieldvoice.dialogue.choices import Choice, choices_of
from fieldvoice.handbook.card import USUAL_NUMBERS, Numbers
from fieldvoice.rules.boiling import FUELS
from fieldvoice.rules.jurisdictions import JURISDICTIONS
from fieldvoice.rules.storage import LIMITS
from fieldvoice.rules.taps import SCHEDULES


def _heat(name: str, heat_btu: float) -> str:
    if heat_btu > 1e6:
        return f"{heat_btu / 1e6:g} million BTU a cord"
    return f"{heat_btu:,.0f} BTU a {'therm' if name == 'natural gas' else 'gallon'}"


#: Two digits at least, alone or before other words.
_TELEPHONE = (
    r"\+?\d[\d ()./-]*\d(?!\w)(?! ?(?:x|ft|by)\b)",
    "a telephone number, such as 911 or 112",
)
#: A hydrometer's own error, in Brix, beyond which it is broken.
_SURE = (-5.0, 5.0)


@dataclass(frozen=True, slots=True, config=ConfigDict(extra="forbid"))
class Settings:
    """Choices that outlive a conversation, each with what it means; all have a working default.

    ``pans_ft2`` names several pans with their areas, ``capacities_gal`` gives what vessels hold.
    ``trees`` and ``vessels`` are names in use beside numbers.
    """

    metric: Annotated[
        bool,
        Choice(
            "units",
            "What answers are told in; notes may be in either.",
            values={
                "us": (False, "gallons, inches, feet and °F"),
                "metric": (True, "litres, centimetres and °C"),
            },
        ),
    ] = False
    schedule: Annotated[
        str,
        Choice(
            "tap-schedule",
            "Which published guideline says how many taps a trunk carries.",
            values={name: (name, one.in_words()) for name, one in SCHEDULES.items()},
            rules=("tap-limit", "over-tapped", "supplies"),
        ),
    ] = "conservative"
    jurisdiction: Annotated[
        str,
        Choice(
            "jurisdiction",
            "Whose law says how dense syrup must be.",
            values={
                name: (
                    name,
                    f"{one.minimum_brix:g} to {one.maximum_brix:g} Brix, drawn "
                    f"{one.rise_f:g} °F above water's boil",
                )
                for name, one in JURISDICTIONS.items()
            },
            rules=(
                "draw-off",
                "draw-check",
                "density",
                "syrup-estimate",
                "adjust-density",
                "cleaning-alcohol",
            ),
        ),
    ] = "us"
    sap_limit: Annotated[
        str,
        Choice(
            "sap-limit",
            "How long stored sap is given before it should be in the pan.",
            values={name: (name, one.told) for name, one in LIMITS.items()},
            rules=("storage-age", "boil-order"),
        ),
    ] = "quality"
    elevation_ft: Annotated[
        float | None,
        Choice(
            "elevation",
            "How high you boil above the sea: water boils cooler higher up.",
            within=(-1000, 12_000),
            unit="ft",
            units={"m": 3.280839895, "meters": 3.280839895, "metres": 3.280839895},
            rules=("draw-off", "draw-check", "product-target"),
        ),
    ] = None
    pan_ft2: Annotated[
        float | None,
        Choice(
            "pan-area",
            "The pan's flat area: 2x4 is feet by feet; or say 60x120 cm.",
            within=(0.25, 500),
            unit="ft²",
            units={"m2": 10.7639},
            rules=("boil-time", "pan-shallow"),
        ),
    ] = None
    boil_rate_gal_ft2_h: Annotated[
        float,
        Choice(
            "pan-rate",
            "What a square foot boils off in an hour; 1 is a flat pan on a good fire.",
            within=(0.1, 5),
            unit="gal/ft²/h",
            rules=("boil-time",),
        ),
    ] = 1.0
    least_batch_gal: Annotated[
        float | None,
        Choice(
            "least-batch",
            "The least sap you light a fire for; not set, two inches of the pan, or 10 gal.",
            within=(0, 2000),
            unit="gal",
            units={"l": 0.264172, "litres": 0.264172, "liters": 0.264172},
            rules=("boil-order",),
        ),
    ] = None
    fuel: Annotated[
        str,
        Choice(
            "fuel",
            "What you burn under the pan.",
            values={name: (name, _heat(name, heat)) for name, heat in FUELS.items()},
            rules=("fuel-needed",),
        ),
    ] = "sugar maple"
    sap_instrument: Annotated[
        str,
        Choice(
            "sap-instrument",
            "What you test the sugar of sap with.",
            values={
                "hydrometer": (
                    "hydrometer",
                    "floats in a cup; corrected for the sap's temperature",
                ),
                "refractometer": ("refractometer", "no ATC, zeroed at 68 °F; corrected to that"),
                "refractometer zeroed": ("refractometer zeroed", "no ATC, zeroed on water in use"),
                "refractometer atc": ("refractometer atc", "one that corrects by itself"),
            },
            rules=("sap-sugar", "refractometer"),
        ),
    ] = "hydrometer"
    sap_hydrometer_f: Annotated[
        float,
        Choice(
            "sap-hydrometer",
            "The temperature printed on your sap hydrometer.",
            within=(32, 80),
            unit="°F",
            rules=("sap-sugar",),
        ),
    ] = 38.0
    sap_hydrometer_reads_high: Annotated[
        float,
        Choice(
            "sap-hydrometer-reads-high",
            "How much too high it reads, found by testing it; negative where it reads low.",
            within=_SURE,
            unit="Brix",
            rules=("sap-sugar",),
        ),
    ] = 0.0
    syrup_hydrometer_f: Annotated[
        float,
        Choice(
            "syrup-hydrometer",
            "The temperature printed on your syrup hydrometer.",
            within=(50, 80),
            unit="°F",
            rules=("density",),
        ),
    ] = 60.0
    syrup_hydrometer_reads_high: Annotated[
        float,
        Choice(
            "syrup-hydrometer-reads-high",
            "How much too high it reads; many of those tested read low.",
            within=_SURE,
            unit="Brix",
            rules=("density",),
        ),
    ] = 0.0
    buckets_hang: Annotated[
        bool,
        Choice(
            "buckets",
            "Where the buckets are; on the ground they need drop tubing.",
            values={
                "ground": (False, "on the ground, with tubing"),
                "hanging": (True, "on the spile"),
            },
            rules=("supplies",),
        ),
    ] = False
    emergency_number: Annotated[
        str,
        Choice(
            "emergency-number",
            "What to call where somebody is in danger: 911, or your own country's.",
            form=_TELEPHONE,
        ),
    ] = USUAL_NUMBERS.emergency
    poison_number: Annotated[
        str,
        Choice(
            "poison-line",
            "What to call where somebody swallowed or breathed poison.",
            form=_TELEPHONE,
        ),
    ] = USUAL_NUMBERS.poison
    backup_folder: Annotated[
        str | None,
        Choice(
            "backups",
            "The folder for each day's backup, perhaps on a memory stick; not set, by the book.",
        ),
    ] = None
    pans_ft2: Mapping[str, float] = field(default_factory=dict)
    capacities_gal: Mapping[str, float] = field(default_factory=dict)
    trees: tuple[str, ...] = ()
    vessels: tuple[str, ...] = ()

    @property
    def numbers(self) -> Numbers:
        """The telephone numbers that cards tell."""
        return Numbers(self.emergency_number, self.poison_number)

    @property
    def backups_in(self) -> Path | None:
        """The folder for backups; None for the usual one beside the book."""
        return None if self.backup_folder is None else Path(self.backup_folder).expanduser()


#: All settings, in the order of their list, and by their name in the file.
CHOICES = choices_of(Settings)
BY_FIELD = {one.field: one for one in CHOICES}
