"""What is asked of many wirings besides their volts, each against a second way of finding it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lugwright.circuit.edits import ScaleValue, SetValue
from lugwright.circuit.elements import Resistor
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring
from lugwright.solve.rewired import solve_rewired
from lugwright.solve.rewired_alternating import ac_rewired, signal_heard
from lugwright.solve.rewired_columns import compiled
from lugwright.solve.small_signal import linearized
from lugwright.workflow.opened import Opened, open_build

EXAMPLES = Path(__file__).parents[3] / "examples"
JOINTS = ("B+1", "V1a.plate", "V1a.cathode", "V5.plate", "V5.grid", "V3b.grid")
SAME_V, SAME_SHARE = 1e-3, 1e-3
NUDGE, SLOPE_V, SLOPE_SHARE = 1e-3, 2e-3, 5e-3  # central differences: the law's third derivative over the nudge squared
OTHER_WINDINGS = 5e-3  # the cycle's rule in time bends the mains frequency by this at most

WIRINGS = (
    Rewiring(""),
    Rewiring("leak", bridges=(Bridge("V1a.plate", "V1a.grid", 10e6),)),
    Rewiring("cathode off", moved=(Moved("V1b", "cathode", "V1 pin 8"),)),
    Rewiring("tenfold", (ScaleValue("R37", "ohm", 10.0),)),
    Rewiring("dead", (SetValue("V6", "on", 0.0),)),
)


@cache
def _godwit() -> Opened:
    return open_build(EXAMPLES / "godwit_40.toml")


def test_sensitivities_are_central_differences() -> None:
    opened = _godwit()
    solved = opened.solved
    parts = [e.name for e in opened.circuit.elements if isinstance(e, Resistor) and e.role == "part"][:40]
    causes = [*((name, "ohm") for name in parts), ("V1a", "on"), ("V5", "on"), ("mains", "rms_v"), ("C1", "farad")]
    many = solve_rewired(solved, WIRINGS)
    found = many.sensitivities(JOINTS, causes)
    for k, (element, field) in enumerate(causes):
        nudged = [Rewiring("", (ScaleValue(element, field, 1.0 + s * NUDGE),)) for s in (1.0, -1.0)]
        up, down = (solve_rewired(solved, [r + n for r in WIRINGS]).volts_at(JOINTS) for n in nudged)
        expected = (up - down) / (2.0 * NUDGE)
        assert found[:, :, k] == pytest.approx(expected, abs=SLOPE_V, rel=SLOPE_SHARE), (element, field)


def test_a_meter_shows_what_a_resistor_in_its_place_leaves() -> None:
    opened = _godwit()
    many = solve_rewired(opened.solved, WIRINGS)
    shown = many.with_meter(JOINTS)
    for k, joint in enumerate(JOINTS):
        meter = Rewiring("", bridges=(Bridge(joint, "ground", 10e6),))
        expected = solve_rewired(opened.solved, [r + meter for r in WIRINGS]).volts_at([joint])[:, 0]
        assert shown[:, k] == pytest.approx(expected, abs=SAME_V, rel=SAME_SHARE), joint


def test_a_pin_without_its_wire_reads_next_to_nothing_with_the_meter_on() -> None:
    opened = _godwit()
    many = solve_rewired(opened.solved, [Rewiring("off", moved=(Moved("V1a", "plate", "V1 pin 1"),))])
    assert abs(many.with_meter(["V1 pin 1"])[0, 0]) < 2.0  # what an unheld plate takes from its cathode


def test_source_resistance_is_what_a_small_load_pulls_down() -> None:
    opened = _godwit()
    joints = ("V1a.plate", "V1a.cathode", "B+3", "V5.plate")
    many = solve_rewired(opened.solved, WIRINGS)
    source, volts = many.source_ohm(joints), many.volts_at(joints)
    for k, joint in enumerate(joints):
        for column, wiring in enumerate(WIRINGS):
            load = 1e4 * source[column, k]
            loaded = solve_rewired(opened.solved, [wiring + Rewiring("", bridges=(Bridge(joint, "ground", load),))])
            pulled = volts[column, k] - loaded.volts_at([joint])[0, 0]
            assert pulled * load / volts[column, k] == pytest.approx(source[column, k], rel=2e-3), (joint, wiring.name)


def test_a_signal_is_that_of_the_circuit_made_linear() -> None:
    opened = _godwit()
    many = solve_rewired(opened.solved, WIRINGS[:1])
    joints = ("V1a.plate", "V3b.grid", "V5.plate", "V1a.grid")
    found = many.signal("V1a.grid", joints, 1000.0, source_ohm=600.0)[0]
    network = linearized(opened.solved.system.circuit, opened.solved).at(np.array([1000.0]))
    row = opened.solved.system.row
    answer = network.driven([(row["V1a.grid"], row["ground"])])[:, 0, 0, 0]
    expected = np.array([answer[row[j]] for j in joints]) / (600.0 + answer[row["V1a.grid"]])
    assert found == pytest.approx(expected, rel=1e-3)
    assert abs(found[-1]) == pytest.approx(1.0, rel=0.1)


def test_a_signal_that_a_meter_shows_is_that_with_the_meter_in_its_place() -> None:
    opened = _godwit()
    solved, columns = opened.solved, compiled(opened.solved.system, WIRINGS[:1])
    many = solve_rewired(solved, WIRINGS[:1])
    row, meter_s = solved.system.row, 1e-5 + 2e-5j
    for black in ("ground", "V1a.cathode"):
        rows = columns.rows(["V1a.plate", "V3b.grid", "V5.grid"])
        at = rows, int(columns.rows([black])[0, 0]), columns.rows(["V1a.grid"])
        heard = signal_heard(solved, columns, columns.values(solved.values), many.answer, at, 1000.0, 600.0)
        network = linearized(solved.system.circuit, solved).at(np.array([1000.0]))
        for k, joint in enumerate(("V1a.plate", "V3b.grid", "V5.grid")):
            ports = [(row["V1a.grid"], row["ground"]), (row[joint], row[black])]
            volts = network.driven(ports)[:, :, 0, 0]
            ohm = np.array([volts[a] - volts[b] for a, b in ports])  # (across, driven)
            siemens = np.diag([1.0 / 600.0, meter_s])
            shown = ohm @ np.linalg.solve(np.eye(2) + siemens @ ohm, [1.0 / 600.0, 0.0])
            assert heard.shown(meter_s)[0, k] == pytest.approx(shown[1], rel=1e-3), (joint, black)


def test_ripple_is_that_of_the_mains_cycle() -> None:
    opened = _godwit()
    solved = opened.solved
    many = solve_rewired(solved, WIRINGS[:1])
    joints = ("B+1", "B+2", "B+3", "V1a.plate")
    waves = solved.surroundings.ripple_v(solved.cycle.port_a, solved.system.whole)
    spectrum = np.abs(np.fft.rfft(waves, axis=1)) * np.sqrt(2.0) / waves.shape[1]
    expected = [float(np.linalg.norm(spectrum[solved.system.row[j], [1, 2, 4]])) for j in joints]
    assert many.ripple(joints)[0] == pytest.approx(expected, rel=0.02, abs=1e-4)


def test_windings_and_heaters_have_the_volts_of_the_mains_cycle() -> None:
    opened = _godwit()
    solved = opened.solved
    pairs = [
        ("T1.hv.1", "T1.hv.2"),
        ("T1.hv.1", "T1.hv.3"),
        ("T1.primary.1", "T1.primary.2"),
        ("V1.heater1", "V1.heater2"),
    ]
    pairs = [p for p in pairs if {*p} <= {*solved.system.joints}]
    assert len(pairs) >= 3
    waves = solved.surroundings.joint_waveforms(solved.cycle.port_a, solved.dc.volts[:, 0])
    row = solved.system.row
    fundamental = [
        np.abs(np.fft.rfft(waves[row[a]] - waves[row[b]])[1]) * np.sqrt(2.0) / waves.shape[1] for a, b in pairs
    ]
    found = ac_rewired(solved, pairs, [Rewiring(""), Rewiring("hv end off", moved=(Moved("CR1", "anode", "hv end"),))])
    assert found[0] == pytest.approx(fundamental, rel=OTHER_WINDINGS)
    assert found[1, 2] == pytest.approx(found[0, 2], rel=0.02)


def test_half_a_winding_gone_is_half_the_volts() -> None:
    opened = _godwit()
    off = Rewiring("centre tap's far half off", moved=(Moved("T1.hv.2-3", "b", "tail"),))
    found = ac_rewired(
        opened.solved,
        [("T1.hv.1", "T1.hv.3"), ("T1.hv.1", "tail")],
        [off],
        stands=[[("T1.hv.1", "T1.hv.2"), ("T1.hv.1", "tail")]],
    )
    assert found[0, 0] == pytest.approx(0.5 * found[0, 1], rel=0.02)
