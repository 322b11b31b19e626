"""Sentences in people's own words: what a recogniser learns from beside the grammar.

They come from two places, and nothing is written down twice for it: what people were heard to say,
with its numbers taken out (``own_words.txt``, made by ``models/own_words.py`` from the sayings),
and the askings of the handbook's cards.
"""

from __future__ import annotations

import hashlib
import random
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.grammar.jsgf import CLITIC

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.grammar import Grammar
    from fieldvoice.handbook.loader import Handbook

#: A wording a line; ``<volume>`` stands for what ``<spans.volume_span>`` can say.
FILE = Path(__file__).with_suffix(".txt")
#: Trees are a sort of which the rule has another name than the sort.
_RULES = {"tree": "spans.a_tree_span"}


def fingerprint(handbook: Path) -> str:
    """Return a hash of what these sentences are made from; ``handbook`` is the cards' folder."""
    digest = hashlib.sha256(FILE.read_bytes())
    for path in sorted(handbook.glob("*.md")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def told(
    grammar: Grammar, times: int, seed: int = 0, *, with_slots: bool = False
) -> Iterator[tuple[str, ...]]:
    """Yield each wording ``times`` over, every time with other numbers; repeatable by ``seed``.

    ``with_slots`` given names have the words of their own that ``Grammar.sentences`` puts there.
    """
    from fieldvoice.grammar.entity_names import slot_rules
    from fieldvoice.grammar.sentences import Drawing

    rules = {**grammar.rules, **slot_rules()} if with_slots else grammar.sayable_rules
    drawing = Drawing(rules, random.Random(seed))
    for line in FILE.read_text(encoding="utf-8").splitlines():
        for _ in range(times):
            words: list[str] = []
            for token in line.split():
                if token.startswith("<"):
                    sort = token[1:-1]
                    rule = _RULES.get(sort, f"spans.{sort}_span")
                    words += drawing.draw(rule).words
                elif token == CLITIC and words:
                    words[-1] += CLITIC
                else:
                    words.append(token)
            yield tuple(words)


def asked(handbook: Handbook) -> Iterator[tuple[str, ...]]:
    """Yield each asking of the cards once, in words."""
    from fieldvoice.handbook.card import words

    for card in handbook.cards:
        yield from (tuple(words(text)) for text in card.asked)
