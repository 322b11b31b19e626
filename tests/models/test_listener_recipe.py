"""How the small listener is taught, in little: lessons, tokens kept, two steps, networks written.

What is taught here is worth nothing; the tests show that the way from texts to networks holds.
"""

from __future__ import annotations

import json
from argparse import Namespace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from fieldvoice.asr.listener_net import ListenerNet, mel_bands
from fieldvoice.asr.tokens import NO_TIMES, START, Tokens
from fieldvoice.cli.recognisers import LISTENER

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

RATE = 16_000
TOKENS = LISTENER / "tokens.txt"
TEXTS = "grammar\ttree nine half full\nplain\tthe old dog slept\nnumbers\ttwo four nine\n"


@pytest.fixture
def texts(tmp_path: Path) -> Path:
    """Return lines of every kind that a lesson may be of."""
    lessons = pytest.importorskip("models.listener.lessons", reason="scipy is not installed")
    rows = TEXTS.splitlines()
    rows += [f"{kind}\tcheck tree two" for kind in lessons.KINDS if kind not in TEXTS]
    path = tmp_path / "texts.tsv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def speech(tmp_path: Path, texts: Path) -> Path:
    """Return a folder of sounds as long as speech, one for each text."""
    folder = tmp_path / "speech"
    folder.mkdir()
    count = len(texts.read_text(encoding="utf-8").splitlines())
    chance = np.random.default_rng(1)
    sounds = [
        np.round(4000 * np.sin(np.arange(RATE) * chance.uniform(0.05, 0.4))).astype(np.int16)
        for _ in range(count)
    ]
    ends = np.cumsum([len(sound) for sound in sounds])
    np.savez(
        folder / "hibari-0.npz", sound=np.concatenate(sounds), ends=ends, lines=np.arange(count)
    )
    return folder


def test_a_lesson_is_a_sound_the_same_without_noise_and_its_words(
    texts: Path, speech: Path
) -> None:
    from models.listener.lessons import KINDS, LONGEST_S, Speech

    said = {line.split("\t")[1] for line in texts.read_text(encoding="utf-8").splitlines()}
    all_of = Speech(texts, speech)
    differing = 0
    for number in range(12):
        heard, clean, text, kind = all_of.lesson(np.random.default_rng(number))
        again = all_of.lesson(np.random.default_rng(number))
        assert np.array_equal(heard, again[0])
        assert len(heard) == len(clean) <= LONGEST_S * RATE
        assert kind in KINDS
        assert any(str(text).startswith(one) for one in said)
        differing += not np.array_equal(heard, clean)
    assert differing > 4


def test_of_a_vocabulary_the_common_words_and_what_they_are_made_of_stay(tmp_path: Path) -> None:
    published = pytest.importorskip("models.listener.published")
    vocabulary = ["t", "a", "p", "Ġ", "Z", "ta", "tap", "Ġtap", "Ztap", "Ġbucket"]
    numbers = {token: number for number, token in enumerate(vocabulary)}
    numbers["Ġbucket"] = published.COMMON + 1
    numbers["Ztap"] = published.COMMON + 2
    merges = ["t a", "ta p", "Ġ tap", "Z tap"]
    model = {"model": {"vocab": numbers, "merges": merges}}
    (tmp_path / "tokenizer.json").write_text(json.dumps(model), encoding="utf-8")
    tokens, kept = published.kept_tokens(tmp_path, ["bucket"])
    assert tokens == ["t", "a", "p", "Ġ", "Z", "ta", "tap", "Ġtap", "Ġbucket"]
    assert kept[-1] == published.COMMON + 1


def random_weights() -> dict[str, NDArray[np.float32]]:
    """Return weights of the listener's form, by name, that hear nothing."""
    chance = np.random.default_rng(7)
    width, wide = 384, 1536
    found: dict[str, NDArray[np.float32]] = {}

    def matrix(name: str, *shape: int) -> None:
        found[f"{name}/weight"] = chance.normal(0, 0.05, shape).astype(np.float32)
        found[f"{name}/bias"] = np.zeros(shape[0], np.float32)

    def norm(name: str) -> None:
        found[f"{name}/gamma"] = np.ones(width, np.float32)
        found[f"{name}/beta"] = np.zeros(width, np.float32)

    matrix("encoder/conv1", width, 80, 3)
    matrix("encoder/conv2", width, width, 3)
    for side in ("encoder", "decoder"):
        norm(f"{side}/layer_norm")
        for layer in range(4):
            name = f"{side}/layer_{layer}"
            for part in ("self_attention", "ffn"):
                norm(f"{name}/{part}/layer_norm")
            matrix(f"{name}/self_attention/linear_0", 3 * width, width)
            matrix(f"{name}/self_attention/linear_1", width, width)
            matrix(f"{name}/ffn/linear_0", wide, width)
            matrix(f"{name}/ffn/linear_1", width, wide)
            if side == "decoder":
                norm(f"{name}/attention/layer_norm")
                matrix(f"{name}/attention/linear_0", width, width)
                matrix(f"{name}/attention/linear_1", 2 * width, width)
                matrix(f"{name}/attention/linear_2", width, width)
    count = Tokens(TOKENS).special(NO_TIMES) + 1
    for name, rows in (
        ("decoder/embeddings/weight", count),
        ("decoder/position_encodings/encodings", 448),
    ):
        found[name] = chance.normal(0, 0.05, (rows, width)).astype(np.float32)
    return found


@pytest.fixture
def noise() -> NDArray[np.int16]:
    return np.random.default_rng(3).normal(0, 2000, 3 * RATE).astype(np.int16)


def test_networks_are_written_that_write_token_by_token_as_in_one_go(
    tmp_path: Path, noise: NDArray[np.int16]
) -> None:
    graph = pytest.importorskip("models.listener.graph", reason="onnx is not installed")
    graph.write_graphs(tmp_path, random_weights())
    net = ListenerNet(tmp_path)
    sound, told = net.hear(noise), [5, 17, 300, 42]
    whole, _ = net.write([told], net.nothing_before(1), sound)
    past = net.nothing_before(1)
    for at, token in enumerate(told):
        scores, past = net.write([[token]], past, sound)
        assert np.abs(scores[0, 0] - whole[0, at]).max() < 0.05 * whole.std()


@pytest.mark.long
def test_two_steps_of_teaching_and_the_networks_of_what_was_taught(
    tmp_path: Path, texts: Path, speech: Path, noise: NDArray[np.int16]
) -> None:
    """The weights move and stay finite; the 8-bit networks score as those in torch do."""
    torch = pytest.importorskip("torch", reason="torch, to teach nets with, is not installed")
    graph = pytest.importorskip("models.listener.graph", reason="onnx is not installed")
    from models.listener import lessons
    from models.listener.net import Net
    from models.listener.train import FROZEN, teach

    weights = random_weights()
    start = tmp_path / "start.npz"
    np.savez(start, **weights)  # type: ignore[arg-type]
    folder = tmp_path / "lessons"
    folder.mkdir()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lessons, "SHARD", 8)
        lessons.write_shard(texts, speech, folder, 0)
    chosen: dict[str, Any] = {
        "start": start, "tokens": TOKENS, "texts": texts, "lessons": folder, "seed": 1,
        "steps": 2, "batch": 4, "workers": 0, "minutes": 5.0,
        "encoder": 1e-4, "decoder": 1e-4, "hold": 1.0,
    }  # fmt: skip
    taught = teach(Namespace(**chosen))
    assert taught.keys() == weights.keys() - set(FROZEN)
    assert all(np.isfinite(one).all() for one in taught.values())
    assert any(not np.array_equal(one, weights[name]) for name, one in taught.items())

    both = {**weights, **taught}
    graph.write_graphs(tmp_path, both)
    written = ListenerNet(tmp_path)
    special = Tokens(TOKENS).special
    told = [special(START), special(NO_TIMES), 5, 17]
    scores, _ = written.write([told], written.nothing_before(1), written.hear(noise))
    net = Net({name: torch.from_numpy(one) for name, one in both.items()})
    with torch.no_grad():
        sound = net.hear(torch.from_numpy(mel_bands(noise))[None])
        by_torch = net.write(torch.tensor([told]), sound).numpy()
    assert np.corrcoef(scores.ravel(), by_torch.ravel())[0, 1] > 0.99
