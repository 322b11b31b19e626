"""The pieces of every word in the rows, with slips of the finger.

``python -m models.reader.pieces FOLDER`` writes them.

Written apart, so that what teaches needs nothing of fieldvoice.
"""

from __future__ import annotations

import json
import random
import sys
from pathlib import Path

from fieldvoice.nlu.wordpiece import WordPieces
from models.reader.chatter import CHATTER
from models.reader.other_words import all_words

SLIPS = 3


def main(folder: Path) -> None:
    """Write ``pieces.json``: for each word its pieces, then those of a few slips."""
    known = WordPieces((folder / "vocab.txt").read_text(encoding="utf-8").splitlines())
    with (folder / "rows.jsonl").open(encoding="utf-8") as rows:
        words = {word for row in rows for word in json.loads(row)["words"]}
    words |= {word for said in CHATTER for word in said.split()}
    words |= all_words()
    words |= set(
        "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
        "sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty "
        "ninety".split()
    )
    chance = random.Random(3)
    pieces = {
        word: [list(known.ids(word)), *(list(known.ids(slip)) for slip in slips(word, chance))]
        for word in sorted(words)
    }
    (folder / "pieces.json").write_text(json.dumps(pieces), encoding="utf-8")


def slips(word: str, chance: random.Random) -> list[str]:
    """Return a word as the finger slips: a letter lost, doubled or exchanged with the next."""
    if len(word) < 4 or not word.isalpha():
        return []
    made = []
    for _ in range(SLIPS):
        at = chance.randrange(1, len(word) - 1)
        how = chance.randrange(3)
        if how == 0:
            made.append(word[:at] + word[at + 1 :])
        elif how == 1:
            made.append(word[:at] + word[at] + word[at:])
        else:
            made.append(word[:at] + word[at + 1] + word[at] + word[at + 2 :])
    return made


if __name__ == "__main__":
    main(Path(sys.argv[1]))
