"""What each command prints, and the code it leaves with."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lugwright.cli.app import COMMANDS, app
from lugwright.errors import FileAccessError, PlanError
from lugwright.findings import Finding, Grade, Place

from .small_job import IDLE, MEASURED, TUBE, UNCERTIFIED, Opened, Workflow

ON_A_BUILD = [name for name in COMMANDS if name not in ("schema", "fit", "bench")]
FAULT = Finding("no-value", Grade.FAULT, "resistor R3 has no value", 'value = ""', 'such as "4k7"', "write it",
                place=Place("small.toml", 41, 6))  # fmt: skip


@pytest.fixture
def workflow(monkeypatch: pytest.MonkeyPatch) -> Workflow:
    stand_in = Workflow(Opened())
    monkeypatch.setitem(sys.modules, "lugwright.workflow", stand_in)
    return stand_in


def run(*arguments: str) -> Result:
    """Run a command; what is ticked off is card 1, and readings are listed, unless something is said."""
    if arguments[0] == "tick" and not {"1", "--lead", "--note", "--undo"} & set(arguments):
        arguments = (*arguments, "1")
    if arguments[0] in ("read", "as-built"):
        arguments = (*arguments, "--list")
    return CliRunner().invoke(app, [*arguments])


@pytest.mark.parametrize("name", ON_A_BUILD)
def test_json_of_every_command_fits_its_own_schema(workflow: Workflow, name: str) -> None:
    result = run(name, "small.toml", "--json")
    assert result.exit_code == 0, result.output
    schema = json.loads(run("schema", "--of", name).stdout)
    report = json.loads(result.stdout)
    assert report["build"] == "Small"
    checked = fit(report, schema, schema["$defs"])
    assert checked >= 3


def fit(value: object, schema: dict, definitions: dict) -> int:
    """Check a value against the part of JSON Schema that we print; return how many values were looked at."""
    if "$ref" in schema:
        return fit(value, definitions[schema["$ref"].rpartition("/")[2]], definitions)
    if "anyOf" in schema:
        errors = []
        for one in schema["anyOf"]:
            try:
                return fit(value, one, definitions)
            except AssertionError as error:
                errors.append(str(error))
        raise AssertionError(f"{value!r} fits none: {errors}")
    if "enum" in schema:
        assert value in schema["enum"]
        return 1
    kinds = schema.get("type", [])
    names = {"string": str, "integer": int, "number": (int, float), "boolean": bool, "null": type(None),
             "array": list, "object": dict}  # fmt: skip
    kinds = [kinds] if isinstance(kinds, str) else kinds
    assert not kinds or any(isinstance(value, names[kind]) for kind in kinds), f"{value!r} is no {kinds}"
    if isinstance(value, list):
        if "prefixItems" in schema:
            assert len(value) == schema["minItems"] == schema["maxItems"]
            pairs = zip(value, schema["prefixItems"], strict=True)
            return 1 + sum(fit(item, one, definitions) for item, one in pairs)
        return 1 + sum(fit(item, schema["items"], definitions) for item in value)
    if isinstance(value, dict) and "properties" in schema:
        assert list(value) == schema["required"]
        return 1 + sum(fit(item, schema["properties"][name], definitions) for name, item in value.items())
    if isinstance(value, dict):
        return 1 + sum(fit(item, schema["additionalProperties"], definitions) for item in value.values())
    return 1


@pytest.mark.parametrize("name", ON_A_BUILD)
def test_a_build_file_that_cannot_be_read_leaves_with_2_and_its_findings(workflow: Workflow, name: str) -> None:
    workflow.opened = Opened(build=None, findings=(FAULT,))
    result = run(name, "small.toml")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.splitlines() == [
        "small.toml:41:6: fault: resistor R3 has no value [no-value]",
        '  found:  value = ""', '  wanted: such as "4k7"', "  do:     write it",
    ]  # fmt: skip


@pytest.mark.parametrize("name", ON_A_BUILD)
def test_a_fault_leaves_with_1_and_a_doubt_with_0(workflow: Workflow, name: str) -> None:
    workflow.opened.findings = (FAULT,)
    assert run(name, "small.toml").exit_code == 1
    workflow.opened.findings = (Finding("a-doubt", Grade.DOUBT, "w", "f", "w", "d"),)
    result = run(name, "small.toml")
    assert result.exit_code == 0
    assert "doubt: w [a-doubt]" in result.stderr


@pytest.mark.parametrize("name", ["check", "idle", "charts", "bias", "response", "power", "book"])
def test_an_idle_without_certificate_leaves_with_3_and_prints_no_number(workflow: Workflow, name: str) -> None:
    workflow.opened.idle = UNCERTIFIED
    result = run(name, "small.toml")
    assert result.exit_code == 3
    assert result.stdout == ""
    assert result.stderr.splitlines() == [
        "error: the idle found does not hold up",
        "  found:  V1.plate is 0.0031 A out after 7 steps",
        "  wanted: less than 1e-11 A left over at that joint",
        "  do:     look at what meets at V1.plate: a missing bias path, a short, a wrong value",
    ]
    assert workflow.written == []


@pytest.mark.parametrize("name", ["check", "book"])
def test_cold_tubes_without_certificate_leave_with_3_too(workflow: Workflow, name: str) -> None:
    workflow.opened.cold_idle = UNCERTIFIED
    assert run(name, "small.toml").exit_code == 3


def test_no_plan_leaves_with_3(workflow: Workflow, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_plan(self: Opened) -> None:
        raise PlanError(what="not enough lugs", found="12", wanted="14", do="add a strip")

    monkeypatch.setattr(Opened, "plan", property(no_plan, lambda self, value: None), raising=False)
    workflow.opened = Opened()
    result = run("plan", "small.toml")
    assert result.exit_code == 3
    assert result.stderr.startswith("error: not enough lugs\n  found:  12\n")


@pytest.mark.parametrize("error", [
    FileAccessError(what="cannot write", found="book", wanted="room", do="make room"),
    PermissionError(13, "Permission denied", "book/book.pdf"),
])  # fmt: skip
def test_a_book_that_cannot_be_written_leaves_with_4(
    workflow: Workflow, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(workflow, "write_book", fails)
    result = run("book", "small.toml")
    assert result.exit_code == 4
    assert result.stderr.startswith("error: ")
    assert len(result.stderr.splitlines()) == 4


def test_book_goes_where_it_is_told_on_the_paper_asked_for(workflow: Workflow) -> None:
    result = run("book", "small.toml", "--out", "there", "--paper", "letter")
    assert workflow.written == [Path("there/book_Letter.pdf")]
    assert result.stdout == "Small: the book is in there (files: 1)\n"


def test_idle_prints_joints_tubes_windings_and_certificate(workflow: Workflow) -> None:
    lines = run("idle", "small.toml").stdout.splitlines()
    assert lines[0] == "Small, mains on, no signal: 210 mA and 19.8 W from the mains"
    assert "B+1    251.3 V      1.41 V" in lines
    assert any(line.split() == ["V1", "150", "V", "-1.50", "V", "1.00", "mA", "-", "150", "mW"] for line in lines)
    assert lines[-1] == ("Certificate: Newton, 7 steps; most current left over 2e-13 A at B+1 (allowed 1e-11 A).")


def test_idle_prints_no_mean_volts_of_a_rectifier_which_swing_with_the_mains(workflow: Workflow) -> None:
    rectifier = replace(TUBE, name="V3.plate1", part="V3", plate_to_cathode_v=-309.0, transconductance_a_per_v=0.0)
    workflow.opened.idle = replace(IDLE, tubes={"V3.plate1": rectifier})
    lines = run("idle", "small.toml").stdout.splitlines()
    assert any(line.split() == ["V3.plate1", "-", "-", "1.00", "mA", "-", "150", "mW"] for line in lines)


def test_ohms_begins_with_the_caution_and_says_over_range(workflow: Workflow) -> None:
    lines = run("ohms", "small.toml").stdout.splitlines()
    assert lines[0].startswith("Plug out, every capacitor measured below 60 V")
    assert lines[-1].split() == [
        "V1",
        "pin",
        "1",
        "ohms",
        "to",
        "ground",
        "over",
        "range",
        "1.00",
        "MΩ",
        "over",
        "range",
    ]


def test_ohms_between_points_prints_those_alone(workflow: Workflow) -> None:
    lines = run("ohms", "small.toml", "--between", "V1 pin 1 to B+1", "--between", "R3").stdout.splitlines()
    assert [line.partition("  ")[0] for line in lines[-2:]] == ["V1 pin 1 to B+1", "R3"]
    assert workflow.between == ("V1 pin 1 to B+1", "R3")


def test_charts_can_print_one_step_and_says_which_is_the_last(workflow: Workflow) -> None:
    head, _, text = run("charts", "small.toml", "--step", "1").stdout.partition("\n\n")
    assert head == (
        "Windows hold 99% of good builds: parts within tolerance, tubes within their type's spread, mains within 3.0%, "
        "a meter of 10 Mohm that is off by 1 % and three digits."
    )
    assert text.startswith("Step 1: No tubes (through the 60 W lamp)\n  caution: One hand\n  do: Plug in\n")
    result = run("charts", "small.toml", "--step", "7")
    assert result.exit_code == 2
    assert "there is no step 7; the last is 1" in result.stderr


def test_charts_without_a_mains_inlet_say_so(workflow: Workflow) -> None:
    workflow.opened = replace(workflow.opened, steps=())
    result = run("charts", "small.toml")
    assert result.stdout == "There is no mains inlet in this build, so there is no power-up to go through.\n"


def test_bias_prints_where_to_read_and_what_the_control_does(workflow: Workflow) -> None:
    text = run("bias", "small.toml", "--computed").stdout
    assert "V5    R41      32.0 mV  30.0 mA" in text
    assert "R49           50%  -42.0 V            30.1 mA" in text
    workflow.opened.idle_setting = None
    assert (
        run("bias", "small.toml", "--computed").stdout
        == "This amplifier has no output tube whose idle is set or read.\n"
    )


def test_bias_prints_what_readings_say_and_how_far_to_turn(workflow: Workflow) -> None:
    result = run("bias", "small.toml", "--reading", "V5 = 52.1 mV", "--target", "62%")
    assert result.exit_code == 0
    assert workflow.wishes == ["62%"]
    for line in (
        "Small at idle, as read: V5 = 52.1 mV",
        "V5    52.1 ± 0.8 mA  2.6 ± 1.2 mA  49.5 ± 1.5 mA         401 ± 5 V  19.8 ± 0.6 W of 30 W  66% ± 2%  1.1 W of "
        "5 W",
        "V5: cathode current from volts over R41; screen current from the type's law; plate current from cathode "
        "current less the screen's; plate volts read to ground; 107% of its type's average",
        "V5 plate current from volts over T2 primary: 45.4 ± 4.5 mA",
        "Match: V5 49.5 mA, V6 44.0 mA; 12% apart, good enough to play. 5.5 mA do not cancel in the output "
        "transformer.",
        "By these readings R49 Bias stands at about 77% of its travel, the mains is at 99.7% of what is stated.",
        "Aim: 60% of the plate limit for the hottest tube (fixed bias, push-pull). Set so, mains 10 % high brings it "
        "to 75%.",
        "R49 Bias (V5), from 70% to 73%: turn it clockwise by 0.3 hours on the clock (3% of its travel); then read "
        "44.4 mV at V5 (57%, grid -41.0 V)",
        "R49 Bias (V5)  as it stands  70%  408.3 V   -41.0 V, 44.4 mV, 57%",
        "- Volts are no amperes.",
        "caution: Bias before output tubes",
    ):
        assert line in result.stdout.splitlines()


def test_bias_says_that_nothing_is_worked_out_and_leaves_with_1(
    workflow: Workflow, monkeypatch: pytest.MonkeyPatch
) -> None:
    fault = Finding("idle-no-current", Grade.FAULT, "V5 draws no current", "V5 = 0 mV", "about 40 mV", "look at it")
    nothing = replace(
        MEASURED, tubes=(), others=(), match=None, advice=None, findings=(fault,), read_on="2026-11-26 01:05"
    )
    monkeypatch.setattr(Workflow, "measured_idle", lambda self, opened, texts, wish: replace(nothing, readings=texts))
    result = run("bias", "small.toml", "--reading", "V5 = 0 mV")
    assert result.exit_code == 1
    assert result.stdout.startswith(
        "Small at idle, as read on 2026-11-26 01:05 UTC, by the log: V5 = 0 mV\n\n"
        "From these readings no current or watt is worked out: see the findings.\n"
    )
    monkeypatch.setattr(Workflow, "measured_idle", lambda *_: replace(MEASURED, advice=None))
    text = run("bias", "small.toml").stdout
    assert "No turn is advised: these readings fit no setting of this circuit." in text


def test_bias_as_computed_leaves_the_log_alone(workflow: Workflow, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Workflow, "measured_idle", lambda *_: pytest.fail("the log was asked"))
    assert run("bias", "small.toml", "--computed").stdout.startswith("Method: fixed bias.")
    result = run("bias", "small.toml", "--set", "R3=220k", "--reading", "V5 = 1 mV")
    assert result.exit_code == 2
    assert "--reading is for the build as it stands" in result.stderr


def test_jobs_can_print_one_card_or_the_cut_list(workflow: Workflow) -> None:
    card = run("jobs", "small.toml", "--card", "6").stdout
    assert card.startswith("Card 6, earth and mains: Protective earth\n")
    assert "cut list" not in card
    cuts = run("jobs", "small.toml", "--cut-list").stdout
    assert "Card" not in cuts
    assert "In all: red 22 AWG solid 600 V" in cuts
    assert run("jobs", "small.toml", "--card", "99").exit_code == 2


def test_check_lists_ratings_the_most_used_first(workflow: Workflow) -> None:
    lines = run("check", "small.toml").stdout.splitlines()
    assert lines[0] == "Small: 1 ratings checked, no findings"
    assert lines[-1].split() == ["R3", "heat", "100", "mW", "1.00", "W", "10%"]


def test_plan_says_where_it_was_written(workflow: Workflow) -> None:
    lines = run("plan", "small.toml").stdout.splitlines()
    assert lines[0] == "Small: 6 parts seated, 16 wires (1.3 m), 0 lugs to spare"
    assert lines[-1] == "written to small.plan.json"


def test_parts_lists_value_and_ends(workflow: Workflow) -> None:
    rows = {line.split()[0]: line for line in run("parts", "small.toml").stdout.splitlines()[2:]}
    assert "100 kΩ 1 W (brown black yellow gold)" in rows["R3"]
    assert rows["R3"].endswith("1 = B+1, 2 = V1.plate")


def test_expand_prints_toml_with_every_part(workflow: Workflow) -> None:
    import tomllib

    stages = tomllib.loads(run("expand", "small.toml").stdout)["stage"]
    assert stages["in"]["R3"] == {
        "kind": "resistor", "value": "100k", "watts": 1, "tolerance": 5, "volts": 350,
        "ends": ["B+1", "V1.plate"],
    }  # fmt: skip
    assert stages["power"]["T1"]["windings"]["hv"]["ends"] == ["raw", "ground"]


def test_no_color_and_no_progress_in_what_is_piped(workflow: Workflow) -> None:
    result = run("idle", "small.toml")
    assert "\x1b" not in result.output
    assert result.stderr == ""
    assert IDLE.certificate.passed
