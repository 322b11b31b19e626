"""Rules of the trade: plain facts in, values and findings with their sources out.

Pure functions: no clock, no files. Each returns a small frozen result with ``findings``; where the
function answers a question, the first finding is the answer, ready to be spoken. A value outside
the range in which a rule holds raises ``fieldvoice.errors.RangeError``.
"""

from fieldvoice.rules.boiling import BoilTime, boil_time
from fieldvoice.rules.containers import ContainerAdvice, container_advice
from fieldvoice.rules.finding import COMMON_PRACTICE, Certainty, Finding, Level
from fieldvoice.rules.finishing import DrawCheck, DrawOff, draw_check, draw_off
from fieldvoice.rules.grading import Grade, grade
from fieldvoice.rules.growth import Growth, growth_between
from fieldvoice.rules.hazards import CAUTIONS
from fieldvoice.rules.holes import (
    HoleAdvice,
    HoleCheck,
    OldHole,
    SpacingCheck,
    hole_advice,
    hole_check,
    spacing_check,
)
from fieldvoice.rules.hydrometer import DensityCheck, SapSugar, density_check, sap_sugar
from fieldvoice.rules.ice import IceOut, ice_out
from fieldvoice.rules.jurisdictions import DEFAULT_JURISDICTION, JURISDICTIONS, Jurisdiction
from fieldvoice.rules.packing import (
    Containers,
    PackCheck,
    container_gal,
    containers_from,
    pack_check,
)
from fieldvoice.rules.plan import BoilPlan, Step, Stored, boil_plan
from fieldvoice.rules.plausible import Plausibility, sound_alike, unlikely
from fieldvoice.rules.registry import RULES, RULES_BY_FAMILY
from fieldvoice.rules.rule import Rule, warnings
from fieldvoice.rules.sap import (
    SAP_CONDITIONS,
    PourCheck,
    SapAdvice,
    pour_check,
    sap_advice,
    sap_noticed,
    sap_of_smell,
    worst_sap,
)
from fieldvoice.rules.season import BudOutlook, bud_outlook
from fieldvoice.rules.storage import StorageAge, storage_age
from fieldvoice.rules.sugar import Blend, SyrupEstimate, blend, syrup_estimate
from fieldvoice.rules.taps import (
    DEFAULT_SCHEDULE,
    SCHEDULES,
    Schedule,
    TapCheck,
    TapLimit,
    check_taps,
    diameter_from_girth,
    tap_limit,
)
from fieldvoice.rules.weather import (
    Day,
    FlowOutlook,
    TimeToTap,
    day_class,
    flow_outlook,
    time_to_tap,
)

__all__ = [
    "CAUTIONS",
    "COMMON_PRACTICE",
    "DEFAULT_JURISDICTION",
    "DEFAULT_SCHEDULE",
    "JURISDICTIONS",
    "RULES",
    "RULES_BY_FAMILY",
    "SAP_CONDITIONS",
    "SCHEDULES",
    "Blend",
    "BoilPlan",
    "BoilTime",
    "BudOutlook",
    "Certainty",
    "ContainerAdvice",
    "Containers",
    "Day",
    "DensityCheck",
    "DrawCheck",
    "DrawOff",
    "Finding",
    "FlowOutlook",
    "Grade",
    "Growth",
    "HoleAdvice",
    "HoleCheck",
    "IceOut",
    "Jurisdiction",
    "Level",
    "OldHole",
    "PackCheck",
    "Plausibility",
    "PourCheck",
    "Rule",
    "SapAdvice",
    "SapSugar",
    "Schedule",
    "SpacingCheck",
    "Step",
    "StorageAge",
    "Stored",
    "SyrupEstimate",
    "TapCheck",
    "TapLimit",
    "TimeToTap",
    "blend",
    "boil_plan",
    "boil_time",
    "bud_outlook",
    "check_taps",
    "container_advice",
    "container_gal",
    "containers_from",
    "day_class",
    "density_check",
    "diameter_from_girth",
    "draw_check",
    "draw_off",
    "flow_outlook",
    "grade",
    "growth_between",
    "hole_advice",
    "hole_check",
    "ice_out",
    "pack_check",
    "pour_check",
    "sap_advice",
    "sap_noticed",
    "sap_of_smell",
    "sap_sugar",
    "sound_alike",
    "spacing_check",
    "storage_age",
    "syrup_estimate",
    "tap_limit",
    "time_to_tap",
    "unlikely",
    "warnings",
    "worst_sap",
]
