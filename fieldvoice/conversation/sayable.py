"""What can be said, taken from the remarks that stand before the grammars' rules."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.grammar import load_grammar
from fieldvoice.meaning import ACTS, ASKS, COMMANDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.jsgf import Rule


def examples(grammar: Grammar | None = None) -> dict[str, dict[str, str]]:
    """Return one example for each act, question and command, under the name of its kind.

    Raises:
        GrammarError: the grammar's files break its rules.
    """
    rules = (grammar or load_grammar()).rules
    return {
        "notes": _about(rules, "notes", ACTS),
        "questions": _about(rules, "asks", ASKS),
        "commands": _about(rules, "commands", COMMANDS),
    }


def in_a_breath() -> str:
    """Return a short sentence with one example of each kind."""
    known = examples()
    return (
        f"A note: {known['notes']['inspect']} A question: {known['questions']['boil_plan']} "
        f"Or: {known['commands']['undo']}"
    )


def _about(rules: Mapping[str, Rule], file: str, names: Iterable[str]) -> dict[str, str]:
    return {name: _example(about) for name in names if (about := rules[f"{file}.{name}"].about)}


def _example(about: str) -> str:
    """Return the example in a rule's remark: what follows its colon, or all of it."""
    told = about.partition(": ")[2] or about
    return told[:1].upper() + told[1:]
