"""Averages taught weights with the published ones, and measures each mean on people and the trade.

    python -m models.listener.choose START.npz TOKENS.txt MEASURE OUT TAUGHT.npz… [--shares 0.3,0.5]

``MEASURE`` holds 16 kHz recordings, ``rows.json`` (a list of part, file, words, speaker; the parts
are those of ``PARTS``), ``noise_*.flac`` and ``prompts.json`` (a prompt for each part). The sound
is decoded greedily: it is the weights that are compared here, not the whole of hearing. Each mean
is written to ``OUT`` as half floats.
"""

from __future__ import annotations

import argparse
import json
import zlib
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile
import torch

from fieldvoice.asr.floor import active_power
from fieldvoice.asr.listener_net import FILTERS
from fieldvoice.asr.tokens import END, NO_TIMES, PROMPT, START, Tokens
from models.listener.net import Net, mel_bands
from models.listener.train import FROZEN, load

if TYPE_CHECKING:
    from collections.abc import Mapping

    from torch import Tensor

SAMPLE_RATE = 16_000
PARTS = ("trade", "digits", "words", "read", "askings")
RATIOS_DB = (None, 10.0, 5.0)
SILENCE_S, SHORTEST_S, PUBLISHED_S = 0.5, 2.0, 15.0
MOST_TOKENS, BATCH = 60, 64


def in_noise(sound: np.ndarray, noises: list[np.ndarray], ratio_db: float, seed: int) -> np.ndarray:
    chance = np.random.default_rng(seed)
    loud = noises[seed % len(noises)]
    long = np.tile(loud, 2 + len(sound) // len(loud))
    at = int(chance.integers(len(long) - len(sound)))
    part = long[at : at + len(sound)]
    gain = np.sqrt(active_power(sound) / 10 ** (ratio_db / 10) / max((part**2).mean(), 1e-12))
    both = sound + gain * part
    return both * min(1.0, 1 / np.abs(both).max())


def recordings(folder: Path) -> dict[tuple[str, float | None], list[tuple[np.ndarray, str]]]:
    """Return the sounds of each part in each condition, with their words."""
    noises = [soundfile.read(path)[0] for path in sorted(folder.glob("noise_*.flac"))]
    found: dict[tuple[str, float | None], list[tuple[np.ndarray, str]]] = {}
    for part, name, said, _ in json.loads((folder / "rows.json").read_text()):
        sound, _ = soundfile.read(folder / name)
        for ratio in RATIOS_DB:
            seed = zlib.crc32(f"{name} {ratio}".encode())
            heard = sound if ratio is None else in_noise(sound, noises, ratio, seed)
            found.setdefault((part, ratio), []).append((heard, said))
    return found


@torch.no_grad()
def heard(
    net: Net, sounds: list[np.ndarray], begin: list[int], end: int, shortest_s: float
) -> list[list[int]]:
    """Return the likeliest tokens, one after the other, for each sound."""
    device = next(iter(net.weights.values())).device
    filters = torch.from_numpy(FILTERS).to(device)
    found: dict[int, list[int]] = {}
    order = sorted(range(len(sounds)), key=lambda one: len(sounds[one]))
    for at in range(0, len(order), BATCH):
        some = order[at : at + BATCH]
        length = max(len(sounds[one]) for one in some) + round(SILENCE_S * SAMPLE_RATE)
        length = max(length + -length % 320, round(shortest_s * SAMPLE_RATE))
        batch = np.zeros((len(some), length), np.float32)
        for row, one in enumerate(some):
            batch[row, : len(sounds[one])] = sounds[one]
        sound = net.hear(mel_bands(torch.from_numpy(batch).to(device), filters))
        told = torch.tensor([begin] * len(some), device=device)
        going = torch.ones(len(some), dtype=torch.bool, device=device)
        for _ in range(MOST_TOKENS):
            following = net.write(told, sound)[:, -1].argmax(-1)
            following = torch.where(going, following, end)
            going = following != end
            told = torch.cat([told, following[:, None]], dim=1)
            if not going.any():
                break
        for row, one in enumerate(some):
            tokens = told[row, len(begin) :].tolist()
            found[one] = tokens[: tokens.index(end)] if end in tokens else tokens
    return [found[one] for one in range(len(sounds))]


def errors(said: list[str], text: list[str]) -> int:
    """Return the least number of words put in, left out or changed."""
    row = list(range(len(text) + 1))
    for i, word in enumerate(said, 1):
        last, row[0] = row[0], i
        for j, other in enumerate(text, 1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (word != other))
    return row[-1]


def measure(
    weights: Mapping[str, Tensor],
    chosen: argparse.Namespace,
    name: str,
    shortest_s: float = SHORTEST_S,
) -> None:
    """Print, for each part in each condition, per cent word for word right and words wrong."""
    tokens, net = Tokens(chosen.tokens), Net(weights)
    prompts = json.loads((chosen.measure / "prompts.json").read_text())
    begin = [tokens.special(START), tokens.special(NO_TIMES)]
    cells = []
    for (part, ratio), clips in recordings_of(chosen.measure).items():
        prompt = tokens.of(prompts[part])
        told = [tokens.special(PROMPT), *prompt, *begin] if prompt else begin
        found = heard(net, [sound for sound, _ in clips], told, tokens.special(END), shortest_s)
        texts = [plain(tokens.text(one)) for one in found]
        right = sum(text == said for text, (_, said) in zip(texts, clips, strict=True))
        wrong = sum(
            errors(said.split(), text.split()) for text, (_, said) in zip(texts, clips, strict=True)
        )
        words = sum(len(said.split()) for _, said in clips)
        cells.append(
            f"{part} {ratio or 'clean'}: {100 * right / len(clips):.1f} ({100 * wrong / words:.1f})"
        )
    print(f"{name}: " + "; ".join(cells), flush=True)


def plain(text: str) -> str:
    kept = "".join(sign if sign.isalnum() or sign in "' " else " " for sign in text.lower())
    return " ".join(kept.split())


_known: dict[Path, dict[tuple[str, float | None], list[tuple[np.ndarray, str]]]] = {}


def recordings_of(folder: Path) -> dict[tuple[str, float | None], list[tuple[np.ndarray, str]]]:
    if folder not in _known:
        _known[folder] = recordings(folder)
    return _known[folder]


def main() -> None:
    parser = argparse.ArgumentParser(description="Average taught weights with the published ones.")
    for name in ("start", "tokens", "measure", "out"):
        parser.add_argument(name, type=Path)
    parser.add_argument("taught", type=Path, nargs="*")
    parser.add_argument("--shares", default="0.8,1.0", help="of the taught weights")
    chosen = parser.parse_args()
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    published = load(chosen.start, device)
    # with a short sound the published ones go on for ever
    measure(published, chosen, "as published", PUBLISHED_S)
    together: dict[str, list[Tensor]] = {}
    for path in chosen.taught:
        taught = load(path, device)
        for name, one in taught.items():
            together.setdefault(name, []).append(one)
        for share in map(float, chosen.shares.split(",")):
            write(published, taught, share, chosen, path.stem)
    if len(chosen.taught) > 1:
        taught = {name: torch.stack(all_).mean(0) for name, all_ in together.items()}
        write(published, taught, 1.0, chosen, "together")


def write(
    published: Mapping[str, Tensor],
    taught: Mapping[str, Tensor],
    share: float,
    chosen: argparse.Namespace,
    name: str,
) -> None:
    """Measure and write the mean of two weights, ``share`` of it taught."""
    mean = {
        of: one if of in FROZEN else one.lerp(taught[of], share) for of, one in published.items()
    }
    measure(mean, chosen, f"{name} {share}")
    halves = {of: one.cpu().numpy().astype(np.float16) for of, one in mean.items()}
    np.savez(chosen.out / f"{name}-{share}.npz", **halves)


if __name__ == "__main__":
    main()
