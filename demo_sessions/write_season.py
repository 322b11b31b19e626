"""Writes ``season/script.txt``: an invented season of eight weeks, as somebody would say it.

Sixty trees, four vessels, twenty boils. Everything is made up by plain arithmetic with a fixed
random start, so that the script is the same each time:

    python demo_sessions/write_season.py
"""

from __future__ import annotations

import random
from datetime import date, datetime, time, timedelta
from pathlib import Path

FIRST_DAY = date(2027, 2, 22)
DAYS = 56
TREES = range(1, 61)
CAPACITY = {"tank 1": 60, "tank 2": 60, "tote 1": 275, "barrel 1": 55}
BOILS = 20
START = 20270222


def quarters(gallons: float) -> str:
    """Return an amount in quarter gallons, as it is typed."""
    return f"{round(gallons * 4) / 4:g} gallons"


class Script:
    """Lines said, each with its time."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.now = datetime.combine(FIRST_DAY, time(8))

    def at(self, day: date, hour: float) -> None:
        """Set the clock."""
        self.now = datetime.combine(day, time()) + timedelta(hours=hour)

    def say(self, words: str, minutes: float = 1) -> None:
        """Add a line; the clock moves on."""
        self.lines.append(f"{self.now:%Y-%m-%dT%H:%M} {words}")
        self.now += timedelta(minutes=minutes)


def write(chance: random.Random) -> list[str]:
    """Return the lines of the season."""
    script = Script()
    tap_up(script, chance)
    held = dict.fromkeys(CAPACITY, 0.0)
    boils = 0
    for number in range(1, DAYS):
        day = FIRST_DAY + timedelta(days=number)
        low, high = weather(number, chance)
        script.at(day, 7)
        script.say(f"low of {low} and high of {high}")
        if low < 30 and high > 36:
            gather(script, chance, day, number, held)
        due = number * BOILS / DAYS >= boils + 0.5
        if due and sum(held.values()) >= 12 and boils < BOILS:
            boils += 1
            boil(script, chance, day, held, boils)
    script.at(FIRST_DAY + timedelta(days=DAYS), 9)
    for name, gallons in held.items():
        if gallons:
            script.say(f"dump {name}")
            script.say("yes")
    script.say("pulled all the taps because the season is over")
    return script.lines


def tap_up(script: Script, chance: random.Random) -> None:
    """Say what the vessels hold, how big the trees are, and where they were tapped."""
    script.at(FIRST_DAY, 8)
    for name, gallons in CAPACITY.items():
        script.say(f"{name} can hold {gallons} gallons")
    script.say("we have a three by five pan")
    for tree in TREES:
        diameter = chance.randint(12, 28)
        script.say(f"tree {tree} is {diameter} inches across")
        taps = "two taps" if diameter > 18 else "one tap"
        script.say(f"tree {tree} {taps} on the {chance.choice(['south', 'east', 'west'])} side")


def weather(number: int, chance: random.Random) -> tuple[int, int]:
    """Return a low and a high that rise over the weeks."""
    warm = number // 4
    return 18 + warm + chance.randint(-6, 8), 34 + warm + chance.randint(-4, 8)


def gather(
    script: Script, chance: random.Random, day: date, number: int, held: dict[str, float]
) -> None:
    """Go round: a dozen trees one by one, each with what it gave, then pour it where it fits."""
    script.at(day, 14)
    script.say("starting a round")
    total = 0.0
    trees = [tree for tree in TREES if tree % 5 == number % 5]
    for tree in trees:
        gallons = round(chance.uniform(0.5, 2.75) * 4) / 4
        if chance.random() < 0.03:
            script.say(f"tree {tree} bucket half full sap cloudy")
            script.say(f"dump tree {tree}")
            continue
        script.say(f"tree {tree} {quarters(gallons)} clear")
        total += gallons
        if chance.random() < 0.02:
            script.say("scratch that")
            total -= gallons
    script.say("that's the round")
    for name in sorted(held, key=held.__getitem__):
        part = min(total, CAPACITY[name] - held[name])
        part = int(part * 4) / 4
        if part > 0:
            script.say(f"poured {quarters(part)} into {name}")
            held[name] += part
            total -= part
            script.say(f"{name} is at {chance.randint(33, 41)} degrees")
    if chance.random() < 0.5:
        name = max(held, key=held.__getitem__)
        script.say(f"{name} tests {chance.choice(['1.8', '2', '2.2', '2.4'])} percent")
    if held["tank 1"] >= 10 and held["barrel 1"] <= 40 and chance.random() < 0.2:
        script.say("moved 10 gallons from tank 1 into barrel 1")
        held["tank 1"] -= 10
        held["barrel 1"] += 10


def boil(
    script: Script, chance: random.Random, day: date, held: dict[str, float], number: int
) -> None:
    """Boil the fullest vessel or two, draw, filter, pack; sell and give some away."""
    script.at(day, 16)
    first, second = sorted(held, key=held.__getitem__, reverse=True)[:2]
    sap = held[first]
    script.say("lit the arch", 5)
    script.say(f"boiling {first}", 20)
    script.say("the pan is rolling", 10)
    held[first] = 0.0
    if sap < 40 and held[second] >= 5:
        script.say(f"boiling {second}", 5)
        sap += held[second]
        held[second] = 0.0
    if number % 6 == 0:
        script.say("knocked the foam down with a drop of oil")
    hours = sap / 15
    script.now += timedelta(hours=hours)
    pints = max(1, round(sap / 44 * chance.uniform(0.88, 1.0) * 8))
    script.say(f"drew off {pints} pints at {chance.choice(['219', '219.5'])}", 10)
    script.say("stopped boiling", 5)
    script.say(f"burned {max(4, round(sap / 8))} cubic feet of wood", 5)
    script.say("filtered the syrup at 190", 15)
    colour = ["golden", "amber", "dark"][min(2, number // 7)]
    quarts, rest = divmod(pints, 2) if number % 2 else (0, pints)
    if quarts:
        script.say(f"packed {quarts} quarts of {colour} at 186")
    if rest:
        script.say(f"packed {rest} pints of {colour} at 186")
    if number % 3 == 0 and rest:
        script.say(f"sold one pint of {colour}")
    if number % 5 == 0 and quarts:
        script.say(f"gave one quart of {colour} to the neighbors")


if __name__ == "__main__":
    told = write(random.Random(START))
    folder = Path(__file__).parent / "season"
    folder.mkdir(exist_ok=True)
    head = "# An invented season: 60 trees, 4 vessels, 20 boils. Written by write_season.py.\n"
    (folder / "script.txt").write_text(head + "\n".join(told) + "\n", encoding="utf-8")
