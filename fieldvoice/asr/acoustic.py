"""Acoustic models: what the recogniser compares sound with, and the frames that it compares.

The field model is the bundled one adapted to field speech, and a net beside its Gaussians. The
engine knows nothing of nets: it reads streams of numbers and Gaussians over them. So the net's
evidence for each state goes in as one more stream, where each state of a phone has a Gaussian of
its own that looks at that state's number alone. With a mean m far beyond what the number x can
be, and a variance of m as well, its log density is x less a constant (and less x²/2m, which is
next to nothing): the score of a state in this stream is the net's evidence for it.
"""

from __future__ import annotations

import hashlib
import shutil
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.asr.acoustic_files import (
    gaussian_file,
    read_gaussians,
    read_senone_weights,
    read_senones,
)
from fieldvoice.asr.ctc_net import read_ctc_net
from fieldvoice.asr.front_end import CEPSTRA, bands, cepstra, power_spectra, streams
from fieldvoice.asr.model_files import (
    CTC_NET,
    FIELD_MODEL,
    STATES_NET,
    bundled_model,
    made_whole,
)
from fieldvoice.asr.phone_net import STATES_OF_A_PHONE, read_net

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from fieldvoice.asr.acoustic_files import Array
    from fieldvoice.asr.audio import Samples
    from fieldvoice.asr.ctc_net import Moments
    from fieldvoice.asr.front_end import Frames
    from fieldvoice.asr.model_files import Acoustic
    from fieldvoice.asr.phone_net import PhoneNet

#: How much the evidence of the net of states counts beside that of the three streams of Gaussians,
#: and how much that of the net that hears an utterance to the end.
STATES_WEIGHT, CTC_WEIGHT = 0.3, 0.15

# Raised when the form of the files changes, so that old ones in the cache are not read.
_FORM = 2

_STREAMS = 3
_GAUSSIANS = ("means", "variances", "sendump")
_AS_THEY_ARE = ("mdef", "transition_matrices", "noisedict")

# The mean and the variance of a Gaussian that passes its number on, and the variance of one that
# does not look.
_FAR, _ANYTHING = 1e3, 1e12
# What keeps the Gaussians that stand for no state out: how many standard deviations the first
# number of every frame, 0, is from their means. One of them is always among the best four that the
# engine goes on with; the others, further away, are passed over at once.
_NEXT, _AWAY = 100.0, 200.0

_FEATURES = """\
-feat {streams}
-ceplen {numbers}
-ncep {numbers}
-cmn none
-agc none
-varnorm no
-model ptm
-lowerf 130
-upperf 6800
-nfilt 25
-transform dct
-remove_noise no
"""


@dataclass(frozen=True, slots=True, eq=False)
class AsHeard:
    """An utterance as the engine takes it, (frames, numbers), and what the net heard in it.

    The bundled model has no net: ``moments`` is None.
    """

    frames: Frames
    moments: Moments | None


class AcousticModel:
    """The frames of an acoustic model, and the folder in which the engine finds the rest.

    The folder is made in ``cache`` when it is not there.

    Raises:
        RecogniserError: the bundled model is missing, or the folder cannot be written.
    """

    def __init__(self, acoustic: Acoustic, cache: Path) -> None:
        self._acoustic = acoustic
        self._net = read_net(STATES_NET) if acoustic == "field" else None
        self._ctc_net = read_ctc_net(CTC_NET) if acoustic == "field" else None
        self.folder = cache / f"acoustic-{acoustic}-{self._key()}"
        made_whole(self.folder, self._make)

    @property
    def phones(self) -> tuple[str, ...]:
        """The phones that the labels of ``AsHeard.moments`` stand for, after the blank."""
        return self._ctc_net.phones if self._ctc_net is not None else ()

    def heard(self, samples: Samples) -> AsHeard:
        """Return how ``samples`` (16 kHz mono, one utterance) are heard."""
        power = power_spectra(samples)
        frames = streams(cepstra(power)).reshape(len(power), -1)
        if self._net is None or self._ctc_net is None:
            return AsHeard(frames, None)
        seen = bands(power)
        moments = self._ctc_net.hear(seen)
        evidence = np.zeros((len(power), _width(self._net)), np.float32)
        whole = self._net.against_usual(moments.states_of(len(power)))
        evidence[:, 1 : 1 + self._net.states] = (
            STATES_WEIGHT * self._net.evidence(seen) + CTC_WEIGHT * whole
        )
        return AsHeard(np.concatenate([frames, evidence], axis=1), moments)

    def discard(self) -> None:
        """Delete the folder, so that it is made anew."""
        shutil.rmtree(self.folder, ignore_errors=True)

    @cached_property
    def _sources(self) -> dict[str, Path]:
        folder = FIELD_MODEL if self._acoustic == "field" else bundled_model("en-us")
        return {name: folder / name for name in _GAUSSIANS}

    def _key(self) -> str:
        digest = hashlib.sha256(str(_FORM).encode())
        for path in (*self._sources.values(), *([STATES_NET] if self._net else ())):
            digest.update(path.read_bytes())
        return digest.hexdigest()[:16]

    def _make(self, draft: Path) -> None:
        for part in _AS_THEY_ARE:
            shutil.copyfile(bundled_model("en-us") / part, draft / part)
        self._write_streams(draft)

    def _write_streams(self, draft: Path) -> None:
        raw = {name: path.read_bytes() for name, path in self._sources.items()}
        means, variances = (
            [read_gaussians(raw[name])[:, stream] for stream in range(_STREAMS)]
            for name in ("means", "variances")
        )
        count = means[0].shape[1]
        weights = read_senone_weights(raw["sendump"], _STREAMS, count)
        lengths = [CEPSTRA] * _STREAMS
        if self._net is not None:
            passing, looking = _passing_on(self._net, count)
            means.append(passing)
            variances.append(looking)
            weights = weights.with_stream(_one_each(weights.steps))
            lengths.append(_width(self._net))
        (draft / "means").write_bytes(gaussian_file(means))
        (draft / "variances").write_bytes(gaussian_file(variances))
        (draft / "sendump").write_bytes(weights.raw)
        text = _FEATURES.format(streams=",".join(map(str, lengths)), numbers=sum(lengths))
        (draft / "feat.params").write_text(text, encoding="utf-8")


def _width(net: PhoneNet) -> int:
    """Return the numbers in a frame of the net's stream: a 0, and the states in whole fours.

    The engine looks at the first number that four do not divide before it looks at the others, and
    passes over a Gaussian that is out already.
    """
    return 1 + -(-net.states // 4) * 4


def _passing_on(net: PhoneNet, count: int) -> tuple[Array, Array]:
    """Return means and variances (phone, Gaussian, number) that pass the states' numbers on."""
    phones = net.states // STATES_OF_A_PHONE
    means = np.zeros((phones, count, _width(net)))
    variances = np.full_like(means, _ANYTHING)
    means[:, :, 0], variances[:, :, 0] = _AWAY, 1.0
    means[:, STATES_OF_A_PHONE, 0] = _NEXT
    # all Gaussians have variances of the same product, so that they start alike
    variances[:, :, 1] = _FAR
    for phone in range(phones):
        for state in range(STATES_OF_A_PHONE):
            own = 1 + STATES_OF_A_PHONE * phone + state
            means[phone, state, 0] = 0.0
            variances[phone, state, 1] = _ANYTHING
            means[phone, state, own] = variances[phone, state, own] = _FAR
    return means, variances


def _one_each(like: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return weights (Gaussian, column) by which each senone goes by its state's Gaussian alone."""
    senones = read_senones((bundled_model("en-us") / "mdef").read_bytes())
    weights = np.full(like.shape[1:], like.max(), np.uint8)
    weights[senones.state_of, np.arange(len(senones.state_of))] = 0
    return weights
