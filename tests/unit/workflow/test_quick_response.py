"""Values tried: the quick answer is the one the build opened with those values gives, whatever they move."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.machine_code import machine_code

from lugwright.buildfile.build import Can, Capacitor, Choke, Part, Pot, Resistor, Speaker, Switch
from lugwright.buildfile.changed_part import changed_part
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.part_edit import part_edit
from lugwright.errors import ChangeError
from lugwright.quantities import rkm
from lugwright.solve.response_results import ResponseCurve, ResponseWish
from lugwright.solve.system import System
from lugwright.workflow import measured_in, open_build
from lugwright.workflow.quick_response import ResponseBench

EXAMPLES = Path(__file__).parents[3] / "examples"
ALIKE = 1e-9  # of a gain or an impedance: what two certified solves of one circuit may differ by


@pytest.fixture(scope="module")
def dunlin() -> ResponseBench:
    return ResponseBench(open_build(EXAMPLES / "dunlin_5.toml"))


@pytest.fixture(scope="module")
def godwit() -> ResponseBench:
    return ResponseBench(open_build(EXAMPLES / "godwit_40.toml"))


def _worst(quick: ResponseCurve, whole: ResponseCurve) -> float:
    gains = [10.0 ** (np.array(curve.gain_db) / 20.0) for curve in (quick, whole)]
    ratios = [gains[0] / gains[1]]
    ratios += [np.array(getattr(quick, name)) / np.array(getattr(whole, name)) for name in ("input_ohm", "output_ohm")]
    assert quick.hertz == whole.hertz
    return max(float(np.abs(ratio - 1.0).max()) for ratio in ratios)


def _whole(bench: ResponseBench, changes: Sequence[str]) -> ResponseCurve:
    opened = open_build(bench.opened.path, changes=changes)
    return opened.response_to(ResponseWish(bench.source, bench.output)).curves[0]


@pytest.mark.parametrize("change", ["R9=0.9", "R9=0", "R11=4k7"])
def test_what_moves_no_idle_is_answered_at_the_idle_of_the_build(dunlin: ResponseBench, change: str) -> None:
    found = dunlin.response([change], change)
    assert not found.followed
    assert found.levels == dunlin.opened.idle.levels
    assert _worst(found.curve, _whole(dunlin, [change])) < ALIKE


@pytest.mark.parametrize(
    "change", ["R5=0.3", "C3=10n", "C1=10u", "R5=250k", "R4=2k2", "R15=1k", "R12=470", "C6.a=22u", "V1=12AU7", "LS1=4"]
)
def test_what_may_move_the_idle_has_it_followed(dunlin: ResponseBench, change: str) -> None:
    found = dunlin.response([change], change)
    assert found.followed
    opened = open_build(dunlin.opened.path, changes=[change])
    for joint, level in opened.idle.joints.items():
        assert found.levels.volts[joint] == pytest.approx(level.volts, abs=1e-6)
    assert _worst(found.curve, _whole(dunlin, [change])) < ALIKE


def test_a_knob_turned_on_top_of_other_changes_is_held_at_their_idle(dunlin: ResponseBench) -> None:
    changes = ["R4=2k2", "R9=0.2", "R5=0.8"]
    found = dunlin.response(changes, "R5=0.8")
    assert found.followed
    assert _worst(found.curve, _whole(dunlin, changes)) < ALIKE


def test_track_and_turn_of_one_pot_are_two_changes(dunlin: ResponseBench) -> None:
    changes = ["R5=250k", "R5=0.2"]
    assert _worst(dunlin.response(changes, "R5=0.2").curve, _whole(dunlin, changes)) < ALIKE
    assert _worst(dunlin.response(changes).curve, _whole(dunlin, changes)) < ALIKE


def test_the_way_by_which_a_slider_came_to_a_value_does_not_matter(dunlin: ResponseBench) -> None:
    for text in ("C6.a=22u", "C6.a=27u", "C6.a=33u", "C6.a=39u"):
        found = dunlin.response([text], text)
    whole = open_build(dunlin.opened.path, changes=["C6.a=39u"])
    assert _worst(found.curve, whole.response_to(ResponseWish()).curves[0]) < ALIKE
    for joint, volts in whole.idle.levels.volts.items():
        assert found.levels.volts[joint] == pytest.approx(volts, abs=1e-6)


def test_a_value_beyond_the_range_of_its_slider_is_followed(dunlin: ResponseBench) -> None:
    found = dunlin.response(["C3=1u"], "C3=1u")
    assert _worst(found.curve, _whole(dunlin, ["C3=1u"])) < ALIKE


@pytest.mark.parametrize("change", ["L1=2H2", "LS1=4", "R7=0.1", "R27=0.9", "R34=1", "R4=150k", "R52=10k"])
def test_a_large_amplifier_with_feedback_is_answered_alike_by_machine_code(godwit: ResponseBench, change: str) -> None:
    with machine_code():
        found = godwit.response([change], change)
    assert _worst(found.curve, _whole(godwit, [change])) < ALIKE


def test_a_value_that_moves_a_joint_but_no_rectifier_tells_where_the_joint_is(godwit: ResponseBench) -> None:
    found = godwit.response(["R33=330"], "R33=330")
    assert found.followed
    whole = open_build(godwit.opened.path, changes=["R33=330"]).idle.levels.volts
    assert found.levels.volts["feedback"] == pytest.approx(whole["feedback"], abs=1e-6)
    assert abs(whole["feedback"] - godwit.opened.idle.levels.volts["feedback"]) > 0.01


def test_the_curve_between_other_points_is_as_of_the_command(dunlin: ResponseBench) -> None:
    between = ResponseBench(dunlin.opened, "V1a.grid", "V1a.plate")
    assert _worst(between.response(["R5=0.9"], "R5=0.9").curve, _whole(between, ["R5=0.9"])) < ALIKE


def test_what_was_measured_stands_and_a_value_tried_takes_its_place(tmp_path: Path) -> None:
    path = tmp_path / "dunlin_5.toml"
    shutil.copy(EXAMPLES / path.name, path)
    measured_in(open_build(path), [("mains", "114"), ("R12", "341"), ("R5", "0.91M")])
    bench = ResponseBench(open_build(path))
    assert bench.opened.as_built.used
    for changes in (["R9=0.2"], ["R12=330"], ["R5=0.7"]):
        assert _worst(bench.response(changes, changes[-1]).curve, _whole(bench, changes)) < ALIKE


def test_a_value_that_a_part_cannot_have_is_refused_as_on_the_command_line(dunlin: ResponseBench) -> None:
    with pytest.raises(ChangeError) as quick:
        dunlin.response(["R4=red"], "R4=red")
    with pytest.raises(ChangeError) as whole:
        open_build(dunlin.opened.path, changes=["R4=red"])
    assert str(quick.value) == str(whole.value)


@pytest.mark.parametrize("name", ["dunlin_5", "curlew_18", "godwit_40", "redshank_50"])
def test_a_changed_part_is_the_edit_that_makes_the_circuit_of_the_changed_file(name: str) -> None:
    opened = open_build(EXAMPLES / f"{name}.toml")
    build, circuit = opened.written, opened.circuit
    system = System(circuit)
    for part in build.parts:
        for text in _texts(part):
            made = changed_part(build, text, {})
            assert made is not None
            changed = tuple(made.part if each is part else each for each in build.parts)
            rebuilt = System(circuit_from_build(replace(build, parts=changed)))
            edited = system.values([part_edit(build, circuit, made.part)])
            assert np.array_equal(edited, rebuilt.base_values), text


def _texts(part: Part) -> list[str]:
    match part.values:
        case Resistor(ohm=ohm):
            return [f"{part.name}={rkm(2.0 * ohm, 'ohm')}"]
        case Pot(ohm=ohm):
            return [f"{part.name}=0.125", f"{part.name}={rkm(ohm / 2.0, 'ohm')}"]
        case Capacitor(farad=farad):
            return [f"{part.name}={rkm(farad / 2.0, 'farad')}"]
        case Choke(henry=henry):
            return [f"{part.name}={rkm(henry / 2.0, 'henry')}"]
        case Speaker(ohm=ohm):
            return [f"{part.name}={rkm(ohm / 2.0, 'ohm')}"]
        case Can(farads=farads):
            return [f"{part.name}.a={rkm(farads[0] / 2.0, 'farad')}"]
        case Switch(positions=positions):
            return [f"{part.name}={position}" for position in positions]
    return []
