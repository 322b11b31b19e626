"""Ten invented seasons of a family with 60 trees, as they would have said them."""

from __future__ import annotations

import random
from datetime import datetime, timedelta, timezone
from typing import Any

LOCAL = timezone(timedelta(hours=-5))
FIRST_YEAR, LAST_YEAR, TREES = 2018, 2027, 60
#: When it is looked back on.
LOOKED_AT = datetime(LAST_YEAR, 4, 20, 12, tzinfo=LOCAL)

Note = tuple[datetime, dict[str, Any]]
_SIDES = ("south", "southeast", "east", "northeast", "north", "northwest", "west", "southwest")
_SPECIES = ("sugar", "sugar", "sugar", "red", "sugar", "silver")
_TANK_GAL = 60.0


def notes(first: int = FIRST_YEAR, last: int = LAST_YEAR, trees: int = TREES) -> list[Note]:
    """Return the notes of the seasons, in the order of time."""
    chance = random.Random(1)
    found: list[Note] = [
        (datetime(first, 2, 10, 9, tzinfo=LOCAL),
         {"act": "vessel", "vessel": "tank 1", "capacity_gal": _TANK_GAL}),
        (datetime(first, 2, 10, 10, tzinfo=LOCAL), {"act": "name", "tree": 9, "name": "big oak"}),
    ]  # fmt: skip
    for year in range(first, last + 1):
        found += _season(year, year - first, trees, chance)
    return found


def _season(year: int, age: int, trees: int, chance: random.Random) -> list[Note]:
    found: list[Note] = []
    at = datetime(year, 2, 20, 9, tzinfo=LOCAL)

    def note(act: str, **fields: Any) -> None:
        nonlocal at
        found.append((at, {"act": act, **fields}))
        at += timedelta(seconds=40)

    for tree in range(1, trees + 1):
        note("tap", **_hole(tree, age))
        if (age + tree) % 4 == 0 or age == 0:
            ring = 0.04 + 0.01 * (tree % 9)
            size = round(11 + tree % 15 + 2 * ring * age, 1)
            note("measure", tree=tree, diameter_in=size, species=_SPECIES[tree % 6])
    if age in (3, 7):
        note("health", tree=17 + age, condition="damaged")
        note("remark", tree=9, text="two of the old holes have closed")
    held = 0.0
    for day in range(44):
        at = datetime(year, 2, 24, 7, tzinfo=LOCAL) + timedelta(days=day)
        low, high = 24 + day / 4 + chance.gauss(0, 6), 40 + day / 3 + chance.gauss(0, 5)
        note("weather", low_f=round(low), high_f=round(high))
        if low < 32 and high > 36 and day < 40:
            for tree in range(1, trees + 1):
                if chance.random() < 0.85:
                    sap = round(chance.uniform(0.2, 1.6) * (0.5 + tree % 7 / 5), 1)
                    held += sap
                    note("gather", tree=tree, volume_gal=sap)
            note("store", vessel="tank 1", volume_gal=min(_TANK_GAL, round(held, 1)))
            note("sweetness", vessel="tank 1", brix=round(chance.uniform(1.7, 2.6), 1))
            if day % 9 == 0:
                note("sweetness", tree=1 + day, brix=round(chance.uniform(1.5, 3.1), 1))
            boiled, held = min(_TANK_GAL, held), 0.0
            _boil(note, boiled, chance)
    return found


def _hole(tree: int, age: int) -> dict[str, Any]:
    hole: dict[str, Any] = {"tree": tree, "count": 1, "side": _SIDES[(tree + 3 * age) % 8]}
    if (tree + age) % 3:
        hole["height_ft"] = 2.5 + ((2 * age + tree) % 5) / 2
    return hole


def _boil(note: Any, sap_gal: float, chance: random.Random) -> None:
    note("boil", vessel="tank 1", phase="start")
    note("pan", boiling=True)
    syrup = round(sap_gal / 43 * chance.uniform(0.8, 1.0), 2)
    note("draw", syrup_gal=syrup, temp_f=219)
    note("boil", phase="stop")
    note("fuel", cords=round(sap_gal / 700, 2))
    pints = int(syrup * 8) or 1
    note("pack", count=pints, size="pint", colour=chance.choice(("golden", "amber", "dark")))
    note("stock_out", count=max(1, pints - 1), size="pint", why=chance.choice(("sold", "given")))
