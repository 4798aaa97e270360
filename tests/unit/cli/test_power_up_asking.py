"""The limiter lamp is asked for before the first reading of its step; a bright one ends it."""

from __future__ import annotations

import shutil
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from lugwright.cli.power_up_asking import ask_step
from lugwright.workflow import open_build, readings_now

DUNLIN = Path(__file__).parents[3] / "examples/dunlin_5.toml"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return Path(shutil.copy(DUNLIN, tmp_path / "amp.toml"))


def asked(path: Path, typed: str) -> Result:
    opened = open_build(path)
    step = next(step for step in opened.power_up if step.key == "no tubes, lamp")
    command = click.Command("ask", callback=lambda: ask_step(opened, step, meter=""))
    return CliRunner().invoke(command, input=typed)


def test_a_lamp_that_stays_bright_ends_the_step(path: Path) -> None:
    result = asked(path, "y\nblue\nfull\n")
    assert "'blue' is not how a lamp looks" in result.output
    assert "brighter than behind a good build (12 V to 18 V). SWITCH OFF NOW, plug out of the wall." in result.output
    assert "What explains the readings so far: lugwright trace FILE" in result.output
    assert "B+1 to ground" not in result.output.partition("SWITCH OFF NOW")[2]
    (kept,) = readings_now(open_build(path))
    assert (kept.point, kept.verdict) == ("limiter lamp", "high")


@pytest.mark.parametrize("typed", ["q\n", "y\ndull\n340\nq\n"])
def test_q_leaves_at_every_question(path: Path, typed: str) -> None:
    result = asked(path, typed)
    assert "Left here. What was read is in the log.\nIf the plug is in: switch off" in result.output


def test_what_is_neither_yes_nor_no_is_asked_again(path: Path) -> None:
    result = asked(path, "perhaps\nn\n")
    assert "Type y or n; q leaves.\nAll of that done, up to the readings [y/n]: n\nPut it right first." in result.output


def test_a_dark_lamp_says_what_it_may_be(path: Path) -> None:
    result = asked(path, "y\ndark\nq\n")
    assert (
        "  low: darker than behind a good build; no harm. Is it plugged in and switched on, each fuse whole, each tube "
        "in?\n"
    ) in result.output
    assert result.output.endswith(
        "Left here. What was read is in the log.\nIf the plug is in: switch off and pull it before you think about "
        "this or turn the chassis.\n"
    )


def test_who_stops_at_a_reading_that_is_off_is_told_to_pull_the_plug(path: Path) -> None:
    result = asked(path, "y\ndull\n340\nn\n")
    assert "  too high: good builds show" in result.output
    assert result.output.endswith(
        "  If the plug is in: switch off and pull it before you think about this or turn the chassis.\n"
        "  What explains the readings so far: lugwright trace FILE\n"
    )


def test_a_reading_at_which_something_burns_ends_the_step(path: Path) -> None:
    result = asked(path, "y\ndull\n-4\n")
    assert result.output.endswith(
        "  SWITCH OFF NOW, plug out of the wall. Hands off until every filter capacitor is measured below 60 V. C6 has "
        "its volts the wrong way round and may burst.\n"
        "  What explains the readings so far: lugwright trace FILE\n"
    )


BURNS = (
    "  B+2 to ground shows 204 V dc. SWITCH OFF NOW, plug out of the wall. Hands off until every filter capacitor is "
    "measured below 60 V. R15 gets more than its 5 W.\n"
    "  What explains the readings so far: lugwright trace FILE\n"
)


def test_a_feed_in_doubt_is_asked_for_again_and_a_slip_there_ends_the_step(path: Path) -> None:
    result = asked(path, "y\ndull\n205\ny\n204\n296\n")
    said = result.output.partition(": 204\n")[2].splitlines()
    assert said[0] == "  too low: good builds show 278 V to 314 V"
    assert said[2].startswith(
        "  IN DOUBT: read B+1 again, before anything else: R15 gets more than its 5 W unless B+1 "
    )
    assert said[3].startswith("Again: B+1 to ground, V dc: about 296 V, 278 V to 314 V; switch off under")
    assert said[3].endswith(": 296")
    assert result.output.endswith("  ok\n" + BURNS)


def test_a_feed_that_reads_as_low_again_leaves_the_doubt_and_asks_whether_to_go_on(path: Path) -> None:
    result = asked(path, "y\ndull\n205\ny\n204\n206\nn\n")
    said = result.output.partition(": 206\n")[2]
    assert "B+2 to ground shows 204 V dc. IN DOUBT: read B+1 again" in said
    assert "unless B+1 really stands at the 206 V read there" in said
    assert "SWITCH OFF NOW" not in said
    assert said.count("Go on with the other readings") == 1
    assert "pull it before you think about this" in said


def test_a_feed_read_right_later_ends_the_step_by_what_was_read_behind_it(path: Path) -> None:
    asked(path, "y\ndull\n205\ny\n204\n\nq\n")
    assert asked(path, "y\ndull\n296\n").output.endswith("  ok\n" + BURNS)


def test_a_lamp_as_it_should_be_goes_on_to_the_readings(path: Path) -> None:
    result = asked(path, "y\ndull\nq\n")
    assert "Limiter lamp: a flash at switch-on, then a dull red glow" in result.output
    assert "It is (dark, dull, dim, lit, full, or its volts): dull\n  ok\n" in result.output
    assert "Type what the meter shows" in result.output
