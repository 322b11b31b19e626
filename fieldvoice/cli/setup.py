"""``fieldvoice setup``: what a household settles on the first evening, told by talking."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, clock_of, examples, now_option
from fieldvoice.cli.terminal import indented

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.dialogue.choices import Choice

#: The settings that matter from the first day, and how they are asked for.
_ASKED = (
    ("units", "Gallons and Fahrenheit (us), or litres and Celsius (metric)?"),
    ("jurisdiction", "Whose law says how dense syrup must be?"),
    ("pan-area", "How big is the pan, like 2x4 (feet) or 60x120 cm?"),
    ("emergency-number", "Which number is to be called in an emergency?"),
)
#: What people answer instead of a value's own name.
_MEANT = {
    "gallons": "us", "fahrenheit": "us", "american": "us", "usa": "us", "states": "us",
    "litres": "metric", "liters": "metric", "celsius": "metric", "centimetres": "metric",
    **dict.fromkeys(("quebec", "québec", "ontario", "brunswick", "scotia", "canadian"), "canada"),
}  # fmt: skip
#: With these words, or an empty line, what was to be told of trees and containers is told.
_DONE = frozenset(
    {"done", "that's all", "that is all", "that's it", "nothing", "no", "quit", "end"}
)
_KINDS = "tank|barrel|tote|drum|can|vat|keg|cooler|tub"
_ONES = "one|two|three|four|five|six|seven|eight|nine"
_WORDS = (
    rf"{_ONES}|ten|eleven|twelve|(?:thir|four|fif|six|seven|eigh|nine)teen"
    "|(?:twen|thir|for|fif|six|seven|eigh|nine)ty|hundred|and|a|half|quarter"
)
_AMOUNT = (
    rf"(?P<amount>(?:\d+(?:\.\d+)?|(?:{_WORDS})(?:[ -](?:{_WORDS}))*)"
    " ?(?:gallons?|gal|lit(?:er|re)s?|l|quarts?))"
)
#: On this evening an amount is what a container holds when full, and not what is in it.
_HOLDS = re.compile(
    rf"(?:(?:the|our|my|an?) )?(?P<thing>(?:[a-z]+ )?(?:{_KINDS})"
    rf"(?: (?:number )?(?:\d+|{_ONES}))?),? (?:is |of |holds )?(?:an? )?{_AMOUNT}[\s.!]*",
    re.IGNORECASE,
)
_SEVERAL = re.compile(
    r"(?:(?:we have|we've got|there are|we got) )?(?P<count>two|three|four|five|six|[2-9])"
    rf" (?P<kind>{_KINDS})s,? (?:(?:of|with|at|holding|that hold|each) )*{_AMOUNT}"
    r"(?: each)?[\s.!]*",
    re.IGNORECASE,
)
_SO_MANY_TREES = re.compile(
    r"(?:we have|we've got|there are|we got|i have)?\s*(?:about )?\w+(?: \w+)?(?: \w+)?"
    r" (?:trees|maples)[\s.!]*",
    re.IGNORECASE,
)
_BY_NUMBER = """\
Tell me of them by their numbers: "trees one through twelve are sugar maples"."""
_TELL = """
Now tell me about your trees and containers, a line each, as you would say it:
  tree one is a sugar maple twenty inches across
  tank one holds fifty gallons when full
  call tree nine the big yard tree
An empty line ends, or "done"."""
_END = """
That is all. To go on:
  fieldvoice listen    by voice
  fieldvoice chat      by typing
  fieldvoice settings  all settings, with what each means"""


@click.command("setup", epilog=examples("fieldvoice setup"))
@book_option
@now_option
def command(book: Path | None, now: datetime | None) -> int:
    """Set up: units, law, pan, trees, containers, microphone.

    Enter leaves a thing as it is; Ctrl-C ends, and what was told until then stays.
    """
    from fieldvoice.cli.app import default_book

    path = book or default_book()
    click.echo("Enter leaves a thing as it is; Ctrl-C ends, and what was told stays.\n")
    for name, question in _ASKED:
        _ask(name, question, path.with_suffix(".toml"))
    click.echo(_TELL)
    _hear(path, now)
    _try_microphone(path)
    click.echo(_END)
    return 0


def _ask(name: str, question: str, path: Path) -> None:
    """Ask for one setting until the answer is one that it may have."""
    from fieldvoice.cli.settings_file import read_settings, write_setting
    from fieldvoice.dialogue.choices import SettingError, choice
    from fieldvoice.dialogue.settings import CHOICES

    one = choice(name, CHOICES)
    usual = one.shown(read_settings(path))
    click.echo(indented(f"{question}{_may_be(one)}", 0))
    while True:
        said = click.prompt(name, default=usual).strip()
        if said == usual:
            return
        try:
            write_setting(path, one, one.parse(_value_meant(said, one)))
        except SettingError as fault:
            click.echo(str(fault))
        else:
            return


def _value_meant(said: str, one: Choice) -> str:
    """Return the value that an answer names, "us please" or "Quebec"; else the answer itself."""
    words = said.lower().replace(",", " ").split()
    named = {_MEANT.get(word, word) for word in words} & set(one.values or ())
    named |= {name for name in one.values or () if " " in name and name in " ".join(words)}
    return named.pop() if len(named) == 1 else said


def _may_be(one: Choice) -> str:
    """Return what a setting with few values may be."""
    return f" ({', '.join(one.values)})" if one.values else ""


def _hear(path: Path, now: datetime | None) -> None:
    """Take what is told line by line, as in the typed conversation."""
    from fieldvoice.cli.app import conversation
    from fieldvoice.cli.show import show_typed
    from fieldvoice.transcript import typed

    with conversation(path, clock_of(now)) as desk:
        for line in _lines():
            if _SO_MANY_TREES.fullmatch(line):
                click.echo(_BY_NUMBER)
                continue
            for one in _in_full(line):
                show_typed(desk.conversation.hear(typed(one)))


def _in_full(line: str) -> list[str]:
    """Return what is told of containers in full: "two tanks of 30 gallons" is told of each."""
    if several := _SEVERAL.fullmatch(line):
        count = _UP_TO.get(several["count"].lower()) or int(several["count"])
        names = [f"{several['kind']} {number}" for number in range(1, count + 1)]
        return [f"{name} holds {several['amount']} when full" for name in names]
    if one := _HOLDS.fullmatch(line):
        return [f"{one['thing']} holds {one['amount']} when full"]
    return [line]


_UP_TO = {"two": 2, "three": 3, "four": 4, "five": 5, "six": 6}


def _lines() -> Iterator[str]:
    while line := click.prompt("", default="", show_default=False, prompt_suffix="> ").strip():
        if line.lower().rstrip(".!") in _DONE:
            return
        yield line


def _try_microphone(path: Path) -> None:
    """Offer the sound check; what cannot be used is told in a line."""
    from fieldvoice.cli.check import command as check
    from fieldvoice.cli.faults import complain
    from fieldvoice.errors import FieldvoiceError

    if not click.confirm("\nTry the microphone now?", default=False):
        return
    try:
        click.get_current_context().invoke(check, book=path)
    except FieldvoiceError as fault:
        complain(str(fault))
