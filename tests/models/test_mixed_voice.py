"""Phonemes of words that no list has: plurals, possessives, pasts."""

import pytest

from models.mixed_voice import Speller

KNOWN = {
    "a": "ɐ",
    "bucket": "bˈʌkət",
    "barrel": "bˈɛɹəl",
    "branch": "bɹˈænʧ",
    "entry": "ˈɛntɹi",
    "tap": "tˈæp",
    "open": {"DEFAULT": "ˈOpᵊn", "NOUN": None},
    "jar": "ʤˈɑɹ",
    "tip": "tˈɪp",
    "water": "wˈɔɾəɹ",
    "Sunday": "sˈʌndˌA",
    "south": "sˈWθ",
    "millimetre": "mˈɪləmˌiɾəɹ",
    "eye": "ˈI",
}


@pytest.mark.parametrize(
    ("text", "phonemes"),
    [
        ("a bucket", "ɐ bˈʌkət"),
        ("buckets", "bˈʌkəts"),
        ("barrel's barrels", "bˈɛɹəlz bˈɛɹəlz"),
        ("branches", "bɹˈænʧᵻz"),
        ("entries", "ˈɛntɹiz"),
        ("opened tapped jarred tipped", "ˈOpᵊnd tˈæpt ʤˈɑɹd tˈɪpt"),
        ("the water the open", "ðə wˈɔTəɹ ði ˈOpᵊn"),
        ("sunday southwest", "sˈʌndˌA sˈWθwˌɛst"),
        ("millimeters", "mˈɪləmˌiTəɹz"),
    ],
)
def test_words_are_spelt_by_the_list_and_by_their_endings(text: str, phonemes: str) -> None:
    assert Speller("us", KNOWN)(text) == phonemes


def test_british_endings_have_their_own_vowel() -> None:
    assert Speller("gb", KNOWN)("branches") == "bɹˈænʧɪz"


def test_a_word_that_no_list_has_is_named() -> None:
    with pytest.raises(KeyError, match="zwieback"):
        Speller("us", KNOWN)("a zwieback")
