"""Writes ``docs/rules.md`` and its charts from the rules themselves: ``make docs``."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

from docs.drawing import Axis, Line, chart
from fieldvoice.dialogue.settings import CHOICES
from fieldvoice.rules import (
    CAUTIONS,
    JURISDICTIONS,
    RULES,
    RULES_BY_FAMILY,
    SAP_CONDITIONS,
    SCHEDULES,
    Day,
    container_advice,
    day_class,
    sap_advice,
)
from fieldvoice.rules.boiling import FUELS
from fieldvoice.rules.density import hydrometer_reads
from fieldvoice.rules.flavour import FAULTS
from fieldvoice.rules.fuel import fuel_needed
from fieldvoice.rules.hydrometer import hot_line_brix
from fieldvoice.rules.ice import ice_out
from fieldvoice.rules.packing import container_gal, net_weight_lb
from fieldvoice.rules.products import PRODUCTS
from fieldvoice.rules.season import BLOOM
from fieldvoice.rules.species import SPECIES
from fieldvoice.rules.storage import LIMITS, spoilage_rate, storage_age
from fieldvoice.rules.sugar import (
    baume,
    density_kg_m3,
    jones_ratio,
    sap_per_syrup,
    weight_lb_per_gal,
)
from fieldvoice.rules.tapping_zone import Assumptions
from fieldvoice.rules.taps import tap_limit
from fieldvoice.rules.water import pressure_at_inhg, rise_f, water_boils_f
from fieldvoice.rules.weather import flow_outlook

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from fieldvoice.rules import Rule

HERE = Path(__file__).parent

_INTRO = """\
# The rules of the trade

What fieldvoice knows of taps, sap, sugar, boiling and packing, each rule with its source. This page
is written from the rules by `make docs`; the same list is `fieldvoice rules`, and after any answer
"why?" or `fieldvoice why` gives its reasoning.

How to read it: a rule speaks at a **level**: *note* (good to know), *care* (do something soon) or
*stop* (do not go on). It is **published** (the source is named, with "as re-told" where only a
second hand was read), **common practice** (what sugarmakers do, with no source), or a **design
choice** of this program. No rule ever calls sap or syrup safe. If you sell syrup, the food
rules of your state or province decide.
"""

_DISAGREE: tuple[tuple[str, str, str], ...] = (
    ("Taps by diameter", "10 in and up to four, 12 in and two at most, or hardly more than one",
     "conservative; `tap-schedule`"),
    ("Distance from old holes", "1 in sideways and 12 in up (Cornell) to 6 in or 24 in (older)",
     "stop within 2 in and 12 in, advise 6 in"),
    ("How long sap keeps", "two days, three to five days, or seven days at 38 °F",
     "two days at 38 °F; `sap-limit`"),
    ("Ice", "nearly no sugar, or up to 1 %", "throw it up to a third of the bucket"),
    ("Syrup's density", "66.0 Brix (US, Canada) or 66.9 (Vermont, New Hampshire)",
     "66.0; `jurisdiction`"),
    ("Where it is syrup", "+7.1, +7.2 or +7 °F above water at 66.0; +7.3 to +7.56 at 66.9",
     "+7.1 and +7.5; the hydrometer decides"),
    ("Rule of 86", "86 / sugar, 87.1 / sugar - 0.32, or the exact balance",
     "exact; the rule of 86 beside it up to 8 Brix"),
    ("Flat pan", "1.0 or 1.5 gal a square foot an hour", "1.0; `pan-rate`, or your own boils"),
    ("Wood", "15 to 25 gal of syrup a cord", "the range from 22 either way; your own boils tell"),
    ("Galvanized buckets", "allowed (Indiana 2005) or not food grade (Ontario)", "ask and test"),
    ("Lead", "250 ppb (Vermont, Ohio) or 500 ppb (Canada)", "both are told"),
    ("Mould", "throw it out, or skim and boil again", "throw it out; both are told"),
)  # fmt: skip


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a Markdown table."""
    lines = [f"| {' | '.join(head)} |", f"|{'|'.join(' --- ' for _ in head)}|"]
    lines += [f"| {' | '.join(str(cell).replace('|', '/') for cell in row)} |" for row in rows]
    return "\n".join(lines)


# --- what each family has to show ----------------------------------------------------------------


def _trees() -> str:
    diameters = (9, 10, 12, 14, 16, 18, 20, 22, 26, 30)
    rows = [
        (name, *(one.taps(size) or "–" for size in diameters), one.source)
        for name, one in SCHEDULES.items()
    ]
    head = ("schedule", *(f"{size} in" for size in diameters), "source")
    girths = [(size, f"{math.pi * size:.0f}") for size in (10, 12, 15, 18, 20, 24, 30)]
    health = [
        (said, tap_limit(20, **facts).taps, tap_limit(20, **facts).findings[-1].text)  # type: ignore[arg-type]
        for said, facts in _HEALTH.items()
    ]
    kinds = [
        (one.name, f"{one.sugar_brix[0]:g} to {one.sugar_brix[1]:g}", one.remark)
        for one in SPECIES.values()
    ]
    return "\n\n".join(
        (
            "Taps that a sound tree of that diameter at breast height (4.5 ft) may carry. Settled "
            "by `tap-schedule`.",
            table(head, rows),
            "A tape round the trunk does as well:",
            table(("inches across", "inches around"), girths),
            "What lowers it, for a tree 20 inches across (two taps when sound):",
            table(("state", "taps", "said"), health),
            "Kinds of maple:",
            table(("maple", "usual Brix", "remark"), kinds),
        )
    )


_HEALTH: Mapping[str, Mapping[str, object]] = {
    "stressed": {"condition": "stressed"},
    "25 % of the crown dead": {"dieback_percent": 25},
    "40 % of the crown dead": {"dieback_percent": 40},
    "damaged": {"condition": "damaged"},
    "grows too slowly": {"growing_well": False},
    "a yard tree": {"yard": True},
}


def _holes() -> str:
    return (
        "Five-sixteenths bit, one and a half inches deep (two through thick bark, one to one and a "
        "half in trees under 12 inches), sloping up a little, two to four feet above the ground. "
        "Never within two inches sideways and a foot up or down of an old hole. Each year a hand "
        "to the right and a foot up or down: say side and height when you drill, and `where do I "
        "drill tree seven` is answered from all remembered holes.\n\n"
        f"The tapping-zone model assumes {Assumptions().in_words()}; up to a tenth of the wood in "
        "reach may be dead."
    )


def _weather() -> str:
    days = [Day(24, 42), Day(31, 34), Day(10, 28), Day(35, 50), Day(45, 60)]
    rows = [
        (f"{day.low_f:.0f} to {day.high_f:.0f} °F", day_class(day.low_f, day.high_f),
         flow_outlook([day]).findings[0].text)
        for day in days
    ]  # fmt: skip
    buds = [(name, f"{one.degree_days_f:g}", one.what) for name, one in BLOOM.items()]
    return "\n\n".join(
        (
            table(("low and high", "class", "said"), rows),
            "Degree-days above 50 °F since New Year at which buds are out (they swell before):",
            table(("maple", "degree-days", "then it"), buds),
        )
    )


def _containers() -> str:
    said = ("stainless", "glass", "aluminum", "plastic", "galvanized", "brass", "copper", "tin",
            "wood", "mild steel", "terneplate")  # fmt: skip
    rows = [(one, found.verdict, found.findings[0].text)
            for one in said for found in [container_advice(one)]]  # fmt: skip
    return table(("material", "verdict", "said"), rows)


def _sap() -> str:
    look = [
        (sap, one.findings[0].level, one.action, one.findings[0].text)
        for sap in SAP_CONDITIONS
        for one in [sap_advice(sap, where="vessel")]
    ]
    temps = (32, 35, 38, 40, 45, 50, 60)
    clock = [
        (f"{temp} °F", f"{spoilage_rate(temp):.1f}",
         *(f"{limit.boil_by_days / spoilage_rate(temp):.1f}" for limit in LIMITS.values()))
        for temp in temps
    ]  # fmt: skip
    head = ("sap at", "ages", *(f"{name} (days)" for name in LIMITS))
    ice = [
        (f"{share:.0%}", f"{left.brix:.1f}", f"{left.sugar_lost:.0%}", left.findings[0].text)
        for share in (0.2, 1 / 3, 0.5)
        for left in [ice_out(2.0, share)]
    ]
    example = storage_age(60, [(60, 36), (0, 44)])
    return "\n\n".join(
        (
            table(("sap in a tank", "level", "do", "said"), look),
            "The storage clock counts days at 38 °F: warm sap ages faster, by a growth law for "
            "chilled food that nobody has proved for maple sap. How long it is given is settled by "
            f"`sap-limit`: {_limits()}. Days until it should be in the pan:",
            table(head, clock),
            "![Days that sap keeps by its temperature](charts/storage_clock.svg)",
            f"Sap 60 hours old, warmed from 36 to 44 °F, counts as {example.equivalent_days:.1f} "
            f'days: "{example.findings[0].text}"',
            "Ice of 0.5 Brix thrown out of 2 Brix sap:",
            table(("ice", "Brix left", "sugar lost", "said"), ice),
        )
    )


def _added(temp_f: float, made_for_f: float) -> str:
    """Return what to add to a reading of 2 Brix sap; no minus before nothing."""
    added = round(2.0 - hydrometer_reads(2.0, temp_f, made_for_f), 2)
    return f"{added:+.2f}" if added else "0"


def _limits() -> str:
    return "; ".join(f"*{one.name}* {one.told}" for one in LIMITS.values())


def _sugar() -> str:
    places = [
        (name, f"{one.minimum_brix:g}", f"{one.maximum_brix:g}", f"{one.rise_f:g}", one.source)
        for name, one in JURISDICTIONS.items()
    ]
    strengths = (0, 2, 3, 10, 30, 60, 66, 66.9, 68.9)
    weights = [
        (f"{brix:g}", f"{density_kg_m3(brix):.1f}", f"{weight_lb_per_gal(brix):.3f}",
         f"{baume(brix):.1f}")
        for brix in strengths
    ]  # fmt: skip
    lines = [
        (f"{temp}", f"{hot_line_brix(temp, 66.0):.1f}", f"{hot_line_brix(temp):.1f}")
        for temp in (60, 80, 100, 140, 176, 193, 211)
    ]
    sap = [
        (f"{temp}", *(_added(temp, made) for made in (38, 60, 68)))
        for temp in (32, 38, 46, 50, 60, 70, 80)
    ]
    return "\n\n".join(
        (
            "Density that the law asks for, and how far above water's boil such syrup boils:",
            table(("place", "least Brix", "most", "°F above water", "source"), places),
            "Sugar, density at 68 °F, weight on a scale, and the old degrees:",
            table(("Brix", "kg/m³", "lb/gal", "Baumé"), weights),
            "![Density by sugar](charts/density.svg)",
            "A syrup hydrometer made for 60 °F reads this when the syrup is right:",
            table(("syrup °F", "for 66.0", "for 66.9"), lines),
            "To add to a sap hydrometer's reading of 2 Brix sap, by the temperature printed on it:",
            table(("sap °F", "made for 38 °F", "made for 60 °F", "made for 68 °F"), sap),
        )
    )


def _boiling() -> str:
    ratios = [
        (f"{brix:g}", f"{sap_per_syrup(brix):.1f}", f"{sap_per_syrup(brix, 66.9):.1f}",
         f"{jones_ratio(brix):.1f}" if brix <= 8 else "not used")
        for brix in (1, 1.5, 2, 2.5, 3, 4, 8, 12)
    ]  # fmt: skip
    fuels = [
        (fuel, fuel_needed(sap_per_syrup(2.0) * 5, 2.0, fuel).findings[0].text) for fuel in FUELS
    ]
    return "\n\n".join(
        (
            "Gallons of sap to one of syrup, from the exact balance of sugar, and by the rule of "
            "86:",
            table(("sap Brix", "to 66.0", "to 66.9", "rule of 86"), ratios),
            "![Sap to a gallon of syrup](charts/yield.svg)",
            "Fuel for five gallons of syrup from 2 % sap:",
            table(("fuel", "said"), fuels),
        )
    )


def _finishing() -> str:
    heights = [
        (feet, f"{pressure_at_inhg(feet):.2f}", f"{water:.1f}", f"{water + 7.1:.1f}",
         f"{water + 7.5:.1f}")
        for feet in (0, 500, 1000, 1500, 2000, 3000)
        for water in [water_boils_f(pressure_at_inhg(feet))]
    ]  # fmt: skip
    rises = [(f"{brix:g}", f"{rise_f(brix):.1f}") for brix in (10, 30, 50, 60, 64, 66, 66.9, 68.9)]
    products = [(name, f"{low:g} to {high:g}") for name, (low, high) in PRODUCTS.items()]
    faults = [(name, ", ".join(one.words[:4]), one.text) for name, one in FAULTS.items()]
    return "\n\n".join(
        (
            "Where water boils on an average day, and where to draw. Boil water the same day to be "
            "sure: the weather moves it by a degree.",
            table(("feet up", "inHg", "water °F", "draw 66.0", "draw 66.9"), heights),
            "![Boiling points by elevation](charts/boiling_point.svg)",
            "How far above water sugar solutions boil:",
            table(("Brix", "°F above water"), rises),
            "Past syrup:",
            table(("product", "°F above water"), products),
            "Color classes by light let through: golden from 75 %, amber from 50, dark from 25, "
            "very dark below. Tastes that should not be there:",
            table(("fault", "tastes of", "said"), faults),
        )
    )


def _packing() -> str:
    sizes = ("half pint", "pint", "quart", "half gallon", "gallon", "250 ml", "500 ml", "1 litre")
    rows = [
        (size, f"{net_weight_lb(container_gal(size), 66.0):.2f}",
         f"{net_weight_lb(container_gal(size), 66.9):.2f}")
        for size in sizes
    ]  # fmt: skip
    return "\n\n".join(
        (
            "Fill at 185 °F, at least 180 at the cap; lay them on the side for ten minutes.",
            table(("container", "lb at 66.0 Brix", "lb at 66.9"), rows),
        )
    )


def _cautions() -> str:
    rows = [(work, caution.text) for work, caution in CAUTIONS.items()]
    return "Each is said once a day, before the work that it is about.\n\n" + table(
        ("work", "said"), rows
    )


_SHOWN: Mapping[str, Callable[[], str]] = {
    "Trees and taps": _trees, "Holes": _holes, "Weather and season": _weather,
    "Containers and equipment": _containers, "Sap": _sap, "Sugar and density": _sugar,
    "Yield and boiling": _boiling, "Finishing and grading": _finishing,
    "Packing and stock": _packing, "Cautions": _cautions,
}  # fmt: skip


# --- the page ------------------------------------------------------------------------------------


def page() -> str:
    """Return the whole page as Markdown."""
    parts = [_INTRO.rstrip(), _contents()]
    for family, rules in RULES_BY_FAMILY.items():
        parts.append(f"## {family}")
        if family in _SHOWN:
            parts.append(_SHOWN[family]())
        parts.append(_listed(rules))
    parts.append("## Choices of this house")
    parts.append(
        "Nobody prints these: they are set here, or gone by because everybody does (common "
        "practice). `why` says so each time. All else is held against a printed value or a "
        "reference library by a test that fails when the number is another."
    )
    parts.append(table(("rule", "watches", "whose"), _of_this_house()))
    parts.append("## Where sources disagree")
    parts.append(table(("about", "what is said", "what holds here"), _DISAGREE))
    parts.append("## What you can settle")
    parts.append("`fieldvoice settings set NAME VALUE`")
    parts.append(table(("setting", "meaning", "values"), map(_settable, CHOICES)))
    return "\n\n".join(parts) + "\n"


def _contents() -> str:
    names = (
        *RULES_BY_FAMILY, "Choices of this house", "Where sources disagree", "What you can settle"
    )  # fmt: skip
    return "\n".join(f"- [{name}](#{name.lower().replace(' ', '-')})" for name in names)


def _of_this_house() -> list[tuple[str, str, str]]:
    return [
        (f"`{rule.id}`", rule.what, rule.certainty)
        for rule in RULES.values()
        if rule.certainty != "published"
    ]


def _listed(rules: tuple[Rule, ...]) -> str:
    rows = []
    for rule in rules:
        sure = "" if rule.source == rule.certainty else f" ({rule.certainty})"
        rows.append((f"`{rule.id}`", rule.what, ", ".join(rule.levels), rule.source + sure))
    return table(("rule", "watches", "levels", "source"), rows)


def _settable(one: object) -> tuple[str, str, str]:
    choice = next(known for known in CHOICES if known is one)
    if choice.values is not None:
        values = ", ".join(f"`{name}`" for name in choice.values)
    elif choice.within is None:
        values = "any words"
    else:
        values = f"{choice.within[0]:g} to {choice.within[1]:g} {choice.unit}"
    return f"`{choice.name}`", choice.meaning, values


def charts() -> dict[str, str]:
    """Return the charts by file name."""
    return {
        "density.svg": chart(
            "Density of sugar solutions at 68 °F",
            "Density rises from 998 kilograms a cubic meter for water to 1322 at 66 Brix.",
            Axis("Brix", 0, 70, 10),
            Axis("kg/m³", 950, 1350, 50),
            [Line.of("sucrose in water (CRC)", density_kg_m3, range(0, 71, 2))],
            key_left=True,
        ),
        "boiling_point.svg": chart(
            "Where water and syrup boil, by elevation",
            "Water boils at 212 °F at sea level and 1.8 °F lower for each 1,000 feet; syrup 7.1 "
            "and 7.5 °F above it.",
            Axis("feet above the sea, average day", 0, 3000, 500),
            Axis("°F", 200, 225, 5),
            [
                Line.of("66.9 Brix (+7.5 °F)", lambda ft: _boil(ft) + 7.5, range(0, 3001, 250)),
                Line.of("66.0 Brix (+7.1 °F)", lambda ft: _boil(ft) + 7.1, range(0, 3001, 250)),
                Line.of("water", _boil, range(0, 3001, 250)),
            ],
        ),
        "yield.svg": chart(
            "Sap to a gallon of syrup",
            "At 1 Brix 87 gallons of sap make one of syrup, at 2 Brix 43, at 3 Brix 29.",
            Axis("sugar in the sap, Brix", 1, 5, 0.5),
            Axis("gallons of sap", 0, 100, 20),
            [
                Line.of("exact, to 66.0 Brix", sap_per_syrup, _steps(1, 5, 0.1)),
                Line.of("exact, to 66.9 Brix", lambda b: sap_per_syrup(b, 66.9), _steps(1, 5, 0.1)),
                Line.of("rule of 86", jones_ratio, _steps(1, 5, 0.1)),
            ],
        ),
        "storage_clock.svg": chart(
            "Days until sap should be in the pan",
            "Two days at 38 °F are 3.6 days at 32 and half a day at 60; the others likewise.",
            Axis("sap temperature, °F", 32, 60, 4),
            Axis("days", 0, 14, 2),
            [
                Line(f"{name}: {limit.boil_by_days:g} days at 38 °F",
                     [(temp, limit.boil_by_days / spoilage_rate(temp)) for temp in range(32, 61)])
                for name, limit in LIMITS.items()
            ],
        ),
    }  # fmt: skip


def _boil(feet: float) -> float:
    return water_boils_f(pressure_at_inhg(feet))


def _steps(low: float, high: float, step: float) -> list[float]:
    return [low + index * step for index in range(round((high - low) / step) + 1)]


def write(folder: Path = HERE) -> None:
    """Write the page and its charts into ``folder``."""
    (folder / "charts").mkdir(exist_ok=True)
    (folder / "rules.md").write_text(page(), encoding="utf-8")
    for name, drawn in charts().items():
        (folder / "charts" / name).write_text(drawn, encoding="utf-8")


if __name__ == "__main__":
    write()
