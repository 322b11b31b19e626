"""Syrup after the pan: filtering, how long it keeps, mould, labels and lot codes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding, Level

#: Syrup is filtered this hot, °F.
FILTER_F = (185.0, 190.0)

FILTERING = Rule(
    "filtering", ("note", "care"), "Syrup is filtered hot", sources.MSU_STORING,
)  # fmt: skip
SHELF_LIFE = Rule(
    "shelf-life", ("note", "care"), "How long packed syrup keeps", sources.PACKING_MANUAL,
)  # fmt: skip
OPENED = Rule(
    "opened", ("note",), "Opened syrup is kept cold", sources.ONTARIO_MOULD_2014,
)  # fmt: skip
MOULD = Rule(
    "mould", ("stop",), "Mould on syrup: it is thrown out", sources.UMAINE_MOULD_2014,
)  # fmt: skip
LABEL = Rule(
    "label", ("note",), "What a label usually has to say", COMMON_PRACTICE, "common practice",
)  # fmt: skip
LOT_CODE = Rule(
    "lot-code", ("note",), "A code on every container of a batch", sources.CANADA_LOT_CODE,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Keeping:
    """Advice on syrup kept; the first finding is the answer."""

    findings: tuple[Finding, ...]


def filtering(temp_f: float | None = None) -> Keeping:
    """Return how hot to filter, or what to say of syrup filtered at ``temp_f``.

    Raises:
        RangeError: outside 32 to 230 °F.
    """
    low, high = FILTER_F
    why = (
        f"At {low:.0f} to {high:.0f} °F syrup runs through and sugar sand stays behind; cooler it "
        "clogs, and heated again above 190 to 195 new sand forms. Rinse the filter in hot water "
        "alone."
    )
    level: Level = "note"
    text = f"Filter at {low:.0f} to {high:.0f} degrees."
    if temp_f is not None and within(temp_f, 32, 230, "Syrup", "°F") < low - 5:
        level, text = "care", f"Too cool to filter: warm it to {low:.0f}."
    return Keeping((FILTERING.finding(level, text, why),))


def shelf_life(container: str | None = None) -> Keeping:
    """Return how long packed syrup keeps in glass, plastic or metal."""
    said = (container or "").lower()
    if "plastic" in said or "jug" in said:
        text = "In plastic three months, then it darkens; good for a year or two."
    elif "tin" in said or "metal" in said or "can" in said.split():
        text = "In metal sell it within three months; it may take a taste."
    else:
        text = "Sealed in glass, cool and dark: a year or more."
    why = (
        "Plastic lets air in and syrup darkens about one grade after 3 months; retail containers "
        "are best filled no more than 2 to 3 months before sale. Years in glass are common "
        "practice, not a tested figure. Large stocks keep best sealed hot in drums."
    )
    opened = OPENED.finding(
        "note", "Once open, keep it in the fridge.", "Opened syrup grows mould at room heat."
    )
    return Keeping((SHELF_LIFE.finding("note", text, why), opened))


def opened() -> Keeping:
    """Return how to keep an opened container."""
    return Keeping(tuple(reversed(shelf_life().findings)))


def mould(*, for_sale: bool | None = None) -> Keeping:
    """Return what to do with mouldy syrup: out with it, whatever older custom says."""
    text = (
        "Throw it out; it can't be sold. Check that batch's other jars."
        if for_sale
        else "Throw it out; boiling doesn't undo mold. Check that batch's other jars."
    )
    why = (
        "Maine Extension calls skimming and boiling again risky; heat leaves mold's poisons. "
        "Ontario counts mold as a matter of quality, and older pages told people to skim. It "
        "shows that the syrup was thin or was sealed under 180 °F."
    )
    return Keeping((MOULD.finding("stop", text, why),))


def label(*, canada: bool = False) -> Keeping:
    """Return what a label usually has to say, in general words."""
    text = "Name, grade and color, volume, your name and address, and a lot code."
    lot = "a lot code (required in Canada)" if canada else "a lot code (Canada requires it)"
    why = (
        f"Usual elements: the words maple syrup, grade with color and taste, net volume, packer's "
        f"name and address, {lot}, and origin where asked. Check with your state or provincial "
        "food agency."
    )
    return Keeping((LABEL.finding("note", text, why),))


def lot_code(year: int, day_of_year: int, batch: int) -> str:
    """Return the code of a batch: year, day of the year and number, such as "27-069-1".

    Raises:
        RangeError: for a year outside 2000 to 2099, a day outside 1 to 366, or a batch outside 1 to
            99.
    """
    within(year, 2000, 2099, "A year")
    within(day_of_year, 1, 366, "A day of the year")
    within(batch, 1, 99, "A batch of the day")
    return f"{year % 100:02d}-{day_of_year:03d}-{batch}"


def lot_code_advice(year: int, day_of_year: int) -> Keeping:
    """Return how to code the batches of a day.

    Raises:
        RangeError: as for ``lot_code``.
    """
    code = lot_code(year, day_of_year, 1)
    text = f"Write {code} on every container of today's first batch."
    why = (
        "Year, day of the year and batch: one code for all containers filled from one batch tells "
        "later what they were made from. Canada has required a lot code since December 2016."
    )
    return Keeping((LOT_CODE.finding("note", text, why),))
