"""How fast a whole idle is found: ours, and scipy's root on the same equations.

The peer's unknowns are the DC volts of every joint and the volts across every rectifier at every instant of a
mains cycle, the instants and the harmonics ours; what it is given for nothing is the impedance of the supply at the
idle's own slopes. Its residuals are vectorized numpy, its first guess is ours (no volts anywhere, no rectifier
conducting), its Jacobian what scipy makes of it. Where no method arrives from there, each is tried once more from a
guess one percent off the answer: that row says what the equations cost, not what a user would get.

Run: python benchmarks/bench_whole_idle.py [seconds each method may take]. CPU seconds; ratios are within one run.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
import warnings
from pathlib import Path

import numpy as np
from bench_solve import EXAMPLES, best_s
from scipy.optimize import NoConvergence, root

from lugwright.buildfile.read import read_build
from lugwright.circuit.from_build import circuit_from_build
from lugwright.solve.dc import DcProblem
from lugwright.solve.device_laws import diode_laws
from lugwright.solve.idle import solve_column
from lugwright.solve.readout import read_idle
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array, System

METHODS = ("hybr", "lm", "krylov")
SAME_V = 1e-3  # an answer this near ours is the same one


class TookTooLong(Exception):
    """The peer has used up its time."""


class Peer:
    """The equations of one idle, as a user of scipy would write them."""

    def __init__(self, solved: Solved, seconds: float) -> None:
        assert solved.surroundings is not None
        assert solved.cycle is not None
        self.system, self.around, self.seconds = solved.system, solved.surroundings, seconds
        self._diodes = diode_laws(self.system, solved.values)
        self._mean_a = np.zeros((len(self.system.diodes), 1))
        nothing = np.zeros((len(self._mean_a), len(self._mean_a), 1))
        self._dc = DcProblem(self.system, solved.values, lambda _v, _columns: (self._mean_a, nothing))
        self.open_v = self.around.open_v
        self.cold = np.concatenate([np.zeros(self.system.size), self.open_v.ravel()])
        self.answer = np.concatenate([solved.dc.volts[:-1, 0], solved.cycle.port_v.ravel()])
        self._until = np.inf

    def residual(self, x: Array) -> Array:
        """Return amperes left over at every joint and volts left over across every rectifier at every instant."""
        if time.process_time() > self._until:
            raise TookTooLong
        n = self.system.size
        joint_v, port_v = np.append(x[:n], 0.0)[:, None], x[n:].reshape(self.open_v.shape)
        port_a, _ = self._diodes.currents_a(port_v)
        self._mean_a = port_a.mean(axis=1, keepdims=True)
        across = joint_v[self.system.port_a] - joint_v[self.system.port_b]
        left_v = port_v - across - self.open_v + self.around.drop_v(port_a)
        return np.concatenate([self._dc.left_over_a(joint_v)[:, 0], left_v.ravel()])

    def solved(self, start: Array, method: str) -> tuple[float, float, str]:
        """Return the CPU seconds taken, how far off the answer is in volts, and what scipy says of it."""
        begun = time.process_time()
        self._until = begun + self.seconds
        try:
            with warnings.catch_warnings(), np.errstate(all="ignore"):
                warnings.simplefilter("ignore")
                found = root(self.residual, start, method=method)
            said, x = "converged" if found.success else "gave up", found.x
        except TookTooLong:
            said, x = "out of time", np.full_like(start, np.nan)
        except (NoConvergence, ValueError):
            said, x = "broke down", np.full_like(start, np.nan)
        return time.process_time() - begun, float(np.abs(x - self.answer).max()), said


def main() -> None:
    """Print one line for each example build, start and method."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    print("build        unknowns  idle ms  start      method   scipy s   ratio  off by V  scipy says")
    for path in EXAMPLES:
        _compare(path, seconds)


def _compare(path: Path, seconds: float) -> None:
    build = read_build(path).build
    assert build is not None
    system = System(circuit_from_build(build))
    values = system.values(())
    ours = best_s(lambda: read_idle(solve_column(system, values)))
    peer = Peer(solve_column(system, values), seconds)
    left = float(np.abs(peer.residual(peer.answer)).max())
    print(f"{path.stem:12} {len(peer.cold):8} {ours * 1e3:8.1f}  our answer leaves {left:.1e} V or A over")
    if not _tried(peer, "cold", peer.cold, ours):
        _tried(peer, "1 % off", 1.01 * peer.answer, ours)


def _tried(peer: Peer, name: str, start: Array, ours_s: float) -> bool:
    """Print one line for each method from one start; return whether one found the answer."""
    arrived = False
    for method in METHODS:
        taken, off, said = peer.solved(start, method)
        ratio = f"{'>' if said == 'out of time' else ' '}{taken / ours_s:6.0f}"
        right = off <= SAME_V
        arrived |= right
        print(
            f"{'':31}{name:9}  {method:7} {taken:8.1f} {ratio} {off:9.1e}  {said}, "
            f"{'the same answer' if right else 'no answer'}",
            flush=True,
        )
    return arrived


if __name__ == "__main__":
    main()
