"""``fieldvoice models``: which recogniser models there are; adding and removing them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import examples, json_option

if TYPE_CHECKING:
    from pathlib import Path

    from fieldvoice.asr.models import Kind, Model


@click.group(
    "models",
    invoke_without_command=True,
    epilog=examples(
        "fieldvoice models",
        "fieldvoice models add ~/Downloads/model.zip",
    ),
)
@json_option
@click.pass_context
def command(ctx: click.Context, as_json: bool) -> None:
    """List the recogniser models; say which hears and why."""
    if ctx.invoked_subcommand is not None:
        return
    from fieldvoice.cli.recognisers import choice, model_store
    from fieldvoice.cli.show import show_json

    models = model_store().models()
    if as_json:
        for one in models:
            show_json(_fields(one))
        return
    for one in models:
        click.echo(f"{one.name:24} {one.kind:8} {one.megabytes:7.0f} MB  {_role(one)}")
    click.echo(choice().why)


@command.command(
    "add",
    epilog=examples(
        "fieldvoice models add ~/Downloads/model.zip",
        "fieldvoice models add https://example.org/model.zip --name small",
    ),
)
@click.argument("source")
@click.option("--name", help="What to call it. Left out: as the folder or archive is called.")
@click.option("--sha256", help="The archive's SHA-256, to be sure that it is the one you want.")
def add(source: str, name: str | None, sha256: str | None) -> None:
    """Add the model at SOURCE.

    SOURCE is a folder, an archive (zip, tar), or the web address of one; a download that broke off
    goes on where it stopped. A Vosk model hears instead of the bundled recogniser. A Whisper model
    (as faster-whisper reads it) is a second listener.
    """
    from fieldvoice.cli.progress import Progress
    from fieldvoice.cli.recognisers import choice, model_store

    with Progress("Downloading", megabytes=True) as progress:
        added = model_store().add(source, name=name, sha256=sha256, progress=progress, knows=knows)
    click.echo(f"Added {added.name}: {added.kind}, {added.megabytes:.0f} MB: {_role(added)}.")
    click.echo(choice().why)


@command.command("remove", epilog=examples("fieldvoice models remove model"))
@click.argument("name")
def remove(name: str) -> None:
    """Remove the model called NAME."""
    from fieldvoice.cli.recognisers import model_store

    model_store().remove(name)
    click.echo(f"Removed {name}.")


def knows(kind: Kind, folder: Path) -> float | None:
    """Return the share of the grammar's words that a Vosk model knows; None without Vosk.

    A Whisper model is held to no words: None.
    """
    if kind != "vosk":
        return None
    from fieldvoice.asr.vosk_engine import share_known
    from fieldvoice.cli.app import the_grammar

    return share_known(folder, the_grammar().words)


def _role(model: Model) -> str:
    if model.kind == "whisper":
        return "second listener, any words"
    if model.knows is None:
        return "not tried: Vosk is not installed"
    return f"knows {100 * model.knows:.0f} % of the words"


def _fields(model: Model) -> dict[str, object]:
    return {
        "name": model.name,
        "kind": model.kind,
        "folder": str(model.folder),
        "source": model.source,
        "megabytes": round(model.megabytes, 1),
        "knows": model.knows,
    }
