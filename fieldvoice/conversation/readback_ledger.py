"""Read-backs of what is noted of vessels, the pan and the pantry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.nlg import wording as w

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.meaning import acts

Told = tuple[str, list[str]]

_WHY = {"sold": "sold", "given": "given away", "eaten": "eaten", "spoiled": "lost"}


def _vessel(act: acts.Vessel, metric: bool) -> Told:
    holds = act.capacity_gal
    insulated = {True: "insulated", False: "not insulated", None: ""}[act.insulated]
    food = {True: "food grade", False: "not food grade", None: ""}[act.food_grade]
    return act.vessel or "", [
        "" if holds is None else f"holds {w.volume(holds, metric)} when full",
        "" if act.depth_in is None else f"{w.length(act.depth_in, metric)} deep",
        act.material or "", food, act.place or "", insulated,
    ]  # fmt: skip


def _transfer(act: acts.Transfer, metric: bool) -> Told:
    amount = "all" if act.fill in (None, 1) else w.part_words(act.fill or 0.0)
    if act.volume_gal is not None:
        amount = w.volume(act.volume_gal, metric)
    return act.into or "", [f"{amount} from {act.vessel}"]


def _ice_out(act: acts.IceOut, metric: bool) -> Told:
    amount = "" if act.volume_gal is None else f"{w.volume(act.volume_gal, metric)} of "
    if not amount and act.fill is not None:
        amount = f"{w.part_words(act.fill)} out as "
    return _about(act), [f"{amount}ice" if act.fill is not None else f"{amount}ice out"]


def _rain_in(act: acts.RainIn, metric: bool) -> Told:
    amount = "" if act.volume_gal is None else f"{w.volume(act.volume_gal, metric)} of "
    return _about(act), [f"{amount}rain in"]


def _pan(act: acts.Pan, metric: bool) -> Told:
    deep = "" if act.depth_in is None else f"{w.length(act.depth_in, metric)} deep"
    area = "" if act.area_sqft is None else f"{w.figure(act.area_sqft, 1)} square feet"
    return "pan", ["boiling" if act.boiling else "", deep, area]


def _defoam(act: acts.Defoam, metric: bool) -> Told:
    return "foam knocked down", [f"with {act.agent}" if act.agent else ""]


def _filter(act: acts.Filter, metric: bool) -> Told:
    return "filtered", ["" if act.temp_f is None else f"at {w.temperature(act.temp_f, metric)}"]


def _fuel(act: acts.Fuel, metric: bool) -> Told:
    cords = "" if act.cords is None else w.cords(act.cords)
    gas = "" if act.volume_gal is None else w.volume(act.volume_gal, metric)
    return "burned", [cords, gas]


def _water(act: acts.Water, metric: bool) -> Told:
    boils = act.water_boils_f
    pressure = act.pressure_inhg
    return "today", [
        "" if boils is None else f"water boils at {w.temperature(boils, metric)}",
        "" if pressure is None else f"pressure {w.figure(pressure, 2)} inHg",
    ]


def _stock_out(act: acts.StockOut, metric: bool) -> Told:
    size = act.size or "container"
    many = size if size.endswith("ml") else size + ("s" if act.count != 1 else "")
    count = f"{act.count} of {many}" if size.endswith("ml") else f"{act.count} {many}"
    return _WHY.get(act.why or "", "gone"), [count, act.colour or ""]


def _about(act: acts.OfTrees) -> str:
    if act.tree is not None:
        return w.tree_name(act.tree)
    if act.trees:
        return w.tree_names(act.trees)
    return str(getattr(act, "vessel", None) or "")


#: By the act's name.
TELL: dict[str, Callable[..., Told]] = {
    "vessel": _vessel, "transfer": _transfer, "ice_out": _ice_out, "rain_in": _rain_in,
    "pan": _pan, "defoam": _defoam, "filter": _filter, "fuel": _fuel, "water": _water,
    "stock_out": _stock_out,
}  # fmt: skip
