"""``lugwright as-built`` through the command line, and what the other commands say of it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lugwright.cli.app import app

DUNLIN = Path(__file__).parents[3] / "examples/dunlin_5.toml"
TOLD = "with 2 as-built values from the log of copy 1; without: --as-stated"


@pytest.fixture
def path(tmp_path: Path) -> str:
    return str(shutil.copy(DUNLIN, tmp_path / "amp.toml"))


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, [*arguments])


def test_values_are_written_listed_and_taken_back(path: str) -> None:
    empty = run("as-built", path, "--list")
    assert empty.stdout == (
        "Nothing was measured, fitted or set yet: predictions are of the build as its file states it.\n"
    )
    result = run("as-built", path, "mains = 118", "R12", "327", "--accuracy", "0.5")
    assert result.exit_code == 0, result.stderr
    assert [line.split("  ")[0] for line in result.stdout.splitlines()] == ["what", "-----", "mains", "R12"]
    said = json.loads(run("as-built", path, "--list", "--json").stdout)
    assert [(row["what"], row["unused"]) for row in said["as_built"]] == [("mains", ""), ("R12", "")]
    assert said["entries"] == []
    assert run("as-built", path, "--take-back", "R12").stdout.splitlines()[0] == "taken back: R12"
    assert "R12" not in run("as-built", path, "--list").stdout


def test_every_analysis_says_that_it_holds_measured_values_and_can_leave_them_out(path: str) -> None:
    before = run("idle", path)
    assert TOLD not in before.stderr
    run("as-built", path, "mains", "114", "R12", "327")
    now = run("idle", path)
    assert now.stderr.splitlines()[0] == TOLD
    assert now.stdout != before.stdout
    assert run("idle", path, "--as-stated").stdout == before.stdout
    assert TOLD not in run("idle", path, "--as-stated").stderr
    assert run("idle", path, "--set", "R3=110k").stderr.count(TOLD) == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "say what was measured, such as R3 98.7k, or --list"),
        (("R12",), "'R12' stands there without a value: write WHAT VALUE, or 'WHAT = VALUE'"),
        (("R12", "3", "--acc"), "there is no option --acc"),
        (("R12", "3", "--accuracy", "50"), "50.0 is not in the range 0.05<=x<=20.0"),
    ],
)
def test_the_command_line_is_strict(path: str, words: tuple[str, ...], says: str) -> None:
    result = run("as-built", path, *words)
    assert result.exit_code == 2
    assert says in result.stderr


def test_a_part_off_its_mark_is_told_by_check_too(path: str) -> None:
    run("as-built", path, "R12", "361")
    for command in (("as-built", path, "--list"), ("check", path)):
        assert "doubt: R12 measures 9.4% above what it is marked [measured-off-its-mark]" in run(*command).stderr
