"""The acts, asks and commands of the machine interface, as values."""

from fieldvoice.meaning.acts import ACTS, Act
from fieldvoice.meaning.asks import ASKS, Ask
from fieldvoice.meaning.base import TreeId
from fieldvoice.meaning.commands import COMMANDS, Command, Mention
from fieldvoice.meaning.names import Names, plain_name
from fieldvoice.meaning.parse import Meaning, meaning_from

__all__ = [
    "ACTS",
    "ASKS",
    "COMMANDS",
    "Act",
    "Ask",
    "Command",
    "Meaning",
    "Mention",
    "Names",
    "TreeId",
    "meaning_from",
    "plain_name",
]
