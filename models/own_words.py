"""What the recogniser hears of people's own words: ``python -m models.own_words``.

Written as ``fieldvoice/asr/own_words.txt``: each paraphrase in ``sayings/`` once, with what holds a
number taken out ("hauled <volume> off of <tree>"), for other numbers to take its place. A sentence
with a word that the recogniser cannot hear is left out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.asr.model_files import english_words
from fieldvoice.asr.own_words import FILE
from fieldvoice.grammar import load_grammar
from fieldvoice.grammar.pronunciations import TRADE_WORDS, words_in
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.chunker import spans
from fieldvoice.nlu.normalise import words_of
from models.reader.corpus import NUMBERS, ROOT
from tests.nlu import tables

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.nlu.chunker import Span

#: Numbers of these sorts are like each other, so that another may stand there.
SORTS = frozenset(
    {"volume", "tree", "trees", "vessel", "number", "temperature", "sugar", "length", "girth",
     "height", "cords", "percent", "clock", "bit"}
)  # fmt: skip


def templates() -> Iterator[str]:
    """Yield each paraphrase with its numbers taken out, in words that can be heard."""
    grammar = load_grammar()
    networks = Interpreter(grammar).networks
    heard = grammar.words | english_words() | words_in(grammar.folder / TRADE_WORDS)
    for path in sorted((ROOT / "sayings/paraphrases").glob("*.txt")):
        for saying in tables.sayings(path):
            words = words_of(saying.words, grammar.words)
            tokens = _masked(words, spans(networks, words))
            if all(token.startswith("<") or token in heard or token == "'s" for token in tokens):
                yield " ".join(tokens)


def _masked(words: Sequence[str], pieces: Sequence[Span]) -> list[str]:
    tokens: list[str] = []
    at = 0
    while at < len(words):
        piece = max((one for one in pieces if _is_masked(one, at, words)), key=len, default=None)
        tokens.append(words[at] if piece is None else f"<{piece.sort}>")
        at += 1 if piece is None else len(piece)
    return tokens


def _is_masked(piece: Span, at: int, words: Sequence[str]) -> bool:
    numbers = NUMBERS.intersection(words[piece.start : piece.end])
    return piece.start == at and piece.sort in SORTS and bool(numbers)


def main() -> None:
    """Write the file and tell how many sentences it has."""
    lines = sorted(set(templates()))
    FILE.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
    print(len(lines), "wordings written")


if __name__ == "__main__":
    main()
