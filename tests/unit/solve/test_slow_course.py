"""Two ways to follow a supply: every instant, and cycle means. They must tell the same story."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from lugwright.circuit.elements import (
    Capacitor,
    Coil,
    Element,
    Junction,
    Resistor,
    VoltageSource,
    Windings,
)
from lugwright.circuit.network import Circuit
from lugwright.solve.first_cycles import FirstCycles
from lugwright.solve.idle import solve_idle
from lugwright.solve.slow_course import Blocking, Course, Rectifying, SlowCourse
from lugwright.solve.system import Array, System

TOLERANCE = 0.005  # of the highest level; asked before the first run: far below the 5 % of a part


def _supply(first: list[Element]) -> Circuit:
    """A transformer with a center-tapped winding, two diodes, and what stands in ``first`` before a load."""
    parts: list[Element] = [
        VoltageSource("mains", "line", "neutral", 0.0, 120.0, 0.4), Resistor("house", "neutral", "ground", 0.1),
        Windings("T1", (Coil("T1.p", "line", "neutral", 120.0, 2.0), Coil("T1.a", "a", "ground", 300.0, 40.0),
                        Coil("T1.b", "ground", "b", 300.0, 42.0)), 2.0),
        Junction("CR1", "a", "raw"), Junction("CR2", "b", "raw"), *first,
    ]  # fmt: skip
    return Circuit(tuple(parts))


def _choke_between_capacitors() -> Circuit:
    return _supply([
        Capacitor("C1", "raw", "ground", 47e-6), Windings("L1", (Coil("L1", "raw", "out", 1.0, 100.0),), 5.0),
        Capacitor("C2", "out", "ground", 47e-6), Resistor("R1", "out", "ground", 4000.0),
        Resistor("R2", "out", "far", 10e3), Capacitor("C3", "far", "ground", 22e-6),
        Resistor("R3", "far", "ground", 100e3),
    ])  # fmt: skip


def _choke_first() -> Circuit:
    return _supply([
        Windings("L1", (Coil("L1", "raw", "out", 1.0, 100.0),), 10.0), Resistor("R2", "raw", "ground", 1e5),
        Capacitor("C2", "out", "ground", 47e-6), Resistor("R1", "out", "ground", 4000.0),
    ])  # fmt: skip


def _nothing(values: Array, seconds: float) -> None:
    """Change nothing."""


@pytest.mark.parametrize(
    ("circuit", "joints"), [(_choke_between_capacitors(), ("raw", "out", "far")), (_choke_first(), ("out",))],
    ids=["capacitor", "choke"],
)  # fmt: skip
def test_cycle_means_follow_the_instants(circuit: Circuit, joints: tuple[str, ...]) -> None:
    system = System(circuit)
    values = system.values(())
    first = FirstCycles(system, values, np.array([0.0]))
    cycles = [first.cycle(values) for _ in range(90)]
    means = np.array([c.volts[:, 0].mean(axis=1) for c in cycles]).T
    middles = np.array([c.seconds.mean() for c in cycles])
    start = cycles[5]
    states, volts = start.states[:, :1].mean(axis=2), start.volts[:, :1].mean(axis=2)
    slow = SlowCourse(system, values, _nothing, Rectifying(system))
    course = slow.run(float(middles[5]), float(middles[-1]), states, volts)
    for joint in joints:
        row = system.row[joint]
        expected = CubicSpline(middles, means[row])(course.seconds)
        off = np.abs(course.volts[row] - expected) / means[row].max()
        assert off.max() <= TOLERANCE, f"{joint}: {off.max():.2%} at {course.seconds[off.argmax()]:.2f} s"


def test_the_slow_course_settles_at_the_idle() -> None:
    circuit = _choke_between_capacitors()
    system = System(circuit)
    values = system.values(())
    slow = SlowCourse(system, values, _nothing, Rectifying(system))
    rest = slow.companion.at_rest(1)
    course = slow.run(0.0, 20.0, rest, np.zeros((system.size + 1, 1)))
    idle = solve_idle(circuit)[0]
    for joint in ("out", "far"):
        assert course.volts[system.row[joint], -1] == pytest.approx(idle.joints[joint].volts, abs=0.05)


def _decay(parts: list[Element], start_v: float, seconds: float) -> tuple[System, Course]:
    system = System(Circuit(tuple(parts)))
    values = system.values(())
    slow = SlowCourse(system, values, _nothing, Blocking(system))
    states = slow.companion.at_rest(1)
    states[0] = start_v
    return system, slow.run(0.0, seconds, states, np.zeros((system.size + 1, 1)))


def test_a_capacitor_falls_as_the_exponential_says() -> None:
    system, course = _decay(
        [Capacitor("C1", "a", "ground", 100e-6), Resistor("R1", "a", "ground", 220e3)], 450.0, 100.0
    )
    expected = 450.0 * np.exp(-course.seconds / 22.0)
    assert np.abs(course.volts[system.row["a"]] - expected).max() <= TOLERANCE * 450.0


def test_a_choke_rings_with_its_capacitor_at_the_right_pitch() -> None:
    """One period of 5 H and 20 uF with hardly any loss: back at nearly the volts it began with."""
    period = 2.0 * math.pi * math.sqrt(5.0 * 20e-6)
    system, course = _decay(
        [Capacitor("C1", "a", "ground", 20e-6), Windings("L1", (Coil("L1", "a", "ground", 1.0, 2.0),), 5.0)],
        100.0, period,
    )  # fmt: skip
    assert course.volts[system.row["a"], -1] == pytest.approx(100.0 * math.exp(-period * 2.0 / 10.0), rel=0.02)
