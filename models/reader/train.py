"""Teaches the reader: ``python -m models.reader.train FOLDER [--steps N]``.

FOLDER holds ``rows.jsonl`` (``models.reader.corpus``), ``encoder.npz`` and ``vocab.txt``
(``models.reader.weights``), ``elder.npz`` (``models.reader.elder``) and ``pieces.json``
(``models.reader.pieces``). The larger encoder learns first; the reader learns from the rows and
from what that one makes of them ("Distilling the Knowledge in a Neural Network", Hinton and others,
2015); without ``elder.npz`` from the rows alone. Written there: ``reader.onnx`` (int8) and
``labels.json``; how the rows not learnt from come out is printed.
Twenty minutes on an accelerator; ``--steps 30`` shows on any machine that it runs.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import time
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import torch
from torch import nn
from torch.nn import functional

from models.reader.chatter import CHATTER
from models.reader.elder import widened
from models.reader.other_words import in_other_words

if TYPE_CHECKING:
    from collections.abc import Iterator

PAD, IGNORED, LONGEST = 0, -100, 96
BATCH = 384

#: So many pieces of a row are learnt from: the few that are longer would widen every batch.
WIDEST = 40

#: The net that is kept is a running mean of those of the last thousand steps or so: this much of it
#: stays at each step.
KEPT = 0.998

#: The net is at first the mean of these: of each the seed of its rows, and what share askings have.
RUNS = ((1, 0.16), (2, 0.22), (3, 0.16))

#: From that mean it goes on alone, nearer to the larger one: seed, share of askings, the steps for
#: each of those before, and how fast.
THEN = ((11, 0.18, 0.65, 1.2e-4), (12, 0.18, 0.8, 1.0e-4))

#: How often an asking brings two of a card along that is like its own, and among how many of those
#: the card is drawn: what is nearly the same is learnt to be told apart.
ALIKE, ALIKE_CARDS = 0.5, 4

#: Vectors are as near as their product over this, in the chances of what is nearest.
NEARNESS = 0.05

#: Of the encoders: heads of a layer, and kinds of distance between pieces where those are learnt.
HEADS, APART_KINDS, APART_WEIGHT = 12, 32, "encoder.relative_attention_bias.weight"

#: Each row is read twice with other cells of the net left out; so much counts how far the two
#: kinds told are apart ("R-Drop", Wu and others, 2021).
APART = 1.0

#: How fast the body of a net learns, and how many steps the larger takes for each of the reader's.
PACE, PACE_OF_ELDER, SHARE_OF_ELDER = 1.5e-4, 8e-5, 0.95

#: How much it counts that the reader is as the larger one: in the kinds, the roles of the pieces,
#: and in which askings are near to each other.
AS_ELDER, THEN_AS_ELDER = (2.0, 1.0, 0.5), (3.0, 2.0, 0.7)

#: Of what a batch is made, by source of the row.
SHARES = {
    "grammar": 0.16, "saying": 0.16, "paraphrase": 0.36, "none": 0.13, "card": 0.16,
    "misheard": 0.05,
}  # fmt: skip


def card_of(row: dict) -> str:
    """Return the card that a row asks for; nothing for another row."""
    return next((kind for kind in row["kinds"] if kind.startswith("card=")), "")


class Rows(torch.utils.data.IterableDataset):
    """The rows with their labels as numbers, drawn batch by batch without end."""

    def __init__(self, folder: Path, seed: int, cards: float) -> None:
        super().__init__()
        self._shares = {**SHARES, "card": cards}
        rows = [json.loads(line) for line in (folder / "rows.jsonl").open(encoding="utf-8")]
        self.pieces: dict[str, list[list[int]]] = json.loads((folder / "pieces.json").read_text())
        self.vocab = (folder / "vocab.txt").read_text(encoding="utf-8").splitlines()
        self.unknown = self.vocab.index("[UNK]")
        self.begin, self.end = self.vocab.index("[CLS]"), self.vocab.index("[SEP]")
        self.mask = self.vocab.index("[MASK]")
        learnt = [row for row in rows if row["part"] == "learn"]
        kinds = Counter(one for row in learnt for one in row["kinds"])
        states = Counter(one for row in learnt for one in row["states"])
        roles = Counter(one for row in learnt for one in row["roles"])
        # Free words ("to=my neighbour") are no state of few values.
        self.kinds = len(kinds)
        self.sentence_labels = sorted(kinds) + sorted(one for one, n in states.items() if n >= 5)
        self.roles = ["O", "X", *sorted(r for r, n in roles.items() if r not in "OX?" and n >= 4)]
        self._label = {one: at for at, one in enumerate(self.sentence_labels)}
        self._role = {one: at for at, one in enumerate(self.roles)}
        self.held = [row for row in rows if row["part"] != "learn"]
        self.alike: dict[str, list[str]] = {}
        self._by_source: dict[str, list[dict]] = {}
        self.by_card: dict[str, list[dict]] = {}
        for row in learnt:
            self._by_source.setdefault(row["source"], []).append(row)
            if card_of(row):
                self.by_card.setdefault(card_of(row), []).append(row)
        self._seed, self._random = seed, random.Random(seed)
        self.numbers = [
            "one two three four five six seven eight nine".split(),
            "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen "
            "nineteen".split(),
            "twenty thirty forty fifty sixty seventy eighty ninety".split(),
        ]

    def __iter__(self) -> Iterator[tuple[torch.Tensor, ...]]:
        worker = torch.utils.data.get_worker_info()
        self._random = random.Random(1000 * self._seed + (worker.id if worker else 0))
        while True:
            yield self.batch()

    def batch(self) -> tuple[torch.Tensor, ...]:
        """Return ids, roles, labels and cards of one batch of rows drawn by their shares."""
        sources = [one for one in self._shares if one in self._by_source]
        weights = [self._shares[one] for one in sources]
        picked = self._random.choices(sources, weights, k=BATCH)
        drawn = [self._pair(self._random.choice(self._by_source[one])) for one in picked]
        rows = [self._changed(row) for pair in drawn for row in pair]
        return self.tensors(rows)

    def _pair(self, row: dict) -> list[dict]:
        """Return a row; for an asking also another of its card, and at times two of one like it."""
        card, chance = card_of(row), self._random
        if not card:
            return [row]
        drawn = [row, chance.choice(self.by_card[card])]
        if card in self.alike and chance.random() < ALIKE:
            drawn += chance.choices(self.by_card[chance.choice(self.alike[card])], k=2)
        return drawn

    def tensors(
        self, rows: list[tuple[list[list[int]], list[str], dict]]
    ) -> tuple[torch.Tensor, ...]:
        """Return rows as ids, roles, labels and cards, padded to the longest."""
        laid = [self._laid(pieces, roles) for pieces, roles, _ in rows]
        width = max(len(ids) for ids, _ in laid)
        ids = torch.zeros(len(rows), width, dtype=torch.long)
        roles = torch.full((len(rows), width), IGNORED)
        labels = torch.zeros(len(rows), len(self.sentence_labels))
        for at, ((one, told), (_, _, row)) in enumerate(zip(laid, rows, strict=True)):
            ids[at, : len(one)] = torch.tensor(one)
            roles[at, : len(told)] = torch.tensor(told)
            for label in (*row["kinds"], *row["states"]):
                if label in self._label:
                    labels[at, self._label[label]] = 1.0
        card = torch.tensor([self._label.get(card_of(row), -1) for _, _, row in rows])
        return ids, roles, labels, card

    def plain(self, row: dict) -> tuple[list[list[int]], list[str], dict]:
        """Return a row as it is written."""
        return [self._known(word)[0] for word in row["words"]], row["roles"], row

    def _known(self, word: str) -> list[list[int]]:
        return self.pieces.get(word) or [[self.unknown]]

    def _laid(self, pieces: list[list[int]], roles: list[str]) -> tuple[list[int], list[int]]:
        ids, told = [self.begin], [IGNORED]
        for one, role in zip(pieces, roles, strict=True):
            ids += one
            told += [self._role.get(role, IGNORED)] + [IGNORED] * (len(one) - 1)
        return [*ids[: LONGEST - 1], self.end], [*told[: LONGEST - 1], IGNORED]

    def _changed(self, row: dict) -> tuple[list[list[int]], list[str], dict]:
        """Return a row as another would say it: other numbers, chatter, slips, no commas."""
        chance = self._random
        words, roles = list(row["words"]), list(row["roles"])
        if not card_of(row) and chance.random() < 0.6:
            words = [self._other_number(word) for word in words]
        if row["source"] != "grammar":
            words, roles = in_other_words(words, roles, chance)
        if chance.random() < 0.5:
            kept = [(w, r) for w, r in zip(words, roles, strict=True) if w != ","]
            if kept:
                words, roles = map(list, zip(*kept, strict=True))
        if chance.random() < 0.25:
            at = chance.choice([0, len(words), self._gap(roles)])
            said = chance.choice(CHATTER).split()
            words[at:at], roles[at:at] = said, ["O"] * len(said)
        pieces = [self._known(word)[0] for word in words]
        for at, (word, role) in enumerate(zip(words, roles, strict=True)):
            luck = chance.random()
            if role == "O" and luck < 0.02:
                pieces[at] = [self.mask]
            elif luck > 0.985 and len(self._known(word)) > 1:
                pieces[at] = chance.choice(self._known(word)[1:])
        return pieces, roles, row

    def _gap(self, roles: list[str]) -> int:
        gaps = [at for at in range(1, len(roles)) if "O" in (roles[at - 1], roles[at])]
        return self._random.choice(gaps) if gaps else 0

    def _other_number(self, word: str) -> str:
        for alike in self.numbers:
            if word in alike and self._random.random() < 0.7:
                return self._random.choice(alike)
        return word


class Layer(nn.Module):
    """One layer of the encoder, with the names of the published weights."""

    def __init__(self, size: int, heads: int, inner: int) -> None:
        super().__init__()
        self.heads = heads
        self.query, self.key, self.value = (nn.Linear(size, size) for _ in range(3))
        self.out, self.norm_out = nn.Linear(size, size), nn.LayerNorm(size, eps=1e-12)
        self.inner, self.outer = nn.Linear(size, inner), nn.Linear(inner, size)
        self.norm = nn.LayerNorm(size, eps=1e-12)
        self.drop = nn.Dropout(0.1)

    def forward(self, states: torch.Tensor, shut: torch.Tensor) -> torch.Tensor:
        """Return the states after this layer; ``shut`` is what must not be looked at."""
        batch, width, size = states.shape
        query, key, value = (
            part(states).view(batch, width, self.heads, size // self.heads).transpose(1, 2)
            for part in (self.query, self.key, self.value)
        )
        scores = query @ key.transpose(-1, -2) / math.sqrt(size // self.heads) + shut
        mixed = (scores.softmax(-1) @ value).transpose(1, 2).reshape(batch, width, size)
        states = self.norm_out(states + self.drop(self.out(mixed)))
        return self.norm(states + self.drop(self.outer(functional.gelu(self.inner(states)))))


class Reader(nn.Module):
    """The encoder, which says what the sentence is, what each piece is, and what it is near to.

    It has as many layers, and as wide ones, as the ``weights`` that it begins with.
    """

    def __init__(self, weights: dict[str, np.ndarray], labels: int, roles: int) -> None:
        super().__init__()
        words = weights["embeddings.word_embeddings.weight"]
        size = words.shape[1]
        self.words = nn.Embedding(*words.shape)
        self.places = nn.Embedding(LONGEST, size)
        self.norm = nn.LayerNorm(size, eps=1e-12)
        layers = len({name.split(".")[2] for name in weights if name.startswith("encoder.layer.")})
        self.layers = nn.ModuleList(Layer(size, HEADS, 4 * size) for _ in range(layers))
        self.apart = nn.Embedding(APART_KINDS, HEADS) if APART_WEIGHT in weights else None
        self.sentence = nn.Linear(2 * size, labels)
        self.role = nn.Linear(size, roles)
        self.drop = nn.Dropout(0.1)
        self._load(weights)

    def _load(self, weights: dict[str, np.ndarray]) -> None:
        def put(part: nn.Module, name: str) -> None:
            part.weight.data = torch.tensor(weights[f"{name}.weight"].astype(np.float32))
            if hasattr(part, "bias") and part.bias is not None:
                part.bias.data = torch.tensor(weights[f"{name}.bias"].astype(np.float32))

        self.words.weight.data = torch.tensor(
            weights["embeddings.word_embeddings.weight"].astype(np.float32)
        )
        places = weights["embeddings.position_embeddings.weight"][:LONGEST].astype(np.float32)
        types = weights["embeddings.token_type_embeddings.weight"][0].astype(np.float32)
        self.places.weight.data = torch.tensor(places + types)
        put(self.norm, "embeddings.LayerNorm")
        if self.apart:
            self.apart.weight.data = torch.tensor(weights[APART_WEIGHT].astype(np.float32))
        for at, layer in enumerate(self.layers):
            name = f"encoder.layer.{at}"
            put(layer.query, f"{name}.attention.self.query")
            put(layer.key, f"{name}.attention.self.key")
            put(layer.value, f"{name}.attention.self.value")
            put(layer.out, f"{name}.attention.output.dense")
            put(layer.norm_out, f"{name}.attention.output.LayerNorm")
            put(layer.inner, f"{name}.intermediate.dense")
            put(layer.outer, f"{name}.output.dense")
            put(layer.norm, f"{name}.output.LayerNorm")

    def forward(self, ids: torch.Tensor) -> tuple[torch.Tensor, ...]:
        """Return scores of the sentence, scores of each piece, and the vector."""
        there = ids != PAD
        shut = (~there)[:, None, None, :].to(self.norm.weight.dtype) * -1e4
        places = torch.arange(ids.shape[1], device=ids.device)
        states = self.drop(self.norm(self.words(ids) + self.places(places)))
        if self.apart:
            shut = shut + self.apart(how_far_apart(places)).permute(2, 0, 1)[None]
        for layer in self.layers:
            states = layer(states, shut)
        weight = there.unsqueeze(-1).to(states.dtype)
        mean = (states * weight).sum(1) / weight.sum(1)
        most = (states + (weight - 1) * 1e4).amax(1)
        vector = functional.normalize(mean, dim=-1)
        return (
            self.sentence(self.drop(torch.cat([mean, most], -1))),
            self.role(self.drop(states)),
            vector,
        )


def how_far_apart(places: torch.Tensor) -> torch.Tensor:
    """Return which of the kinds of distance lie between places: (width, width).

    As in T5 and MPNet: half of the kinds for each direction, half of those for single steps, and
    ever wider ones up to 128 for the rest.
    """
    ahead = places[None, :] - places[:, None]
    single = APART_KINDS // 4
    wide = (ahead.abs().clamp(min=1) / single).log() / math.log(128 / single)
    farther = (single + (wide * single).long()).clamp(max=2 * single - 1)
    near = torch.where(ahead.abs() < single, ahead.abs(), farther)
    return near + (ahead > 0) * 2 * single


def taught(
    rows: Rows,
    weights: dict[str, np.ndarray],
    steps: int,
    device: str,
    pace: float = PACE,
    elder: Reader | None = None,
    begun: Reader | None = None,
    as_elders: tuple[float, ...] = AS_ELDER,
) -> Reader:
    """Return the net after ``steps`` batches, by the rows and the ``elder``.

    It begins with the published ``weights``, or goes on from one already ``begun``.
    """
    torch.manual_seed(7)
    net = Reader(weights, len(rows.sentence_labels), len(rows.roles)).to(device)
    if begun is not None:
        net.load_state_dict(begun.state_dict())
    before = Reader(weights, 1, 1).to(device).eval()
    heads = [*net.sentence.parameters(), *net.role.parameters()]
    known = {id(one) for one in heads}
    body = [one for one in net.parameters() if id(one) not in known]
    optimiser = torch.optim.AdamW(
        [{"params": body, "lr": pace}, {"params": heads, "lr": 1e-3}], weight_decay=0.01
    )
    slower = torch.optim.lr_scheduler.LambdaLR(
        optimiser,
        lambda at: min(1.0, at / 200) * max(0.02, 0.5 * (1 + math.cos(math.pi * at / steps))),
    )
    mean = torch.optim.swa_utils.AveragedModel(
        net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(KEPT)
    )
    began = time.monotonic()
    net.train()
    workers = 15 if device == "cuda" else 0
    batches = iter(torch.utils.data.DataLoader(rows, batch_size=None, num_workers=workers))
    for at in range(steps):
        drawn = next(batches)
        ids, roles = (torch.cat([one, one])[:, :WIDEST].to(device) for one in drawn[:2])
        labels, card = (torch.cat([one, one]).to(device) for one in drawn[2:])
        half = len(card) // 2
        with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
            made = Made(*net(ids))
            with torch.no_grad():
                wanted = before(ids[:half])[2].float()
                elders = Made(*elder(ids[:half])) if elder else None
        loss = by_labels(made, roles, labels, rows.kinds)
        first, second = made.part(0, half), made.part(half, None)
        loss = loss + APART * apart(first.kinds(rows.kinds), second.kinds(rows.kinds))
        for side in (first, second):
            loss = loss + (1 - (side.vector * wanted).sum(1)).mean() / 2
            loss = loss + 0.35 * together(side.vector, card[:half])
            if elders:
                like = as_elder(side, elders, rows.kinds, roles[:half], card[:half])
                loss = loss + sum(much * one for much, one in zip(as_elders, like, strict=True)) / 2
        optimiser.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        slower.step()
        mean.update_parameters(net)
        if at % 500 == 0 or at == steps - 1:
            print(at, round(loss.item(), 4), f"{time.monotonic() - began:.0f} s", flush=True)
    return mean.module.eval()


class Made:
    """What a net makes of a batch: scores of the sentence, scores of each piece, and vectors."""

    def __init__(self, sentence: torch.Tensor, role: torch.Tensor, vector: torch.Tensor) -> None:
        self.sentence, self.role, self.vector = sentence.float(), role.float(), vector.float()

    def part(self, start: int, end: int | None) -> Made:
        """Return some of its rows."""
        return Made(self.sentence[start:end], self.role[start:end], self.vector[start:end])

    def kinds(self, count: int) -> torch.Tensor:
        """Return the logarithms of the chances of none (a score of 0) and of each kind."""
        none = torch.zeros_like(self.sentence[:, :1])
        return torch.cat([none, self.sentence[:, :count]], 1).log_softmax(1)


def by_labels(made: Made, roles: torch.Tensor, labels: torch.Tensor, kinds: int) -> torch.Tensor:
    """Return the loss of the labels of sentences and of their pieces."""
    each = functional.binary_cross_entropy_with_logits(made.sentence, labels, reduction="none")
    one = one_of_many(made.sentence[:, :kinds], labels[:, :kinds])
    role = functional.cross_entropy(made.role.flatten(0, 1), roles.flatten(), ignore_index=IGNORED)
    return each.sum(1).mean() + one + 3 * role


def as_elder(
    made: Made, elders: Made, kinds: int, roles: torch.Tensor, card: torch.Tensor
) -> tuple[torch.Tensor, ...]:
    """Return how far a net is from the larger one in the kinds, the roles and what is near."""
    told, wanted = made.kinds(kinds), elders.kinds(kinds)
    pieces = roles != IGNORED
    role, wanted_role = (one.role[pieces].log_softmax(1) for one in (made, elders))
    near, wanted_near = (likeness(one.vector[card >= 0]) for one in (made, elders))
    return (
        (wanted.exp() * (wanted - told)).sum(1).mean(),
        (wanted_role.exp() * (wanted_role - role)).sum(1).mean(),
        (wanted_near.exp() * (wanted_near - near)).sum() / max(len(near), 1),
    )


def likeness(vectors: torch.Tensor) -> torch.Tensor:
    """Return the logarithms of the chances that each vector's nearest is another one."""
    like = vectors @ vectors.T / NEARNESS
    itself = torch.eye(len(like), dtype=torch.bool, device=like.device)
    return like.masked_fill(itself, -1e4).log_softmax(1)


def mean_of(nets: list[Reader]) -> Reader:
    """Return the first net with the mean of the weights of all, which began alike."""
    states = [net.state_dict() for net in nets]
    nets[0].load_state_dict(
        {name: sum(state[name] for state in states) / len(states) for name in states[0]}
    )
    return nets[0]


def one_of_many(scores: torch.Tensor, kinds: torch.Tensor) -> torch.Tensor:
    """Return the loss of choosing the one kind of a sentence, or none at a score of 0."""
    count = kinds.sum(1)
    chosen = torch.where(count > 0, kinds.argmax(1) + 1, 0)
    with_none = torch.cat([torch.zeros_like(scores[:, :1]), scores], 1)
    single = count <= 1
    return functional.cross_entropy(with_none[single], chosen[single])


def apart(one: torch.Tensor, other: torch.Tensor) -> torch.Tensor:
    """Return how far the chances of the kinds are from each other, given by their logarithms."""
    return ((one.exp() - other.exp()) * (one - other)).sum(1).mean() / 2


def together(vectors: torch.Tensor, card: torch.Tensor) -> torch.Tensor:
    """Return the loss of askings of one card standing apart, and those of others near."""
    vectors, card = vectors[card >= 0], card[card >= 0]
    itself = torch.eye(len(card), dtype=torch.bool, device=card.device)
    same = (card[:, None] == card[None, :]) & ~itself
    with_others = same.any(1)
    if not with_others.any():
        return vectors.sum() * 0
    chances = likeness(vectors)
    return -(chances * same).sum(1)[with_others].div(same.sum(1)[with_others]).mean()


@torch.no_grad()
def told(rows: Rows, net: Reader, device: str) -> None:
    """Print how the rows not learnt from come out."""
    right: Counter[str] = Counter()
    of: Counter[str] = Counter()
    for row in rows.held:
        ids, roles, _labels, _ = (one.to(device) for one in rows.tensors([rows.plain(row)]))
        sentence, role, _ = net(ids)
        kinds = [at for at, one in enumerate(rows.sentence_labels) if one in row["kinds"]]
        chances = sentence[0].sigmoid()
        is_kind = range(rows.kinds)
        best = max(is_kind, key=lambda at: chances[at].item())
        key = f"{row['source']} {row['part']}"
        of[key] += 1
        right[key] += (best in kinds) if kinds else bool(chances[is_kind].max() < 0.5)
        known = roles[0] != IGNORED
        of[f"{key} roles"] += 1
        right[f"{key} roles"] += bool((role[0].argmax(-1)[known] == roles[0][known]).all())
    for key in sorted(of):
        print(f"{key:28} {right[key] / of[key]:.3f} of {of[key]}")


@torch.no_grad()
def vectors_of(rows: Rows, some: list[dict], net: Reader, device: str) -> torch.Tensor:
    """Return the net's vectors of rows as they are written."""
    lots = [some[at : at + BATCH] for at in range(0, len(some), BATCH)]
    ids = (rows.tensors([rows.plain(row) for row in lot])[0].to(device) for lot in lots)
    return torch.cat([net(one)[2] for one in ids])


def cards_alike(rows: Rows, net: Reader, device: str) -> dict[str, list[str]]:
    """Return for each card those whose askings are on average nearest to its own."""
    cards = list(rows.by_card)
    means = torch.stack(
        [vectors_of(rows, rows.by_card[card], net, device).mean(0) for card in cards]
    )
    likeness = functional.normalize(means, dim=-1) @ functional.normalize(means, dim=-1).T
    likeness.fill_diagonal_(-1)
    nearest = likeness.topk(min(ALIKE_CARDS, len(cards) - 1)).indices.tolist()
    return {card: [cards[at] for at in near] for card, near in zip(cards, nearest, strict=True)}


@torch.no_grad()
def found(rows: Rows, net: Reader, device: str, name: str) -> None:
    """Print how often the nearest asking is one of the right card."""
    learnt = [row for each in rows.by_card.values() for row in each]
    cards = [card_of(row) for row in learnt]
    held = [row for row in rows.held if card_of(row) in rows.by_card]
    near = vectors_of(rows, held, net, device) @ vectors_of(rows, learnt, net, device).T
    first = third = 0
    for row, likeness in zip(held, near, strict=True):
        best: dict[str, list[float]] = {}
        for card, like in zip(cards, likeness.tolist(), strict=True):
            best.setdefault(card, []).append(like)
        scores = {card: sum(sorted(likes)[-3:]) / 3 for card, likes in best.items()}
        ranked = sorted(scores, key=lambda card: -scores[card])
        first += ranked[0] == card_of(row)
        third += card_of(row) in ranked[:3]
    shares = f"{first / len(held):.3f}, among three {third / len(held):.3f}"
    print(f"nearest asking, {name}: {shares} of {len(held)}")


def exported(net: Reader, rows: Rows, folder: Path) -> None:
    """Write the reader for the network runtime, its weights in 8 bits."""
    from onnxruntime.quantization import QuantType, quantize_dynamic

    whole = folder / "whole.onnx"
    example = torch.tensor([[rows.begin, rows.unknown, rows.end]])
    torch.onnx.export(
        net.cpu(), (example,), str(whole), input_names=["ids"],
        output_names=["sentence", "role", "vector"],
        dynamic_axes={"ids": {0: "batch", 1: "width"}}, dynamo=False,
    )  # fmt: skip
    quantize_dynamic(
        str(whole), str(folder / "reader.onnx"), weight_type=QuantType.QInt8, per_channel=True
    )
    whole.unlink()
    labels = {
        "sentence": rows.sentence_labels, "roles": rows.roles, "pieces": len(rows.vocab),
    }  # fmt: skip
    (folder / "labels.json").write_text(json.dumps(labels, indent=0), encoding="utf-8")


def elder_of(rows: Rows, file: Path, steps: int, device: str) -> Reader | None:
    """Return the larger encoder in ``file``, taught; nothing where there is none."""
    if not file.exists():
        return None
    with np.load(file) as kept:
        weights = widened(kept)
    net = taught(rows, weights, round(steps * SHARE_OF_ELDER), device, PACE_OF_ELDER)
    found(rows, net, device, "the elder")
    return net


def main() -> None:
    """Teach, tell how it went, write."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", type=Path)
    asked.add_argument("--steps", type=int, default=3200)
    given = asked.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    lots = [Rows(given.folder, seed, cards) for seed, cards in RUNS]
    rows = lots[0]
    print(len(rows.sentence_labels), "labels,", len(rows.roles), "roles")
    with np.load(given.folder / "encoder.npz") as weights:
        known = dict(weights)
    published = Reader(known, 1, 1).to(device).eval()
    found(rows, published, device, "as published")
    alike = cards_alike(rows, published, device)
    for lot in lots:
        lot.alike = alike
    elder = elder_of(lots[0], given.folder / "elder.npz", given.steps, device)
    net = mean_of([taught(one, known, given.steps, device, elder=elder) for one in lots])
    for seed, cards, share, pace in THEN if elder else ():
        further, steps = Rows(given.folder, seed, cards), round(given.steps * share)
        further.alike = alike
        net = taught(further, known, steps, device, pace, elder, net, THEN_AS_ELDER)
    told(rows, net, device)
    found(rows, net, device, "taught")
    exported(net, rows, given.folder)


if __name__ == "__main__":
    main()
