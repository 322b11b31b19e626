"""Is each note of a phone taken once, whatever breaks on the way?

The server (network, inbox, conversation and book are the real ones, the ear is told its words) runs
in a process of its own, which is killed now and then. Eight phones send notes in their order as the
page does, each until it has a receipt; now and then a connection is dropped before the answer or in
the middle of the note, a note is sent again, or twice at once. Then the book is asked: how many are
lost, doubled, out of order.
"""

from __future__ import annotations

import http.client
import json
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from contextlib import suppress
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

import numpy as np

from fieldvoice.phone.authority import open_authority
from fieldvoice.phone.pairing import Phones
from tests.asr.conftest import write_audio
from tests.phone.served import Served, speech

PHONES = 8
#: How often something goes wrong with one sending.
DROPPED, HALF, REPEATED, AT_ONCE, SPOKEN = 0.08, 0.04, 0.08, 0.05, 0.1
#: Between two kills, in notes taken: on a busy machine the house needs its time to come up.
KILLS = (100, 300)
WORDS = [f"tree {number} {rest}" for number in range(1, 25) for rest in ("empty", "two gallons")]


def once_each(
    folder: Path, sends: int, seed: int, kills: tuple[int, int] = KILLS
) -> dict[str, float]:
    """Send so many notes through drops, repeats and kills, and count what came of them.

    ``kills`` are the fewest and the most notes taken between two kills.
    """
    house = _Killed(folder)
    chances = [Random(100 * seed + number) for number in range(PHONES)]
    senders = [
        _Sender(house, number, sends // PHONES, chance) for number, chance in enumerate(chances)
    ]
    house.start()
    killing = threading.Thread(target=house.kill_now_and_then, args=(Random(seed), kills))
    threads = [threading.Thread(target=one.send_all) for one in senders]
    for thread in (killing, *threads):
        thread.start()
    for thread in threads:
        thread.join()
    house.over.set()
    killing.join()
    house.stop()
    return {
        "notes": sends // PHONES * PHONES,
        "recordings": sum(one.recordings for one in senders),
        "requests": sum(one.requests for one in senders),
        "kills": house.kills,
        **_counted(Served(folder), senders),
        "receipts that changed": sum(one.changed for one in senders),
    }


def _counted(served: Served, senders: list[_Sender]) -> dict[str, int]:
    rows = served.rows("SELECT name, utterance FROM deliveries ORDER BY utterance")
    found: dict[str, list[int]] = {}
    for name, utterance in rows:
        found.setdefault(".".join(name.split(".")[:2]), []).append(utterance)
    counted = Counter[str]()
    for one in senders:
        places = [found.get(f"{one.phone}.{number}", []) for number in one.numbers]
        counted["lost"] += sum(not place for place in places)
        counted["doubled"] += sum(len(place) > 1 for place in places)
        firsts = [place[0] for place in places if place]
        counted["out of order"] += sum(a > b for a, b in pairwise(firsts))
    return {what: counted[what] for what in ("lost", "doubled", "out of order")}


class _Killed:
    """The house in a process of its own, which is killed and started again."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port = folder, _free_port()
        self.authority, _ = open_authority(folder / "season_phone", _now())
        self.phones = Phones(folder / "season_phone" / "phones.json", _now)
        self.over = threading.Event()
        self.kills = self._taken = 0
        self._counting = threading.Lock()
        self._ran: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        command = [sys.executable, "-m", "benchmarks.phone_once", str(self.folder)]
        self._ran = subprocess.Popen([*command, str(self.port)])
        until = time.monotonic() + 120
        while time.monotonic() < until:
            with suppress(OSError), socket.create_connection(("127.0.0.1", self.port), timeout=1):
                return
            time.sleep(0.05)
        raise RuntimeError("the house did not come up")

    def took_one(self) -> None:
        """Count a note that has its receipt."""
        with self._counting:
            self._taken += 1

    def kill_now_and_then(self, chance: Random, between: tuple[int, int]) -> None:
        after = chance.randint(*between)
        while not self.over.wait(chance.uniform(0.0, 0.1)):
            if self._taken < after:
                continue
            after = self._taken + chance.randint(*between)
            assert self._ran is not None
            self._ran.kill()
            self._ran.wait()
            self.kills += 1
            self.start()

    def stop(self) -> None:
        assert self._ran is not None
        self._ran.terminate()
        self._ran.wait()


class _Sender:
    """A phone that sends its notes in order, each until it has a receipt."""

    def __init__(self, house: _Killed, number: int, notes: int, chance: Random) -> None:
        self._house, self._chance = house, chance
        paired, self.secret = house.phones.pair(f"Phone {number}")
        self.phone = paired.id
        self.numbers = [f"{chance.getrandbits(128):032x}" for _ in range(notes)]
        self.requests = self.changed = self.recordings = 0
        self._tls = ssl.create_default_context(cadata=house.authority.der)
        self._sound = speech(1.5, number)
        self._kept: http.client.HTTPSConnection | None = None

    def send_all(self) -> None:
        for place, number in enumerate(self.numbers):
            body, kind = self._note(place)
            if kind == "audio/webm":
                self.recordings += 1
                self._ahead(number, body)
            receipt = self._until_taken(number, body, kind)
            self._house.took_one()
            if self._chance.random() < REPEATED:
                again = self._until_taken(number, body, kind)
                self.changed += again["said"] != receipt["said"]

    def _note(self, place: int) -> tuple[bytes, str]:
        if self._chance.random() >= SPOKEN:
            return self._chance.choice(WORDS).encode(), "text/plain"
        hiss = np.random.default_rng(place).integers(-3, 4, len(self._sound))
        with tempfile.TemporaryDirectory() as folder:
            samples = (self._sound + hiss).astype(np.int16)
            return write_audio(Path(folder) / "note.webm", samples).read_bytes(), "audio/webm"

    def _until_taken(self, number: str, body: bytes, kind: str) -> dict[str, Any]:
        while True:
            with suppress(OSError, http.client.HTTPException, ValueError):
                status, told = self._try(number, body, kind)
                if status == 200:
                    return told
            self._kept = None
            time.sleep(self._chance.uniform(0.02, 0.3))

    def _try(self, number: str, body: bytes, kind: str) -> tuple[int, dict[str, Any]]:
        self.requests += 1
        fate = self._chance.random()
        if fate < DROPPED + HALF:
            self._dropped(number, body, kind, half=fate >= DROPPED)
        if fate > 1 - AT_ONCE:
            other = threading.Thread(target=self._beside, args=(number, body, kind))
            other.start()
        if self._kept is None:
            self._kept = self._connection()
        self._kept.request("PUT", f"/notes/{number}", body, self._headers(kind))
        answer = self._kept.getresponse()
        return answer.status, json.loads(answer.read())

    def _ahead(self, number: str, body: bytes) -> None:
        """Send some of a recording ahead, as while it is being spoken."""
        size = len(body) // 3
        for begins in range(0, self._chance.randrange(3) * size, size):
            with suppress(OSError, http.client.HTTPException):
                connection = self._connection()
                heads = {**self._headers("audio/webm"), "Piece-From": str(begins)}
                piece = body[begins : begins + size]
                connection.request("PUT", f"/notes/{number}/ahead", piece, heads)
                connection.getresponse().read()
                connection.close()

    def _beside(self, number: str, body: bytes, kind: str) -> None:
        with suppress(OSError, http.client.HTTPException):
            connection = self._connection()
            connection.request("PUT", f"/notes/{number}", body, self._headers(kind))
            connection.getresponse().read()
            connection.close()

    def _dropped(self, number: str, body: bytes, kind: str, *, half: bool) -> None:
        """Send the note, or half of it, and hang up before the answer."""
        connection = self._connection()
        connection.putrequest("PUT", f"/notes/{number}")
        for key, value in self._headers(kind).items():
            connection.putheader(key, value)
        connection.putheader("Content-Length", str(len(body)))
        connection.endheaders(body[: len(body) // 2] if half else body)
        if self._chance.random() < 0.5:
            time.sleep(self._chance.uniform(0, 0.1))
        connection.close()
        raise OSError("dropped")

    def _connection(self) -> http.client.HTTPSConnection:
        return http.client.HTTPSConnection(
            "127.0.0.1", self._house.port, timeout=60, context=self._tls
        )

    def _headers(self, kind: str) -> dict[str, str]:
        now = _now().isoformat()
        secret = f"Bearer {self.secret}"
        return {"Authorization": secret, "Content-Type": kind, "Note-At": now, "Phone-Clock": now}


def _serve(folder: Path, port: int) -> None:
    """Run the house until this process is told to end, or killed."""
    ended = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: ended.set())
    with Served(folder, wanted_port=port).running():
        ended.wait()


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def _now() -> datetime:
    return datetime.now().astimezone()


if __name__ == "__main__":
    _serve(Path(sys.argv[1]), int(sys.argv[2]))
