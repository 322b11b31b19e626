"""``fieldvoice settings``: what a household has settled, what each means, and changing it."""

from __future__ import annotations

import json
import textwrap
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, examples, json_option

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path
    from typing import TypeVar

    from fieldvoice.dialogue.choices import Choice

    Made = TypeVar("Made")

_NAME_WIDTH, _WIDTH = 31, 96
#: Where a value comes from, in words; the last with the variable's name.
_FROM = {
    "usual": "the usual value", "file": "from the file", "said": "told by voice",
    "environment": "from {} in the environment",
}  # fmt: skip


@click.command(
    "settings",
    epilog=examples(
        "fieldvoice settings",
        "fieldvoice settings tap-schedule",
        "fieldvoice settings set tap-schedule traditional",
        "fieldvoice settings set tap-schedule usual",
    ),
    context_settings={"ignore_unknown_options": True},
)
@click.argument("words", nargs=-1, shell_complete=lambda ctx, _, begun: _offered(ctx, begun))
@json_option
@book_option
def command(words: tuple[str, ...], as_json: bool, book: Path | None) -> int:
    """Show the settings, or change one.

    The name of one shows the values that it may have; "usual" gives it back its usual value.
    """
    from fieldvoice.cli.app import default_book

    path = (book or default_book()).with_suffix(".toml")
    verb, *rest = words or ("",)
    if verb == "set":
        return _change(path, rest)
    chosen = _choices(words)
    if as_json:
        click.echo(json.dumps({one.name: _fields(one, path) for one in chosen}))
    elif words:
        _show_one(chosen[0], path)
    else:
        _show_all(chosen, path)
    return 0


def _offered(ctx: click.Context, begun: str) -> list[str]:
    """Return what the shell may complete ``begun`` to: settings, or the values of the one named."""
    from fieldvoice.dialogue.choices import SettingError, choice

    said = [one for one in ctx.params.get("words") or () if one != "set"]
    try:
        known = choice(said[0], _choices(())).values if said else None
    except SettingError:
        return []
    names = (known or ()) if said else ["set", *(one.name for one in _choices(()))]
    return [one for one in names if one.startswith(begun)]


def _choices(words: tuple[str, ...]) -> tuple[Choice, ...]:
    from fieldvoice.dialogue.choices import choice
    from fieldvoice.dialogue.settings import CHOICES
    from fieldvoice.live.settings import LIVE_CHOICES

    every = CHOICES + LIVE_CHOICES
    return (_asked(lambda: choice("-".join(words), every)),) if words else every


def _is_live(one: Choice) -> bool:
    from fieldvoice.live.settings import LIVE_CHOICES

    return one in LIVE_CHOICES


def _settings(one: Choice, path: Path) -> object:
    """Return the settings in the file that ``one`` is of: the household's, or the live ones."""
    from fieldvoice.cli.settings_file import read_live_settings, read_settings

    return read_live_settings(path) if _is_live(one) else read_settings(path)


def _change(path: Path, words: list[str]) -> int:
    from fieldvoice.cli.settings_file import write_setting
    from fieldvoice.dialogue.choices import USUAL

    if len(words) < 2:
        raise click.UsageError(
            "Set what to what? For example: fieldvoice settings set tap-schedule traditional"
        )
    one = _choices((words[0],))[0]
    said = " ".join(words[1:])
    usual = said.lower() in USUAL
    value = None if usual else _asked(lambda: one.parse(said))
    _settings(one, path)  # a file that cannot be read is told of, not written over
    write_setting(path, one, value, live=_is_live(one))
    click.echo(f"{one.name}: {one.shown(_settings(one, path))}. {one.meaning}")
    return 0


def _asked(work: Callable[[], Made]) -> Made:
    """Return what ``work`` gives; what is wrong with the words is a wrong use of the command."""
    from fieldvoice.dialogue.choices import SettingError

    try:
        return work()
    except SettingError as fault:
        raise click.UsageError(f"{fault} See: fieldvoice settings") from None


def _show_all(chosen: tuple[Choice, ...], path: Path) -> None:
    from fieldvoice.cli.settings_file import read_live_settings, read_settings

    household, live = read_settings(path), read_live_settings(path)
    for one in chosen:
        settings = live if _is_live(one) else household
        source = _source(one, path)
        mark = " " if source == "usual" else "*"
        head = f"{mark} {one.name}".ljust(_NAME_WIDTH)
        told = "" if source == "usual" else f"  ({_FROM[source].format(one.variable)})"
        click.echo(f"{head}{one.shown(settings)}{told}")
        click.echo(_wrapped(one.meaning))
    for name, gallons in sorted(household.capacities_gal.items()):
        click.echo(f"{f'* capacity of {name}'.ljust(_NAME_WIDTH)}{gallons:g} gal")
    click.echo(f"\n* changed by you; the file is {path}")
    click.echo("Change one:  fieldvoice settings set NAME VALUE")
    click.echo("Its values:  fieldvoice settings NAME")


def _source(one: Choice, path: Path) -> str:
    from fieldvoice.cli.settings_file import source_of

    return source_of(one, path, live=_is_live(one))


def _show_one(one: Choice, path: Path) -> None:
    now = one.shown(_settings(one, path))
    click.echo(f"{one.name}: {now} ({_FROM[_source(one, path)].format(one.variable)})")
    click.echo(one.meaning)
    if one.within is not None:
        low, high = one.within
        click.echo(f"A number from {low:g} to {high:g} {one.unit}".rstrip() + ".")
    for name, (_, meaning) in (one.values or {}).items():
        mark = "*" if name == now else " "
        click.echo(f"{f'{mark} {name}'.ljust(_NAME_WIDTH)}{meaning}")
    if one.rules:
        click.echo(f"Rules that go by it: {', '.join(one.rules)}.")


def _fields(one: Choice, path: Path) -> dict[str, object]:
    value = getattr(_settings(one, path), one.field)
    by_name = (name for name, (meant, _) in (one.values or {}).items() if meant == value)
    return {
        "value": next(by_name, value),
        "source": _source(one, path),
        "meaning": one.meaning,
        "values": list(one.values or one.within or ()),
        "rules": list(one.rules),
    }


def _wrapped(text: str) -> str:
    blank = " " * _NAME_WIDTH
    return textwrap.fill(text, _WIDTH, initial_indent=blank, subsequent_indent=blank)
