"""Every note, question and command is whole: each has what its declaration promises."""

from __future__ import annotations

import json
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.book.fold import folds
from fieldvoice.dialogue.answers import answers
from fieldvoice.dialogue.checks import checks
from fieldvoice.dialogue.ledger_doubts import doubts
from fieldvoice.dialogue.ledger_effects import effects
from fieldvoice.grammar.tags import CLOSE, OPEN, SET
from fieldvoice.nlg.written import Style, told_text
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.semantics import compose
from fieldvoice.rules.hazards import CAUTIONS
from fieldvoice.rules.plausible import FIELDS
from fieldvoice.schema import ACTS, ASKS, COMMANDS, Act, Ask, meaning_from
from fieldvoice.schema.contract import frames
from fieldvoice.schema.slot import slots_of
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from fieldvoice.schema.registry import Registry

UNDERSTANDER = Interpreter(GRAMMAR)
STORED = Path(__file__).parent / "stored_notes.jsonl"

#: The kinds of meaning that have slots.
KINDS: list[type[Act] | type[Ask]] = [*ACTS.values(), *ASKS.values()]
#: Keys in tags that make a slot of another name; and what closes a meaning.
ALSO = {"site": ["row"], "since": ["since_days"], "item": ["gear_number"]}
CLOSED = (CLOSE, "meaning+", None)
#: Slots that no rule of the grammar reads by itself: derived, or told by the wording as a whole.
WITHOUT_RULE = {"same", "remark", "new", "lot", "left", "under", "sick"}


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_each_field_is_a_slot_that_a_rule_of_the_grammar_reads(
    kind: type[Act] | type[Ask],
) -> None:
    slots = slots_of(kind)
    assert set(kind.model_fields) - {"act", "ask"} == set(slots)
    for name, slot in slots.items():
        assert (name in WITHOUT_RULE) == (not slot.rule), f"{kind.__name__}.{name}"
        assert not slot.rule or slot.rule in GRAMMAR.networks, f"no <{slot.rule}>"
        assert not slot.likely or slot.likely in FIELDS
        assert not slot.stands_for or slot.stands_for in slots


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_the_rule_of_a_slot_gives_its_value(kind: type[Act] | type[Ask]) -> None:
    """Words drawn from the rule alone, put into a note of the kind, fill the slot."""
    sort = ("act", "ask")[issubclass(kind, Ask)]
    frame = (SET, sort, kind.model_fields[sort].default)
    for name, slot in slots_of(kind).items():
        if not slot.rule or kind.__name__ == "Name":
            continue  # A name needs words that no rule can draw.
        found = []
        for sample in GRAMMAR.samples(40, seed=1, top=slot.rule):
            steps = list(sample.marks)
            keys = {step[1].rstrip("+") for step in steps if isinstance(step, tuple)}
            if not keys & {name, *ALSO.get(name, ())}:
                steps = [(OPEN, name, None), *steps, (CLOSE, name, None)]
            with suppress(ValueError):
                found += compose([(OPEN, "meaning+", None), frame, *steps, CLOSED])
        values = [getattr(meaning, name, None) for meaning in found]
        assert any(value is not None for value in values), f"{kind.__name__}.{name}: {slot.rule}"


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_what_is_asked_for_is_a_slot_with_its_question(kind: type[Act] | type[Ask]) -> None:
    slots = slots_of(kind)
    if issubclass(kind, Ask):
        spec = kind.spec
        asked = [spec.subject] if spec.required else []
        known = {*filter(None, [spec.subject]), *spec.instead}
    else:
        asked = [*kind.spec.subject[:1], *(group[0] for group in kind.spec.needs)]
        known = {*kind.spec.subject, *kind.spec.keeps, *(n for g in kind.spec.needs for n in g)}
        known |= {name for pair in kind.spec.bare for name in pair}
        assert not kind.spec.announces or kind.spec.announces in CAUTIONS
    assert known <= set(slots)
    assert all(slots[name].ask for name in asked)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_examples_mean_exactly_their_kind(kind: type[Act] | type[Ask]) -> None:
    assert kind.spec.rule in GRAMMAR.networks
    assert kind.spec.examples
    for example in kind.spec.examples:
        best = UNDERSTANDER.read(typed(example))[0]
        assert {type(meaning) for meaning in best.meanings} == {kind}, example
        assert (best.skipped, best.supplied, best.repaired) == ((), (), ()), example


@pytest.mark.parametrize("name", COMMANDS)
def test_examples_of_commands_mean_them(name: str) -> None:
    spec = COMMANDS[name]
    assert spec.rule in GRAMMAR.networks
    best = UNDERSTANDER.read(typed(spec.example))[0]
    assert [meaning.json_fields()["do"] for meaning in best.meanings] == [name]


@pytest.mark.parametrize(
    ("registry", "promise"),
    [(folds, "folds"), (checks, "checks"), (doubts, "doubts"), (effects, "effects")],
    ids=lambda one: one if isinstance(one, str) else "",
)
def test_what_a_note_promises_is_registered(registry: Registry[Any], promise: str) -> None:
    promised = {kind for kind in ACTS.values() if getattr(kind.spec, promise)}
    assert registry.kinds == promised


def test_every_question_has_an_answer() -> None:
    assert answers().kinds == set(ASKS.values())


#: A value for each slot that is stored, by its name.
VALUES: dict[str, Any] = {
    "tree": 9, "trees": (3, 4), "vessel": "tank 2", "into": "tank 1", "site": "back row",
    "volume_gal": 12.5, "fill": 0.5, "sap": "cloudy", "smell": "sour", "brix": 2.2, "temp_f": 41.0,
    "diameter_in": 18.0, "species": "red maple", "yard": True, "condition": "damaged",
    "dieback": 30.0, "remark": "split by ice", "count": 2, "side": "south", "height_ft": 3.0,
    "depth_in": 1.5, "bit_in": 0.3125, "shavings": "white", "all": True, "reason": "leaking",
    "phase": "start", "syrup_gal": 0.75, "boiling": True, "area_sqft": 8.0, "least_gal": 15.0,
    "agent": "butter",
    "cords": 0.33, "water_boils_f": 210.5, "pressure_inhg": 29.4, "size": "pint", "lot": "27064",
    "colour": "amber", "why": "sold", "item": "bucket", "capacity_gal": 55.0, "material": "steel",
    "food_grade": True, "place": "shade", "insulated": True, "low_f": 24.0, "high_f": 45.0,
    "day": "2027-03-09", "rust": True, "solder": False, "text": "the gate needs a hinge",
    "name": "big yard tree", "new": True, "to": "my neighbor", "price": 12.0,
    "gauge": "refractometer", "due": "2027-03-12",
    "felled": True, "tapped": True, "lid": "off", "gone": True, "off": 7,
}  # fmt: skip


#: What a note is about: it names one of these.
ONE_THING = {"tree", "trees", "site", "vessel", "all", "item", "new"}


def _stored(kind: type[Act]) -> list[str]:
    return [name for name, slot in slots_of(kind).items() if name != "at" and not slot.stands_for]


def _told(act: Act) -> str:
    return told_text(act.told(), Style())


@pytest.mark.parametrize(
    ("kind", "name"),
    [(kind, name) for kind in ACTS.values() for name in _stored(kind)],
    ids=lambda one: one if isinstance(one, str) else one.__name__,
)
def test_every_stored_slot_changes_the_read_back(kind: type[Act], name: str) -> None:
    """Alone, and beside every other slot: whoever hears the read-back hears all that is stored."""
    things = ONE_THING - set(kind.spec.keeps)
    others = {other: VALUES[other] for other in _stored(kind) if other != name}
    for extra in [one for one in others if one in things][0 if name in things else 1 :]:
        others.pop(extra)
    for said in ({}, *({key: one} for key, one in others.items()), others):
        with_it = kind.model_validate({**said, name: VALUES[name]})
        assert _told(with_it) != _told(kind.model_validate(said)), said


def test_stored_notes_are_read_and_written_as_they_were() -> None:
    """The book's own form of every note, kept: what was written before is read the same."""
    lines = [json.loads(line) for line in STORED.read_text(encoding="utf-8").splitlines()]
    assert {line["act"] for line in lines} == set(ACTS)
    for line in lines:
        assert meaning_from(line).json_fields() == line


def test_frames_tell_all_that_tags_may_set() -> None:
    known = frames()
    kinds = {"act": ACTS, "ask": ASKS, "do": COMMANDS}
    assert set(known) == {f"{key}={name}" for key, names in kinds.items() for name in names}
    inspect, undo = known["act=inspect"], known["do=undo"]
    assert inspect is not None
    assert undo is not None
    assert set(undo) == {"back", "of", "last", "on"}
    assert inspect["sap"].values is not None
    assert "cloudy" in inspect["sap"].values
    assert inspect["tree"].types == {"integer", "string"}
    assert inspect["fill"].types == {"number"}
    assert known["do=correct"] is None
