"""How a reply is printed: JSON for programs, or a few marked lines for people."""

from __future__ import annotations

import json
import re
import shutil
import sys
import textwrap
from typing import TYPE_CHECKING, Any

import click

from fieldvoice.cli.terminal import colour
from fieldvoice.harmless import harmless

if TYPE_CHECKING:
    from fieldvoice.reply import Reply

#: How each part of a reply is coloured on a terminal.
_COLOURS = {
    "heard": "bright_black", "record": "cyan", "reply": "green", "saved": "green",
    "asks": "yellow", "call": "yellow",
    "sound": "bright_black", "kept": "yellow", "care": "yellow", "stop": "red",
    "why": "bright_black",
}  # fmt: skip

_WIDTH = 8
#: What steers a terminal or stands for no character at all.
_STEERING = re.compile(r"[\x7f-\x9f\ud800-\udfff]")
#: On a terminal with less room for the text than this, breaking between words helps nobody.
_NARROWEST = 20


def show(reply: Reply, *, as_json: bool) -> None:
    """Print one reply on standard output, at once."""
    if as_json:
        show_json(reply.as_json())
        return
    for mark, text in lines(reply):
        show_line(mark, text)
    sys.stdout.flush()


def show_typed(reply: Reply) -> None:
    """Print the reply to what was just typed: the words stand above, so only the answer is shown.

    The reasons of warnings follow it, without what the reply has said already.
    """
    show_line(_CHAT.get(reply.outcome, "reply"), reply.text)
    for finding in reply.findings:
        if finding.level != "note" and reply.says(finding):
            show_line("why", f"{finding.why} ({finding.source})")
        elif finding.level != "note":
            show_line(finding.level, f"{finding.text} {finding.why} ({finding.source})")
    for mark, text in _reason(reply):
        show_line(mark, text)
    sys.stdout.flush()


def show_json(answer: dict[str, Any]) -> None:
    """Print one JSON object on a line."""
    plain = (sys.stdout.encoding or "").lower().replace("-", "") != "utf8"
    text = json.dumps(answer, ensure_ascii=plain)
    # JSON leaves these as they are, and some terminals obey them.
    click.echo(_STEERING.sub(lambda found: f"\\u{ord(found[0]):04x}", text))
    sys.stdout.flush()


def show_line(mark: str, text: str) -> None:
    """Print a line that begins with its mark, in colour where the terminal takes it."""
    head = click.style(mark.ljust(_WIDTH), fg=_COLOURS.get(mark), bold=mark == "stop")
    click.echo(f"{head}{_wrapped(harmless(text))}", color=colour())


def _wrapped(text: str) -> str:
    """Return ``text`` broken between words where a terminal would break it anywhere."""
    width = shutil.get_terminal_size().columns - _WIDTH
    if not sys.stdout.isatty() or width < _NARROWEST or len(text) <= width:
        return text
    return f"\n{' ' * _WIDTH}".join(textwrap.wrap(text, width))


def lines(reply: Reply) -> list[tuple[str, str]]:
    """Return a reply as pairs of mark and text: heard, records, reply, warnings, reasons."""
    told = [("heard", reply.heard.text)]
    records = [*reply.records, *[""] * len(reply.meanings)]
    for record, meaning in zip(records, reply.meanings, strict=False):
        if record:
            told.append(("record", f"{record} {_fields(meaning.json_fields())}"))
    told.append((_REPLY.get(reply.outcome, "reply"), reply.text))
    for finding in reply.findings:
        if finding.level != "note" and not _explains(reply):
            told.append((finding.level, f"{finding.text} {finding.why} ({finding.source})"))
    return [*told, *_reason(reply)]


def _reason(reply: Reply) -> list[tuple[str, str]]:
    """Return the reason of an answer that is no warning."""
    if reply.outcome != "answered" or not reply.findings or _explains(reply):
        return []
    first = reply.findings[0]
    return [("why", f"{first.why} ({first.source})")] if first.level == "note" else []


def _explains(reply: Reply) -> bool:
    """Whether the reply gives the reasons of its findings itself: it was asked why."""
    return any(getattr(one, "ask", None) == "why" for one in reply.meanings)


_REPLY = {"asked": "asks", "kept": "kept"}
_CHAT = {**_REPLY, "saved": "saved"}


def _fields(fields: dict[str, Any]) -> str:
    kind = fields.get("act") or fields.get("do") or ""
    rest = " ".join(f"{key}={_value(v)}" for key, v in fields.items() if key not in ("act", "do"))
    return f"{kind} {rest}".strip()


def _value(value: object) -> str:
    if isinstance(value, list):
        return ",".join(map(_value, value))
    if isinstance(value, float):
        return f"{value:g}"
    text = str(value)
    return f'"{text}"' if " " in text else text
