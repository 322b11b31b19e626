"""``fieldvoice rules``: every rule with its levels, source and settings."""

from __future__ import annotations

import difflib
import json
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, examples, json_option

if TYPE_CHECKING:
    from pathlib import Path

    from fieldvoice.dialogue import Settings
    from fieldvoice.rules import Rule

_NAME_WIDTH = 28


@click.command(
    "rules",
    epilog=examples(
        "fieldvoice rules",
        "fieldvoice rules storage-age",
        "fieldvoice rules hole",
    ),
)
@click.argument("words", nargs=-1)
@json_option
@book_option
def command(words: tuple[str, ...], as_json: bool, book: Path | None) -> int:
    """List the rules, or show those about something.

    WORDS are the name of a rule, or stand in the name, the family or the purpose of several.
    """
    from fieldvoice.cli.app import default_book
    from fieldvoice.cli.settings_file import read_settings

    settings = read_settings((book or default_book()).with_suffix(".toml"))
    found = _about(" ".join(words).lower())
    if as_json:
        told = [_fields(family, rule, settings) for family, of in found.items() for rule in of]
        click.echo(json.dumps(told, ensure_ascii=False))
        return 0
    for family, rules in found.items():
        click.echo(click.style(family, bold=True))
        for rule in rules:
            _show(rule, settings)
        click.echo()
    count = sum(map(len, found.values()))
    click.echo(
        f"{count} {'rule' if count == 1 else 'rules'}. Why something was said: fieldvoice why"
    )
    return 0


def _about(words: str) -> dict[str, list[Rule]]:
    """Return the rules by family, those with ``words`` alone when there are any.

    Raises:
        click.UsageError: no rule is about that.
    """
    from fieldvoice.rules import RULES, RULES_BY_FAMILY

    found = {
        family: [rule for rule in rules if words in f"{rule.id} {rule.what} {family}".lower()]
        for family, rules in RULES_BY_FAMILY.items()
    }
    found = {family: rules for family, rules in found.items() if rules}
    if not found:
        near = difflib.get_close_matches(words, RULES, n=1)
        hint = f"Did you mean {near[0]}?" if near else "See them all: fieldvoice rules"
        raise click.UsageError(f"No rule is about {words!r}. {hint}")
    return found


def _show(rule: Rule, settings: Settings) -> None:
    from fieldvoice.cli.terminal import described, dim

    levels = ", ".join(rule.levels)
    click.echo(described(f"  {rule.id}", f"{rule.what} ({levels})", _NAME_WIDTH))
    sure = "" if rule.certainty == rule.source else f" ({rule.certainty})"
    click.echo(dim(described("", f"{rule.source}{sure}", _NAME_WIDTH)))
    for name, value in _settings_of(rule, settings).items():
        click.echo(dim(described("", f"setting: {name} = {value}", _NAME_WIDTH)))


def _settings_of(rule: Rule, settings: Settings) -> dict[str, str]:
    from fieldvoice.dialogue.settings import CHOICES

    return {one.name: one.shown(settings) for one in CHOICES if rule.id in one.rules}


def _fields(family: str, rule: Rule, settings: Settings) -> dict[str, object]:
    return {
        "rule": rule.id, "family": family, "what": rule.what, "levels": list(rule.levels),
        "source": rule.source, "certainty": rule.certainty,
        "settings": _settings_of(rule, settings),
    }  # fmt: skip
