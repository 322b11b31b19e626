"""Which books this program writes, and how a book's file is known."""

from __future__ import annotations

#: The schema this program writes. It equals the number of migrations in ``schema``.
SCHEMA_VERSION = 7
#: Marks an SQLite file as a season book ("fvbk" in ASCII).
APPLICATION_ID = 0x6676626B
