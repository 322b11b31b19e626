"""``fieldvoice settings``, ``rules`` and ``why``, as a user meets them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from fieldvoice.cli.environment import MEANINGS
from fieldvoice.cli.settings_file import read_settings
from fieldvoice.dialogue.choices import choice
from fieldvoice.dialogue.settings import CHOICES, Settings
from fieldvoice.live.settings import LIVE_CHOICES, LiveSettings
from fieldvoice.rules import RULES, SCHEDULES

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.cli.conftest import Ran


@pytest.fixture
def go(run: Callable[..., Ran], book_path: Path) -> Callable[..., Ran]:
    """Run a command with the book, without a clock."""
    return lambda *words: run(*words, "--book", str(book_path), bare=True)


#: An afternoon: "two days ago" is noon of that day, which is nearer at night.
NOW = "2027-03-12T15:00:00-05:00"


def say(go: Callable[..., Ran], words: str) -> str:
    return go("say", words, "--now", NOW).out


def test_every_setting_is_listed_with_its_meaning(go):
    listed = go("settings")
    assert listed.status == 0
    for one in CHOICES + LIVE_CHOICES:
        assert one.name in listed.out
        assert one.meaning.split()[0] in listed.out


def test_a_schedule_set_is_the_one_answered_by(go):
    """16 in: one tap by the conservative schedule; two over 15 in by the traditional one."""
    asked = "how many taps can a sixteen inch tree take"
    assert "One tap" in say(go, asked)
    changed = go("settings", "set", "tap-schedule", "traditional")
    assert changed.out.startswith("tap-schedule: traditional.")
    assert "Two taps" in say(go, asked)
    go("settings", "set", "tap-schedule", "usual")
    assert "One tap" in say(go, asked)


def test_vermont_asks_for_denser_syrup(go):
    """66.9 Brix boils 7.5 °F above water, 66 Brix 7.1."""
    asked = "water boils at two twelve what do i draw off at"
    assert "219.1" in say(go, asked)
    go("settings", "set", "jurisdiction", "vermont")
    assert "219.5" in say(go, asked)


def test_an_instrument_has_its_own_temperature(go):
    """SAP-01 and SAP-02: made for 38 °F or for 60 °F."""
    asked = "sap reads two point two at seventy degrees what's the real number"
    go("settings", "set", "sap-hydrometer", "60")
    assert "2.4 Brix" in say(go, asked)
    go("settings", "set", "sap-hydrometer-reads-high", "-0.2")
    assert "2.6 Brix" in say(go, asked)


@pytest.mark.parametrize(
    ("words", "value"),
    [
        (("pan-area", "2x4"), 8.0),
        (("pan-area", "2 by 3 ft"), 6.0),
        (("pan-area", "8"), 8.0),
        (("elevation", "400 m"), 1312.34),
        (("elevation", "1200 ft"), 1200.0),
        (("sap-hydrometer-reads-high", "-0.2"), -0.2),
        (("units", "metric"), True),
        (("fuel", "Red Maple"), "red maple"),
    ],
)
def test_values_as_people_write_them(words, value):
    name, text = words
    assert choice(name, CHOICES).parse(text) == value


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("set", "tap-schedule", "traditionl"), "Did you mean traditional?"),
        (("set", "tap-scedule", "ontario"), "Did you mean tap-schedule?"),
        (("set", "elevation", "90000"), "from -1000 to 12000 ft"),
        (("set", "pan-area", "huge"), "such as 2x4"),
        (("set", "pan-area", "8 gal"), "told in ft²"),
        (("set", "attention-word", "hello chikadee"), "Did you mean hello chickadee?"),
        (("set", "pause", "9"), "from 0.4 to 3 s"),
        (("set", "microphone", ""), "is a name"),
        (("set", "tap-schedule"), "For example: fieldvoice settings set"),
        (("nothing",), "There is no setting 'nothing'"),
    ],
)
def test_a_wrong_value_is_one_plain_line(go, tmp_path, words, told):
    result = go("settings", *words)
    assert result.status == 2
    assert told in result.err
    assert len(result.err.splitlines()) == 1
    assert not (tmp_path / "season.toml").exists()


def test_remarks_in_the_file_stay(go, tmp_path):
    path = tmp_path / "season.toml"
    path.write_text("# our own pan\npan_ft2 = 8\n[capacities_gal]\n'tank 1' = 55\n")
    go("settings", "set", "fuel", "beech")
    written = path.read_text()
    assert "# our own pan" in written
    assert 'fuel = "beech"' in written
    assert "capacity of tank 1" in go("settings").out


def test_one_setting_shows_all_its_values(go):
    shown = go("settings", "tap-schedule").out
    assert all(name in shown for name in SCHEDULES)
    assert "none under 12 in" in shown


def test_settings_name_rules_that_there_are():
    assert {rule for one in CHOICES for rule in one.rules} <= set(RULES)


def test_every_rule_is_listed_with_its_source(go):
    listed = json.loads(go("rules", "--json").out)
    assert {one["rule"] for one in listed} == set(RULES)
    assert all(one["source"] and one["levels"] and one["what"] for one in listed)
    taps = next(one for one in listed if one["rule"] == "tap-limit")
    assert taps["settings"] == {"tap-schedule": "conservative"}


def test_rules_about_a_word(go):
    shown = go("rules", "storage").out
    assert "storage-age" in shown
    assert "tap-limit" not in shown
    assert go("rules", "elephant").status != 0


def test_why_tells_the_reason_and_the_source_of_the_last_answer(go):
    assert go("why").out == "Nothing has been said yet.\n"
    say(go, "can i use an old galvanized bucket")
    told = go("why").out
    assert "lead" in told
    assert "Source: Ontario Ministry of Agriculture" in told
    say(go, "why")
    assert go("why").out == told
    reasons = json.loads(go("why", "--json").out)["reasons"]
    assert reasons[0]["rule"] == "container-galvanized"


def test_why_of_a_plain_fact(go):
    say(go, "how much syrup do we have")
    assert "from your own notes, not from a rule" in go("why").out


def test_every_setting_in_the_file_is_known_to_its_reader(book_path, go):
    """Each field of Settings is a choice, a list or a table; a file with them all is read."""
    from dataclasses import fields

    from fieldvoice.dialogue import Settings
    from fieldvoice.dialogue.settings import BY_FIELD

    others = {field.name for field in fields(Settings)} - BY_FIELD.keys()
    assert others == {"trees", "vessels", "capacities_gal", "pans_ft2"}
    book_path.with_suffix(".toml").write_text(
        "trees = ['old king']\nvessels = []\n[capacities_gal]\n'tank 1' = 5\n[pans_ft2]\nback = 6\n"
    )
    assert go("settings").status == 0


def test_sap_may_be_given_longer(go):
    """Two days at 40 °F are 2.3 at 38: overdue by one limit, in time by another."""
    for words in ("poured ten gallons into tank one two days ago", "tank one is at 40 degrees"):
        assert "asks" not in say(go, words)
    asked = "how old is the sap in tank one"
    assert "Tank 1 was due" in say(go, asked)
    assert "three to five days cold" in go("why").out
    go("settings", "set", "sap-limit", "practice")
    assert "Boil tank 1 today: light the fire by" in say(go, asked)


def test_each_tells_where_its_value_comes_from(go, tmp_path, monkeypatch):
    """The usual one, the file, the voice or the environment, which goes before the others."""
    from fieldvoice.cli.settings_file import write_setting
    from fieldvoice.live.settings import LIVE_BY_FIELD

    def source(name: str) -> str:
        return json.loads(go("settings", name, "--json").out)[name]["source"]

    go("settings", "set", "units", "metric")
    write_setting(tmp_path / "season.toml", LIVE_BY_FIELD["loudness"], 1.5, live=True, said=True)
    monkeypatch.setenv("FIELDVOICE_PAN_AREA", "2x4")
    assert [source(one) for one in ("fuel", "units", "loudness", "pan-area")] == [
        "usual", "file", "said", "environment",
    ]  # fmt: skip
    listed = go("settings").out
    assert json.loads(go("settings", "units", "--json").out)["units"]["value"] == "metric"
    assert "metric  (from the file)" in listed
    assert "1.5  (told by voice)" in listed
    assert "8 ft²  (from FIELDVOICE_PAN_AREA in the environment)" in listed
    go("settings", "set", "pan-area", "6")
    assert "8 ft²" in go("settings", "pan-area").out
    go("settings", "set", "loudness", "2")
    assert source("loudness") == "file"


def test_what_cannot_be_in_the_environment_is_told_of(go, monkeypatch):
    monkeypatch.setenv("FIELDVOICE_UNITS", "metrc")
    told = go("settings", "units")
    assert told.out.startswith("units: us")
    assert "FIELDVOICE_UNITS: units is one of us, metric; not 'metrc'. Did you mean metric?" in (
        told.err
    )


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("FIELDVOICE_UNIST", "Did you mean FIELDVOICE_UNITS?"),
        ("FIELDVOICE_CAHCE", "Did you mean FIELDVOICE_CACHE?"),
        ("FIELDVOICE_ATENTION_WORD", "Did you mean FIELDVOICE_ATTENTION_WORD?"),
        ("FIELDVOICE_ZZ", "See: fieldvoice settings"),
    ],
)
def test_a_name_in_the_environment_that_is_not_known_has_the_nearest_named(
    go, monkeypatch, name, told
):
    monkeypatch.setenv(name, "metric")
    assert go("why").err.splitlines()[0] == (
        f"fieldvoice: {name} in the environment is no setting. {told}"
    )


def test_every_variable_of_the_environment_is_known(go, monkeypatch):
    """Those of the settings, household's and live, and the program's own."""
    for name in (*MEANINGS, *(one.variable for one in (*CHOICES, *LIVE_CHOICES))):
        monkeypatch.setenv(name, "")
    assert "in the environment is no setting" not in go("why").err


def test_a_name_that_is_not_known_has_the_nearest_named(go, tmp_path):
    (tmp_path / "season.toml").write_text("pan_ft = 8\nfuel = 'coal'\n")
    told = go("settings").err.splitlines()
    assert len(told) == 2
    assert "no setting is called pan_ft. Did you mean pan_ft2?" in "".join(told)
    assert "fuel cannot be 'coal': fuel is one of" in "".join(told)
    assert "Did you mean pan-area?" in go("settings", "set", "pan-aera", "8").err


def test_telephone_numbers_set_are_the_ones_told(go, tmp_path):
    """112 is the European Union's emergency number (its Electronic Communications Code, 109)."""
    assert "911" in go("settings", "emergency-number").out
    assert "1-800-222-1222" in go("settings", "poison-line").out
    go("settings", "set", "emergency-number", "112")
    go("settings", "set", "poison-line", "0800 555 01 23, ask for the night desk")
    burnt = say(go, "someone got scalded by the syrup")
    assert "112" in burnt
    assert "911" not in burnt
    assert "0800 555 01 23, ask for the night desk" in say(go, "he drank the sanitizer")
    assert "poison_number" in (tmp_path / "season.toml").read_text()
    go("settings", "set", "emergency-number", "usual")
    assert "911" in say(go, "someone got scalded by the syrup")


def test_every_live_setting_is_a_choice():
    from dataclasses import fields

    assert [one.field for one in LIVE_CHOICES] == [field.name for field in fields(LiveSettings)]
    usual = LiveSettings()
    for one in LIVE_CHOICES:
        value = getattr(usual, one.field)
        assert value is None or one.check(value) == value


def test_live_settings_stand_beside_the_others(go, tmp_path):
    from fieldvoice.cli.settings_file import read_live_settings

    go("settings", "set", "fuel", "beech")
    assert go("settings", "set", "microphone", "USB headset").out.startswith(
        "microphone: USB headset."
    )
    go("settings", "set", "listening", "hold")
    go("settings", "set", "pause", "1.2")
    go("settings", "set", "read-back", "no")
    assert read_live_settings(tmp_path / "season.toml") == LiveSettings(
        listening="hold", microphone="USB headset", pause_s=1.2, reads_back=False
    )
    listed = go("settings").out
    assert "* microphone" in listed
    assert "USB headset" in listed
    assert "* fuel" in listed
    assert json.loads(go("settings", "pause", "--json").out)["pause"]["value"] == 1.2
    go("settings", "set", "microphone", "usual")
    assert "not set" in go("settings", "microphone").out
    assert say(go, "tree nine half full").count("Tree 9") == 1


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("[live]\nloudnes = 2\n", "no setting in [live] is called loudnes"),
        ("[live]\nloudness = 99.0\n", "from 0.2 to 4"),
        ("live = 3\n", "must be a table"),
    ],
)
def test_live_settings_that_cannot_be_are_told_of(go, tmp_path, written, told):
    from fieldvoice.cli.settings_file import read_live_settings

    (tmp_path / "season.toml").write_text(written)
    result = go("settings")
    assert result.status == 0
    assert told in result.err
    assert result.err.count("\n") == 1
    assert read_live_settings(tmp_path / "season.toml") == LiveSettings()


WRONG_LINES = [
    (b"metric = true\nnonsense\nelevation_ft = 900\n", [2], (True, 900.0)),
    (b"metric = true\nboth = two = three\n[live\nelevation_ft = 900\n", [2, 3], (True, 900.0)),
    (b'elevation_ft = 900\nfuel = "\xff\xfe"\nmetric = true\n', [2], (True, 900.0)),
    (b"elevation_ft = 900\nmetric = ", [2], (False, 900.0)),
]


@pytest.mark.parametrize(("content", "lines", "hold"), WRONG_LINES)
def test_a_line_that_is_wrong_takes_no_other_with_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], content: bytes, lines: list[int],
    hold: tuple[bool, float],
) -> None:  # fmt: skip
    """Each is told of with its number."""
    path = tmp_path / "season.toml"
    path.write_bytes(content)
    read = read_settings(path)
    assert (read.metric, read.elevation_ft) == hold
    told = capsys.readouterr().err.splitlines()
    assert [f"{path}, line {number} cannot be read" in line
            for number, line in zip(lines, told, strict=True)] == [True] * len(lines)  # fmt: skip


def test_what_is_left_of_a_longer_value_is_no_value(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A list with a line that is wrong is not a shorter list."""
    path = tmp_path / "season.toml"
    path.write_text("elevation_ft = 900\npans_ft2 = [\n  8.0,\n  nonsense\n]\n", encoding="utf-8")
    assert read_settings(path).pans_ft2 == Settings().pans_ft2
    assert "cannot be read: they are not TOML" in capsys.readouterr().err
