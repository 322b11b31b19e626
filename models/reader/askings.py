"""The vectors of the handbook's askings: ``python -m models.reader.askings FOLDER``.

The net lies in FOLDER; they are written there as ``askings.npz``,
8 bits a number, so that nobody waits for them.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from fieldvoice.grammar import load_grammar
from fieldvoice.handbook.loader import handbook_folder, load
from fieldvoice.nlu.card_finder import digest, in_bytes
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.reader_net import ReaderNet


def main(folder: Path) -> None:
    """Write the vectors."""
    net, vocabulary = ReaderNet(folder), load_grammar().words
    digests, vectors = [], []
    for card in load(handbook_folder()).cards:
        for asking in card.asked:
            words = words_of(asking, vocabulary, breaks=True) or (asking,)
            digests.append(int(digest(asking), 16))
            vectors.append(in_bytes(net.guess(words).vector))
    np.savez_compressed(
        folder / "askings.npz", digests=np.array(digests, np.uint64), vectors=np.array(vectors)
    )
    print(len(digests), "askings")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
