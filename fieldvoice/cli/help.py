"""``fieldvoice help``: what can be said, one example of everything."""

from __future__ import annotations

import click

from fieldvoice.cli.options import examples, json_option


@click.command("help", epilog=examples("fieldvoice help"))
@json_option
def command(as_json: bool) -> None:
    """Show what can be said: an example of everything."""
    from fieldvoice.cli.show import show_json
    from fieldvoice.dialogue import sayable

    known = {kind: list(told.values()) for kind, told in sayable.examples().items()}
    if as_json:
        show_json(known)
        return
    for kind, told in known.items():
        click.echo(kind.capitalize())
        for example in told:
            click.echo(f"  {example}")
