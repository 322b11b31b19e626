"""Phones against the house: is each note taken once, how many are borne, what does a flood do.

    python -m benchmarks.phone once [--sends 10000] [--rounds 25]
    python -m benchmarks.phone malformed [--requests 20000] [--rounds 25]
    python -m benchmarks.phone load [--phones 50]
    python -m benchmarks.phone latency FOLDER [--most 12]

``once`` and ``malformed`` are told in ``phone_once.py`` and ``phone_malformed.py``, ``latency``,
with the real ear, in ``phone_latency.py``; ``load`` lets so many phones send three notes each at
once, and tells how long they wait. Long runs are made in rounds, each with a new house and a seed
of its own, written to ``benchmarks/results/phone.json`` when it is over: one that was broken off
goes on with the next round, and ``--anew`` or one that is whole begins again.
"""

from __future__ import annotations

import argparse
import json
import os
import secrets
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchmarks.phone_latency import how_late
from benchmarks.phone_malformed import many_malformed
from benchmarks.phone_once import once_each
from benchmarks.reading import origin
from fieldvoice.phone.app import Limits
from fieldvoice.phone.limits import Rate
from tests.phone.served import Served

if TYPE_CHECKING:
    from collections.abc import Callable

WRITTEN = Path(__file__).parent / "results" / "phone.json"
#: What must be nought in every round.
_MUST_BE_NONE = (
    "lost", "doubled", "out of order", "receipts that changed",
    "crashes", "let in unpaired", "notes by anybody unpaired", "phones paired by it",
)  # fmt: skip


def main() -> None:
    """Run what was asked for; leave with 1 where something came of it that must not."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    kinds = parser.add_subparsers(dest="kind", required=True)
    once = kinds.add_parser("once")
    once.add_argument("--sends", dest="of", type=int, default=10_000)
    bad = kinds.add_parser("malformed")
    bad.add_argument("--requests", dest="of", type=int, default=20_000)
    for one in (once, bad):
        one.add_argument("--rounds", type=int, default=25)
        one.add_argument("--anew", action="store_true")
    load = kinds.add_parser("load")
    load.add_argument("--phones", type=int, default=50)
    slow = kinds.add_parser("latency")
    slow.add_argument("folder", type=Path)
    slow.add_argument("--most", type=int, default=12)
    chosen = parser.parse_args()
    if chosen.kind == "load":
        _write("load", many_phones(chosen.phones))
    elif chosen.kind == "latency":
        _write("latency", how_late(chosen.folder, chosen.most))
    else:
        run = once_each if chosen.kind == "once" else many_malformed
        total = in_rounds(chosen.kind, run, chosen.of, chosen.rounds, anew=chosen.anew)
        sys.exit(any(total.get(one) for one in _MUST_BE_NONE))


def in_rounds(
    name: str,
    run: Callable[[Path, int, int], dict[str, float]],
    of: int,
    rounds: int,
    *,
    anew: bool,
) -> dict[str, float]:
    """Do what is left of so many rounds and return their sums.

    ``run`` is given a folder, a count and a seed.
    """
    each = of // rounds
    done = [] if anew else _read().get(name, {}).get("rounds", [])
    done = [one for one in done if one["of"] == each]
    if len(done) >= rounds:
        done = []
    for seed in range(len(done), rounds):
        began = time.monotonic()
        with tempfile.TemporaryDirectory() as folder:
            found = run(Path(folder), each, seed)
        minutes = round((time.monotonic() - began) / 60, 1)
        done.append({"of": each, "commit": origin("")["commit"], "minutes": minutes, **found})
        total = {
            key: round(sum(one.get(key, 0) for one in done), 1)
            for key in dict.fromkeys(key for one in done for key in one)
            if key != "commit"
        }
        _write(name, {"total": total, "rounds": done})
        print(f"{len(done)} of {rounds}: {json.dumps(total)}", flush=True)
    return dict(_read()[name]["total"])


def _read() -> dict[str, Any]:
    return dict(json.loads(WRITTEN.read_text(encoding="utf-8"))) if WRITTEN.exists() else {}


def _write(name: str, found: dict[str, Any]) -> None:
    made = origin("benchmarks.phone")
    # Where somebody keeps recordings is nobody's affair.
    words = ["FOLDER" if "/" in word else word for word in made["command"].split()]
    told = {**_read(), name: {**made, "command": " ".join(words), **found}}
    WRITTEN.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
    if name in ("load", "latency"):
        print(json.dumps(found, indent=1))


def many_phones(count: int) -> dict[str, Any]:
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
    return {
        "phones": count, "notes": 3 * count, "in the book": taken, "boards that showed it": shown,
        "took_s": round(took, 1), "waited_s": {"median": round(ordered[len(ordered) // 2], 2),
        "most": round(ordered[-1], 2)}, "load": round(os.getloadavg()[0], 1),
    }  # fmt: skip


def _three(phone: Any, waits: list[float]) -> None:
    for words in ("tree nine two gallons", "tree four empty", "tree six half full"):
        began = time.monotonic()
        while phone.say(words, secrets.token_hex(16))[0] != 200:
            time.sleep(0.1)
        waits.append(time.monotonic() - began)


def _look(phone: Any) -> Any:
    asked = urllib.request.Request(
        f"{phone.base}/news", headers={"Authorization": f"Bearer {phone.secret}"}
    )
    return urllib.request.urlopen(asked, context=phone.tls, timeout=60)


def _sees(news: Any) -> bool:
    while line := news.readline():
        if line.startswith(b"data: ") and b"tree six" in line:
            return True
    return False


if __name__ == "__main__":
    main()
