"""Every rule has a name, a source and its own levels; nothing speaks without being registered."""

from __future__ import annotations

import ast
import re
from importlib import import_module
from pathlib import Path

import pytest

import fieldvoice.rules
from fieldvoice.dialogue.reasons import in_sentences
from fieldvoice.rules import CAUTIONS, COMMON_PRACTICE, RULES, Rule, warnings
from fieldvoice.rules.finding import Finding
from fieldvoice.rules.grading import grade
from tests.rules import mutants

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
    assert CAUTIONS[work].rule in RULES
    assert len(CAUTIONS[work].text.split()) <= 16


#: Published rules that work out no number: they tell what their source says, and their own tests
#: look at the words. A mark on such a test would prove nothing.
OF_WORDS = frozenset(
    "tap-early-budding cleaning-alcohol sap-clear sap-frozen sap-buddy sap-ropey sap-boiled "
    "draw-hydrometer off-flavour lot-code caution-fumes caution-ice caution-drill caution-burn "
    "caution-pack".split()
)
CHECKED = {rule for check in mutants.checks() for rule in check.rules}


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_each_rule_has_a_check_from_outside(rule):
    """A printed value or a reference library; a choice of this house needs none, nor do words."""
    if rule.certainty in mutants.OF_THIS_HOUSE or rule.id in OF_WORDS:
        return
    assert rule.id in CHECKED, "no test marked with pytest.mark.outside checks this rule"


def test_rules_of_words_are_no_others():
    assert RULES.keys() >= OF_WORDS
    assert not OF_WORDS & CHECKED


@pytest.mark.parametrize("check", mutants.checks(), ids=lambda check: check.name)
def test_a_check_fails_when_a_number_of_the_rule_is_another(check):
    """What still passes with every number of its rules changed looks at no value."""
    assert check.rules
    assert set(check.rules) <= RULES.keys()
    assert len(check.by) > 10
    assert check.kind in ("print", "library")
    assert mutants.looks_at_a_value(check)


def test_what_is_changed_is_put_back():
    """A number changed in a table and one in a function: gone afterwards."""
    table = next(one for one in mutants.constants("grading") if one.value == 75)
    before = grade(74).colour
    with mutants.changed(table, 70):
        assert grade(74).colour == "golden"
    assert grade(74).colour == before == "amber"


def test_choices_are_told_as_such():
    """Whoever asks why hears it; whoever lists the rules sees it."""
    for rule in RULES.values():
        if rule.certainty == "design choice":
            finding = rule.finding(rule.levels[0], "Text.", "Why.")
            assert "own choice" in in_sentences((finding,))
