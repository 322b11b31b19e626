"""Large files from the web: resumed where they broke off, checked before they are used."""

from __future__ import annotations

import hashlib
import http.client
import ipaddress
import json
import shutil
import urllib.error
import urllib.request
from typing import IO, TYPE_CHECKING, Any
from urllib.parse import urlsplit

from fieldvoice.errors import FieldvoiceError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    #: Told after each block: bytes there are, and bytes there will be (None: not known).
    Progress = Callable[[int, int | None], None]

_BLOCK = 1 << 18
#: A server that says nothing for this long is gone, in seconds.
_PATIENCE_S = 30.0
#: Only these: a "file:" address would be a path with other rules.
_SCHEMES = ("http://", "https://")
#: The largest models have a few gigabytes.
LARGEST_BYTES = 8 * 2**30


class FetchError(FieldvoiceError):
    """A download failed; what has come so far is kept, to go on from there."""


def is_address(source: str) -> bool:
    """Return whether ``source`` is a web address and not a path."""
    return source.lower().startswith(_SCHEMES)


def fetch(address: str, to: Path, progress: Progress, sha256: str | None = None) -> None:
    """Download ``address`` to ``to``; begun before, it goes on where it stopped.

    What has come stands in a ".part" file beside ``to`` until all of it is there and its SHA-256
    (hexadecimal) is the one given, if one is. Without one nothing is taken that could be exchanged
    on its way: https alone, or this machine. Where the server sends us on, the same holds.

    Raises:
        FetchError: the server cannot be reached, refuses, or breaks off; the sum is another one; it
            is larger than a model can be, or than there is room; the way there is not safe.
    """
    part = to.with_name(f"{to.name}.part")
    mark = to.with_name(f"{to.name}.part.json")
    try:
        rules = _Rules(address, checked=sha256 is not None)
        rules.look(address)
        _download(address, part, mark, progress, urllib.request.build_opener(rules))
    except _TooLargeError as fault:
        part.unlink(missing_ok=True)
        mark.unlink(missing_ok=True)
        raise FetchError(f"{address}: {fault}") from fault
    except urllib.error.HTTPError as fault:
        raise FetchError(f"{address}: the server answers {fault.code} {fault.reason}.") from fault
    except (OSError, http.client.HTTPException, ValueError) as fault:
        reason = getattr(fault, "reason", None) or fault
        reason = getattr(reason, "strerror", None) or reason
        raise FetchError(
            f"{address}: {str(reason) or 'the connection broke'}. Try again; it goes on from here."
        ) from fault
    if sha256 is not None and (found := sha256_of(part)) != sha256.lower():
        part.unlink()
        mark.unlink(missing_ok=True)
        raise FetchError(f"{address}: its SHA-256 is {found}, not the one given; thrown away.")
    part.replace(to)
    mark.unlink(missing_ok=True)


class _TooLargeError(Exception):
    """More comes than may."""


class _Rules(urllib.request.HTTPRedirectHandler):
    """Says which addresses may be gone to: the one asked for, and those a server sends us on to."""

    def __init__(self, asked_for: str, *, checked: bool) -> None:
        self._from_here = _is_this_machine(asked_for)
        self._checked = checked

    def look(self, address: str) -> None:
        """See that an address may be gone to.

        Raises:
            FetchError: it may not.
        """
        if not is_address(address):
            raise FetchError(f"{address}: only https:// addresses are gone to.")
        if _is_this_machine(address) and not self._from_here:
            raise FetchError(f"{address}: the server sends us to this machine; it is not followed.")
        is_safe = address.lower().startswith("https://") or self._checked or self._from_here
        if not is_safe:
            raise FetchError(
                f"{address}: http:// could be changed on its way; use https://, or give --sha256."
            )

    def redirect_request(
        self,
        req: urllib.request.Request,
        fp: IO[bytes],
        code: int,
        msg: str,
        headers: http.client.HTTPMessage,
        newurl: str,
    ) -> urllib.request.Request | None:
        """Return the request to where the server sends us on, if that may be."""
        self.look(newurl)
        return super().redirect_request(req, fp, code, msg, headers, newurl)


def _is_this_machine(address: str) -> bool:
    host = urlsplit(address).hostname or ""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost" or host.endswith(".localhost")


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file, hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _download(
    address: str, part: Path, mark: Path, progress: Progress, opener: urllib.request.OpenerDirector
) -> None:
    request = urllib.request.Request(address, headers={"Accept-Encoding": "identity"})
    begun = _begun(address, part, mark)
    if begun is not None:
        request.add_header("Range", f"bytes={part.stat().st_size}-")
        # Without it, a file changed meanwhile would be joined to the beginning of the old one.
        request.add_header("If-Range", begun)
    try:
        answer = opener.open(request, timeout=_PATIENCE_S)
    except urllib.error.HTTPError as fault:
        if fault.code == http.HTTPStatus.REQUESTED_RANGE_NOT_SATISFIABLE and begun is not None:
            return  # all of it had come already
        raise
    with answer:
        goes_on = answer.status == http.HTTPStatus.PARTIAL_CONTENT
        if goes_on and not _goes_on_at(answer.headers, part.stat().st_size):
            raise ConnectionError("the server goes on in another place")
        _write_mark(address, mark, answer.headers)
        _write(answer, part, progress, goes_on=goes_on)


def _write(answer: Any, part: Path, progress: Progress, *, goes_on: bool) -> None:
    there = part.stat().st_size if goes_on else 0
    length = answer.headers.get("Content-Length")
    whole = there + int(length) if length is not None else None
    most = min(LARGEST_BYTES, there + shutil.disk_usage(part.parent).free)
    _refuse_above(most, whole or there)
    with part.open("ab" if goes_on else "wb") as file:
        while block := answer.read(_BLOCK):
            file.write(block)
            there += len(block)
            _refuse_above(most, there)
            progress(there, whole)
    if whole is not None and there < whole:
        raise ConnectionError(f"it broke off after {there} of {whole} bytes")


def _refuse_above(most: int, size: int) -> None:
    if size > LARGEST_BYTES:
        raise _TooLargeError("it is larger than a model can be; thrown away.")
    if size > most:
        raise _TooLargeError(f"it needs {size / 1e6:.0f} MB; there are {most / 1e6:.0f} MB free.")


def _goes_on_at(headers: Any, place: int) -> bool:
    """Whether what comes is what follows on the part that is there."""
    told = headers.get("Content-Range")
    return told is None or str(told).startswith(f"bytes {place}-")


def _begun(address: str, part: Path, mark: Path) -> str | None:
    """Return what the server called the file of which ``part`` is the beginning, if it is one."""
    if not part.exists() or part.stat().st_size == 0:
        return None
    try:
        noted = json.loads(mark.read_text(encoding="utf-8"))
        return str(noted["version"]) if noted["address"] == address else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _write_mark(address: str, mark: Path, headers: Any) -> None:
    """Note the server's name for this version of the file, without which it cannot be resumed."""
    etag = headers.get("ETag")
    version = etag if etag and not etag.startswith("W/") else headers.get("Last-Modified")
    if version is None:
        mark.unlink(missing_ok=True)
    else:
        mark.write_text(json.dumps({"address": address, "version": version}), encoding="utf-8")
