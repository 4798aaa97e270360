"""A fault found through the command line, hostile readings included."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from tests.planned_examples import FOLDER, example

from lugwright.cli.app import app
from lugwright.layout.plan_file import plan_to_text

NAME = "dunlin_5"


@pytest.fixture(scope="module")
def build(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("trace")
    path = folder / f"{NAME}.toml"
    shutil.copy(FOLDER / f"{NAME}.toml", path)
    path.with_suffix(".plan.json").write_text(plan_to_text(example(NAME).plan), encoding="utf-8")
    return path


def run(build: Path, *arguments: str, typed: str = "") -> Result:
    return CliRunner().invoke(app, ["trace", str(build), *arguments], input=typed)


def tracing(build: Path, *arguments: str) -> dict[str, Any]:
    result = run(build, "--json", *arguments)
    assert result.exit_code == 0, result.output
    found: dict[str, Any] = json.loads(result.stdout)["tracing"]
    return found


def test_an_open_plate_resistor_is_found_by_three_readings(build: Path) -> None:
    readings = ("ohms: V1 pin 1 = OL", "ohms: across R3 = OL", "ohms: B+3 = 240k")
    found = tracing(build, *(word for reading in readings for word in ("--reading", reading)))
    assert "open R3" in {fault["key"] for fault in found["suspects"][0]["faults"]}
    assert found["suspects"][0]["chance"] > 0.5
    assert found["healthy"] < 0.05
    assert found["next"][0]["step"] == "ohms"  # nothing with the plug in while only the ohmmeter was out
    assert [reading["shown"] for reading in found["readings"]] == ["over range", "over range", "240 kΩ"]


def test_one_reading_over_range_is_an_open_joint_rather_than_something_unheard_of(build: Path) -> None:
    found = tracing(build, "--reading", "ohms: V1 pin 1 = OL", "--reading", "ohms: V1 pin 6 = 330k")
    first = found["suspects"][0]
    assert "open R3" in {fault["key"] for fault in first["faults"]}
    assert first["chance"] > 1.5 * found["none_of_these"]
    assert found["next"][0]["point"] == found["readings"][0]["point"]  # a tip that did not touch reads so, too


def test_readings_of_a_good_build_raise_no_alarm(build: Path) -> None:
    readings = ("ohms: B+1 = 218k", "ohms: V1 pin 3 = 1.5k", "ohms: V2 pin 8 = 330 ohm")
    found = tracing(build, *(word for reading in readings for word in ("--reading", reading)))
    assert found["healthy"] > max((suspect["chance"] for suspect in found["suspects"]), default=0.0)


OHMS = ("ohms: B+1 = 218k", "ohms: V1 pin 1 = 329k", "ohms: V1 pin 3 = 1.5k", "ohms: V2 pin 8 = 331 ohm")
VOLTS = tuple(
    f"all tubes: {reading}"
    for reading in (
        "B+1 = 281 V", "B+3 = 249 V", "V1 pin 1 = 161 V", "V1 pin 8 = 1.44 V", "V1 pin 3 = 1.32 V", "V2 pin 8 = 14.1 V",
    )
)  # fmt: skip


@pytest.mark.parametrize(
    ("right", "wrong", "key", "said"),
    [
        (OHMS, "ohms: V1 pin 8 = 122k", "tip on V1.7", "the tip was on V1 pin 7 (grid b) instead of V1 pin 8"),
        (OHMS, "ohms: V2 pin 5 = 22k", "range 0.1", "the reading is ten times too low"),
        (VOLTS, "all tubes: V1 pin 7 = 168 V", "tip on V1.6", "the tip was on V1 pin 6 (plate b) instead of V1 pin 7"),
        (VOLTS, "all tubes: V1 pin 6 = 16.8 V", "range 0.1", "the reading is ten times too low"),
    ],
)
def test_one_reading_of_a_good_build_taken_wrongly_is_told_so(
    build: Path, right: tuple[str, ...], wrong: str, key: str, said: str
) -> None:
    given = [word for reading in (*right, wrong) for word in ("--reading", reading)]
    found = tracing(build, *given)
    (slip, *_) = found["readings"][-1]["slips"]
    assert slip["key"] == key
    assert found["state"] not in ("found", "nearly", "look")
    assert all(reading["slips"] == [] for reading in found["readings"][:-1])
    text = " ".join(run(build, *given).stdout.split())
    assert said in text
    assert "read it again" in text


def test_one_good_reading_does_not_make_a_build_good(build: Path) -> None:
    """Most faults have not had a chance to show: they look like a good build so far, not for good."""
    result = run(build, "--reading", "ohms: V1 pin 3 = 1.5k")
    assert "those of a good build" not in result.stdout
    assert "Not clear yet" in result.stdout
    assert "would read like a good build in all readings so far" in result.stdout


def test_text_and_drawing(build: Path, tmp_path: Path) -> None:
    drawing = tmp_path / "where.svg"
    result = run(build, "--reading", "ohms: V2 pin 8 = OL", "--svg", str(drawing))
    assert result.exit_code == 0, result.output
    assert "none of the" in result.stdout
    assert "Measure next:" in result.stdout
    assert "plug out" in result.stdout
    assert 'class="suspects"' in drawing.read_text(encoding="utf-8")


def test_asking_goes_on_with_what_is_typed_and_writes_it_down(build: Path) -> None:
    result = run(build, "--ask", "--reading", "ohms: V2 pin 8 = OL", typed="nonsense\nV1 pin 3 = 1.5k\nskip\nstop\n")
    assert result.exit_code == 0, result.output
    assert "not taken" in result.output
    listed = CliRunner().invoke(app, ["read", str(build), "--list"])
    assert "V1 pin 3" in listed.output


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ("V1 pin 6", "is no reading"),
        ("ohms: V1 pin 66 = 10k", "V1 pin 6"),
        ("ohms: V1 pin 6 = 1e30 ohm", "not what a meter shows"),
        ("ohms: V1 pin 6 = -5 ohm", "negative"),
        ("nowhere: V1 pin 6 = 3 V", "there is no step"),
        ("all tubes: V1 pin 6 = 10k", "live circuit"),
        ("ohms: V2 pin 1 = 10k", "cannot be weighed"),
        ("=" * 500, "is no reading"),
    ],
)
def test_hostile_readings_are_refused_in_words(build: Path, reading: str, said: str) -> None:
    result = run(build, "--reading", reading)
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output


def test_too_many_readings_are_refused(build: Path) -> None:
    many = [word for _ in range(1001) for word in ("--reading", "ohms: V1 pin 3 = 1.5k")]
    result = run(build, *many)
    assert result.exit_code == 2
    assert "there are too many readings to be weighed" in result.output


def test_a_doubted_reading_that_is_taken_again_counts_once(build: Path) -> None:
    given = [word for reading in OHMS for word in ("--reading", reading)]
    typed = "V2 pin 5 = 22k\nV2 pin 5 = 221k\nagain\nstop\n"
    output = run(build, "--ask", "--without-log", *given, typed=typed).output
    assert "Reading 5, ohms: V2 pin 5 (grid) to ground 22.0" in output
    assert output.count("perhaps taken wrongly") == 1
    assert "Readings weighed: 5" in output


HALF_DEAD = ("--without-log", "--reading", "all tubes: V1 pin 6 = 261 V")


def test_two_readings_of_a_good_build_taken_wrongly_are_both_told(build: Path) -> None:
    wrong = ("all tubes: V1 pin 7 = 168 V", "all tubes: V2 pin 3 = 27 V")  # the pin beside; a range of ten
    given = [word for reading in (*VOLTS, *wrong) for word in ("--reading", reading)]
    found = tracing(build, "--without-log", *given)
    assert found["healthy"] > 0.5
    assert found["none_of_these"] < 0.1
    assert [r["wrong"] > 0.5 for r in found["readings"]] == [False] * len(VOLTS) + [True, True]
    assert [r["slips"][0]["key"] for r in found["readings"][-2:]] == ["tip on V1.6", "range 0.1"]


def test_a_dark_heater_is_told_from_a_dead_half_by_looking(build: Path) -> None:
    def first(*looked: str) -> set[str]:
        found = tracing(build, *HALF_DEAD, *looked)
        assert found["suspects"][0]["chance"] > 0.5
        return {fault["key"] for fault in found["suspects"][0]["faults"]}

    dark, glows = first("--sign", "heater dark V1"), first("--no-sign", "heater dark V1")
    assert "heater open V1" in dark
    assert "dead V1b" not in dark
    assert "dead V1b" in glows
    assert "heater open V1" not in glows


def test_a_look_is_proposed_before_a_reading_at_high_volts(build: Path) -> None:
    first = tracing(build, *HALF_DEAD)["next"][0]
    assert first["quantity"] == "sign"
    assert first["point"] in {f"look whether the heater of {tube} stays dark" for tube in ("V1", "V2")}
    assert first["caution"] == "eyes and ears only: both hands off the chassis while the plug is in"
    assert [outcome["words"] for outcome in first["outcomes"]] == ["yes", "no"]


def test_a_red_plate_says_switch_off_whatever_else_is_believed(build: Path) -> None:
    found = tracing(build, "--without-log", "--sign", "red plate V2")
    assert found["switch_off"] == "what glows red burns within a minute"
    assert {ahead["step"] for ahead in found["next"]} <= {"ohms"}


def test_the_signs_of_a_build_are_listed(build: Path) -> None:
    found = json.loads(run(build, "--signs", "--json", "--no-sign", "hum").stdout)
    assert found["tracing"] is None
    seen = {sign["name"]: sign["seen"] for sign in found["signs"]}
    assert seen["hum"] is False
    assert seen["heater dark V1"] is None
    assert "look whether the heater of V2 stays dark" in run(build, "--signs").stdout


def test_asking_takes_signs_as_they_come_and_writes_them_down(build: Path) -> None:
    typed = "no hum\nheater dark V1\nheater drak V2\nsigns\nstop\n"
    result = run(build, "--ask", "--without-log", "--reading", "all tubes: V1 pin 3 = 0 V", typed=typed)
    assert result.exit_code == 0, result.output
    assert "this build has no sign 'heater drak V2'" in result.output
    assert "write 'heater dark V2'" in result.output
    listed = CliRunner().invoke(app, ["read", str(build), "--list"]).output
    lines = [line.split() for line in listed.splitlines()]
    assert ["hum", "no"] in lines
    assert ["heater", "dark", "V1", "yes"] in lines
    CliRunner().invoke(app, ["read", str(build), "--take-back", "--sign", "hum", "--sign", "heater dark V1"])


def test_a_bright_lamp_without_tubes_is_a_short_in_the_supply(build: Path) -> None:
    found = tracing(build, "--without-log", "--reading", "no tubes, lamp: lamp = full")
    keys = {fault["key"] for fault in found["suspects"][0]["faults"]}
    assert {"reversed CR1", "shorted T1.hv T1.hv.3", "bridged C6.a C6.minus"} <= keys
    assert "blown F1" not in keys
    assert found["switch_off"]
    assert found["readings"][0]["shown"] == "full brightness (90 % of the mains on it)"
    dark = tracing(build, "--without-log", "--reading", "no tubes, lamp: lamp = dark")
    assert "blown F1" in {fault["key"] for fault in dark["suspects"][0]["faults"]}


def test_the_lamp_is_asked_for_and_answered_with_a_word(build: Path) -> None:
    given = ("--without-log", "--step", "no tubes", "--reading", "no tubes: B+1 = 0 V")
    found = tracing(build, *given, "--next", "20")
    assert {"lamp", "ohm"} <= {ahead["quantity"] for ahead in found["next"]}
    lamp = next(ahead for ahead in found["next"] if ahead["quantity"] == "lamp")
    assert lamp["point"] == "look how bright the limiter lamp settles: dark, dull, dim, lit or full; or its volts"
    assert lamp["title"] == "mains on, every socket empty, through the limiter lamp"
    assert lamp["caution"] == "eyes and ears only: both hands off the chassis while the plug is in"


def test_a_reading_at_which_something_burns_pulls_the_plug_whatever_explains_it(build: Path) -> None:
    """A slip of the meter explains it as well, and the next reading is taken with the plug out all the same."""
    good = tuple(word for reading in VOLTS[1:] for word in ("--reading", reading))
    found = tracing(build, *good, "--reading", "all tubes: B+1 = -3 V")
    assert found["switch_off"]
    assert {reading["step"] for reading in found["next"]} == {"ohms"}
    found = tracing(build, *good, "--reading", "all tubes: V2 pin 8 = 33 V")
    assert found["switch_off"] == "the plate of V2 takes more than its 12 W"


def test_what_burns_behind_the_lamp_is_told_although_it_cannot_be_weighed(build: Path, tmp_path: Path) -> None:
    own = Path(shutil.copy(build, tmp_path / build.name))
    shutil.copy(build.with_suffix(".plan.json"), own.with_suffix(".plan.json"))
    CliRunner().invoke(app, ["read", str(own), "--step", "no tubes, lamp", "B+1", "296", "B+2", "150"])
    found = tracing(own)
    assert (found["state"], found["switch_off"]) == ("nothing read", "R15 gets more than its 5 W")
    assert {reading["step"] for reading in found["next"]} == {"ohms"}
    assert "SWITCH OFF NOW: R15 gets more than its 5 W." in run(own).output


def test_a_feed_that_was_perhaps_read_too_low_is_to_be_read_again(build: Path) -> None:
    low = ("--reading", "no tubes: B+1 = 205 V", "--reading", "no tubes: B+2 = 204 V")
    found = tracing(build, *low)
    assert found["again"].startswith(
        "read B+1 again, before anything else: R15 gets more than its 5 W unless B+1 really stands at the 205 V read"
    )
    assert tracing(build, "--reading", "no tubes: B+1 = 306 V", "--reading", "no tubes: B+2 = 305 V")["again"] == ""
