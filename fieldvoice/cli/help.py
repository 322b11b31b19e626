"""``fieldvoice help``: what can be said, one example of everything."""

from __future__ import annotations

import click


@click.command("help")
def command() -> None:
    """Show what can be said: one example of each note, question and command."""
    from fieldvoice.dialogue.sayable import examples

    for kind, known in examples().items():
        click.echo(kind.capitalize())
        for example in known.values():
            click.echo(f"  {example}")
