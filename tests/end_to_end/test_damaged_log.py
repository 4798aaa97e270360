"""A damaged log through the command line: said, saved as far as it can be read, and gone on with."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from tests.planned_examples import FOLDER, example

from lugwright.cli.app import app
from lugwright.layout.plan_file import plan_to_text

NAME = "dunlin_5"


@pytest.fixture
def build(tmp_path: Path) -> Path:
    path = tmp_path / f"{NAME}.toml"
    shutil.copy(FOLDER / path.name, path)
    path.with_suffix(".plan.json").write_text(plan_to_text(example(NAME).plan), encoding="utf-8")
    return path


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, [*arguments])


def entries(build: Path) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(run("log", str(build), "--json").stdout)["entries"]
    return found


def test_what_a_damaged_log_still_holds_is_gone_on_with(build: Path) -> None:
    for card in ("1", "2", "3"):
        assert run("tick", str(build), card).exit_code == 0
    before, log = entries(build), build.with_suffix(".log.sqlite")
    raw = log.read_bytes()
    log.write_bytes(b"\0" * 500 + raw[500:])
    said = run("log", str(build))
    assert said.exit_code != 0
    assert "lugwright log BUILD_FILE --rescue FILE" in said.output
    damaged, saved = log.read_bytes(), build.with_name("saved.jsonl")
    rescue = run("log", str(build), "--rescue", str(saved))
    assert rescue.exit_code == 0, rescue.output
    assert rescue.stdout.splitlines()[0] == "3 entries read and written; none known to be lost."
    assert log.read_bytes() == damaged
    log.rename(build.with_name("damaged.sqlite"))
    assert run("log", str(build), "--import", str(saved)).stdout == "3 new entries taken in, 0 there already\n"
    assert entries(build) == before
    assert run("tick", str(build), "4").exit_code == 0


def test_a_log_that_is_not_there_or_holds_nothing_is_named(build: Path) -> None:
    saved = build.with_name("saved.csv")
    missing = run("log", str(build), "--rescue", str(saved))
    assert "found:  no dunlin_5.log.sqlite" in missing.output
    build.with_suffix(".log.sqlite").write_bytes(b"\0" * 9000)
    empty = run("log", str(build), "--rescue", str(saved))
    assert "found:  not one entry in it can be read" in empty.output
    both = run("log", str(build), "--rescue", str(saved), "--export", "x.csv")
    assert "--rescue goes alone" in both.output
    assert {missing.exit_code, empty.exit_code, both.exit_code} == {2}
    assert not saved.exists()
