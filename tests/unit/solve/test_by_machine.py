"""Machine code for single columns says what the arrays say: laws, volts, what rectifiers and signals see."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from tests.machine_code import machine_code
from tests.planned_examples import FOLDER, NAMES

from lugwright.buildfile.read import read_build
from lugwright.catalogue.load import tube_names, tube_type
from lugwright.catalogue.records import PentodeLaw, TriodeLaw
from lugwright.circuit.edits import Edit, ScaleValue, SetValue
from lugwright.circuit.elements import Capacitor, Junction, PentodeTube, Resistor, TriodeTube, VoltageSource
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.solve import by_machine
from lugwright.solve.dc import DcProblem, solve_dc
from lugwright.solve.device_laws import tube_state
from lugwright.solve.idle import Rounds, solve_column, static_law, tangent_law
from lugwright.solve.mains_cycle import MainsCycle
from lugwright.solve.small_signal import linearized
from lugwright.solve.solved import Solved
from lugwright.solve.system import System

# Stated before the first run. The same laws in the same order of steps: rounding. Volts: what a certified step leaves.
SAME_LAW, SAME_V = 1e-12, 1e-9
SAME_SEEN = 1e-10  # of the largest impedance at that frequency: 80 joints eliminated in another order
POINTS, BUILDS = 60, 5
SQUARE = np.outer(np.arange(7.0), np.arange(7.0))  # ohms at no frequency


@functools.cache
def solved_example(name: str) -> Solved:
    """Return the idle of an example."""
    build = read_build(FOLDER / f"{name}.toml").build
    assert build is not None
    system = System(circuit_from_build(build))
    return solve_column(system, system.values(()))


def every_tube() -> System:
    """Return a system of one tube of every type, none joined to another."""
    tubes: list[TriodeTube | PentodeTube] = []
    for name in tube_names():
        law = tube_type(name).law
        if isinstance(law, TriodeLaw):
            tubes.append(TriodeTube(name, f"{name}.p", f"{name}.g", f"{name}.c", law))
        elif isinstance(law, PentodeLaw):
            tubes.append(PentodeTube(name, f"{name}.p", f"{name}.s", f"{name}.g", f"{name}.c", law))
    assert len(tubes) > 12
    return System(Circuit((*tubes, Resistor("R1", f"{tubes[0].name}.c", "ground", 1e3))))


def test_currents_and_slopes_of_every_type_are_those_of_the_arrays() -> None:
    rng, system = np.random.default_rng(5), every_tube()
    values = system.values(())
    volts = {"p": (-60.0, 600.0), "s": (-20.0, 500.0), "g": (-90.0, 30.0), "c": (-5.0, 40.0)}
    ranges = np.array([volts[joint[-1]] for joint in system.joints])
    for _ in range(POINTS):
        v = np.append(rng.uniform(*ranges.T), 0.0)[:, None]
        left, matrix = DcProblem(system, values, static_law(system, values)).linearized(v)
        with machine_code():
            problem = DcProblem(system, values, static_law(system, values))
            assert problem.by_machine is not None
            left_too, matrix_too = problem.linearized(v)
        assert left_too == pytest.approx(left, rel=SAME_LAW, abs=1e-25)
        assert matrix_too[:-1] == pytest.approx(matrix[:-1], rel=SAME_LAW, abs=1e-25)


def some_builds(system: System) -> list[Edit]:
    """Return edits: resistors off, a tube out of its socket, a resistor open."""
    rng = np.random.default_rng(8)
    names = [r.name for r in system.resistors]
    tubes = [t.name for t in (*system.triodes, *system.pentodes)]
    edits = [
        Edit(str(k), tuple(ScaleValue(n, "ohm", float(rng.uniform(0.8, 1.2))) for n in names)) for k in range(BUILDS)
    ]
    edits += [Edit("out", (SetValue(tubes[-1], "on", 0.0),)), Edit("open", (SetValue(names[3], "ohm", 1e12),))]
    return edits


@pytest.mark.parametrize("name", NAMES)
def test_direct_current_settles_to_the_same_volts(name: str) -> None:
    solved = solved_example(name)
    system, cold = solved.system, np.zeros_like(solved.dc.volts)
    assert solved.cycle is not None
    for edit in some_builds(system):
        values = system.values([edit])
        for law in (tangent_law(solved.cycle), static_law(system, values)):
            for start in (cold, solved.dc.volts):
                usual = solve_dc(DcProblem(system, values, law), start)
                with machine_code():
                    found = solve_dc(DcProblem(system, values, law), start)
                assert found.solved.all()
                assert usual.solved.all()
                error = np.append(np.abs(usual.error_v) + np.abs(found.error_v), 0.0)[:, None]
                assert np.all(np.abs(found.volts - usual.volts) <= SAME_V + error), edit.name
                assert found.how == usual.how


def test_a_column_that_the_machine_code_does_not_solve_is_solved_as_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    solved = solved_example("dunlin_5")
    assert solved.cycle is not None
    law, start = tangent_law(solved.cycle), np.zeros_like(solved.dc.volts)
    usual = solve_dc(DcProblem(solved.system, solved.values, law), start)

    def unsolved(*_: object) -> tuple[np.ndarray, ...]:
        return start, np.array([False]), start[:-1], start[:-1], start[:-1], 60

    monkeypatch.setattr(by_machine.OneColumn, "newton", unsolved)
    with machine_code():
        found = solve_dc(DcProblem(solved.system, solved.values, law), start)
    assert found.solved.all()
    assert np.array_equal(found.volts, usual.volts)


@pytest.mark.parametrize("name", NAMES)
def test_rectifiers_see_the_same(name: str) -> None:
    solved = solved_example(name)
    system, values, v = solved.system, solved.values, solved.dc.volts
    tubes = tube_state(system, values, v)
    usual, line = MainsCycle(system, values, tubes), Rounds(system, values.copy(), 63).load_line(v)
    with machine_code():
        found, line_too = MainsCycle(system, values, tubes), Rounds(system, values.copy(), 63).load_line(v)
    most = np.abs(usual.impedance).max(axis=(0, 1))
    assert np.all(np.abs(found.impedance - usual.impedance) <= SAME_SEEN * most)
    assert found.open_v == pytest.approx(usual.open_v, abs=SAME_SEEN * float(np.abs(usual.open_v).max()))
    most_ohm = float(np.abs(line.impedance_ohm).max())
    assert line_too.impedance_ohm == pytest.approx(line.impedance_ohm, abs=SAME_SEEN * most_ohm)
    assert line_too.open_v == pytest.approx(line.open_v, abs=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_a_cycle_closes_to_the_same_waves(name: str) -> None:
    solved = solved_example(name)
    system, values, v = solved.system, solved.values, solved.dc.volts
    line = Rounds(system, values.copy(), 315).load_line(v)
    usual = MainsCycle(system, values, tube_state(system, values, v)).close(line)
    with machine_code():
        found = MainsCycle(system, values, tube_state(system, values, v)).close(line)
    assert found.port_v == pytest.approx(usual.port_v, abs=1e-6)
    assert found.port_a == pytest.approx(usual.port_a, abs=SAME_SEEN)
    assert found.slope_s == pytest.approx(usual.slope_s, abs=SAME_V * float(np.abs(usual.slope_s).max()))


def test_waves_and_conducting_instants_are_those_of_the_arrays() -> None:
    solved = solved_example("redshank_50")  # junctions and a rectifier tube
    assert solved.cycle is not None
    cycle = MainsCycle(solved.system, solved.values, tube_state(solved.system, solved.values, solved.dc.volts))
    rng, v = np.random.default_rng(3), solved.cycle.port_v
    wave = v + cycle._at_once * solved.cycle.port_a
    near, moved = v + rng.normal(size=v.shape), rng.normal(size=v.shape)
    slope = solved.cycle.port_a / 0.04
    flat = np.flatnonzero(slope > 1e-4)
    usual = (
        cycle._reflected(wave, near),
        cycle._stepped(wave, near, slope, moved),
        cycle._conducting(slope, flat, SQUARE),
    )
    with machine_code():
        found = (
            cycle._reflected(wave, near), cycle._stepped(wave, near, slope, moved),
            cycle._conducting(slope, flat, SQUARE),
        )  # fmt: skip
    assert found[0][0] == pytest.approx(v, abs=SAME_V)
    for one, other in zip((*found[0], *found[1:]), (*usual[0], *usual[1:]), strict=True):
        assert one == pytest.approx(other, rel=SAME_LAW, abs=SAME_LAW * float(np.abs(other).max()))


def test_a_signal_meets_the_same() -> None:
    solved = solved_example("godwit_40")
    signal = linearized(solved.system.circuit, solved)
    hertz, row = np.geomspace(10.0, 1e5, 9), signal.system.row
    ports = [(row["V1a.grid"], signal.system.size), (row["V1a.plate"], row["V1a.cathode"])]
    usual = signal.at(hertz).between(ports)
    with machine_code():
        found = signal.at(hertz).between(ports)
    assert np.all(np.abs(found - usual) <= SAME_SEEN * np.abs(usual).max(axis=(0, 1)))


def test_a_step_in_time_settles_to_the_same_volts() -> None:
    supply = VoltageSource("supply", "in", "ground", dc_v=300.0, rms_v=0.0, ohm=10.0)
    elements = (
        supply,
        Junction("CR1", "in", "b"),
        Resistor("R1", "b", "ground", 1e4),
        Capacitor("C1", "b", "ground", 1e-5),
    )
    system = System(Circuit(elements))
    values, law = system.values(()), static_law(system, system.values(()))
    push = np.zeros((len(system.branch_a), 1))
    push[system.branch_row["C1"]] = -120.0  # volts of the step before
    start = np.zeros((system.size + 1, 1))
    usual = DcProblem(system, values, law, rate=500.0, push_v=push).newton(start)
    with machine_code():
        found = DcProblem(system, values, law, rate=500.0, push_v=push).newton(start)
    assert usual.solved.all()
    assert found.solved.all()
    assert found.volts == pytest.approx(usual.volts, abs=SAME_V)
    assert 120.0 < found.volts[system.row["b"], 0] < 300.0
