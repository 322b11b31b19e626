"""The listener's networks as onnxruntime runs them, with weights of 8 bits, from plain arrays.

Two graphs share one file of weights: ``encoder.onnx`` hears (mel bands in, the keys and values that
each layer of the decoder attends to out), ``decoder.onnx`` writes (tokens in, scores of the next
tokens out). The sound may be of any length up to 30 s, and costs what it is long.

    python -m models.listener.graph MEAN.npz START.npz fieldvoice/asr/listener

``MEAN.npz`` is one that ``models.listener.choose`` wrote; the list of tokens is in ``START.npz``.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import onnx
from onnx import TensorProto, helper

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from models.listener.published import Weights

WIDTH, HEADS, LAYERS, BANDS = 384, 6, 4, 80
HEAD = WIDTH // HEADS
#: Numbers that share a scale. More are smaller and a little coarser.
BLOCK = 64
#: Heads (layer, head) whose attention tells where a token was said, by the model's makers.
ALIGNED = ((1, 0), (2, 0), (2, 5), (3, 0), (3, 1), (3, 2), (3, 3), (3, 4))
#: The longest text in tokens, the prompt included.
LONGEST = 320
WEIGHTS_FILE = "weights.bin"
_EPSILON = 1e-5
# What a score is put to where a token may not look.
_NEVER = -1e9
_MICROSOFT = "com.microsoft"


class Store:
    """The file of weights: each array once, wherever it is used."""

    def __init__(self) -> None:
        self._places: dict[bytes, tuple[int, int]] = {}
        self._pieces: list[bytes] = []
        self._length = 0

    def tensor(self, name: str, array: NDArray[Any]) -> onnx.TensorProto:
        """Return ``array`` as a tensor that lies in the file."""
        raw = np.ascontiguousarray(array).tobytes()
        if raw not in self._places:
            # mapped into memory, so on pages
            gap = -self._length % 64
            self._pieces += [bytes(gap), raw]
            self._places[raw] = (self._length + gap, len(raw))
            self._length += gap + len(raw)
        at, length = self._places[raw]
        tensor = onnx.TensorProto(
            name=name,
            dims=array.shape,
            data_type=helper.np_dtype_to_tensor_dtype(array.dtype),
            data_location=TensorProto.EXTERNAL,
        )
        for key, value in (("location", WEIGHTS_FILE), ("offset", at), ("length", length)):
            tensor.external_data.add(key=key, value=str(value))
        return tensor

    def write(self, folder: Path) -> None:
        """Write the file into ``folder``."""
        (folder / WEIGHTS_FILE).write_bytes(b"".join(self._pieces))


@dataclass(slots=True)
class Graph:
    """A graph being written: every method adds nodes and returns the name of what comes out."""

    store: Store
    weights: Weights
    nodes: list[onnx.NodeProto] = field(default_factory=list)
    constants: list[onnx.TensorProto] = field(default_factory=list)
    _known: dict[str, str] = field(default_factory=dict)

    def op(self, kind: str, *inputs: str, domain: str = "", **attributes: Any) -> str:
        """Add a node of a kind."""
        name = f"{kind}_{len(self.nodes)}"
        self.nodes.append(helper.make_node(kind, inputs, [name], name, domain=domain, **attributes))
        return name

    def constant(self, array: Any, kind: Any = np.float32) -> str:
        """Add a small array, kept in the graph itself."""
        array = np.asarray(array, kind)
        name = f"constant_{len(self.constants)}"
        self.constants.append(helper.make_tensor(
            name, helper.np_dtype_to_tensor_dtype(array.dtype), array.shape, array.tobytes(), True
        ))  # fmt: skip
        return name

    def numbers(self, *values: int) -> str:
        """Add whole numbers, such as a shape."""
        return self.constant(values, np.int64)

    def stored(self, name: str, array: NDArray[Any]) -> str:
        """Return an array kept in the file of weights, once by each name."""
        if name not in self._known:
            self._known[name] = name
            self.constants.append(self.store.tensor(name, array))
        return name

    def half(self, name: str, array: NDArray[np.float32] | None = None) -> str:
        """Return the array ``name``, stored as half floats."""
        if f"{name} wide" not in self._known:
            array = self.weights[name] if array is None else array
            stored = self.stored(name, array.astype(np.float16))
            self._known[f"{name} wide"] = self.op("Cast", stored, to=TensorProto.FLOAT)
        return self._known[f"{name} wide"]

    def linear(self, x: str, name: str, rows: slice = slice(None)) -> str:
        """Return ``x`` times the matrix ``name`` (some of its rows), and its bias."""
        of = f"{name} {rows.start or 0}"
        y = self.times(x, of, self.weights[f"{name}/weight"][rows])
        return self.op("Add", y, self.half(f"{of} bias", self.weights[f"{name}/bias"][rows]))

    def times(self, x: str, name: str, matrix: NDArray[np.float32]) -> str:
        """Return ``x`` times a matrix stored in 8 bits."""
        bytes_, scales = eight_bits(matrix)
        return self.op(
            "MatMulNBits", x, self.stored(f"{name} bytes", bytes_),
            self.stored(f"{name} scales", scales),
            domain=_MICROSOFT, K=matrix.shape[1], N=matrix.shape[0], bits=8, block_size=BLOCK,
            accuracy_level=4,
        )  # fmt: skip

    def norm(self, x: str, name: str) -> str:
        """Return ``x`` at each place with mean nought and variance one, scaled and moved."""
        gamma, beta = self.half(f"{name}/gamma"), self.half(f"{name}/beta")
        return self.op("LayerNormalization", x, gamma, beta, epsilon=_EPSILON)

    def heads(self, x: str) -> str:
        """Return (batch, time, width) as (batch, head, time, width of a head)."""
        apart = self.op("Reshape", x, self.numbers(0, 0, HEADS, HEAD))
        return self.op("Transpose", apart, perm=[0, 2, 1, 3])

    def joined(self, x: str) -> str:
        """Return what ``heads`` took apart as it was."""
        return self.op(
            "Reshape", self.op("Transpose", x, perm=[0, 2, 1, 3]), self.numbers(0, 0, WIDTH)
        )

    def attention(self, q: str, k: str, v: str, mask: str = "") -> tuple[str, str]:
        """Return what heads ``q`` see of ``v``, and how much they look where."""
        scaled = self.op("Mul", q, self.constant(HEAD**-0.5))
        scores = self.op("MatMul", scaled, self.op("Transpose", k, perm=[0, 1, 3, 2]))
        if mask:
            scores = self.op("Add", scores, mask)
        looks = self.op("Softmax", scores, axis=-1)
        return self.op("MatMul", looks, v), looks

    def feed_forward(self, x: str, name: str) -> str:
        """Return ``x`` and what the two layers after attention add to it."""
        inner = self.linear(self.norm(x, f"{name}/layer_norm"), f"{name}/linear_0")
        inner = self.op("Gelu", inner, domain=_MICROSOFT)
        return self.op("Add", x, self.linear(inner, f"{name}/linear_1"))

    def write(
        self, path: Path, inputs: list[Any], outputs: dict[str, tuple[str, list[Any]]]
    ) -> None:
        """Write the graph; ``outputs`` are names with what they are and their shapes."""
        for name, (made, _) in outputs.items():
            self.nodes.append(helper.make_node("Identity", [made], [name]))
        told = [
            helper.make_tensor_value_info(name, TensorProto.FLOAT, shape)
            for name, (_, shape) in outputs.items()
        ]
        graph = helper.make_graph(self.nodes, path.stem, inputs, told, self.constants)
        versions = [helper.make_opsetid("", 18), helper.make_opsetid(_MICROSOFT, 1)]
        model = helper.make_model(graph, opset_imports=versions, ir_version=9)
        path.write_bytes(model.SerializeToString())


def eight_bits(matrix: NDArray[np.float32]) -> tuple[NDArray[np.uint8], NDArray[np.float32]]:
    """Return a matrix as bytes (rows, blocks, ``BLOCK``), 128 for nought, and their scales."""
    blocks = matrix.reshape(len(matrix), -1, BLOCK)
    scales = np.maximum(np.abs(blocks).max(axis=2), 1e-8) / 127
    rounded = np.rint(blocks / scales[:, :, None]) + 128
    return rounded.astype(np.uint8), scales.astype(np.float32)


def write_graphs(folder: Path, weights: Weights) -> None:
    """Write the two graphs and their weights into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    store = Store()
    _write_encoder(folder / "encoder.onnx", Graph(store, weights))
    _write_decoder(folder / "decoder.onnx", Graph(store, weights))
    store.write(folder)


def _write_encoder(path: Path, graph: Graph) -> None:
    x = "mel"
    for name, stride in (("conv1", 1), ("conv2", 2)):
        weight, bias = (graph.half(f"encoder/{name}/{part}") for part in ("weight", "bias"))
        x = graph.op("Conv", x, weight, bias, pads=[1, 1], strides=[stride])
        x = graph.op("Gelu", x, domain=_MICROSOFT)
    x = graph.op("Transpose", x, perm=[0, 2, 1])
    x = graph.op("Add", x, _places(graph, x))
    for layer in range(LAYERS):
        name = f"encoder/layer_{layer}"
        y = graph.norm(x, f"{name}/self_attention/layer_norm")
        q, k, v = (
            graph.heads(graph.linear(y, f"{name}/self_attention/linear_0", part))
            for part in _thirds()
        )
        seen, _ = graph.attention(q, k, v)
        x = graph.op("Add", x, graph.linear(graph.joined(seen), f"{name}/self_attention/linear_1"))
        x = graph.feed_forward(x, f"{name}/ffn")
    x = graph.norm(x, "encoder/layer_norm")
    sound = []
    for layer in range(LAYERS):
        name = f"decoder/layer_{layer}/attention/linear_1"
        for part in (slice(0, WIDTH), slice(WIDTH, 2 * WIDTH)):
            sound.append(graph.heads(graph.linear(x, name, part)))
    graph.write(
        path,
        [helper.make_tensor_value_info("mel", TensorProto.FLOAT, [1, BANDS, "frames"])],
        {"sound": (graph.op("Concat", *sound, axis=0), [2 * LAYERS, HEADS, "places", HEAD])},
    )


def _places(graph: Graph, x: str) -> str:
    """Return the sines that tell places apart, for as many as ``x`` (1, time, width) has."""
    count = graph.op("Gather", graph.op("Shape", x), graph.constant(1, np.int64))
    zero, one = graph.constant(0, np.int64), graph.constant(1, np.int64)
    places = graph.op("Cast", graph.op("Range", zero, count, one), to=TensorProto.FLOAT)
    half = WIDTH // 2
    rates = np.exp(-np.log(10_000) / (half - 1) * np.arange(half))[None]
    turned = graph.op("Mul", graph.op("Unsqueeze", places, graph.numbers(1)), graph.constant(rates))
    return graph.op("Concat", graph.op("Sin", turned), graph.op("Cos", turned), axis=1)


def _thirds() -> tuple[slice, slice, slice]:
    return slice(0, WIDTH), slice(WIDTH, 2 * WIDTH), slice(2 * WIDTH, 3 * WIDTH)


def _write_decoder(path: Path, graph: Graph) -> None:
    """Takes tokens (batch, time), what came before (keys, values, layer by layer), the sound."""
    embeddings = graph.weights["decoder/embeddings/weight"]
    x = graph.op("Add", _embedded(graph, embeddings), _positions(graph))
    past = _apart(graph, "past")
    sound = _apart(graph, "sound")
    mask = _mask(graph)
    kept, looks = [], {}
    for layer in range(LAYERS):
        name = f"decoder/layer_{layer}"
        y = graph.norm(x, f"{name}/self_attention/layer_norm")
        q, k, v = (
            graph.heads(graph.linear(y, f"{name}/self_attention/linear_0", part))
            for part in _thirds()
        )
        k, v = (
            graph.op("Concat", graph.op("Squeeze", old, graph.numbers(0)), new, axis=2)
            for old, new in zip(past[2 * layer : 2 * layer + 2], (k, v), strict=True)
        )
        kept += [graph.op("Unsqueeze", one, graph.numbers(0)) for one in (k, v)]
        seen, _ = graph.attention(q, k, v, mask)
        x = graph.op("Add", x, graph.linear(graph.joined(seen), f"{name}/self_attention/linear_1"))
        q = graph.heads(
            graph.linear(
                graph.norm(x, f"{name}/attention/layer_norm"), f"{name}/attention/linear_0"
            )
        )
        seen, looks[layer] = graph.attention(q, *sound[2 * layer : 2 * layer + 2])
        x = graph.op("Add", x, graph.linear(graph.joined(seen), f"{name}/attention/linear_2"))
        x = graph.feed_forward(x, f"{name}/ffn")
    x = graph.norm(x, "decoder/layer_norm")
    aligned = [
        graph.op("Gather", looks[layer], graph.constant(head, np.int64), axis=1)
        for layer, head in ALIGNED
    ]
    where = graph.op("Mul", graph.op("Sum", *aligned), graph.constant(1 / len(ALIGNED)))
    graph.write(
        path,
        [
            helper.make_tensor_value_info("tokens", TensorProto.INT64, ["batch", "time"]),
            helper.make_tensor_value_info(
                "past", TensorProto.FLOAT, [2 * LAYERS, "batch", HEADS, "before", HEAD]
            ),
            helper.make_tensor_value_info(
                "sound", TensorProto.FLOAT, [2 * LAYERS, HEADS, "places", HEAD]
            ),
        ],
        {
            "scores": (
                graph.times(x, "embeddings", embeddings),
                ["batch", "time", len(embeddings)],
            ),
            "present": (
                graph.op("Concat", *kept, axis=0),
                [2 * LAYERS, "batch", HEADS, "so_far", HEAD],
            ),
            "where": (where, ["batch", "time", "places"]),
        },
    )


def _embedded(graph: Graph, embeddings: NDArray[np.float32]) -> str:
    """Return the tokens' embeddings, out of the bytes that the scores are made with as well."""
    bytes_, scales = eight_bits(embeddings)
    rows = graph.op("Gather", graph.stored("embeddings bytes", bytes_), "tokens", axis=0)
    sizes = graph.op("Gather", graph.stored("embeddings scales", scales), "tokens", axis=0)
    signed = graph.op("Sub", graph.op("Cast", rows, to=TensorProto.FLOAT), graph.constant(128.0))
    scaled = graph.op("Mul", signed, graph.op("Unsqueeze", sizes, graph.numbers(3)))
    return graph.op("Reshape", scaled, graph.numbers(0, 0, WIDTH))


def _positions(graph: Graph) -> str:
    before, count = _lengths(graph)
    table = graph.half("positions", graph.weights["decoder/position_encodings/encodings"][:LONGEST])
    end = graph.op("Add", before, count)
    return graph.op("Slice", table, before, end, graph.numbers(0))


def _lengths(graph: Graph) -> tuple[str, str]:
    """Return how many tokens came before and how many come now, each as a list of one."""
    before = graph.op("Gather", graph.op("Shape", "past"), graph.numbers(3))
    return before, graph.op("Gather", graph.op("Shape", "tokens"), graph.numbers(1))


def _apart(graph: Graph, name: str) -> list[str]:
    """Return the ``2 * LAYERS`` parts of an input along its first axis."""
    parts = [f"{name}_{number}" for number in range(2 * LAYERS)]
    graph.nodes.append(helper.make_node("Split", [name], parts, axis=0, num_outputs=len(parts)))
    return parts


def _mask(graph: Graph) -> str:
    """Return ``_NEVER`` where a token would look at one after it."""
    before, count = (graph.op("Squeeze", one, graph.numbers(0)) for one in _lengths(graph))
    zero, one = graph.constant(0, np.int64), graph.constant(1, np.int64)
    end = graph.op("Add", before, count)
    rows = graph.op("Unsqueeze", graph.op("Range", before, end, one), graph.numbers(1))
    columns = graph.op("Unsqueeze", graph.op("Range", zero, end, one), graph.numbers(0))
    later = graph.op("Cast", graph.op("Greater", columns, rows), to=TensorProto.FLOAT)
    return graph.op("Mul", later, graph.constant(_NEVER))


def main() -> None:
    parser = argparse.ArgumentParser(description="Write the listener's networks.")
    for name in ("mean", "start", "folder"):
        parser.add_argument(name, type=Path)
    chosen = parser.parse_args()
    with np.load(chosen.mean) as file:
        names = [name for name in file.files if name != "tokens"]
        write_graphs(chosen.folder, {name: file[name].astype(np.float32) for name in names})
    with np.load(chosen.start) as file:
        listed = "\n".join(file["tokens"].tolist()) + "\n"
    (chosen.folder / "tokens.txt").write_text(listed, encoding="utf-8")


if __name__ == "__main__":
    main()
