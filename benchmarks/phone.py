"""Phones against the house: is each note taken once, how many are borne, what does a flood do.

    python -m benchmarks.phone once [--sends 10000] [--seed 23]
    python -m benchmarks.phone malformed [--requests 20000]
    python -m benchmarks.phone load [--phones 50]
    python -m benchmarks.phone latency FOLDER [--most 20]

``once`` runs the server (network, inbox, conversation and book are the real ones, the ear is told
its words) in a process of its own and kills it now and then. Eight phones send notes in their
order as the page does, each until it has a receipt; now and then a connection is dropped before the
answer or in the middle of the note, a note is sent again, or twice at once. Then the book is asked:
how many are lost, doubled, out of order.

``malformed`` sends heads and bodies of chance, and notes that are none, by a phone and by nobody.
``load`` lets so many phones send three notes each at once, and tells how long they wait;
``latency`` how long the real ear takes for recordings of ten seconds, one after the other.
"""

from __future__ import annotations

import argparse
import asyncio
import functools
import http.client
import json
import os
import secrets
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldvoice.asr import SAMPLE_RATE, read_audio
from fieldvoice.phone.app import Limits
from fieldvoice.phone.authority import open_authority
from fieldvoice.phone.limits import Rate
from fieldvoice.phone.pairing import Phones
from tests.asr.conftest import write_audio
from tests.phone.served import Served, speech
from tests.phone.test_threats import malformed

if TYPE_CHECKING:
    from collections.abc import Iterator

PHONES = 8
#: How often something goes wrong with one sending.
DROPPED, HALF, REPEATED, AT_ONCE, SPOKEN = 0.08, 0.04, 0.08, 0.05, 0.02
#: Between two kills, in notes taken: on a busy machine the house needs its time to come up.
KILLS = (400, 1_200)
WORDS = [f"tree {number} {rest}" for number in range(1, 25) for rest in ("empty", "two gallons")]


def main() -> None:
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    kinds = parser.add_subparsers(dest="kind", required=True)
    once = kinds.add_parser("once")
    once.add_argument("--sends", type=int, default=10_000)
    once.add_argument("--seed", type=int, default=23)
    bad = kinds.add_parser("malformed")
    bad.add_argument("--requests", type=int, default=20_000)
    load = kinds.add_parser("load")
    load.add_argument("--phones", type=int, default=50)
    slow = kinds.add_parser("latency")
    slow.add_argument("folder", type=Path)
    slow.add_argument("--most", type=int, default=20)
    serving = kinds.add_parser("serve")
    serving.add_argument("folder", type=Path)
    serving.add_argument("port", type=int)
    chosen = parser.parse_args()
    if chosen.kind == "once":
        with tempfile.TemporaryDirectory() as folder:
            came = once_each(Path(folder), chosen.sends, chosen.seed)
        print(came.told())
        sys.exit(0 if came.is_right else 1)
    elif chosen.kind == "malformed":
        many_malformed(chosen.requests)
    elif chosen.kind == "load":
        many_phones(chosen.phones)
    elif chosen.kind == "latency":
        how_late(chosen.folder, chosen.most)
    else:
        _serve(chosen.folder, chosen.port)


# What is no request.


def many_malformed(requests: int) -> None:
    """Send what no page would, by nobody and by a phone, and see who got in and what fell."""
    chance, statuses = Random(29), dict[int, int]()
    with tempfile.TemporaryDirectory() as folder, Served(Path(folder)).running() as served:
        anna = served.phone()
        for place in range(requests):
            status = malformed(served, chance) if place % 4 else _bad_note(anna, chance)
            statuses[status] = statuses.get(status, 0) + 1
        alive = anna.say("tree nine empty")[0] == 200
        by_strangers = served.rows(
            "SELECT count(*) FROM utterances WHERE said_by IS NULL OR said_by <> 'Anna'"
        )[0][0]
        paired = len(served.phones.all())
    told = ", ".join(
        f"{count} times {status or 'cut off'}" for status, count in sorted(statuses.items())
    )
    print(f"{requests} requests: {told}.")
    print(f"The house answers afterwards: {alive}. Notes by anybody unpaired: {by_strangers}. "
          f"Phones paired by it: {paired - 1}.")  # fmt: skip
    sys.exit(0 if alive and not by_strangers and paired == 1 else 1)


def _bad_note(phone: Any, chance: Random) -> int:
    """Send, as a paired phone, bytes of chance as sound, or a note with fields of chance."""
    from urllib.parse import quote

    junk = "".join(chr(chance.randrange(32, 127)) for _ in range(chance.randrange(60)))
    fields = [{}, {"Note_At": junk}, {"Note_Length": junk}, {"Note_Settles": junk},
              {"Phone_Clock": junk}, {"Clock_Choice": junk}]  # fmt: skip
    heads = [
        b"\x1aE\xdf\xa3",
        b"\0\0\0\x18ftypM4A ",
        b"OggS\0\x02",
        b"RIFF\xff\xff\xff\xffWAVE",
        b"",
    ]
    body = chance.choice(heads) + chance.randbytes(chance.randrange(3_000))
    number = None if chance.random() < 0.8 else quote(junk or "x", safe="")
    try:
        return int(phone.send(body, "audio/webm", number, **chance.choice(fields))[0])
    except (OSError, ValueError):
        return 0


# How many phones, and how long they wait.


def many_phones(count: int) -> None:
    """Let ``count`` phones send three notes each at once, with the day live on all of them."""
    # All of them are one address here, and are paired one after the other.
    limits = Limits(codes=Rate(1_000.0, 1_000.0, time.monotonic))
    with (
        tempfile.TemporaryDirectory() as folder,
        Served(Path(folder), limits=limits).running() as served,
    ):
        phones = [served.phone(f"Phone {number}") for number in range(count)]
        looking = [_look(one) for one in phones]
        waits: list[float] = []
        phones[0].say("tree nine two gallons")
        threads = [threading.Thread(target=_three, args=(one, waits)) for one in phones]
        began = time.monotonic()
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        took = time.monotonic() - began
        shown = sum(_sees(one) for one in looking)
        taken = len(served.said()) - 1
    ordered = sorted(waits)
    print(f"{count} phones at once, three notes each: {taken} of {3 * count} in the book in "
          f"{took:.1f} s; a phone waited {ordered[len(ordered) // 2]:.2f} s in the middle, "
          f"{ordered[-1]:.2f} s at most; {shown} of {count} boards showed it. "
          f"Load of the machine: {os.getloadavg()[0]:.0f} on {os.cpu_count()} cores.")  # fmt: skip


def _three(phone: Any, waits: list[float]) -> None:
    for words in ("tree nine two gallons", "tree four empty", "tree six half full"):
        began = time.monotonic()
        while phone.say(words, secrets.token_hex(16))[0] != 200:
            time.sleep(0.1)
        waits.append(time.monotonic() - began)


def _look(phone: Any) -> Any:
    import urllib.request

    asked = urllib.request.Request(
        f"{phone.base}/news", headers={"Authorization": f"Bearer {phone.secret}"}
    )
    return urllib.request.urlopen(asked, context=phone.tls, timeout=60)


def _sees(news: Any) -> bool:
    while line := news.readline():
        if line.startswith(b"data: ") and b"tree six" in line:
            return True
    return False


@dataclass(slots=True)
class Taken:
    """How long one note took: seconds of sound, by the wall and of the processor."""

    sound_s: float
    wall_s: float
    own_s: float
    said: list[str] = field(default_factory=list)


def how_late(folder: Path, most: int) -> None:
    """Take notes of ten seconds, made of recordings in ``folder``, in the house's own process."""
    from fieldvoice.cli.phone import make_house
    from fieldvoice.phone.workers import Worker

    async def all_of_it() -> list[Taken]:
        with tempfile.TemporaryDirectory() as place:
            worker = Worker(functools.partial(make_house, Path(place) / "season.db"))
            await worker.ready()
            return [
                await worker.do(functools.partial(_timed, sound))
                for sound in _tens(folder, Path(place), most)
            ]

    taken = asyncio.run(all_of_it())[1:]  # the first finds nothing in the caches of the system
    for what, times in (
        ("from the note's arrival to the reply, by the clock", [one.wall_s for one in taken]),
        ("the house's own processor time for it", [one.own_s for one in taken]),
    ):
        ordered = sorted(times)
        print(f"{what}: {ordered[len(ordered) // 2]:.2f} s in the middle, "
              f"{ordered[int(0.95 * (len(ordered) - 1))]:.2f} s for 95 of 100")  # fmt: skip
    print(f"{len(taken)} notes of {taken[0].sound_s:.0f} s with "
          f"{sum(len(one.said) for one in taken) / len(taken):.1f} sentences each; load of the "
          f"machine: {os.getloadavg()[0]:.0f} on {os.cpu_count()} cores")  # fmt: skip


def _timed(sound: Path) -> Taken:
    from fieldvoice.phone import workers
    from fieldvoice.phone.note import Note

    note = Note(f"p.{secrets.token_hex(16)}", "p", "Anna", _now(), time.time(), sound=sound)
    wall, own = time.perf_counter(), time.process_time()
    receipt = workers._own.take(note)
    wall, own = time.perf_counter() - wall, time.process_time() - own
    return Taken(10.0, wall, own, [one["reply"] for one in receipt["said"]])


def _tens(folder: Path, place: Path, most: int) -> Iterator[Path]:
    """Yield notes of ten seconds as a browser records them, of the recordings one after another."""
    sounds = [
        np.asarray(read_audio(one).samples) for one in sorted(folder.rglob("*.flac"))[: 6 * most]
    ]
    gap = np.zeros(SAMPLE_RATE // 2, dtype=np.int16)
    whole = np.concatenate([part for sound in sounds for part in (sound, gap)])
    length = 10 * SAMPLE_RATE
    for number in range(min(most + 1, len(whole) // length)):
        samples = np.ascontiguousarray(whole[number * length : (number + 1) * length])
        yield write_audio(place / f"note{number}.webm", samples)


if __name__ == "__main__":
    main()
