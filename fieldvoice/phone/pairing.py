"""Which phones may talk to the house: a code to be paired by, a secret each, and revoking it."""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from fieldvoice.errors import PhoneError
from fieldvoice.harmless import harmless
from fieldvoice.whole_files import one_at_a_time, write_whole

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

#: How long a code may be used, and how many wrong ones are let pass before it is withdrawn.
CODE_LASTS = timedelta(minutes=10)
WRONG_TRIES = 5
#: How long a phone that moves to a new address has for it.
TICKET_LASTS = timedelta(minutes=2)
LONGEST_NAME = 30
#: More phones than any household has.
MOST_PHONES = 100
_SECRET_BYTES = 32


@dataclass(frozen=True, slots=True)
class Phone:
    """One phone. ``secrets`` are hashes; ``name`` is whose it is; times are ISO 8601."""

    id: str
    name: str
    secrets: tuple[str, ...]
    paired_at: str
    revoked_at: str | None = None


class Phones:
    """The phones of a book, in a file that another program may change too (to revoke one)."""

    def __init__(self, place: Path, clock: Callable[[], datetime]) -> None:
        self._place, self._clock = place, clock
        self._read: dict[str, Phone] = {}
        self._state: tuple[int, int] | None = None

    def all(self) -> list[Phone]:
        """Return all phones, revoked ones too, in the order of pairing.

        Raises:
            PhoneError: the file cannot be read.
        """
        state = _state_of(self._place)
        if state != self._state:
            self._read = {one.id: one for one in _phones_in(self._place)}
            self._state = state
        return list(self._read.values())

    def of_secret(self, secret: str) -> Phone | None:
        """Return the phone that has this secret; None for a wrong or revoked one."""
        hashed = _hash(secret)
        found = None
        for phone in self.all():  # all of them, whichever it is: time tells nothing
            for known in phone.secrets:
                if hmac.compare_digest(known, hashed):
                    found = phone
        return found if found is not None and found.revoked_at is None else None

    def pair(self, name: str, phone_id: str | None = None) -> tuple[Phone, str]:
        """Return a new phone and its secret, which is kept nowhere; or one more secret of a phone.

        Raises:
            PhoneError: there are too many; the file cannot be written; that phone is revoked.
        """
        secret = secrets.token_urlsafe(_SECRET_BYTES)
        with self._changing() as phones:
            known = phones.get(phone_id or "")
            if phone_id is not None and (known is None or known.revoked_at is not None):
                raise PhoneError("That phone is not paired any more.")
            if known is None and sum(one.revoked_at is None for one in phones.values()) >= (
                MOST_PHONES
            ):
                raise PhoneError("Too many phones are paired; revoke some: fieldvoice phone --list")
            if known is not None:
                made = replace(known, secrets=(*known.secrets, _hash(secret)))
            else:
                at = self._clock().isoformat(timespec="seconds")
                made = Phone(secrets.token_hex(4), clean_name(name), (_hash(secret),), at)
            phones[made.id] = made
        return made, secret

    def revoke(self, named: str) -> list[Phone]:
        """Shut out the phones of a name, or the one of an id; return them.

        Raises:
            PhoneError: there is none; the file cannot be written.
        """
        at = self._clock().isoformat(timespec="seconds")
        with self._changing() as phones:
            meant = [
                one
                for one in phones.values()
                if one.revoked_at is None and named.casefold() in (one.id, one.name.casefold())
            ]
            if not meant:
                raise PhoneError(f"No phone is called {named!r}. See: fieldvoice phone --list")
            for one in meant:
                phones[one.id] = replace(one, revoked_at=at, secrets=())
        return meant

    def _changing(self) -> _Change:
        return _Change(self)

    def _write(self, phones: dict[str, Phone]) -> None:
        kept = json.dumps([asdict(one) for one in phones.values()], indent=1)
        write_whole(self._place, kept.encode("utf-8"))


class _Change:
    """Lets one program at a time change the file; what it holds afterwards is written."""

    def __init__(self, owner: Phones) -> None:
        self._owner = owner
        self._lock = one_at_a_time(owner._place)

    def __enter__(self) -> dict[str, Phone]:
        self._lock.__enter__()
        self._phones = {one.id: one for one in _phones_in(self._owner._place)}
        return self._phones

    def __exit__(self, kind: type[BaseException] | None, *more: object) -> None:
        try:
            if kind is None:
                self._owner._write(self._phones)
        except OSError as fault:
            raise PhoneError(f"The list of phones cannot be written: {fault.strerror}.") from fault
        finally:
            self._lock.__exit__(None, None, None)


@dataclass(slots=True)
class Door:
    """The code that lets a phone in: six digits, once, for a while, and few wrong ones."""

    clock: Callable[[], datetime]
    code: str | None = None
    _until: datetime | None = None
    _wrong: int = 0
    _tickets: dict[str, tuple[str, datetime]] = field(default_factory=dict)

    def open(self) -> str:
        """Make a new code, in place of any other."""
        self.code = f"{secrets.randbelow(1_000_000):06d}"
        self._until, self._wrong = self.clock() + CODE_LASTS, 0
        return self.code

    @property
    def is_open(self) -> bool:
        """Whether a code holds now."""
        if self._until is not None and self.clock() >= self._until:
            self.shut()
        return self.code is not None

    def shut(self) -> None:
        """Let nobody in until it is opened again."""
        self.code, self._until = None, None

    def admits(self, code: str) -> bool:
        """Whether ``code`` is right; it holds once. Too many wrong ones shut the door."""
        if not self.is_open or self.code is None:
            return False
        if hmac.compare_digest(self.code.encode(), code.encode("utf-8", "replace")):
            self.open()  # another one for the next phone, for as long
            return True
        self._wrong += 1
        if self._wrong >= WRONG_TRIES:
            self.shut()
        return False

    def ticket(self, phone: str) -> str:
        """Return what lets a paired phone in at another address, once and soon."""
        now = self.clock()
        self._tickets = {key: one for key, one in self._tickets.items() if one[1] > now}
        made = secrets.token_urlsafe(_SECRET_BYTES)
        self._tickets[_hash(made)] = (phone, now + TICKET_LASTS)
        return made

    def of_ticket(self, ticket: str) -> str | None:
        """Return the id of the phone that a ticket was for; it holds once."""
        phone, until = self._tickets.pop(_hash(ticket), (None, None))
        return phone if until is not None and self.clock() < until else None


def clean_name(name: str) -> str:
    """Return whose phone it is, as it is shown and kept.

    Raises:
        PhoneError: it has no letter in it.
    """
    plain = " ".join(harmless(name).split())[:LONGEST_NAME].strip()
    if not any(one.isalnum() for one in plain):
        raise PhoneError("Whose phone is it? A name is needed.")
    return plain


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def _state_of(place: Path) -> tuple[int, int] | None:
    try:
        found = place.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_ino


def _phones_in(place: Path) -> Iterator[Phone]:
    try:
        rows = json.loads(place.read_text(encoding="utf-8"))
        return iter([Phone(**{**row, "secrets": tuple(row["secrets"])}) for row in rows])
    except FileNotFoundError:
        return iter(())
    except (OSError, ValueError, TypeError, KeyError) as fault:
        raise PhoneError(f"The list of phones, {place}, cannot be read.") from fault
