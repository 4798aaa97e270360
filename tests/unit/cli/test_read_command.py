"""``lugwright read`` through the command line."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lugwright.cli.app import app

DUNLIN = Path(__file__).parents[3] / "examples/dunlin_5.toml"


@pytest.fixture
def path(tmp_path: Path) -> str:
    return str(shutil.copy(DUNLIN, tmp_path / "amp.toml"))


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, ["read", *arguments])


def test_a_reading_is_told_right_or_wrong_at_once(path: str) -> None:
    result = run(path, "--step", "all tubes", "B+1", "281", "V2 pin 8 = 14.2 V")
    assert result.exit_code == 0, result.stderr
    lines = result.stdout.splitlines()
    assert lines[0].startswith("Step ")
    assert lines[0].endswith(": Output tubes in (full mains)")
    assert lines[1].split() == ["point", "shows", "good", "builds"]
    assert lines[3].startswith("B+1 to ground")
    assert "281 V dc  ok" in lines[3]
    assert "14.2 V dc  ok" in lines[4]
    wrong = run(path, "V2 pin 5", "-38.5")
    assert wrong.exit_code == 1
    assert "fault: V2 pin 5 (grid) to ground reads too low [reading-outside-window]" in wrong.stderr
    listed = run(path, "--list")
    assert listed.exit_code == 1
    assert listed.stdout.count("V dc") == 3
    back = run(path, "--take-back", "V2 pin 5")
    assert (back.exit_code, back.stdout) == (0, "taken back: V2 pin 5 (grid) to ground\n")
    assert run(path, "--list").exit_code == 0


def test_a_feed_in_doubt_comes_first_and_is_told_again_until_it_is_read_right(path: str) -> None:
    doubt = (
        "B+2 to ground shows 204 V dc. IN DOUBT: read B+1 again, before anything else: R15 gets more than its 5 W "
        "unless B+1 really stands at the 205 V read there (good builds 278 V to 314 V). If it stays so and no winding "
        "of the transformer is low by the same share, switch off, plug out; when in doubt, switch off first."
    )
    first = run(path, "--step", "no tubes, lamp", "B+1", "205", "B+2", "204")
    assert first.stdout.splitlines()[0] == doubt
    again = run(path, "B+1", "205")
    assert again.stdout.splitlines()[0] == doubt
    assert "[feed-in-doubt]" in again.stderr
    right = run(path, "B+1", "296", "--json")
    assert [(r["point"], r["burns"]) for r in json.loads(right.stdout)["readings"]] == [
        ("B+1 to ground", ""),
        ("B+2 to ground", "R15 gets more than its 5 W"),
    ]
    assert "danger: B+2 to ground reads too low" in right.stderr


def test_an_empty_log_says_so(path: str) -> None:
    assert run(path, "--list").stdout == "No reading is in the log yet.\n"


def test_json_holds_value_window_and_verdict(path: str) -> None:
    said = json.loads(run(path, "--step", "ohms", "R14", "OL", "B+1", "221k", "--json").stdout)
    over, right = said["readings"]
    assert (over["value"], over["verdict"], over["shown"]) == (None, "high", "over range")
    assert (right["value"], right["verdict"], right["unit"]) == (221e3, "ok", "ohm")
    assert right["low"] < right["expected"] < right["high"]
    assert said["serial"] == "1"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--step", "all tubes"), 'say what the meter shows, such as "V1 pin 6" 203, or --list'),
        (("--step", "all tubes", "B+1"), "'B+1' stands there without a value: write POINT VALUE, or 'POINT = VALUE'"),
        (("--stepp", "6"), "there is no option --stepp"),
        (("--step", "all tubes", "B+1", "--meterr"), "there is no option --meterr"),
    ],
)
def test_the_command_line_is_strict(path: str, words: tuple[str, ...], says: str) -> None:
    result = run(path, *words)
    assert result.exit_code == 2
    assert says in result.stderr


def test_a_point_that_is_not_there_leaves_with_2(path: str) -> None:
    result = run(path, "--step", "all tubes", "B+7", "200")
    assert result.exit_code == 2
    assert "error: there is no point 'B+7' to read" in result.stderr


def test_a_loggers_file_is_read_and_two_ways_at_once_are_refused(path: str) -> None:
    file = Path(path).with_name("m.csv")
    file.write_text("value,unit\n281,V\n14.2,V\n")
    result = run(path, "--step", "all tubes", "--from", str(file), "B+1", "V2 pin 8")
    assert result.exit_code == 0, result.stderr
    assert "14.2 V dc  ok" in result.stdout
    twice = run(path, "--from", str(file), "--list")
    assert twice.exit_code == 2
    assert "--from and --list do not go together" in twice.stderr
    bare = run(path, "--from-meter", "USB0::1")
    assert bare.exit_code == 2
    assert "name the points that the meter is to read, such as B+1 'V1 pin 6'" in bare.stderr


def test_a_simulated_meter_is_asked_for_point_after_point(path: str) -> None:
    pytest.importorskip("pyvisa_sim")
    library = f"{Path(__file__).parents[1] / 'meters/bench.yaml'}@sim"
    address = "USB0::0x1111::0x2222::0x0017::INSTR"
    words = (path, "--step", "all tubes", "--from-meter", address, "--visa-library", library, "B+1", "V1 pin 6")
    result = CliRunner().invoke(app, ["read", *words], input="\nq\n")
    assert "B+1 to ground, V dc: Enter reads it, q ends.   203.125 V dc, low\n" in result.stderr
    assert "V1 pin 6 (plate b) to ground, V dc: Enter reads it, q ends. " in result.stderr
    assert result.stdout.count("V dc") == 1
    assert result.exit_code == 1


def test_a_sign_goes_into_the_log_is_listed_and_can_be_taken_back(path: str) -> None:
    result = run(path, "--sign", "V2 heater dark", "--no-sign", "buzz")
    assert result.exit_code == 0, result.stderr
    assert [line.split() for line in result.stdout.splitlines()] == [
        ["What", "was", "seen", "and", "heard"],
        ["point", "shows", "good", "builds"],
        ["--------------", "-----", "-----------"],
        ["heater", "dark", "V2", "yes"],
        ["hum", "no"],
    ]
    run(path, "--sign", "hum", "--step", "ohms", "R14", "220k")
    listed = [line.split() for line in run(path, "--list").stdout.splitlines()]
    assert ["hum", "yes"] in listed
    assert ["hum", "no"] not in listed
    assert any(line[:1] == ["R14"] for line in listed)
    assert run(path, "B+1", "221k").exit_code == 0  # the step is that of the last reading, whatever was seen since
    back = run(path, "--take-back", "--sign", "hum")
    assert (back.exit_code, back.stdout) == (0, "taken back: hum\ntaken back: hum\n")
    assert "hum" not in run(path, "--list").stdout


def test_signs_that_contradict_each_other_or_are_none_write_nothing(path: str) -> None:
    both = run(path, "--sign", "hum", "--no-sign", "hums", "--step", "ohms", "R14", "220k")
    assert both.exit_code == 2
    assert both.stderr.splitlines() == [
        "error: hum cannot be there and not be there",
        "  found:  both --sign and --no-sign",
        "  wanted: one answer for each sign",
        "  do:     leave one of the two out",
    ]
    assert run(path, "--sign", "smells of fish").exit_code == 2
    nothing = run(path, "--take-back", "--sign", "hum")
    assert nothing.exit_code == 2
    assert "error: nothing about 'hum' is in the log" in nothing.stderr
    assert run(path, "--list").stdout == "No reading is in the log yet.\n"


def test_the_lamp_is_told_in_words_and_a_bright_one_pulls_the_plug(path: str) -> None:
    dull = run(path, "--step", "no tubes, lamp", "lamp", "dull")
    assert dull.exit_code == 0, dull.stderr
    assert "limiter lamp  a dull red glow, 18 V  ok" in dull.stdout
    bright = run(path, "--step", "no tubes", "lamp", "full")  # only behind it is there a lamp at all
    assert bright.exit_code == 1
    assert bright.stdout.splitlines()[0] == (
        "limiter lamp shows full brightness, 108 V. SWITCH OFF NOW, plug out of the wall. Hands off until every filter "
        "capacitor is measured below 60 V. Something draws too much: no full mains before you know what."
    )
    assert bright.stderr.splitlines()[-4:] == [
        "danger: limiter lamp reads too high: something draws too much: no full mains before you know what "
        "[switch-off-now]",
        "  found:  full brightness, 108 V",
        "  wanted: 12 V to 18 V",
        "  do:     SWITCH OFF, pull the plug, hands off until every filter capacitor is measured below 60 V; then: "
        f"lugwright trace {path}",
    ]
    dark = run(path, "--step", "no tubes, lamp", "lamp", "dark")
    assert "something draws too little: is all of it in, and does it light?" in dark.stderr
    nowhere = run(path, "--step", "signal", "lamp", "dark")
    assert nowhere.exit_code == 2
