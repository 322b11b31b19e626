"""How a word sounds that no dictionary has, by its letters: for the names that people give.

The reading is done by the small network for unknown words inside hibari-tts, the voice's package
(0.65 million parameters, a few milliseconds a word); here its phonemes become ARPAbet. Measured on
words that the CMU Pronouncing Dictionary has, see the tests.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from fieldvoice.errors import RecogniserError

Phones = tuple[str, ...]

# Longer signs first: a vowel and the r that colours it are one phone.
_ARPABET = {
    "əɹ": "ER", "ɜɹ": "ER",
    "A": "EY", "I": "AY", "O": "OW", "W": "AW", "Y": "OY", "a": "AA", "i": "IY", "u": "UW",
    "æ": "AE", "ɑ": "AA", "ɔ": "AO", "ə": "AH", "ɛ": "EH", "ɜ": "ER", "ɪ": "IH", "ʊ": "UH",
    "ʌ": "AH", "ᵊ": "AH", "ᵻ": "IH",
    "b": "B", "d": "D", "f": "F", "ɡ": "G", "h": "HH", "j": "Y", "k": "K", "l": "L", "m": "M",
    "n": "N", "ŋ": "NG", "p": "P", "ɹ": "R", "s": "S", "ʃ": "SH", "t": "T", "T": "T", "θ": "TH",
    "ð": "DH", "v": "V", "w": "W", "z": "Z", "ʒ": "ZH", "ʤ": "JH", "ʧ": "CH",
}  # fmt: skip


def phones_of(word: str) -> Phones:
    """Return the likely phones (ARPAbet without stress) of ``word``, in small letters.

    Raises:
        RecogniserError: nothing can be made of it, or the reading network is missing.
    """
    read = _network()(word) or ""
    plain = read.replace("ˈ", "").replace("ˌ", "")
    phones: list[str] = []
    at = 0
    while at < len(plain):
        width = 2 if plain[at : at + 2] in _ARPABET else 1
        phone = _ARPABET.get(plain[at : at + width])
        # A sign read twice over is one phone, as is the r after a vowel that has it already.
        if phone and phones[-1:] != [phone] and not (phone == "R" and phones[-1:] == ["ER"]):
            phones.append(phone)
        at += width
    if not phones:
        raise RecogniserError(f"no pronunciation can be made for {word!r}")
    return tuple(phones)


@cache
def _network() -> Any:
    try:
        from hibari.g2p.oov import OOV
    except ImportError as error:
        raise RecogniserError("hibari-tts, which reads unknown words, is not installed") from error
    return OOV()
