"""What is no request: does anything fall over, does anybody get in?

Three of four requests come from nobody: heads and bodies of chance, on a connection each
(``malformed``). The fourth is a paired phone's: bytes of chance as sound or as pieces of it, or a
note with fields of chance. The limits on how much may be asked for are taken away, so that all of
it is looked at and not turned away for being too much.
"""

from __future__ import annotations

import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from random import Random
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from fieldvoice.phone.app import Limits
from fieldvoice.phone.limits import Rate
from tests.phone.served import Served, new_number
from tests.phone.test_threats import OPEN_TO_ALL, malformed

if TYPE_CHECKING:
    from pathlib import Path

#: Connections at once.
_AT_ONCE = 12
#: How kinds of sound begin.
_HEADS = (b"\x1aE\xdf\xa3", b"\0\0\0\x18ftypM4A ", b"OggS\0\x02", b"RIFF\xff\xff\xff\xffWAVE", b"")


def many_malformed(folder: Path, requests: int, seed: int) -> dict[str, float]:
    """Send what no page would, and count what came of it."""
    limits = Limits(*(Rate(1e6, 1e6, time.monotonic) for _ in range(3)))
    with Served(folder, limits=limits).running() as served:
        anna = served.phone()

        def one(place: int) -> tuple[str, int]:
            chance = Random(seed * 1_000_000 + place)
            return _bad_note(anna, chance) if place % 4 == 3 else malformed(served, chance)

        with ThreadPoolExecutor(_AT_ONCE) as pool:
            came = list(pool.map(one, range(requests)))
        is_alive = anna.say("tree nine empty")[0] == 200
        by_others = served.rows(
            "SELECT count(*) FROM utterances WHERE said_by IS NULL OR said_by <> 'Anna'"
        )[0][0]
        paired = len(served.phones.all())
    strangers = [answer for place, answer in enumerate(came) if place % 4 != 3]
    statuses = Counter(f"answered {status or 'by hanging up'}" for _, status in came)
    return {
        "requests": requests,
        "crashes": sum(status == 500 for _, status in came) + (not is_alive),
        "let in unpaired": sum(
            200 <= status < 300 and path not in OPEN_TO_ALL for path, status in strangers
        ),
        "notes by anybody unpaired": by_others,
        "phones paired by it": paired - 1,
        **dict(sorted(statuses.items())),
    }


def _bad_note(phone: Any, chance: Random) -> tuple[str, int]:
    """Send, as a paired phone, bytes of chance as sound, or a note with fields of chance."""
    junk = "".join(chr(chance.randrange(32, 127)) for _ in range(chance.randrange(60)))
    named = ("Note_At", "Note_Length", "Note_Settles", "Phone_Clock", "Clock_Choice")
    fields: list[dict[str, str]] = [{}, *({name: junk} for name in named)]
    body = chance.choice(_HEADS) + chance.randbytes(chance.randrange(3_000))
    number = new_number() if chance.random() < 0.8 else quote(junk or "x", safe="")
    try:
        if chance.random() < 0.3:
            path = f"/notes/{number}/ahead"
            begins = chance.choice(["0", junk.strip() or "0"])
            return path, phone.ask(path, "PUT", body, Piece_From=begins)[0]
        return "/notes", phone.send(body, "audio/webm", number, **chance.choice(fields))[0]
    except (OSError, ValueError):
        return "/notes", 0
