"""What takes an output tube's bias, hold or plate supply says so, whatever kind of mistake it is."""

from __future__ import annotations

import pytest
from tests.planned_examples import example

from lugwright.bringup.faults.codes import GRID_ADRIFT, GRID_RAISED, NO_BIAS, SCREEN_ALONE, TOO_HOT
from lugwright.bringup.faults.fault import Fault
from lugwright.circuit.operating import Idle
from lugwright.circuit.rewiring import rewired
from lugwright.layout.results import Wire
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle

from .bench import circuit_of, faults

PAIR, SINGLE = "godwit_40", "dunlin_5"


def cold(name: str, lead: str) -> Fault:
    return next(f for key, f in faults(name).items() if key.startswith(f"cold {lead} at "))


@pytest.mark.parametrize("lead", ["R47.1", "R47.2", "CR3.anode", "CR3.cathode"])
def test_a_cold_lead_in_the_bias_supply_takes_the_bias(lead: str) -> None:
    assert cold(PAIR, lead).danger == NO_BIAS


@pytest.mark.parametrize("lead", ["R37.1", "R37.2", "R38.1", "R39.1", "R40.2"])
def test_a_cold_lead_between_bias_and_grid_lets_the_grid_go(lead: str) -> None:
    assert cold(PAIR, lead).danger == GRID_ADRIFT


def test_a_grid_leak_off_in_cathode_bias_lets_the_grid_go() -> None:
    assert cold(SINGLE, "R10.2").danger == GRID_ADRIFT
    assert faults(SINGLE)["open R10"].danger == GRID_ADRIFT


def test_a_resistor_that_takes_half_the_bias_away_is_a_danger_and_one_that_adds_to_it_is_none() -> None:
    assert faults(PAIR)["decade R48 1.5e+03"].danger == NO_BIAS
    assert faults(PAIR)["decade R48 1.5e+05"].danger == ""
    assert faults(PAIR)["decade R49 2.5e+03"].danger == TOO_HOT


def test_a_plate_without_supply_leaves_the_screen_alone() -> None:
    plan = {(w.terminals[0]): w.number for w in _plan_wires() if w.terminals[0].startswith("T2.primary")}
    for lead in ("T2.primary.1", "T2.primary.2", "T2.primary.3"):
        assert faults(PAIR)[f"missing W{plan[lead]}"].danger == SCREEN_ALONE
    assert faults(PAIR)["open T2.primary.1-2"].danger == SCREEN_ALONE


def _plan_wires() -> tuple[Wire, ...]:
    return example(PAIR).plan.wires


def test_faults_elsewhere_take_nothing_from_the_output_tubes() -> None:
    for key in ("open R4", "open C1", "shorted R5", "decade R12 1e+04", "dead V1a", "open C7"):
        assert faults(PAIR)[key].danger == ""


def idle(name: str, fault: Fault | None) -> Idle:
    circuit = circuit_of(name)
    if fault is None:
        return read_idle(solve_columns(circuit)[0])
    return read_idle(solve_columns(rewired(circuit, fault.rewiring), [fault.rewiring.edit])[0])


@pytest.mark.parametrize("key", ["open R47", "shorted R48", "shorted C22", "decade R47 1.8e+05", "decade R48 1.5e+03"])
def test_no_bias_means_plates_far_over_their_limit(key: str) -> None:
    fault = faults(PAIR)[key]
    assert fault.danger == NO_BIAS
    now, good = idle(PAIR, fault).tubes["V5"], idle(PAIR, None).tubes["V5"]
    assert now.plate_w + now.screen_w > 1.5 * (good.plate_w + good.screen_w)


def test_what_turns_red_is_named_tube_by_tube() -> None:
    assert {s for s in faults(PAIR)["open R37"].shows if s.startswith("red")} == {"red plate V5"}
    assert {s for s in faults(PAIR)["open R47"].shows if s.startswith("red")} == {"red plate V5", "red plate V6"}
    assert not any(s.startswith("red") for s in faults(PAIR)["open R4"].shows)


@pytest.mark.parametrize("key", ["shorted C19", "leaky C20 1e+06"])
def test_a_coupling_capacitor_that_passes_direct_current_raises_a_grid(key: str) -> None:
    fault = faults(PAIR)[key]
    assert fault.danger == GRID_RAISED
    tube = "V5" if "C19" in key else "V6"
    assert idle(PAIR, fault).tubes[tube].cathode_a > 1.5 * idle(PAIR, None).tubes[tube].cathode_a
    assert faults(PAIR)["leaky C20 1e+07"].danger == ""


def test_dangers_are_said_in_a_builders_words() -> None:
    assert GRID_RAISED == "high voltage pulls the grids of the output tubes up: their plates turn red within seconds"
    assert SCREEN_ALONE == "with its plate dead the screen takes the whole current and glows"
    assert TOO_HOT == "the output tubes draw too much and overheat"
