"""Every rule has a name, a source and its own levels; nothing speaks without being registered."""

from __future__ import annotations

import ast
import re
from importlib import import_module
from pathlib import Path

import pytest

import fieldvoice.rules
from fieldvoice.rules import CAUTIONS, COMMON_PRACTICE, RULES, Rule, cautions, warnings
from fieldvoice.rules.advice import advice
from fieldvoice.rules.finding import Finding
from fieldvoice.schema.acts import Boil, Weather

FOLDER = Path(fieldvoice.rules.__file__).parent
TREES = {path.stem: ast.parse(path.read_text("utf-8")) for path in sorted(FOLDER.glob("*.py"))}


def calls(name):
    """Return every call in the rules' own code of a function or class called ``name``."""
    return [
        (module, node)
        for module, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and (getattr(node.func, "id", None) == name or getattr(node.func, "attr", None) == name)
    ]


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_each_rule_names_its_source(rule):
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", rule.id)
    assert rule.what
    assert rule.levels
    if rule.certainty == "common practice":
        assert rule.source == COMMON_PRACTICE
    elif rule.certainty == "published":
        assert rule.source != COMMON_PRACTICE
        assert len(rule.source) > 20


def test_ids_are_unique_and_all_registered():
    """Each rule constructed in the code, by its literal id, is in the registry exactly once."""
    written = [
        node.args[0].value
        for _, node in calls("Rule")
        if node.args and isinstance(node.args[0], ast.Constant)
    ]
    written += [node.args[0].value for _, node in calls("_practice")]
    written += [f"caution-{node.args[0].value}" for _, node in calls("_caution")]
    assert len(written) == len(set(written))
    assert set(written) == set(RULES)


def test_findings_are_made_by_rules_alone():
    """``Finding(...)`` is written in one place, so that none can lack a registered source."""
    assert [module for module, _ in calls("Finding")] == ["rule"]


def test_every_rule_is_spoken_somewhere():
    """A rule whose constant is never used for a finding would be an empty promise."""
    used = {
        node.id
        for tree in TREES.values()
        for node in ast.walk(tree)
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load)
    }
    modules = [import_module(f"fieldvoice.rules.{name}") for name in TREES if name != "__init__"]
    constants = {
        name
        for module in modules
        for name, value in vars(module).items()
        if isinstance(value, Rule)
    }
    assert len(constants) == len(RULES)
    assert constants <= used


def test_a_rule_speaks_only_at_its_levels():
    rule = Rule("some-rule", ("note",), "What it watches", COMMON_PRACTICE, "common practice")
    assert rule.finding("note", "Text.", "Why.").source == COMMON_PRACTICE
    with pytest.raises(ValueError, match="does not speak at level stop"):
        rule.finding("stop", "Text.", "Why.")


def test_warnings_come_loudest_first():
    def made(name, level):
        return Finding(name, level, "Text.", "Why.", COMMON_PRACTICE)

    found = (made("a", "care"), made("b", "note"), made("c", "stop"), made("d", "care"))
    assert [finding.rule for finding in warnings(found)] == ["c", "a", "d"]


@pytest.mark.parametrize("work", CAUTIONS)
def test_cautions_are_short_and_registered(work):
    for caution in CAUTIONS[work]:
        assert caution.rule in RULES
        assert len(caution.text.split()) <= 16


@pytest.mark.parametrize(
    ("work", "first"),
    [
        ("boil start", "caution-fumes"),
        ("draw", "caution-burn"),
        ("pack", "caution-burn"),
        ("tap", "caution-drill"),
        ("gather", "caution-lift"),
        ("clean", "caution-bleach"),
        ("fell", "caution-saw"),
    ],
)
def test_the_caution_that_matters_most_comes_first(work, first):
    assert cautions(work)[0].rule == first


@pytest.mark.parametrize("note", [Weather(low_f=20), Boil(phase="stop"), Boil(volume_gal=5)])
def test_work_that_needs_no_caution(note):
    assert cautions(note.work()) == ()


def test_first_aid_stands_in_the_answer():
    """Nobody asks why with a burnt hand."""
    burn = " ".join(one.text for one in advice("burns"))
    assert re.search(r"running water for twenty minutes", burn)
    assert "911" in burn
    (fire,) = advice("fire")
    assert re.search(r"out and call 911.*no water", fire.text)
    assert {one.level for one in (*advice("burns"), fire)} == {"stop"}


@pytest.mark.outside("caution-lift", by="NBS Circular C440: 8.387 lb a gallon")
def test_a_five_gallon_pail_weighs_what_the_caution_says():
    """NBS Circular C440: 2 Brix sap weighs 8.387 lb a gallon."""
    (lift,) = [one for one in CAUTIONS["gather"] if one.rule == "caution-lift"]
    assert f"{5 * 8.387:.0f} pounds" in lift.text


def outside_checks():
    """Return what each rule's marked tests check it against: rule id to sources."""
    found = {}
    for path in sorted(Path(__file__).parent.glob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                for mark in node.decorator_list:
                    if ast.unparse(mark).startswith("pytest.mark.outside("):
                        by = next(ast.literal_eval(k.value) for k in mark.keywords if k.arg == "by")
                        for rule in mark.args:
                            found.setdefault(ast.literal_eval(rule), []).append(by)
    return found


OUTSIDE = outside_checks()


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_each_rule_has_a_check_from_outside(rule):
    """A marked test checks it against something published, or against the practice it names."""
    assert rule.id in OUTSIDE, "no test marked with pytest.mark.outside checks this rule"
    assert all(len(by) > 10 for by in OUTSIDE[rule.id])
    if rule.certainty == "published":
        told = " ".join(OUTSIDE[rule.id]).lower()
        assert told != COMMON_PRACTICE, "a published rule is checked against its publication"


def test_marks_name_rules_that_there_are():
    assert OUTSIDE.keys() <= RULES.keys()
