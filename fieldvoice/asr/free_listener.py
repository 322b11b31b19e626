"""What a listener is that hears any words: it writes them, and tells how likely given ones are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.asr.audio import Samples
    from fieldvoice.grammar.ahead import Beginning
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.transcript import Word

#: The longest piece of sound that such a listener takes, in seconds.
LONGEST_S = 30.0


@dataclass(frozen=True, slots=True)
class Written:
    """What a listener wrote: the text, its tokens, and their log likelihood together."""

    text: str
    tokens: tuple[int, ...]
    log_likelihood: float

    @property
    def per_token(self) -> float:
        """The mean log likelihood of a token, the end among them."""
        return self.log_likelihood / (len(self.tokens) + 1)


class FreeListener(Protocol):
    """Hears any words, expecting those of a grammar. Its sounds are its own affair."""

    @property
    def name(self) -> str:
        """What the book calls it."""

    @property
    def weight(self) -> float:
        """What one unit of its natural-log likelihood is worth in the first listener's scores."""

    def learn(self, names: EntityNames) -> None:
        """Expect the given names too, these and no others, from now on."""

    def listen(self, samples: Samples) -> Any:
        """Return ``samples`` (16 kHz mono, at most ``LONGEST_S``) as it takes them in.

        Raises:
            RecogniserError: it cannot be used.
        """

    def write(self, sound: Any, most: int = 1) -> list[Written]:
        """Return up to ``most`` different texts for a sound, the likeliest first; none if none."""

    def write_held(self, sound: Any, beginning: Beginning, most: int) -> list[str]:
        """Return up to ``most`` sentences of a grammar for a sound, the likeliest first.

        ``beginning`` is where all of them begin. Without any, none was found.
        """

    def log_likelihoods(self, sound: Any, texts: Sequence[str]) -> list[float]:
        """Return the natural-log likelihood of each of ``texts`` and no more being said."""

    def words(self, sound: Any, text: str, seconds: float) -> tuple[Word, ...]:
        """Return the words of ``text`` with their places in a sound of ``seconds``."""
