"""How fast a driven steady state is found, against integrating the same equations until they have settled.

Run: python benchmarks/bench_power.py. CPU seconds; the ratios are within one run. The peer is SUNDIALS with the
circuit as plain matrices, tubes by the same vectorized laws and their exact slopes: CVODE where every joint has a
capacitor, IDA where not. Both start from the idle; the peer is stopped at the first period whose harmonics to the
20th all lie within a thousandth of the fundamental of a solution with many more harmonics. Ours is timed with so many
harmonics that it does so, too. Supplies are batteries on both sides: a sagging supply would take the peer seconds.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
from sksundae.cvode import CVODE
from sksundae.ida import IDA

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "against" / "driven_transient"))
sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "against" / "independent_solver"))

from test_driven_transient import CASES

from lugwright.buildfile.read import read_build
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import Capacitor, Resistor
from lugwright.circuit.network import Circuit
from lugwright.solve.descriptor import descriptor
from lugwright.solve.device_laws import diode_laws, tube_currents_into_joints, tube_matrix_entries, tube_state
from lugwright.solve.idle import solve_column
from lugwright.solve.power import output_power
from lugwright.solve.power_readout import Reading
from lugwright.solve.solved import Solved
from lugwright.solve.sustained import Sustained, SustainedPoint, Tone
from lugwright.solve.system import System

HZ, SHOWN, SAMPLES = 1000.0, 20, 400
ERROR, TOLERANCE = 1e-3, 1e-5
MOST_PERIODS = 120  # then what was spent is a lower bound


class Equations:
    """E dx/dt + G x + tubes and diodes = B u, for a solver that steps through time."""

    def __init__(self, idle: Solved, peak_v: float) -> None:
        self.idle, self.peak_v = idle, peak_v
        self.system, self.values = idle.system, idle.values
        self.matrices = descriptor(self.system, self.values)
        self.diodes = diode_laws(self.system, self.values)
        self.steady = self.values[self.system.source_dc, 0].copy()
        self.generator = [s.name for s in self.system.sources].index("generator")
        joints = idle.dc.volts[:-1, 0]
        rest = np.zeros(self.matrices.rows)
        rest[: self.system.size] = joints
        # coil currents at rest follow from their own rows: ohm * i = volts
        g, n = self.matrices.conductance, self.system.size
        rest[n:] = np.linalg.solve(g[n:, n:], -g[n:, :n] @ joints)
        self.rest = rest

    def _volts(self, x: np.ndarray) -> np.ndarray:
        return np.append(x[: self.system.size], 0.0)[:, None]

    def left(self, t: float, x: np.ndarray) -> np.ndarray:
        """Return G x + tubes and diodes - B u."""
        system, v = self.system, self._volts(x)
        u = self.steady.copy()
        u[self.generator] += self.peak_v * np.sin(2 * np.pi * HZ * t)
        out = self.matrices.conductance @ x - self.matrices.input[:, : len(u)] @ u
        tubes = tube_currents_into_joints(system, tube_state(system, self.values, v))
        ports = self.diodes.currents_a(v[system.port_a] - v[system.port_b])[0] if system.diodes else np.zeros((0, 1))
        linear = np.zeros((2 * len(system.branch_a), 1))
        none = np.zeros((2 * len(system.current_sources), 1))
        out[: system.size] += system.current_scatter(np.concatenate([linear, tubes, ports, -ports, none]))[:-1, 0]
        return out

    def slope(self, x: np.ndarray) -> np.ndarray:
        """Return the slopes of `left` over x."""
        system, v = self.system, self._volts(x)
        matrix = self.matrices.conductance.copy()
        slots = system.tube_matrix_scatter(tube_matrix_entries(tube_state(system, self.values, v)))
        if system.diodes:
            _, own = self.diodes.currents_a(v[system.port_a] - v[system.port_b])
            flat = np.diag(own[:, 0]).reshape(-1, 1)
            slots = slots + system.port_matrix_scatter(np.concatenate([flat, -flat, -flat, flat]))
        matrix[system.dense_index] += slots[:-1, 0]
        return matrix


def harmonics(wave: np.ndarray) -> np.ndarray:
    """Return the peak of harmonics 1 to 20."""
    return 2.0 * np.abs(np.fft.rfft(wave))[1 : SHOWN + 1] / len(wave)


def settled_s(equations: Equations, row: int, target: np.ndarray) -> tuple[float, int, str]:
    """Return the CPU time and the periods the peer takes to settle, and its name. [s]"""
    storage, rows = equations.matrices.storage, equations.matrices.rows
    plain = np.linalg.cond(storage) < 1e14
    inverse = np.linalg.inv(storage) if plain else None
    options: dict[str, Any] = {"rtol": TOLERANCE, "atol": TOLERANCE, "max_num_steps": 10**6}

    def rate(t: float, y: np.ndarray, yp: np.ndarray) -> None:
        yp[:] = -inverse @ equations.left(t, y)

    def rate_slope(t: float, y: np.ndarray, yp: np.ndarray, jac: np.ndarray) -> None:
        jac[:, :] = -inverse @ equations.slope(y)

    def residual(t: float, y: np.ndarray, yp: np.ndarray, res: np.ndarray) -> None:
        res[:] = storage @ yp + equations.left(t, y)

    def residual_slope(t: float, y: np.ndarray, yp: np.ndarray, res: np.ndarray, cj: float, jac: np.ndarray) -> None:
        jac[:, :] = cj * storage + equations.slope(y)

    start = time.process_time()
    y, yp = equations.rest.copy(), np.zeros(rows)
    period = np.linspace(0.0, 1.0 / HZ, SAMPLES + 1)
    solver = CVODE(rate, jacfn=rate_slope, **options) if plain else IDA(residual, jacfn=residual_slope, **options)
    for count in range(1, MOST_PERIODS + 1):
        times = period  # the drive is periodic: every period starts at its own zero
        found = solver.solve(times, y) if plain else solver.solve(times, y, yp)
        if not found.success:
            return float("nan"), count, f"stopped: {found.message}"
        y = found.y[-1].copy()
        if not plain:
            yp = found.yp[-1].copy()
        if np.abs(harmonics(found.y[:-1, row]) - target).max() < ERROR * target[0]:
            return time.process_time() - start, count, "CVODE" if plain else "IDA"
    return time.process_time() - start, MOST_PERIODS, f"{'CVODE' if plain else 'IDA'}, not settled yet"


def ours(idle: Solved, row: int, levels: tuple[float, ...], count: int) -> tuple[np.ndarray, float]:
    """Return the harmonics at the last level and the CPU time from the idle, surroundings included. [s]"""
    start = time.process_time()
    bench = Sustained(idle, "generator", hz=HZ, harmonics=count)
    point: SustainedPoint | None = None
    for peak_v in levels:
        point = bench.drive([Tone(1, peak_v)], point)
    assert point is not None
    assert point.closed
    spent = time.process_time() - start
    return 2.0 * np.abs(Reading(bench, point).joint_v[row])[1 : SHOWN + 1], spent


def with_strays(circuit: Circuit) -> Circuit:
    """Return a circuit with a picofarad from every joint to ground, for CVODE."""
    extra = [Capacitor(f"stray {j}", j, circuit.ground, 1e-12) for j in circuit.joints if j != circuit.ground]
    return circuit.with_elements(extra)


def compare(name: str, circuit: Circuit, edit: Edit, levels: tuple[float, ...], output: str) -> None:
    """Print one line."""
    system = System(circuit)
    idle = solve_column(system, system.values([edit]))
    element = circuit.by_name.get(output)
    row = system.row[element.a if isinstance(element, Resistor) else output]
    target, _ = ours(idle, row, levels, 256)
    for count in (24, 32, 48, 64, 96, 128, 192):
        found, spent = ours(idle, row, levels, count)
        if np.abs(found - target).max() < ERROR * target[0]:
            break
    spent = min(spent, *(ours(idle, row, levels, count)[1] for _ in range(2)))
    peer_s, periods, peer = settled_s(Equations(idle, levels[-1]), row, target)
    print(f"{name:20} {system.size:6} {count:9} {spent:8.3f} {peer_s:8.2f} {periods:8} {peer_s / spent:7.0f}  {peer}")


def main() -> None:
    """Print one line for each circuit, then what a whole answer takes."""
    print("circuit              joints harmonics   ours s   peer s  periods   ratio  peer")
    for name, (circuit, edit, levels, output, _) in CASES.items():
        compare(name, with_strays(circuit) if name == "two triodes" else circuit, edit, levels, output)
    for path in sorted((Path(__file__).parents[1] / "examples").glob("*.toml")):
        build = read_build(path).build
        assert build is not None
        start = time.process_time()
        power = output_power(build)
        spent = time.process_time() - start
        print(f"{path.stem}: whole answer {spent:.2f} s, {len(power.points)} drives")


if __name__ == "__main__":
    main()
