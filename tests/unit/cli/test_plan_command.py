"""`plan` with its options, through the command line."""

from __future__ import annotations

import json
import sys

import pytest

from .small_job import Opened, Workflow
from .test_commands import fit, run


@pytest.fixture
def workflow(monkeypatch: pytest.MonkeyPatch) -> Workflow:
    stand_in = Workflow(Opened())
    monkeypatch.setitem(sys.modules, "lugwright.workflow", stand_in)
    return stand_in


@pytest.mark.usefixtures("workflow")
def test_why_prints_the_answers_and_nothing_else():
    result = run("plan", "small.toml", "--why", "R3", "--why", "W1")
    assert result.exit_code == 0
    assert [line for line in result.stdout.splitlines() if "lies there" in line] == ["R3 lies there.", "W1 lies there."]
    assert "written to" not in result.stdout


@pytest.mark.usefixtures("workflow")
def test_json_of_why_fits_its_schema():
    report = json.loads(run("plan", "small.toml", "--why", "R3", "--json").stdout)
    schema = json.loads(run("schema", "--of", "plan-why").stdout)
    assert fit(report, schema, schema["$defs"]) > 5
    assert report["why"][0]["choices"][1] == {"place": "A.3", "more": None, "because": "full"}


def test_compare_prints_the_plans_side_by_side(workflow: Workflow):
    result = run("plan", "small.toml", "--compare")
    assert result.exit_code == 0
    assert result.stdout.splitlines()[0].split() == ["stored", "tidiest"]
    assert workflow.chosen == []


@pytest.mark.usefixtures("workflow")
def test_json_of_compare_fits_its_schema():
    report = json.loads(run("plan", "small.toml", "--compare", "--json").stdout)
    schema = json.loads(run("schema", "--of", "plan-compare").stdout)
    assert fit(report, schema, schema["$defs"]) > 20
    assert [plan["name"] for plan in report["plans"]] == ["stored", "tidiest"]


def test_choose_keeps_that_plan(workflow: Workflow):
    result = run("plan", "small.toml", "--choose", "tidiest")
    assert result.exit_code == 0
    assert workflow.chosen == ["tidiest"]
    assert "written to small.plan.json" in result.stdout


def test_an_unknown_way_of_planning_is_refused(workflow: Workflow):
    result = run("plan", "small.toml", "--choose", "nicest")
    assert result.exit_code == 2
    assert workflow.chosen == []


def test_afresh_keeps_a_plan_made_without_the_stored_one(workflow: Workflow):
    result = run("plan", "small.toml", "--afresh")
    assert result.exit_code == 0
    assert workflow.chosen == ["afresh"]


def test_afresh_and_choose_are_one_or_the_other(workflow: Workflow):
    result = run("plan", "small.toml", "--afresh", "--choose", "tidiest")
    assert result.exit_code == 2
    assert "--choose plans afresh already; give one of --choose and --afresh" in result.stderr
    assert workflow.chosen == []
