from __future__ import annotations

import math

import numpy as np
import pytest

from lugwright.bringup.trace.bench import FINAL, METER_OHM, OHMS, SIGNAL
from lugwright.bringup.trace.exact import ExactReadings
from lugwright.bringup.trace.hypotheses import Hypothesis
from lugwright.bringup.trace.records import Probe
from lugwright.circuit.edits import Edit, ScaleValue, SetValue
from lugwright.circuit.elements import Capacitor, Resistor
from lugwright.circuit.rewiring import Moved, Rewiring
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle
from lugwright.solve.small_signal import linearized

from .test_probes import probes

GOOD = Hypothesis((), Rewiring(""))


def probe(step: str, red: str, quantity: str, black: str = "ground") -> Probe:
    return Probe(step, red, black, quantity, "", 0.0, 0.0)


def test_volts_and_ripple_of_a_good_build_are_those_of_its_idle() -> None:
    bench, _ = probes("dunlin_5")
    idle, exact = read_idle(bench.solved), ExactReadings(bench, GOOD)
    shown = exact.value(probe(FINAL, "V1.6", "V dc"))
    assert shown == pytest.approx(idle.joints["V1b.plate"].volts, rel=0.02)
    assert shown < idle.joints["V1b.plate"].volts  # the meter takes some current
    assert exact.value(probe(FINAL, "B+1", "ripple V ac")) == pytest.approx(idle.joints["B+1"].ripple_rms_v)


def test_the_meter_is_in_the_circuit() -> None:
    bench, _ = probes("dunlin_5")
    open_cathode = Hypothesis((), Rewiring("", moved=(Moved("R4", "a", "V1a.cathode'"),)))
    circuit = bench.circuit
    r4 = circuit.by_name["R4"]
    assert r4.joints[0] == "V1a.cathode"
    volts = ExactReadings(bench, open_cathode).value(probe(FINAL, "V1.3", "V dc"))
    assert 3.0 < volts < 8.0  # some microamperes through the meter, the tube all but cut off
    assert volts / METER_OHM < 1e-6


def test_a_tip_on_a_lug_that_nothing_is_joined_to_reads_nothing() -> None:
    bench, _ = probes("dunlin_5")
    off = Hypothesis((), Rewiring(""), stands={"V1.6": "nowhere"})
    exact = ExactReadings(bench, off)
    assert exact.value(probe(FINAL, "V1.6", "V dc")) == 0.0
    assert exact.value(probe(OHMS, "V1.6", "ohm")) == math.inf


def test_both_tips_on_one_joint_read_nothing() -> None:
    bench, _ = probes("dunlin_5")
    one, other = [k for k, t in bench.plan.terminals.items() if t.joint == "ground"][:2]
    assert ExactReadings(bench, GOOD).value(probe(OHMS, one, "ohm", other)) == 0.0


def test_values_drawn_move_the_reading() -> None:
    bench, _ = probes("dunlin_5")
    drawn = Edit("", (ScaleValue("R4", "ohm", 1.05),))
    before, after = (ExactReadings(bench, GOOD, edit).value(probe(OHMS, "V1.3", "ohm")) for edit in (Edit(""), drawn))
    assert after == pytest.approx(1.05 * before, rel=1e-6)


def test_a_tubes_own_value_does_not_bring_it_back_where_its_socket_is_empty() -> None:
    bench, _ = probes("dunlin_5")
    weak = Hypothesis((), Rewiring("", changes=(SetValue("V1a", "on", 0.6),)))
    shown = ExactReadings(bench, weak).value(probe("no tubes", "V1.1", "V dc"))
    supply = ExactReadings(bench, weak).value(probe("no tubes", "B+3", "V dc"))
    assert shown == pytest.approx(supply, rel=0.02)


def test_the_signal_follows_the_generator_to_the_jack() -> None:
    bench, _ = probes("dunlin_5")
    exact = ExactReadings(bench, GOOD)
    assert exact.value(probe(SIGNAL, "J1.tip", "signal V ac")) == pytest.approx(0.02, rel=0.01)
    assert exact.value(probe(SIGNAL, "V1.6", "signal V ac")) > 1.0


@pytest.mark.parametrize("fault", ["", "R4"])
@pytest.mark.parametrize("pin", ["V1.2", "V1.3", "V1.6", "V1.7"])
def test_a_signal_is_that_with_the_meter_and_its_leads_in_the_circuit(pin: str, fault: str) -> None:
    bench, _ = probes("dunlin_5")
    moved = (Moved(fault, "a", "V1a.cathode'"),) if fault else ()
    exact = ExactReadings(bench, Hypothesis((), Rewiring("", moved=moved)))
    solved, joint = exact.solved_at(SIGNAL), bench.joint_of(pin)
    leads = [Resistor("meter", joint, "ground", 10e6), Capacitor("leads", joint, "ground", 100e-12)]
    circuit = solved.system.circuit.with_elements(leads)
    network = linearized(circuit, solved, [bench.steps[SIGNAL].edit]).at(np.array([1000.0]))
    row = network.signal.system.row
    volts = network.driven([(row[bench.joint_of("J1.tip")], row["ground"])])[row[joint], 0, 0, 0]
    shown = exact.value(probe(SIGNAL, pin, "signal V ac"))
    assert shown == pytest.approx(abs(volts) * 0.02 / 1000.0, rel=1e-6)


def test_the_meter_takes_most_of_a_signal_that_only_leaks_feed() -> None:
    bench, _ = probes("dunlin_5")
    open_cathode = Hypothesis((), Rewiring("", moved=(Moved("R8", "a", "V1b.cathode'"),)))
    assert bench.circuit.by_name["R8"].joints[0] == "V1b.cathode"
    assert ExactReadings(bench, open_cathode).value(probe(SIGNAL, "V1.8", "signal V ac")) < 1e-3


def test_an_uncoupled_stage_is_silent() -> None:
    bench, _ = probes("dunlin_5")
    solved = solve_columns(bench.circuit)[0]
    assert solved.dc.solved.all()
    (coupling,) = [e for e in bench.circuit.elements if e.name == "C2"]
    off = Hypothesis((), Rewiring("", moved=(Moved("C2", "b", f"{coupling.joints[1]}'"),)))
    assert ExactReadings(bench, off).value(probe(SIGNAL, "V1.7", "signal V ac")) < 1e-3
