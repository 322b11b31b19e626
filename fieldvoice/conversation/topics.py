"""What questions are about, in a few words: for an echo before an answer, and to choose by."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from fieldvoice.conversation import wording as w

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from fieldvoice.meaning import Ask

#: The subject of advice in passing, where its topic alone is too short to tell.
_TOPICS = {
    "keeping sap": "how long sap keeps", "shelf life": "how long syrup keeps",
    "opened": "syrup once it is opened", "seating": "driving the spile", "rain": "rain in the sap",
    "healing": "how holes heal", "selling": "selling syrup", "label": "what goes on the label",
    "scorching": "a pan that runs low", "foam": "a pan that foams over", "mould": "mold on syrup",
    "filling": "filling jars", "thermometer": "a thermometer that is off",
    "lifting": "what a full pail weighs", "felling": "cutting trees",
}  # fmt: skip

#: The subject of each other question.
_SUBJECTS = {
    "adjust_density": "thinning syrup", "best_trees": "which trees are best",
    "boil_plan": "what to boil", "boil_report": "how the boil went",
    "boil_time": "how long the boil takes", "bud_outlook": "when the buds come",
    "can_wait": "whether the sap can wait", "cleaning": "washing gear",
    "container_advice": "what gear is fit for food", "density_check": "how dense the syrup is",
    "diameter": "how thick a trunk is", "draw_check": "whether the pan is done",
    "draw_off": "when to draw off", "flow_outlook": "whether sap will run",
    "fuel_needed": "how much fuel it takes", "gear_needed": "how much gear it takes",
    "grade": "the grade of the syrup", "growth": "how fast a tree grows",
    "hole_advice": "drilling", "ice_sugar": "ice in the sap",
    "jars_filled": "how many jars it fills", "jars_needed": "how many jars are needed",
    "last_visit": "when a tree was seen last", "least_batch": "the least to boil",
    "missed_trees": "which trees were missed", "mix": "mixing two lots",
    "mix_check": "pouring together", "off_flavour": "an off taste",
    "pan_rate": "how fast the pan is",
    "plan_rest": "the rest of the day", "product_target": "how hot to boil it",
    "recall": "where it went", "said": "what was said", "sap_advice": "what to do with sap",
    "sap_age": "how old the sap is", "sap_balance": "where the sap went",
    "sap_keeps": "how long sap keeps", "sap_needed": "how much sap it takes",
    "sap_total": "how much sap came in", "season_summary": "the season so far",
    "slow_trees": "which trees are slow", "species_advice": "kinds of maple",
    "start_by": "when to light the fire", "stock": "what syrup there is",
    "sweetest_trees": "which trees are sweetest", "syrup_estimate": "how much syrup it makes",
    "tap_limit": "how many taps a tree can take", "tapping_zone": "taps for good",
    "time_to_stop": "when to stop", "time_to_tap": "when to tap",
    "tree_count": "how many trees there are", "tree_history": "the story of a tree",
    "trees_seen": "which trees were seen so", "vessel_level": "how full it is",
    "weight": "what syrup weighs", "what_can_i_say": "what can be said",
    "when_to_pull": "when to pull the spiles", "why": "why",
}  # fmt: skip


def topic(ask: Ask, metric: bool = False) -> str:
    """Return what a question is about, with what it names: "how full it is, tank 2"."""
    fields = {key: one for key, one in ask.json_fields().items() if key not in ("ask", "topic")}
    named = [_NAMED[key](one, metric) if key in _NAMED else str(one) for key, one in fields.items()]
    told = ask.topic or ""
    return ", ".join([_SUBJECTS.get(ask.ask) or _TOPICS.get(told, told), *named])


def echoed(asks: Iterable[Ask], answer: str, metric: bool = False) -> str:
    """Return an answer to words that were taken freely: first what it is about."""
    subjects = w.joined(topic(ask, metric) for ask in asks)
    return f"About {subjects}: {_going_on(answer)}"


def _going_on(text: str) -> str:
    """Return a sentence as it stands after a colon; "I" and names of days keep their capitals."""
    first = text.split(" ", 1)[0]
    is_own = first.startswith("I'") or first == "I" or first.strip(",.:").endswith("day")
    return text if is_own or first[1:] != first[1:].lower() else f"{text[:1].lower()}{text[1:]}"


def _day_or_hour(said: str, _: bool) -> str:
    until = datetime.fromisoformat(said)
    return f"until {w.clock(until) if 'T' in said else f'{until:%A}'}"


#: How the fields of questions are told that do not tell themselves.
_NAMED: Mapping[str, Callable[[Any, bool], str]] = {
    "tree": lambda tree, _: w.tree_name(tree),
    "volume_gal": w.volume,
    "other_gal": w.volume,
    "fill": lambda fill, _: w.fill_words(fill),
    "sap": lambda sap, _: w.sap_words(sap),
    "diameter_in": w.length,
    "brix": lambda brix, _: f"{w.figure(brix)} %",
    "other_brix": lambda brix, _: f"{w.figure(brix)} %",
    "reading_brix": lambda brix, _: f"{w.figure(brix)} Brix",
    "transmittance": lambda share, _: f"{w.figure(share)} %",
    "ice_share": lambda share, _: f"{w.part_words(share)} ice",
    "pressure_inhg": lambda inches, _: f"{w.figure(inches)} inHg",
    "elevation_ft": lambda feet, _: f"{w.figure(feet, 0)} feet",
    "days": lambda days, _: w.counted(round(days), "day"),
    "hours": lambda hours, _: f"{w.figure(hours)} hours",
    "since": lambda day, _: f"since {datetime.fromisoformat(day):%A}",
    "until": _day_or_hour,
    "rust": lambda rust, _: "rusty" if rust else "not rusty",
    "heated": lambda heated, _: "to boil in" if heated else "not to boil in",
    "buds": lambda _, __: "buds",
    **dict.fromkeys(("temp_f", "water_boils_f", "low_f", "high_f"), w.temperature),
}
