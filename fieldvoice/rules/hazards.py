"""What is said once a day before work that can hurt: one caution for each kind of work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE, Certainty, Finding
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping


def _caution(name: str, what: str, source: str = COMMON_PRACTICE) -> Rule:
    certainty: Certainty = "common practice" if source == COMMON_PRACTICE else "published"
    return Rule(f"caution-{name}", ("note", "care"), what, source, certainty)


CAUTION_FUMES = _caution("fumes", "Carbon monoxide, and a pan left alone", sources.CDC_CO)
CAUTION_BURN = _caution("burn", "Hot syrup sticks and burns", sources.BURN_AID)
CAUTION_PACK = _caution("pack", "Hot syrup and cold glass", sources.PACKING_MANUAL)
CAUTION_ICE = _caution("ice", "Ice, full pails and working alone", sources.ONTARIO_2015)
CAUTION_DRILL = _caution("drill", "Hands, footing and eyes when drilling", sources.OSU_TAPPING)
CAUTION_SAW = _caution("saw", "Saws, splitting and felling")
CAUTION_SALE = _caution("sale", "Rules for selling differ by place")
CAUTION_BLEACH = _caution("bleach", "Bleach stays weak and is rinsed", sources.UMAINE_7038)

#: The caution for each kind of work.
CAUTIONS: Mapping[str, Finding] = {
    "boil": CAUTION_FUMES.finding(
        "care",
        "Outdoors or a vented sugarhouse, never in a garage; CO alarm on. Don't leave the pan.",
        "Burners, charcoal and engines give off carbon monoxide, and open doors do not make a "
        "garage fit. A sugarhouse needs a sound stack, an open steam vent and an air inlet. A pan "
        "foams over fast, and scorches under about 2 inches of sap.",
    ),
    "draw": CAUTION_BURN.finding(
        "care",
        "Gloves on, children back: boiling syrup sticks and burns.",
        "Cool a burn under running water for 20 minutes; a large one, or one on the face, needs "
        "help.",
    ),
    "pack": CAUTION_PACK.finding(
        "care",
        "Gloves on: it burns. Warm the glass, and cap at once.",
        "Syrup goes into jars at 180 °F or more. Cold glass cracks with it, and what cools without "
        "its cap does not keep.",
    ),
    "tap": CAUTION_DRILL.finding(
        "note",
        "Two hands on the drill, firm footing, eyes covered; never from a ladder.",
        "Bits catch and twist the wrist, and chips fly. Both hands and firm footing are Ohio "
        "State's advice; the ladder is common practice.",
    ),
    "gather": CAUTION_ICE.finding(
        "note",
        "Mind the ice; carry half pails; tell someone where you are.",
        "Paths are icy when sap runs, and a full five-gallon pail is 42 pounds. Keep a telephone "
        "with you.",
    ),
    "clean": CAUTION_BLEACH.finding(
        "note",
        "Never bleach with vinegar or cleaner; door open; rinse well.",
        "With acid bleach gives off chlorine, with ammonia chloramine, both poison. Half a cup of "
        "plain bleach to a gallon of cold water is enough; never left in galvanized, never on "
        "felt.",
    ),
    "sell": CAUTION_SALE.finding(
        "note",
        "If you sell, ask your state or provincial food agency first.",
        "Licence, label and inspection rules differ by place and by who buys. Labels usually need "
        "the name of the food, grade, volume, your name and address, and a lot code.",
    ),
    "wood": CAUTION_SAW.finding(
        "care",
        "Eyes, ears and legs covered; never alone. Felling takes training.",
        "Sound boots, a steady block, nobody near. This assistant gives no steps for felling.",
    ),
}
