"""Every error that fieldvoice raises on purpose, each with one plain line for its user."""

from __future__ import annotations


class FieldvoiceError(Exception):
    """Something the user can understand and act on; its text is one plain line."""


class GrammarError(FieldvoiceError):
    """A grammar file breaks the rules of JSGF or of this house; shows the place below."""


class MissingPronunciationError(GrammarError):
    """Words in the grammar that the recogniser cannot hear, named in the text."""


class UnreadableAudioError(FieldvoiceError):
    """A recording that cannot be opened, decoded or is empty."""


class RecogniserError(FieldvoiceError):
    """A recogniser or its model cannot be used."""


class BookError(FieldvoiceError):
    """The season book cannot be opened, read or written."""


class VoiceError(FieldvoiceError):
    """No voice could turn the reply into sound."""


class RangeError(FieldvoiceError):
    """A value outside the range in which a rule holds; the text says the range."""


class PhoneError(FieldvoiceError):
    """Phones cannot be served: no network, a certificate or a list that cannot be used."""


class HandbookError(FieldvoiceError):
    """The handbook of cards cannot be found or read."""
