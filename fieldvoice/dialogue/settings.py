"""What a household has settled once: units, guideline, sizes and names."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.handbook.card import USUAL_NUMBERS, Numbers

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Settings:
    """Choices that outlive a conversation. Everything has a working default.

    ``metric`` answers in litres, centimetres and degrees Celsius. ``schedule`` names the tapping
    guideline and ``jurisdiction`` the law for syrup. ``pan_ft2`` is the pan's flat area and
    ``boil_rate_gal_ft2_h`` what a square foot boils off in an hour; ``pans_ft2`` names several pans
    with their areas, ``least_batch_gal`` what is worth a fire. ``fuel`` is what is burnt.
    ``sap_instrument`` is what sap is tested with. The hydrometers are known by the temperature (°F)
    printed on them and by how much too high they read (Brix). ``buckets_hang`` tells that they hang
    on the spiles. ``sap_limit`` names how long stored sap is given. ``capacities_gal`` gives what
    vessels hold. ``trees`` and ``vessels`` are names in use beside numbers. ``emergency_number``
    and ``poison_number`` are told where somebody is hurt. ``backup_folder`` is where each day's
    backup goes.
    """

    metric: bool = False
    schedule: str = "conservative"
    jurisdiction: str = "us"
    elevation_ft: float | None = None
    pan_ft2: float | None = None
    boil_rate_gal_ft2_h: float = 1.0
    least_batch_gal: float | None = None
    fuel: str = "sugar maple"
    sap_instrument: str = "hydrometer"
    sap_hydrometer_f: float = 38.0
    sap_hydrometer_reads_high: float = 0.0
    syrup_hydrometer_f: float = 60.0
    syrup_hydrometer_reads_high: float = 0.0
    buckets_hang: bool = False
    sap_limit: str = "quality"
    pans_ft2: Mapping[str, float] = field(default_factory=dict)
    capacities_gal: Mapping[str, float] = field(default_factory=dict)
    emergency_number: str = USUAL_NUMBERS.emergency
    poison_number: str = USUAL_NUMBERS.poison
    backup_folder: str | None = None
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
