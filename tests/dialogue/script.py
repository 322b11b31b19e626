"""Reads the conversations in ``scripts/`` (their form is told in README.md) and plays them."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue import Settings
from fieldvoice.dialogue.prompts import Prompt
from fieldvoice.transcript import NBestEntry, Transcript, typed
from tests.nlu.tables import WantedMeaning, meaning

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.book import Book
    from fieldvoice.dialogue import Conversation
    from fieldvoice.reply import Reply

SCRIPTS = Path(__file__).parent / "scripts"

#: Local time of the scripts; five hours behind Greenwich, as in the north-east in March.
LOCAL = timezone(timedelta(hours=-5))
STEP = timedelta(seconds=20)

_TEXTS = re.compile(r'"([^"]*)"')


@dataclass
class Said:
    """One line said, the time it was said, and what must come of it."""

    words: str
    where: str
    clock: datetime
    hearings: tuple[str, ...] = ()
    wants: list[tuple[str, str]] = field(default_factory=list)


def scripts() -> list[Path]:
    """Return all scripts, sorted."""
    return sorted(SCRIPTS.glob("*.txt"))


def read(path: Path) -> list[Said]:
    """Return the lines said in a script.

    Raises:
        ValueError: a line is in no known form.
    """
    said: list[Said] = []
    clock: datetime | None = None
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        text = line.strip()
        if not text or text.startswith("#"):
            continue
        if text.startswith("@ "):
            clock = datetime.fromisoformat(text[2:]).replace(tzinfo=LOCAL)
        elif text.startswith("set ") and not said:
            continue
        elif text.startswith(("> ", ">> ")) and clock is not None:
            hearings = text.partition(" ")[2].split(" / ")
            spoken = tuple(hearings) if text.startswith(">> ") else ()
            said.append(Said(hearings[0], f"{path.name}:{number}", clock, spoken))
            clock += STEP
        elif line.startswith("  ") and said:
            verb, _, rest = text.partition(" ")
            said[-1].wants.append((verb, rest))
        else:
            raise ValueError(f"{path.name}:{number}: {line!r} is in no known form")
    return said


def settings(path: Path) -> Settings:
    """Return what a script sets before its first line: the units, and what vessels hold."""
    metric, holds = False, {}
    for line in path.read_text(encoding="utf-8").splitlines():
        if line == "set metric":
            metric = True
        elif line.startswith("set "):
            vessel, _, gallons = line.removeprefix("set ").partition(" holds ")
            holds[vessel] = float(gallons)
    return Settings(metric=metric, capacities_gal=holds)


def as_heard(line: Said) -> Transcript:
    """Return a line as typed, or as heard with other hearings that are as likely."""
    if not line.hearings:
        return typed(line.words)
    alternatives = tuple(NBestEntry(text, 0.0) for text in line.hearings)
    return Transcript(line.words, confidence=0.9, alternatives=alternatives, recogniser="an engine")


def misses(line: Said, talk: Conversation, book: Book) -> Iterator[str]:
    """Say one line and yield what came of it otherwise than wanted."""
    before = {entry.id: entry for entry in book.entries()}
    reply = talk.hear(as_heard(line), source="live" if line.hearings else "typed")
    after = {entry.id: entry for entry in book.entries()}
    new = [after[one].act.json_fields() for one in after if one not in before]
    gone = [before[one].act.json_fields() for one in before if one not in after]
    wanted: dict[str, list[WantedMeaning]] = {"saves": [], "voids": []}
    for verb, rest in line.wants:
        if verb in wanted:
            wanted[verb].append(meaning(rest))
        else:
            yield from _CHECKS[verb](rest, reply, book, after)
    yield from _matched("saves", wanted["saves"], new)
    yield from _matched("voids", wanted["voids"], gone)
    does_other = any(verb in ("does", "answers", "asks", "keeps") for verb, _ in line.wants)
    if wanted["saves"] and not does_other and reply.outcome not in ("saved", "done"):
        yield f"outcome {reply.outcome}"


def _matched(verb: str, wanted: list[WantedMeaning], found: list[dict[str, Any]]) -> Iterator[str]:
    left = list(found)
    for want in wanted:
        fitting = next((fields for fields in left if fits(want, fields)), None)
        if fitting is None:
            yield f"{verb} nothing like {want.example()}, but {found}"
        else:
            left.remove(fitting)
    for fields in left:
        yield f"{verb} {fields} unasked"


def fits(want: WantedMeaning, fields: dict[str, Any]) -> bool:
    """Whether a note is the wanted one; its time counts where the script names one.

    A note put right has one that nobody said.
    """
    timeless = {key: value for key, value in fields.items() if key != "at"}
    return want.accepts(fields) or want.accepts(timeless)


def _outcome(name: str, reply: Reply) -> Iterator[str]:
    if reply.outcome != name:
        yield f"outcome {reply.outcome}, not {name}: {reply.text}"


def _meant(name: str, rest: str, reply: Reply) -> Iterator[str]:
    yield from _outcome(name, reply)
    want = meaning(rest)
    if not any(want.accepts(one.json_fields()) for one in reply.meanings):
        yield f"means {[one.json_fields() for one in reply.meanings]}, not {rest}"


def _asks(rest: str, reply: Reply, book: Book, _: object) -> Iterator[str]:
    yield from _outcome("asked", reply)
    last = book.last_utterance()
    if last is None or last.pending is None:
        yield "no question is open"
        return
    expects = Prompt.from_json(last.pending, asked_by=last.id).expects
    if expects not in rest.split(" or "):
        yield f"asks for {expects}, not {rest}"


def _says(rest: str, reply: Reply, _: object, __: object) -> Iterator[str]:
    kind = rest.split(" ", 1)[0]
    found = [text for text in _TEXTS.findall(rest) if stands_in(text, reply.text)]
    if kind == "contains" and not found:
        yield f"says {reply.text!r}, which lacks {rest}"
    if kind == "not" and found:
        yield f"says {reply.text!r}, which has {found}"


def stands_in(text: str, reply: str) -> bool:
    if re.fullmatch(r"[\d.]+", text):
        return bool(re.search(rf"(?<![\d.]){re.escape(text)}(?!\.?\d)", reply))
    return text.lower() in reply.lower()


def _finds(level: str, reply: Reply, _: object, __: object) -> Iterator[str]:
    levels = {finding.level for finding in reply.findings}
    if level not in levels:
        yield f"finds {sorted(levels)}, not {level}"


def _focus(rest: str, _: Reply, book: Book, __: object) -> Iterator[str]:
    last = book.last_utterance()
    assert last is not None
    in_hand = {key: value for key, value in last.focus.items() if key != "at"}
    if rest == "none":
        if in_hand:
            yield f"focus {in_hand}"
        return
    # A focus is written like the fields of a meaning.
    if not meaning(f"~ {rest}").accepts({"mention": in_hand}):
        yield f"focus {in_hand}, not {rest}"


def _holds(rest: str, _: Reply, __: Book, after: dict[str, Any]) -> Iterator[str]:
    wanted = int(rest.removeprefix("holds "))
    if len(after) != wanted:
        yield f"the book holds {len(after)} notes, not {wanted}"


_CHECKS: dict[str, Any] = {
    "asks": _asks,
    "answers": lambda rest, reply, *_: _meant("answered", rest, reply),
    "does": lambda rest, reply, *_: _meant("done", rest, reply),
    "keeps": lambda _, reply, *__: _outcome("kept", reply),
    "finds": _finds,
    "says": _says,
    "focus": _focus,
    "book": _holds,
}
