"""``fieldvoice weather``: a season's lows and highs from a file."""

from __future__ import annotations

import pytest


@pytest.fixture
def written(tmp_path):
    def writing(text):
        path = tmp_path / "days.csv"
        path.write_text(text, encoding="utf-8")
        return str(path)

    return writing


def test_days_are_noted_once(run, written):
    path = written("day,low_f,high_f\n2027-03-04,22,40\n2027-03-05,24,42\n2027-03-06,25,44\n")
    assert run("weather", path).out == "3 days of weather noted, 0 known already.\n"
    assert run("weather", path).out == "0 days of weather noted, 3 known already.\n"
    # Low in the 20s and high in the 40s: Cook, University of Vermont Extension.
    assert "it should run well" in run("say", "will it run tomorrow").out
    assert "good days are coming" in run("say", "is it time to tap").out


def test_celsius_is_converted(run, written):
    """-5 °C is 23 °F, 6 °C is 42.8 °F."""
    run("weather", written("Date, low_c, high_c\n2027-03-05,-5,6\n".replace(", ", ",")))
    assert "low of 23 °F and a high of 43 °F" in run("say", "will it run today").out


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "needs a head line"),
        ("a,b\n1,2\n", "needs a head line"),
        ("day,low,high\nmonday,2,40\n", "line 2: “monday” is no day"),
        ("day,low,high\n2027-03-06,,42\n", "line 2: no day"),
        ("day,low,high\n2027-03-05,50,40\n", "low must not be above its high"),
        ("day,low,high\n2027-03-05,20,400\n", "from -40 to 100"),
    ],
)
def test_a_wrong_file_is_one_plain_line_and_nothing_is_noted(run, written, text, told):
    result = run("weather", written(text))
    assert result.status == 1
    assert told in result.err
    assert len(result.err.splitlines()) == 1
    assert "no weather" in run("say", "will it run today").out


def test_a_station_with_gaps(run, written):
    """Titles, flags and other columns beside; a day without its high is named, the others noted."""
    told = run("weather", written(
        '"Station","ELM HOLLOW"\n\n'
        '"Date/Time","Year","Month","Day","Max Temp (°C)","Max Temp Flag","Min Temp (°C)"\n'
        '"2027-03-03","2027","03","03","3.2","","-6.1"\n'
        '"2027-03-04","2027","03","04","","M","-4.1"\n'
        '"2027-03-05","2027","03","05","6","","-5"\n'
    ))  # fmt: skip
    assert (told.status, told.out) == (0, "2 days of weather noted, 0 known already.\n")
    assert "line 5: no day" in told.err
    assert "low of 23 °F and a high of 43 °F" in run("say", "will it run today").out


def test_hours_make_a_day(run, written):
    """The lowest and highest of a day that has all its hours; half a day is none."""
    hours = [f"2027-03-05T{hour:02}:00;{-5 + hour * 0.5:.1f}" for hour in range(24)]
    half = [f"2027-03-04T{hour:02}:00;-9.0" for hour in range(9)]
    told = run("weather", written("\n".join(["time;temperature (°C)", *hours, *half])))
    assert told.out == "1 days of weather noted, 0 known already.\n"
    assert "2027-03-04 has readings of 9 hours only" in told.err
    # -5 °C is 23 °F, 6.5 °C is 43.7 °F.
    assert "low of 23 °F and a high of 44 °F" in run("say", "will it run today").out
