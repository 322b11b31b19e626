"""The listener in torch, to be taught: the same networks as in ``graph.py``, by the same names."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import torch
import torch.nn.functional as F  # noqa: N812

if TYPE_CHECKING:
    from collections.abc import Mapping

    from torch import Tensor

WIDTH, HEADS, LAYERS, BANDS = 384, 6, 4, 80
WINDOW, HOP, DEEPEST = 400, 160, 8.0

Parameters = "Mapping[str, Tensor]"


def mel_bands(sound: Tensor, filters: Tensor) -> Tensor:
    """Return the bands (batch, band, frame) of sounds (batch, sample), each by its own loudest."""
    window = torch.hann_window(WINDOW, device=sound.device)
    spectra = torch.stft(sound, WINDOW, HOP, window=window, return_complex=True)[..., :-1]
    logs = torch.log10((filters @ spectra.abs() ** 2).clamp(min=1e-10))
    least = logs.amax(dim=(1, 2), keepdim=True) - DEEPEST
    return (torch.maximum(logs, least) + 4) / 4


def places(count: int, device: torch.device) -> Tensor:
    """Return the sines that tell places apart."""
    half = WIDTH // 2
    rates = torch.exp(-math.log(10_000) / (half - 1) * torch.arange(half, device=device))
    turned = torch.arange(count, device=device)[:, None] * rates
    return torch.cat([turned.sin(), turned.cos()], dim=1)


class Net:
    """The networks with ``weights`` by name."""

    def __init__(self, weights: Mapping[str, Tensor]) -> None:
        self.weights = weights

    def hear(self, mel: Tensor) -> Tensor:
        """Return what the encoder makes of bands: (batch, place, width)."""
        w = self.weights
        x = F.gelu(F.conv1d(mel, w["encoder/conv1/weight"], w["encoder/conv1/bias"], padding=1))
        x = F.gelu(F.conv1d(x, w["encoder/conv2/weight"], w["encoder/conv2/bias"], 2, 1))
        x = x.transpose(1, 2)
        x = x + places(x.shape[1], x.device)
        for layer in range(LAYERS):
            name = f"encoder/layer_{layer}"
            x = x + self._to_itself(x, name, causal=False)
            x = x + self._feed_forward(x, name)
        return self._norm(x, "encoder/layer_norm")

    def write(self, tokens: Tensor, sound: Tensor) -> Tensor:
        """Return the scores after each token: (batch, time, vocabulary)."""
        w = self.weights
        x = F.embedding(tokens, w["decoder/embeddings/weight"])
        x = x + w["decoder/position_encodings/encodings"][: tokens.shape[1]]
        for layer in range(LAYERS):
            name = f"decoder/layer_{layer}"
            x = x + self._to_itself(x, name, causal=True)
            x = x + self._to_sound(x, sound, f"{name}/attention")
            x = x + self._feed_forward(x, name)
        return F.linear(self._norm(x, "decoder/layer_norm"), w["decoder/embeddings/weight"])

    def _linear(self, x: Tensor, name: str) -> Tensor:
        return F.linear(x, self.weights[f"{name}/weight"], self.weights[f"{name}/bias"])

    def _norm(self, x: Tensor, name: str) -> Tensor:
        w = self.weights
        return F.layer_norm(x, (WIDTH,), w[f"{name}/gamma"], w[f"{name}/beta"])

    def _to_itself(self, x: Tensor, layer: str, *, causal: bool) -> Tensor:
        name = f"{layer}/self_attention"
        q, k, v = self._linear(self._norm(x, f"{name}/layer_norm"), f"{name}/linear_0").chunk(3, -1)
        return self._linear(_attention(q, k, v, causal=causal), f"{name}/linear_1")

    def _to_sound(self, x: Tensor, sound: Tensor, name: str) -> Tensor:
        q = self._linear(self._norm(x, f"{name}/layer_norm"), f"{name}/linear_0")
        k, v = self._linear(sound, f"{name}/linear_1").chunk(2, -1)
        return self._linear(_attention(q, k, v, causal=False), f"{name}/linear_2")

    def _feed_forward(self, x: Tensor, layer: str) -> Tensor:
        inner = self._linear(self._norm(x, f"{layer}/ffn/layer_norm"), f"{layer}/ffn/linear_0")
        return self._linear(F.gelu(inner), f"{layer}/ffn/linear_1")


def _attention(q: Tensor, k: Tensor, v: Tensor, *, causal: bool) -> Tensor:
    q, k, v = (x.unflatten(-1, (HEADS, -1)).transpose(1, 2) for x in (q, k, v))
    return F.scaled_dot_product_attention(q, k, v, is_causal=causal).transpose(1, 2).flatten(2)
