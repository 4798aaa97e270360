"""How long plate curves, the fit of a measured tube and the matching of a set take; the fit beside scipy's.

Run: python benchmarks/bench_tubes.py. Figures are CPU milliseconds, best of five.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import time
from collections.abc import Callable
from itertools import combinations
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

from lugwright.buildfile.tube_readings import TubeReading
from lugwright.catalogue.load import tube_type
from lugwright.circuit.tubes.specimen import specimen_law
from lugwright.documents.drawings.plate_curves import plate_charts
from lugwright.solve.plate_curves import plate_curves
from lugwright.solve.specimen_fit import fit_readings, law_of, modeled, readings_of, specimen_of, usual_of
from lugwright.solve.tube_matching import best_groups
from lugwright.workflow import open_build

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))
SETS = ((10, 2), (20, 2), (22, 2), (12, 4), (16, 4))


def best_ms(work: Callable[[], object], times: int = 5) -> float:
    """Return the least CPU time of some runs. [ms]"""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return 1e3 * min(found)


def curves() -> None:
    """Print one line for each example build."""
    print("build          curves  computed ms  drawn ms")
    for path in EXAMPLES:
        opened = open_build(path)
        found = opened.plate_curves
        computed = best_ms(lambda o=opened: plate_curves(o.build, o.solved, o.idle))
        print(f"{path.stem:14} {len(found):6} {computed:12.1f} {best_ms(lambda f=found: plate_charts(f)):9.1f}")


def fits() -> None:
    """Print one line for each kind of tube: twelve readings, plate and screen."""
    print("type     readings  fit ms  scipy ms")
    for kind, screen_v, step_v in (("12AX7", None, 0.7), ("6L6GC", 250.0, 8.0)):
        tube = tube_type(kind)
        volts = [(-step_v * g, p) for g in (1, 2, 3) for p in (50.0, 100.0, 200.0, 300.0)]
        screen_a = None if screen_v is None else 1.0
        rows = [TubeReading(k, "a", g, p, screen_v, 1.0, None, screen_a) for k, (g, p) in enumerate(volts)]
        blank = readings_of(rows)
        current, _ = modeled(law_of(tube), blank)
        noise = np.random.default_rng(1).normal(0.9, 0.02, len(current))
        pairs = (current * noise).reshape(len(rows), -1)
        measured = [
            TubeReading(r.line, r.tube, r.grid_v, r.plate_v, r.screen_v, p[0], None, p[1] if len(p) > 1 else None)
            for r, p in zip(rows, pairs.tolist(), strict=True)
        ]
        readings, usual = readings_of(measured), usual_of(tube)
        names = fit_readings(tube, readings).names

        def off(x: np.ndarray, tube=tube, readings=readings, usual=usual, names=names) -> np.ndarray:
            said, _ = modeled(specimen_law(law_of(tube), specimen_of(names, x)), readings)
            return np.concatenate([(said - readings.read_a) / readings.width_a, x / usual])

        ours = best_ms(lambda t=tube, r=readings: fit_readings(t, r))
        theirs = best_ms(lambda o=off, u=usual: least_squares(o, np.zeros(len(u)), xtol=1e-12, ftol=1e-12))
        print(f"{kind:8} {len(current):8} {ours:7.2f} {theirs:9.2f}")


def sets() -> None:
    """Print one line for each size of a set."""
    print("tubes  in groups of      ms")
    random = np.random.default_rng(1)
    for count, size in SETS:
        cost = {pair: float(random.random()) for pair in combinations(range(count), 2)}
        print(f"{count:5} {size:12} {best_ms(lambda n=count, s=size, c=cost: best_groups(n, s, c), 2):8.1f}")


if __name__ == "__main__":
    curves()
    fits()
    sets()
