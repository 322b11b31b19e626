"""Names for what syrup should not taste of, and where each comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.rules.finding import Finding, Level

OFF_FLAVOUR = Rule(
    "off-flavour", ("note", "care", "stop"), "What an off-flavour is called and comes from",
    sources.UVM_OFF_FLAVOUR,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Fault:
    words: tuple[str, ...]
    level: Level
    text: str
    why: str
    source: str = sources.UVM_OFF_FLAVOUR


#: Faults by name, with the words people use for them.
FAULTS: Mapping[str, _Fault] = {
    "buddy": _Fault(
        ("buddy", "cabbage", "chocolate", "tootsie", "cheap candy"), "care",
        "Buddy: the trees are breaking dormancy. Stop, and keep that batch apart.",
        "Sap of swelling buds gives a cheap-chocolate or cabbage taste that boiling does not take "
        "out; it is hard to taste in the sap.", sources.CORNELL_BUDDY,
    ),
    "metabolism": _Fault(
        ("cardboard", "popcorn", "metabolism", "wet paper"), "note",
        "Metabolism: it comes with sudden warm spells, and often goes by itself.",
        "Woody, popcorn or cardboard notes come and go with rapid changes of temperature in the "
        "trees; nothing was done wrong.",
    ),
    "sour sap": _Fault(
        ("sour", "ropey", "ropy", "stringy", "slimy"), "stop",
        "Sour sap: it stood too warm. Don't sell it, and wash everything it touched.",
        "Bacteria in sap held too warm; the syrup may string ten centimeters or more, a defect "
        "class of its own.", sources.SYRUP_DEFECTS,
    ),
    "fermented": _Fault(
        ("fermented", "yeasty", "alcohol", "wine", "beer", "fizzy", "honey"), "stop",
        "Fermented: it was too thin, or sealed too cool. Don't sell it.",
        "Below 66 Brix or filled under 180 °F yeasts live on; a smell of alcohol and bubbles show "
        "it.", sources.SYRUP_DEFECTS,
    ),
    "scorched": _Fault(
        ("scorched", "burnt", "burned", "smoky", "bitter burnt"), "care",
        "Scorched: sugar sand burned on, or the pan ran low. Keep that batch apart.",
        "Clean the sand off the pan between boils, keep about two inches in it, and stay with it.",
        sources.SYRUP_DEFECTS,
    ),
    "chemical": _Fault(
        ("chemical", "soapy", "soap", "bleach", "detergent", "plastic", "metal", "metallic"),
        "stop",
        "Chemical: a cleaner not rinsed out, or the wrong container. Don't use it.",
        "Rinse until nothing smells, use food-grade containers, and find the source before the "
        "next batch.", sources.SYRUP_DEFECTS,
    ),
    "woody": _Fault(
        ("woody", "earthy", "musty", "moldy", "mouldy"), "care",
        "Woody or musty: old or stained wood at the hole, or dirty gear.",
        "Holes in stained wood, unhealthy trees or mouldy filters; white shavings and clean gear "
        "prevent it.", sources.SYRUP_DEFECTS,
    ),
    "defoamer": _Fault(
        ("defoamer", "oily", "greasy", "butter", "rancid"), "care",
        "Too much fat against the foam: a drop or two is enough.",
        "Fat or butter against foam tastes through, turns rancid, and milk is an allergen to name "
        "on the label.", sources.SYRUP_DEFECTS,
    ),
    "bitter": _Fault(
        ("bitter",), "care",
        "Bitter: burnt sugar sand, or buds. Is it more like burnt, or like cabbage?",
        "Sugar sand that scorched on the pan is bitter, and so is the syrup of budding trees; "
        "keep that batch apart.", sources.SYRUP_DEFECTS,
    ),
    "ordinary": _Fault(
        (
            "butterscotch", "caramel", "vanilla", "maple", "nutty", "nuts", "root beer", "coffee",
        ), "note",
        "That's an ordinary flavor of syrup; nothing went wrong.",
        "Caramel, vanilla, butterscotch and nuts are in good syrup, the darker the stronger "
        "(from memory; root beer is no fault on any list).", COMMON_PRACTICE,
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class OffFlavour:
    """The fault that a taste points to; the first finding is the answer."""

    name: str
    findings: tuple[Finding, ...]


def off_flavour(taste: str) -> OffFlavour:
    """Return the fault that words for a taste or smell point to.

    Raises:
        RangeError: no known fault goes by these words.
    """
    said = f" {' '.join(taste.lower().split())} "
    matches = [
        (len(word), name)
        for name, fault in FAULTS.items()
        for word in fault.words
        if f" {word} " in said
    ]
    scorched = [one for one in matches if one[1] == "scorched"]
    if not matches:
        raise RangeError(
            "I know these faults: buddy, cardboard, sour, fermented, burnt, chemical, woody and "
            "oily."
        )
    # Burnt outranks whatever is tasted beside it; else the longest words say most.
    name = max(scorched or matches)[1]
    fault = FAULTS[name]
    finding = OFF_FLAVOUR.finding(fault.level, fault.text, fault.why, source=fault.source)
    return OffFlavour(name, (finding,))
