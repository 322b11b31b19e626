"""The acts, asks and commands of the machine interface, as values."""

from fieldvoice.schema.acts import ACTS, Act
from fieldvoice.schema.asks import ASKS, Ask
from fieldvoice.schema.base import TreeId
from fieldvoice.schema.commands import COMMANDS, Command, EntityMention
from fieldvoice.schema.names import Names, plain_name
from fieldvoice.schema.parse import Meaning, meaning_from

__all__ = [
    "ACTS",
    "ASKS",
    "COMMANDS",
    "Act",
    "Ask",
    "Command",
    "EntityMention",
    "Meaning",
    "Names",
    "TreeId",
    "meaning_from",
    "plain_name",
]
