"""``fieldvoice read``: what words would be read as, and by which rules of the grammar."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import click

from fieldvoice.cli.options import examples, json_option

if TYPE_CHECKING:
    from fieldvoice.grammar import Grammar
    from fieldvoice.nlu.hypothesis import Hypothesis

#: What costs less is not told.
_SHOWN = 0.001
#: Grammars of words that every sentence goes through; their rules say nothing of the reading.
_EVERYWHERE = ("numbers.", "words.")


@click.command(
    "read",
    epilog=examples(
        'fieldvoice read "tree twelve, bucket nearly full"',
    ),
)
@click.argument("words", nargs=-1, required=True)
@json_option
def command(words: tuple[str, ...], as_json: bool) -> int:
    """Show what WORDS may mean; nothing is saved.

    The likeliest reading first, each with what was passed over, supplied or mended, and the rules
    of the grammar that it goes through.
    """
    from fieldvoice.cli.app import is_english, the_grammar
    from fieldvoice.nlu import Interpreter
    from fieldvoice.transcript import typed

    grammar = the_grammar()
    readings = Interpreter(grammar, None, is_english).read(typed(" ".join(words)))
    for number, reading in enumerate(readings, start=1):
        fields = _fields(reading, grammar)
        if as_json:
            click.echo(json.dumps(fields, ensure_ascii=False))
        else:
            _show(number, fields)
    if not readings and not as_json:
        click.echo("The grammar has no reading of that.")
    return 0


def _fields(reading: Hypothesis, grammar: Grammar) -> dict[str, Any]:
    rules = dict.fromkeys(rule for rule in reading.rules if not rule.startswith(_EVERYWHERE))
    return {
        "meanings": [meaning.json_fields() for meaning in reading.meanings],
        "cost": round(reading.cost, 3),
        "bill": [[what, round(price, 3)] for what, price in reading.bill if price >= _SHOWN],
        "passed_over": list(reading.skipped),
        "supplied": list(reading.supplied),
        "mended": [list(pair) for pair in reading.repaired],
        # Rules of given names are no part of the files.
        "rules": {rule: grammar.rules[rule].place for rule in rules if rule in grammar.rules},
    }


def _show(number: int, fields: dict[str, Any]) -> None:
    meanings = " + ".join(json.dumps(one, ensure_ascii=False) for one in fields["meanings"])
    click.echo(f"{number}. {meanings}  cost {fields['cost']}")
    for key, told in (("passed_over", "passed over"), ("supplied", "supplied")):
        if fields[key]:
            click.echo(f"   {told}: {', '.join(fields[key])}")
    for heard, taken in fields["mended"]:
        click.echo(f"   mended: {heard} → {taken}")
    for what, price in fields["bill"]:
        click.echo(f"   {price:.3f}  {what}")
    width = max(map(len, fields["rules"]), default=0)
    for rule, place in fields["rules"].items():
        click.echo(click.style(f"   {rule.ljust(width)}  {place}", fg="bright_black"))
