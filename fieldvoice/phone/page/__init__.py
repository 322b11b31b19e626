"""The page itself: files by the paths that they have, and no others."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.responses import Response

if TYPE_CHECKING:
    from collections.abc import Mapping

_HERE = Path(__file__).parent

#: Paths with the file and its kind. Nothing of what is asked for becomes a part of a path.
FILES: Mapping[str, tuple[str, str]] = {
    "/": ("index.html", "text/html; charset=utf-8"),
    "/moved": ("moved.html", "text/html; charset=utf-8"),
    "/trust": ("trust.html", "text/html; charset=utf-8"),
    "/page.css": ("page.css", "text/css; charset=utf-8"),
    "/page.js": ("page.js", "text/javascript; charset=utf-8"),
    "/moved.js": ("moved.js", "text/javascript; charset=utf-8"),
    "/store.js": ("store.js", "text/javascript; charset=utf-8"),
    "/sending.js": ("sending.js", "text/javascript; charset=utf-8"),
    "/recording.js": ("recording.js", "text/javascript; charset=utf-8"),
    "/showing.js": ("showing.js", "text/javascript; charset=utf-8"),
    "/offline.js": ("offline.js", "text/javascript; charset=utf-8"),
    "/app.webmanifest": ("app.webmanifest", "application/manifest+json"),
    "/icon.svg": ("icon.svg", "image/svg+xml"),
    # The same, for home screens that take no drawing, without round corners: they make their own.
    "/icon.png": ("icon.png", "image/png"),
}

#: What keeps the page on the phone; it is never kept there itself.
_OFFLINE = "/offline.js"
#: Scripts, styles and sound of its own, and no way to anywhere else.
_CLOSED = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "media-src 'self' blob:; manifest-src 'self'; worker-src 'self'; connect-src {connect}; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


def response(path: str) -> Response:
    """Return the file at one of the paths of ``FILES``."""
    # The page that hands over what waits talks to the house at its new address.
    connect = "'self' https:" if path == "/moved" else "'self'"
    content, tag = _read(path)
    return Response(
        content,
        media_type=FILES[path][1],
        headers={
            "content-security-policy": _CLOSED.format(connect=connect),
            "cache-control": "no-cache",
            "etag": tag,
        },
    )


@cache
def _read(path: str) -> tuple[bytes, str]:
    content = (_HERE / FILES[path][0]).read_bytes()
    if path == _OFFLINE:
        # Another version of any file is another version of this one, and browsers take it then.
        everything = b"".join((_HERE / name).read_bytes() for name, _ in FILES.values())
        kept = ", ".join(f"'{one}'" for one in FILES if one != _OFFLINE)
        version = hashlib.sha256(everything).hexdigest()[:12]
        content = content.replace(b"VERSION", version.encode()).replace(b"'FILES'", kept.encode())
    return content, f'"{hashlib.sha256(content).hexdigest()[:16]}"'
