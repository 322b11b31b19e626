"""How families' seasons in plain words come out: ``python -m benchmarks.families [--show]``.

Each file of ``benchmarks/seasons`` is the typed season of one invented household, in the words of
people who have used the program for a week. All were written before they were run; those in
``held_out`` were run once when everything was done, and nothing was mended after them. Their form
is that of ``tests/dialogue/scripts`` with four lines more:

``+ words``          set up in the week before; not counted, and must be saved or done;
``  plain "words"``  what they say next where the note did not get into the book, so that later
                     answers have the same book to tell of; not counted;
``  then "words"``   what they say to a question about what is lacking in the note;
``by NAME``          who says what follows: two recorders have one book, each a conversation.

A line with ``saves`` or ``voids`` is a note:

*right*       exactly these notes came into the book, and exactly those were taken back, at once;
*asked right* it was asked about, and a yes (or ``then``) brought exactly that;
*asked*       it was asked about otherwise;   *kept*  neither saved nor asked about;
*wrong*       anything else came into the book.

A line with ``says`` or ``answers`` is a question: *right* when it was answered with what is wanted,
else *asked*, *kept*, or *wrong*. One with both counts once as each. A line with neither is small
talk: *right* when nothing is saved. ``benchmarks/results/families.json`` has all of it.
"""

from __future__ import annotations

import argparse
import json
import time
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchmarks.reading import Tally, interval, origin, shares
from fieldvoice.book import Book
from fieldvoice.cli.app import is_english, the_grammar
from fieldvoice.dialogue import Conversation
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.wordings import come_along
from fieldvoice.schema import meaning_from
from fieldvoice.transcript import typed
from tests.dialogue.script import LOCAL, STEP, fits, settings, stands_in
from tests.nlu.tables import meaning

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.reply import Reply
    from fieldvoice.transcript import Transcript

ROOT = Path(__file__).parents[1]
SEASONS = ROOT / "benchmarks/seasons"
WRITTEN = ROOT / "benchmarks/results/families.json"

Fields = dict[str, Any]


@dataclass
class Turn:
    """One line typed, when, and what must come of it."""

    words: str
    where: str
    clock: datetime
    counts: bool
    by: str | None = None
    wants: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))

    @property
    def is_note(self) -> bool:
        """Whether something must come into the book, or out of it."""
        return bool(self.wants["saves"] or self.wants["voids"])

    @property
    def is_question(self) -> bool:
        """Whether something must be told."""
        return bool(self.wants["says"] or self.wants["answers"])

    def quoted(self, verb: str) -> str:
        """Return the words that are said next, or ""."""
        return self.wants[verb][0].strip('"') if self.wants[verb] else ""


def turns(path: Path) -> Iterator[Turn]:
    """Yield the turns of a season.

    Raises:
        ValueError: a line is in no known form.
    """
    turn: Turn | None = None
    by: str | None = None
    clock = datetime.min.replace(tzinfo=LOCAL)
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        verb, _, rest = line.strip().partition(" ")
        if not verb or verb in ("#", "set"):
            continue
        if verb == "@":
            clock = datetime.fromisoformat(rest).replace(tzinfo=LOCAL)
        elif verb == "by":
            by = rest
        elif verb in (">", "+"):
            if turn is not None:
                yield turn
            turn = Turn(rest, f"{path.stem}:{number}", clock, verb == ">", by)
            clock += STEP
        elif turn is not None and verb in ("saves", "voids", "says", "answers", "plain", "then"):
            turn.wants[verb].append(rest)
        else:
            raise ValueError(f"{path.name}:{number}: {line!r} is in no known form")
    if turn is not None:
        yield turn


class Season:
    """One household's talk with its book."""

    def __init__(self, path: Path, understander: Interpreter, book: Book) -> None:
        self._book, self._reader, self._settings = book, understander, settings(path)

    def say(self, words: str, at: datetime, by: str | None) -> Reply:
        """Return the reply to words, said in the conversation of the one named."""
        return self.hear(typed(words), at, by)

    def hear(self, heard: Transcript, at: datetime, by: str | None) -> Reply:
        """Return the reply to words, typed or heard."""
        book = self._book.in_conversation(by)
        talk = Conversation(book, self._reader, self._settings, clock=lambda: at)
        return talk.hear(heard, source="typed" if heard.is_typed else "live")

    def come_of(self, turn: Turn) -> tuple[dict[str, str], list[str]]:
        """Say a turn; return what became of it by sort, and what was replied."""
        before = self._live()
        reply = self.say(turn.words, turn.clock, turn.by)
        told, found = [reply.text], {}
        if turn.is_question:
            found["answers"] = _answered(turn, reply)
        if turn.is_note:
            found["notes"] = self._noted(turn, reply, before, told)
        elif not turn.counts:
            if reply.outcome == "asked":
                reply = self.say("yes", turn.clock + timedelta(seconds=1), turn.by)
            if reply.outcome not in ("saved", "done"):
                told.append("[not set up]")
        elif self._live().keys() != before.keys():
            self.say("scratch that", turn.clock + timedelta(seconds=1), turn.by)
            found["answers" if turn.is_question else "small talk"] = "wrong"
        elif not turn.is_question:
            found["small talk"] = "right"
        return found, told

    def _noted(self, turn: Turn, reply: Reply, before: dict[str, Fields], told: list[str]) -> str:
        """Return what became of a note, and see to it that the book has it."""
        if self._is_right(turn, before):
            return "right"
        moment = turn.clock + timedelta(seconds=1)
        outcome = "asked" if reply.outcome == "asked" else "kept"
        if self._live().keys() != before.keys():
            outcome = "wrong"
            told.append(f"[book: {self._new(before)}]")
            self.say("scratch that", moment, turn.by)
        elif reply.outcome == "asked":
            answer = turn.quoted("then") or ("yes" if _is_put(turn, reply) else "no")
            told.append(f"[{answer}]")
            told.append(self.say(answer, moment, turn.by).text)
            if self._is_right(turn, before):
                return "asked right"
            if self._live().keys() != before.keys():
                told.append(f"[book: {self._new(before)}]")
                self.say("scratch that", moment, turn.by)
        if plain := turn.quoted("plain"):
            if self.say(plain, moment, turn.by).outcome == "asked":
                self.say("yes", moment, turn.by)
            if not self._is_right(turn, before):
                told.append(f"[not even {plain!r}: {self._new(before)}]")
        return outcome

    def _live(self) -> dict[str, Fields]:
        return {entry.id: entry.act.json_fields() for entry in self._book.entries()}

    def _new(self, before: dict[str, Fields]) -> list[Fields]:
        return [fields for key, fields in self._live().items() if key not in before]

    def _is_right(self, turn: Turn, before: dict[str, Fields]) -> bool:
        after = self._live()
        gone = [fields for key, fields in before.items() if key not in after]
        return _all_fit(turn.wants["saves"], self._new(before)) and _all_fit(
            turn.wants["voids"], gone
        )


def _all_fit(wanted: Sequence[str], found: Sequence[Fields]) -> bool:
    left = list(found)
    for want in map(meaning, wanted):
        fitting = next((fields for fields in left if fits(want, fields)), None)
        if fitting is None:
            return False
        left.remove(fitting)
    return not left


def _is_put(turn: Turn, reply: Reply) -> bool:
    """Whether a question puts just what was meant."""
    options = (reply.pending or {}).get("options", [])
    if len(options) != 1:
        return False
    put = [meaning_from(one).json_fields() for one in options[0]]
    is_correction = any("do" in fields for fields in put)
    return is_correction or _all_fit(turn.wants["saves"], put)


def _answered(turn: Turn, reply: Reply) -> str:
    if reply.outcome in ("asked", "kept") and not turn.is_note:
        return reply.outcome
    for wanted in turn.wants["says"]:
        texts = wanted.split('"')[1::2]
        if not any(stands_in(text, reply.text) for text in texts):
            return "wrong"
    return "right"


def main() -> None:
    """Play the seasons, count, write, print."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    asked.add_argument("--show", action="store_true", help="print what was not right")
    asked.add_argument("--all", action="store_true", help="print every turn")
    asked.add_argument("--only", default="", metavar="NAME", help="seasons whose name has this")
    chosen = asked.parse_args()
    began = time.monotonic()
    grammar = the_grammar()
    reader = SecondReader(grammar.words, lambda: shipped().cards)
    understander = Interpreter(grammar, None, is_english, reader, come_along)
    tally: Tally = defaultdict(Counter)
    for path in sorted(SEASONS.rglob("*.txt")):
        if chosen.only not in path.as_posix():
            continue
        group = "held out" if path.parent.name == "held_out" else "mended by"
        with Book.in_memory_copy() as book:
            season = Season(path, understander, book)
            for turn in turns(path):
                found, told = season.come_of(turn)
                for sort, outcome in found.items() if turn.counts else ():
                    for name in (group, path.stem):
                        tally[f"{name}: {sort}"].update({"of": 1, outcome: 1})
                is_bad = turn.counts and set(found.values()) != {"right"}
                if chosen.all or (chosen.show and is_bad):
                    print(f"{turn.where} {turn.words!r} {found}\n    " + "\n    ".join(told))
    if not chosen.only:
        _write(tally, time.monotonic() - began)
    tell(tally)


def _write(tally: Tally, spent_s: float) -> None:
    told = {
        **origin("benchmarks.families"),
        "seconds": round(spent_s),
        "found": {
            name: {"of": counts["of"], **shares(counts)} for name, counts in sorted(tally.items())
        },
    }
    WRITTEN.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def tell(tally: Tally) -> None:
    """Print the counts as a table, with 95 % intervals."""
    print("| lines | of | right | asked right | asked | kept | wrong | right, per cent (95 %) |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for name, counts in sorted(tally.items()):
        low, high = (100 * one for one in interval(counts["right"], counts["of"]))
        each = " | ".join(
            str(counts[one]) for one in ("right", "asked right", "asked", "kept", "wrong")
        )
        share = f"{100 * counts['right'] / counts['of']:.1f} ({low:.1f} to {high:.1f})"
        print(f"| {name} | {counts['of']} | {each} | {share} |")


if __name__ == "__main__":
    main()
