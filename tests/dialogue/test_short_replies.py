"""No reply is longer than it must be: over 25 words nobody keeps what was said first.

The replies are those of the kept conversations (``golden_replies.jsonl``). A figure is a word, as
one reads it. A caution before work is counted by itself (``tests/rules/test_spoken.py``).
"""

from __future__ import annotations

import json
import re

from fieldvoice.rules.hazards import CAUTIONS
from tests.dialogue.golden import GOLDEN

MOST = 25
#: What may be longer, to how many words, and why.
MAY_BE_LONGER = {
    "boil_plan": (48, "the plan of a day: what, when, by which sap, and what to do first"),
    "boil_report": (35, "a boil in figures: which, when, sap, time, rate, syrup and wood"),
    "boil_time": (30, "a time, what speaks against it, and the pan that it goes by"),
    "least_batch": (27, "an amount, what there is of it, and the pan that it goes by"),
    "help": (27, "whom to call in an emergency comes first"),
    "recall": (52, "each lot of jars that has the sap"),
    "season_summary": (34, "a season in figures"),
    "vessel_temp": (28, "how warm it was, and what to do with sap that is overdue"),
    "why": (52, "the reason and who says so, which was asked for"),
    "store": (26, "a note and the answer to a question in one breath"),
}
REPLIES = [json.loads(line) for line in GOLDEN.read_text(encoding="utf-8").splitlines()]


def kinds(reply: dict[str, list[dict[str, str]]]) -> set[str]:
    return {one[key] for one in reply["meanings"] for key in ("act", "ask", "do") if key in one}


def words(text: str) -> int:
    for caution in CAUTIONS.values():
        text = text.replace(caution.text, "")
    return len(re.findall(r"[^\s–]+", text))


def test_no_reply_is_longer_than_it_must_be() -> None:
    too_long = {
        reply["where"]: reply["reply"]
        for reply in REPLIES
        if words(reply["reply"])
        > max([MOST, *(MAY_BE_LONGER[kind][0] for kind in kinds(reply) & MAY_BE_LONGER.keys())])
    }
    assert too_long == {}


def test_what_may_be_longer_is_needed() -> None:
    """An exception that no reply needs any more is none."""
    long = {kind for reply in REPLIES if words(reply["reply"]) > MOST for kind in kinds(reply)}
    assert long >= MAY_BE_LONGER.keys()
