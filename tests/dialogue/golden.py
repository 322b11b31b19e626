"""The golden replies: what every scripted conversation and the demo season are told today.

``python -m tests.dialogue.golden`` writes ``golden_replies.jsonl`` anew; the change is then
read line by line, for a reply that moved without being meant to is a fault.
"""

from __future__ import annotations

import json
from collections import Counter
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.book import Book
from fieldvoice.cli.played import read_script
from fieldvoice.dialogue import Conversation
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.wordings import come_along
from fieldvoice.transcript import typed
from tests.dialogue.script import as_heard, read, scripts, settings
from tests.nlu.tables import utterances
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.reply import Reply

GOLDEN = Path(__file__).parent / "golden_replies.jsonl"
SEASON = Path(__file__).parents[2] / "demo_sessions" / "season" / "script.txt"

#: So many lines of the season are played, and so many sayings of each question are asked of it.
PLAYED, OF_EACH = 350, 3


def told(where: str, reply: Reply) -> dict[str, Any]:
    """Return what is held fast of one reply: the words, what was stored, and what is said aloud."""
    answer = reply.as_json()
    return {
        "where": where,
        "heard": answer["heard"],
        "outcome": answer["outcome"],
        "meanings": answer["meanings"],
        "reply": answer["reply"],
        "spoken": reply.spoken,
    }


def scripted(understander: Interpreter) -> Iterator[dict[str, Any]]:
    """Yield what comes of each line of the scripts, each script with a book of its own."""
    for path in scripts():
        with Book.in_memory_copy() as book:
            for line in read(path):
                clock = line.clock
                talk = Conversation(book, understander, settings(path), clock=lambda at=clock: at)
                source = "live" if line.hearings else "typed"
                reply = talk.hear(as_heard(line), source=source)
                yield told(f"{path.stem}:{line.where.rpartition(':')[2]}", reply)


def of_a_season(understander: Interpreter) -> Iterator[dict[str, Any]]:
    """Yield the answers to a few sayings of each question, asked of the demo season so far."""
    lines = list(read_script(SEASON))[:PLAYED]
    with Book.in_memory_copy() as book:
        for at, words in lines:
            talk = Conversation(book, understander, clock=lambda at=at: at)
            talk.hear(typed(words))
        later = lines[-1][0] + timedelta(hours=1)
        for number, words in enumerate(_questions()):
            # Far enough apart that nothing is in hand from the question before.
            clock = later + timedelta(minutes=20 * number)
            talk = Conversation(book, understander, clock=lambda at=clock: at)
            yield told(f"season:{words}", talk.hear(typed(words)))


def _questions() -> Iterator[str]:
    """Yield the first sayings of each question in the tables."""
    seen: Counter[str] = Counter()
    for saying in utterances():
        (meaning, *more) = saying.readings[0]
        if meaning.sort == "ask" and not more and seen[meaning.name] < OF_EACH:
            seen[meaning.name] += 1
            yield saying.words


def all_told() -> list[dict[str, Any]]:
    """Return every golden reply, in order."""
    understander = Interpreter(GRAMMAR, wordings=come_along)
    return [*scripted(understander), *of_a_season(understander)]


def main() -> None:
    """Write the golden file anew."""
    lines = [json.dumps(one, ensure_ascii=False, separators=(",", ":")) for one in all_told()]
    GOLDEN.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
