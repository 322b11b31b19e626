"""Emergencies: known from a few words, and never heard in the talk of the ordinary work."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from fieldvoice.errors import HandbookError
from fieldvoice.handbook import Numbers, emergency, handbook_folder, with_numbers
from fieldvoice.handbook.emergency import SIGNS, Emergencies, emergency_in
from fieldvoice.handbook.loader import shipped
from fieldvoice.transcript import NBestEntry, Transcript
from tests.handbook.other_mouths import held_out

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
BOOK = shipped()
LEVEL = {card.id: card.level for card in BOOK.cards}


def _told(folder: Path, pattern: str) -> list[str]:
    """Return what stands before the arrow, or the whole line, in some files."""
    lines = [
        line.split(" => ")[0].strip()
        for file in sorted(folder.glob(pattern))
        for line in file.read_text("utf-8").splitlines()
    ]
    return [
        line for line in lines if line and not line.startswith(("#", "@", "trees ", "vessels "))
    ]


def _cries() -> list[tuple[str, set[str]]]:
    lines = [
        line
        for name in ("before.txt", "after.txt")
        for line in (HERE / "cries" / name).read_text("utf-8").splitlines()
        if " => " in line and not line.startswith("#")
    ]
    parts = [line.split(" => ") for line in lines]
    return [(said, set(cards.split(" | "))) for said, cards in parts]


CRIES = _cries()

#: Sayings of other tables that are emergencies indeed, or ask about one, and why.
MEANT = {
    "help me": "a cry; the word alone stays the command",
    "what do we do for a burn": "asks about the emergency, and its card is the answer",
    "can't feel my toes": "frostbite: the card tells what to do",
    "my toes are numb, tree forty is frozen solid": "frostbite beside a note",
    "it's dark and i can't feel my fingers, put fifteen gallons in tank one, good night":
        "frostbite beside a note",
    "can't feel my fingers, tank one's up to seventy gallons now": "frostbite beside a note",
    "well i slipped on the ice by the creek but i still got a gallon and a half out of number "
    "nineteen, don't tell your mother": "a fall now, beside a note",
    "burned my thumb but i got twelve quarts packed": "a burn now, beside a note",
    "we jarred nine quarts of the amber and i burnt my finger": "a burn now, beside a note",
}  # fmt: skip


@pytest.mark.parametrize(("said", "cards"), CRIES, ids=[said for said, _ in CRIES])
def test_a_cry_leads_to_its_card(said, cards):
    card = emergency(said)
    assert card is not None
    assert card.id in cards


def test_there_are_cries_enough_for_every_emergency():
    assert len(CRIES) >= 200
    urgent = {card for card, level in LEVEL.items() if level == "emergency"}
    assert set().union(*(cards for _, cards in CRIES)) == urgent


def test_askings_of_the_emergency_cards_by_other_mouths_lead_there():
    told = [(one.words, one.card) for one in held_out() if LEVEL[one.card] == "emergency"]
    right = [card for said, card in told if (found := emergency(said)) and found.id == card]
    assert len(right) / len(told) >= 0.98


ORDINARY = {
    "cries/none.txt": (HERE / "cries", "none.txt"),
    "sayings": (ROOT / "sayings", "**/*.txt"),
    "utterances": (ROOT / "tests/nlu/utterances", "*.txt"),
    "not records": (ROOT / "tests/nlu", "not_records.txt"),
    "scripts": (ROOT / "tests/dialogue/scripts", "*.txt"),
    "demo": (ROOT / "demo_sessions/season", "script.txt"),
}


#: The scripts that are about emergencies; what is ordinary in them stands in other scripts too.
OF_EMERGENCIES = frozenset(
    line.removeprefix("> ")
    for name in ("fire", "burns")
    for line in (ROOT / f"tests/dialogue/scripts/{name}.txt").read_text("utf-8").splitlines()
    if line.startswith("> ")
)


@pytest.mark.parametrize("name", ORDINARY)
def test_the_ordinary_work_alarms_nobody(name):
    folder, pattern = ORDINARY[name]
    if not folder.is_dir():
        pytest.skip(f"no {folder.name} here")
    told = _told(folder, pattern)
    assert len(told) > 100
    if name == "scripts":
        told = [said.lstrip("> ") for said in told if said.startswith(">")]
        told = [said for said in told if said not in OF_EMERGENCIES]
    alarms = {said: card.id for said in told if (card := emergency(said))}
    assert {said: card for said, card in alarms.items() if said not in MEANT} == {}


def test_askings_of_other_cards_are_no_emergency():
    asked = [text for card in BOOK.cards if card.level != "emergency" for text in card.asked]
    assert {text: card.id for text in asked if (card := emergency(text))} == {}


@pytest.mark.parametrize("said", ["", "?!", "help", "Help!", "please help", "i need help"])
def test_the_word_help_alone_stays_the_command(said):
    assert emergency(said) is None


@pytest.mark.parametrize("said", ["Help me!", "help, he's burned", "Help! The pan's on fire"])
def test_help_with_a_reason_is_an_emergency(said):
    assert emergency(said) is not None


@pytest.mark.parametrize(
    ("story", "now"),
    [
        ("he burned his hand last year", "he burned his hand"),
        ("nobody is hurt", "somebody is hurt"),
        ("don't burn yourself", "i burned myself"),
        ("years ago dad fell off the roof", "dad fell off the roof"),
        ("burned half a cord", "burned my hand"),
        ("the chimney caught fire last night", "help the chimney caught fire again last night"),
    ],
)
def test_a_story_or_a_denial_ends_it_and_now_does_not(story, now):
    assert emergency(story) is None
    assert emergency(now) is not None


@pytest.mark.parametrize("said", ["he is bleding bad", "chimmney on fire", "she is chokking"])
def test_a_slip_is_forgiven(said):
    assert emergency(said) is not None


def _heard(fit: float, *texts: str, score: float = -10.0) -> Transcript:
    others = tuple(NBestEntry(text, score * at) for at, text in enumerate(texts))
    return Transcript(texts[0], alternatives=others, fit=fit, recogniser="ear")


@pytest.mark.parametrize(
    ("heard", "card"),
    [
        (_heard(0.0, "he burned his hand"), "burn-first-aid"),
        (_heard(0.0, "i spilled boiling syrup on my fat", "i spilled boiling syrup on my foot"),
         "burn-first-aid"),
        (_heard(0.0, "the roof quarts fire", "the roof quartz fire", "the roof caught fire"),
         "sugarhouse-fire"),
        # Words that do not fit the sound, or fit it so-so and are not the best.
        (_heard(-0.002, "he burned his hand"), None),
        (_heard(-0.0008, "the roof quarts fire", "the roof caught fire"), None),
        # Too far from the best hearing.
        (_heard(0.0, "the roof quarts fire", "the roof caught fire", score=-60.0), None),
        # The best hearing only sounds like harm, or tells of another time.
        (_heard(0.0, "nobody got hurt", "no buddy got hurt", score=-4.0), None),
        (_heard(0.0, "remember when the chimney caught fire",
                "remember one the chimney caught fire"), None),
    ],
)  # fmt: skip
def test_a_cry_is_looked_for_in_all_hearings_that_are_near(heard, card):
    found = emergency_in(heard)
    assert (found and found.id) == card


def test_an_emergency_is_known_within_five_milliseconds():
    emergency("x")
    times = []
    for said, _ in CRIES:
        began = time.process_time()
        emergency(f"{said} and we were just going to gather from the twenty trees by the brook")
        times.append(time.process_time() - began)
    assert sorted(times)[len(times) * 95 // 100] < 0.005


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        ("[words]", "[words"),
        ('card = "pan-fire"', 'card = "no-such-card"'),
        ("<pan> <lit>", "<pan> <no_such_word>"),
    ],
)
def test_signs_that_cannot_be_used_are_named(tmp_path, was, becomes):
    text = (handbook_folder() / SIGNS).read_text("utf-8")
    file = tmp_path / SIGNS
    file.write_text(text.replace(was, becomes, 1) if was != "[words]" else becomes, "utf-8")
    with pytest.raises(HandbookError, match=SIGNS):
        Emergencies(BOOK.cards, file)


def test_the_numbers_of_a_household_are_told():
    own = Numbers(emergency="112", poison="the clinic")
    assert with_numbers("Call {emergency}, else {poison}.", own) == "Call 112, else the clinic."
    assert with_numbers("Call {emergency}.") == "Call 911."
