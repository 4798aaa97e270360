"""With --set a command prints what is read as built and changed, side by side, and writes nothing."""

from __future__ import annotations

import json
import math
import sys
from dataclasses import replace
from importlib import import_module

import pytest
from click.testing import CliRunner, Result

from lugwright.buildfile.changes import Changed
from lugwright.circuit.operating import JointIdle
from lugwright.cli.app import COMMANDS, app
from lugwright.cli.reports import Compared, WhatIfReport
from lugwright.cli.what_if import compared, what_if_text
from lugwright.documents.compared import Quantity
from lugwright.errors import ChangeError
from lugwright.findings import Finding, Grade

from .small_job import IDLE, RATING, SETTING, STEP, TUBE, UNCERTIFIED, Opened, Workflow
from .test_commands import fit

R3 = Changed("R3", "value", "100k", "220k")
BUILDS = [
    name
    for name in COMMANDS
    if "changes" in {p.name for p in import_module(f"lugwright.cli.{name.replace('-', '_')}_command").command.params}
]
ANALYSES = [name for name in BUILDS if name not in ("parts", "expand")]


@pytest.fixture
def workflow(monkeypatch: pytest.MonkeyPatch) -> Workflow:
    stand_in = Workflow(Opened())
    stand_in.changed = Opened(changes=(R3,))
    monkeypatch.setitem(sys.modules, "lugwright.workflow", stand_in)
    return stand_in


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, [*arguments])


def test_a_table_lists_what_differs_and_counts_what_does_not(workflow: Workflow) -> None:
    joints = {"B+1": JointIdle(261.8, 0.5, 1.41)}
    tubes = {"V1": replace(TUBE, plate_to_cathode_v=120.0, grid_to_cathode_v=-1.5000000001)}
    workflow.changed.idle = replace(IDLE, joints=joints, tubes=tubes)
    result = run("idle", "small.toml", "--set", "R3=220k")
    assert result.exit_code == 0
    assert result.stdout == (
        "Small, what if: R3 = 220k (was 100k)\n\n"
        "reading              as built  changed  difference\n"
        "-------------------  --------  -------  ----------\n"
        "B+1 DC                  251 V    262 V     +10.5 V\n"
        "V1 plate to cathode     150 V    120 V     -30.0 V\n\n"
        "Other readings that are the same to three figures: 9.\n"
    )


def test_nothing_differs_and_it_says_so(workflow: Workflow) -> None:
    assert run("ohms", "small.toml", "--set", "R3=220k").stdout == (
        "Small, what if: R3 = 220k (was 100k)\n\nReadings that are the same to three figures: 1.\n"
    )


def test_ratings_carry_their_share_and_findings_come_and_go(workflow: Workflow) -> None:
    old = Finding("bleeder-missing", Grade.DOUBT, "no bleeder", "f", "w", "d")
    hot = Finding("resistor-heat", Grade.FAULT, "R3 is too hot", "1.2 W", "1 W", "take 3 W", "R3")
    workflow.opened.ratings = ((RATING,), (old,))
    workflow.changed.ratings = ((replace(RATING, value=1.2),), (hot,))
    result = run("check", "small.toml", "--set", "R3=220k")
    assert result.exit_code == 1
    assert result.stdout == (
        "Small, what if: R3 = 220k (was 100k)\n\n"
        "reading      as built        changed  difference\n"
        "-------  ------------  -------------  ----------\n"
        "R3 heat  100 mW (10%)  1.20 W (120%)     +1.10 W\n\n"
        "Other readings that are the same to three figures: 0.\n\n"
        "new: fault: R3 is too hot [resistor-heat]\n"
        "gone: doubt: no bleeder [bleeder-missing]\n"
    )
    assert result.stderr.startswith("fault: R3 is too hot [resistor-heat]\n")


def test_a_changed_limit_shows_although_the_reading_stays(workflow: Workflow) -> None:
    workflow.changed.ratings = ((replace(RATING, limit=2.0),), ())
    assert "R3 heat  100 mW (10%)  100 mW (5%)         0 W" in run("check", "small.toml", "--set", "R3=220k").stdout


def test_charts_name_the_step_and_keep_to_the_one_asked_for(workflow: Workflow) -> None:
    reading = replace(STEP.readings[0], expected=280.0)
    workflow.changed.steps = (replace(STEP, readings=(reading,)),)
    text = run("charts", "small.toml", "--step", "1", "--set", "R3=220k").stdout
    assert "step 1: V1 pin 1 V dc     312 V    280 V     -32.0 V" in text
    result = run("charts", "small.toml", "--step", "7", "--set", "R3=220k")
    assert result.exit_code == 2
    assert "there is no step 7; the last is 1" in result.stderr


def test_bias_compares_reading_plate_and_control(workflow: Workflow) -> None:
    row = replace(SETTING.rows[0], cathode_reading_mv=38.0, plate_w=15.0, share=0.5)
    workflow.changed.idle_setting = replace(SETTING, rows=(row,), bias_range=(("R49", 0.5, -38.0, 34.0),))
    text = run("bias", "small.toml", "--set", "R3=220k").stdout
    for line in (
        "V5 reads at the cathode             32.0 mV       38.0 mV    +6.00 mV",
        "V5 plate heat                  12.6 W (42%)  15.0 W (50%)     +2.40 W",
        "R49 at 50%, grid                    -42.0 V       -38.0 V     +4.00 V",
        "R49 at 50%, plate of one tube       30.1 mA       34.0 mA    +3.90 mA",
    ):
        assert line in text.splitlines()
    workflow.changed.idle_setting = None
    assert (
        "V5 plate heat                  12.6 W (42%)        -           -"
        in run("bias", "small.toml", "--set", "R3=220k").stdout.splitlines()
    )


def test_over_range_is_a_reading_too() -> None:
    before = [Quantity("a", math.inf, "ohm"), Quantity("b", 1e6, "ohm"), Quantity("c", 3.0, "dB")]
    after = [Quantity("a", 1e6, "ohm"), Quantity("b", math.inf, "ohm"), Quantity("c", -2.25, "dB")]
    rows = compared(before, after)
    assert rows == [
        Compared("a", "ohm", math.inf, 1e6, None), Compared("b", "ohm", 1e6, math.inf, None),
        Compared("c", "dB", 3.0, -2.25, -5.25),
    ]  # fmt: skip
    text = what_if_text(WhatIfReport("Small", (), (R3,), (), (), tuple(rows)), before, after)
    assert text.splitlines()[4:7] == [
        "a        over range     1.00 MΩ           -",
        "b           1.00 MΩ  over range           -",
        "c            3.0 dB     -2.2 dB     -5.2 dB",
    ]


def test_what_a_solve_leaves_over_is_no_difference() -> None:
    before = [Quantity("a", 1e-17, "V"), Quantity("b", 250.0, "V"), Quantity("c", 0.0, "A")]
    after = [Quantity("a", -3e-12, "V"), Quantity("b", 250.0 + 1e-7, "V"), Quantity("c", 2e-5, "A")]
    assert [row.difference for row in compared(before, after)] == [0.0, 0.0, 2e-5]


def test_a_reading_that_only_one_build_has_stands_alone() -> None:
    before, after = [Quantity("a", 1.0, "V")], [Quantity("b", 2.0, "V"), Quantity("c", None, "A")]
    assert compared(before, after) == [
        Compared("a", "V", 1.0, None, None), Compared("b", "V", None, 2.0, None), Compared("c", "A", None, None, None),
    ]  # fmt: skip


@pytest.mark.parametrize("name", ANALYSES)
def test_json_carries_both_and_fits_its_schema(workflow: Workflow, name: str) -> None:
    result = run(name, "small.toml", "--set", "R3=220k", "--json")
    assert result.exit_code == 0, result.output
    report = json.loads(result.stdout)
    schema = json.loads(run("schema", "--of", "what-if").stdout)
    assert fit(report, schema, schema["$defs"]) > 5
    assert report["changes"] == [{"part": "R3", "key": "value", "was": "100k", "now": "220k"}]
    assert all(row["as_built"] == row["changed"] for row in report["readings"])


def test_every_analysis_takes_changes() -> None:
    assert {*COMMANDS} - {*BUILDS} == {
        "strips",
        "trace",
        "plan",
        "jobs",
        "tick",
        "next",
        "log",
        "read",
        "as-built",
        "power-up",
        "bench",
        "book",
        "fit",
        "schema",
    }


@pytest.mark.parametrize(
    ("name", "option"),
    [("curves", "--out=there"), ("response", "--chart=a.svg"), ("start", "--out=there"), ("start", "--standby=5"),
     ("start", "--silicon")],
)  # fmt: skip
def test_what_is_drawn_of_the_build_as_it_stands_takes_no_change(workflow: Workflow, name: str, option: str) -> None:
    result = run(name, "small.toml", option, "--set", "R3=220k")
    assert (result.exit_code, result.stdout) == (2, "")
    said = f"{option.partition('=')[0]} is for the build as it stands: leave --set away, or write the value in the file"
    assert said in " ".join(result.stderr.split())


@pytest.mark.parametrize("name", BUILDS)
def test_a_change_that_breaks_the_build_leaves_with_2(workflow: Workflow, name: str) -> None:
    fault = Finding("no-such-body", Grade.FAULT, "C1: no film capacitor large enough", "f", "w", "d")
    workflow.changed = Opened(build=None, findings=(fault,), changes=(R3,))
    result = run(name, "small.toml", "--set", "C1=100u", "--set", "R3=220k")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.splitlines()[:2] == [
        "with C1=100u, R3=220k the build cannot be computed:",
        "fault: C1: no film capacitor large enough [no-such-body]",
    ]


@pytest.mark.parametrize("name", BUILDS)
def test_a_bad_change_is_answered_in_four_lines(workflow: Workflow, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    def refuses(self: Workflow, path: object, *, changes: tuple[str, ...] = (), **how: object) -> Opened:
        if changes:
            raise ChangeError(what="there is no part R99 to set", found="R99=1k", wanted="a part", do="write 'R9'")
        return self.opened

    monkeypatch.setattr(Workflow, "open_build", refuses)
    result = run(name, "small.toml", "--set", "R99=1k")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == (
        "error: there is no part R99 to set\n  found:  R99=1k\n  wanted: a part\n  do:     write 'R9'\n"
    )


@pytest.mark.parametrize("name", ["check", "idle", "charts", "bias"])
def test_a_changed_build_without_certificate_leaves_with_3_and_prints_no_number(workflow: Workflow, name: str) -> None:
    workflow.changed.idle = UNCERTIFIED
    result = run(name, "small.toml", "--set", "R3=220k")
    assert (result.exit_code, result.stdout) == (3, "")


@pytest.mark.parametrize("name", [name for name in COMMANDS if name in ("plan", "jobs", "book", "schema")])
def test_what_is_written_or_soldered_by_takes_no_change(workflow: Workflow, name: str) -> None:
    result = run(name, "small.toml", "--set", "R3=220k")
    assert result.exit_code == 2
    assert "No such option" in result.stderr
    assert "--set" in result.stderr


def test_parts_and_expand_print_the_changed_build(workflow: Workflow) -> None:
    build = workflow.changed.build
    assert build is not None
    parts = tuple(
        replace(p, values=replace(p.values, ohm=220e3)) if p.name == "R3" else p for p in build.parts
    )  # fmt: skip
    workflow.changed.build = replace(build, parts=parts)
    assert "220 kΩ 1 W" in run("parts", "small.toml", "--set", "R3=220k").stdout
    assert 'R3 = { kind = "resistor", value = "220k"' in run("expand", "small.toml", "--set", "R3=220k").stdout
