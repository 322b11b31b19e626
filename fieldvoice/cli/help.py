"""``fieldvoice help``: what can be said, one example of everything, or of a subject."""

from __future__ import annotations

from typing import get_args

import click

from fieldvoice.cli.options import examples, json_option
from fieldvoice.schema.asks.season import HelpSubject


@click.command("help", epilog=examples("fieldvoice help", "fieldvoice help boiling"))
@click.argument(
    "subject", required=False, type=click.Choice(get_args(HelpSubject)), metavar="[SUBJECT]"
)
@json_option
def command(subject: HelpSubject | None, as_json: bool) -> None:
    """Show what can be said, or what of one SUBJECT.

    Subjects are trees, sap, boiling, syrup, reminders, and season.
    """
    from fieldvoice.cli.show import show_json
    from fieldvoice.dialogue import sayable

    told = sayable.of_subject(subject) if subject else sayable.examples()
    known = {kind: list(said.values()) for kind, said in told.items()}
    if as_json:
        show_json(known)
        return
    for kind, said in known.items():
        click.echo(kind.capitalize())
        for example in said:
            click.echo(f"  {example}")
