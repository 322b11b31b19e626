"""What is said once a day before work that can hurt: hazards, and the limits of this advice."""

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


CAUTION_FUMES = _caution("fumes", "Carbon monoxide from fires and burners", sources.CDC_CO)
FIRE_AID = Rule(
    "fire-aid", ("stop",), "A pan, stack or building on fire", COMMON_PRACTICE, "common practice",
)  # fmt: skip
BURN_AID = Rule("burn-aid", ("stop",), "First aid for a burn or scald", sources.BURN_AID)
CAUTION_FOAM = _caution("foam", "Pans that boil over or run low")
CAUTION_BURN = _caution("burn", "Hot syrup sticks and burns")
CAUTION_BUTTER = _caution("butter", "Butter against foam is milk, an allergen")
CAUTION_LIFT = _caution("lift", "Full pails on ice and slopes")
CAUTION_ICE = _caution("ice", "Ice, slopes and working alone", sources.ONTARIO_2015)
CAUTION_DRILL = _caution("drill", "Hands, footing and eyes when drilling", sources.OSU_TAPPING)
CAUTION_SAW = _caution("saw", "Saws, splitting and felling")
CAUTION_SALE = _caution("sale", "Rules for selling differ by place")
CAUTION_BLEACH = _caution("bleach", "Bleach stays weak and is rinsed", sources.UMAINE_7038)

_FUMES = CAUTION_FUMES.finding(
    "care",
    "Outdoors, or a vented sugarhouse; never a garage. Keep a CO alarm.",
    "Burners, charcoal and engines give off carbon monoxide, and open doors do not make a garage "
    "fit. A sugarhouse needs a sound stack, an open steam vent and an air inlet. Headache, "
    "dizziness or nausea: everybody out, and call 911 from outside.",
)
_FOAM = CAUTION_FOAM.finding(
    "care",
    "Don't leave the pan: it foams over fast, and scorches when low.",
    "Never fill to the brim or lean over it; keep something at hand to knock the foam down, and "
    "about 2 inches of sap in the pan.",
)
_BURN = CAUTION_BURN.finding(
    "care",
    "Gloves on, children back: boiling syrup sticks and burns.",
    "Cool a burn under running water for 20 minutes; a large one, or one on the face, needs help.",
)
_BUTTER = CAUTION_BUTTER.finding(
    "note",
    "Write butter on the label if you use it.",
    "Butter or cream against foam puts milk, an allergen, into the syrup.",
)
_LIFT = CAUTION_LIFT.finding(
    "note",
    "A full five-gallon pail is 42 pounds; carry two half full.",
    "Sap weighs about 8.4 lb a gallon, and paths are icy when it runs.",
)
_ICE = CAUTION_ICE.finding(
    "note",
    "Mind the ice, and tell someone where you are.",
    "Frozen slopes and full pails are how people fall; keep a telephone with you.",
)
_DRILL = CAUTION_DRILL.finding(
    "note",
    "Two hands on the drill, firm feet, eyes covered; never from a ladder.",
    "Bits catch and twist the wrist, and chips fly. Both hands and firm footing are Ohio State's "
    "advice; the ladder is common practice.",
)
_SALE = CAUTION_SALE.finding(
    "note",
    "If you sell, ask your state or provincial food agency first.",
    "Licence, label and inspection rules differ by place and by who buys. Labels usually need the "
    "name of the food, grade, volume, your name and address, and a lot code.",
)
_BLEACH = CAUTION_BLEACH.finding(
    "note",
    "Never bleach with vinegar or cleaner; door open; rinse well.",
    "With acid bleach gives off chlorine, with ammonia chloramine, both poison. Half a cup of "
    "plain bleach to a gallon of cold water is enough; never left in galvanized, never on felt.",
)
_SAW = CAUTION_SAW.finding(
    "care",
    "Felling is for people trained to do it; never saw alone.",
    "Helmet, eye, ear and leg protection and sound boots. This assistant gives no steps for it.",
)

#: What is to be done now, when it has happened: an answer to a cry, before any other.
FIRE_NOW = FIRE_AID.finding(
    "stop",
    "Get everyone out and call 911. Fuel off if you can; no water, no sap.",
    "Sugar that burns is like fat: water bursts into steam and throws it about. A pan: gas off or "
    "the firebox air shut, a lid on if you can, and leave it covered till cold; never carry it. A "
    "stack: door and air shut, no water in it, and watch the roof.",
)
BURN_NOW = (
    BURN_AID.finding(
        "stop",
        "Cool it under cool running water for twenty minutes; rings off. No ice or butter.",
        "Syrup sticks and goes on burning. Do not pull off what sticks; cooled, cover it with "
        "cling film or a clean cloth that does not stick, and keep the person warm.",
    ),
    BURN_AID.finding(
        "stop",
        "Bigger than your palm, or on face or hands: call 911.",
        "White or charred skin, feet and genitals, and a small child's burn are for the emergency "
        "call too.",
    ),
)

#: Cautions for each kind of work, the one that matters most first.
CAUTIONS: Mapping[str, tuple[Finding, ...]] = {
    "boil start": (_FUMES, _FOAM),
    "draw": (_BURN, _BUTTER),
    "pack": (_BURN, _SALE),
    "tap": (_DRILL,),
    "gather": (_LIFT, _ICE),
    "clean": (_BLEACH,),
    "fell": (_SAW,),
}


def cautions(work: str) -> tuple[Finding, ...]:
    """Return the cautions for a kind of work; none for work that needs none."""
    return CAUTIONS.get(work, ())
