"""No board is given up: parts far off, everything broken that can break, and every start ends at one point."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lugwright.circuit.elements import Resistor
from lugwright.solve.dc import DcPoint, DcProblem, solve_dc
from lugwright.solve.idle import tangent_law
from lugwright.solve.solved import Solved
from lugwright.workflow import open_build

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))
SEED = 20_261_125
BOARDS, FAULTS = 1000, 500
OPEN_OHM, SHORT_OHM, LEAK_S, SHORT_S = 1e12, 0.1, 1e-5, 10.0

Fault = list[tuple[int, float]]


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda p: p.stem)
def solved(request: pytest.FixtureRequest) -> Solved:
    return open_build(request.param).solved


def _rows(solved: Solved) -> tuple[np.ndarray, np.ndarray, int]:
    system = solved.system
    resistors = [r.name for r in system.resistors if isinstance(r, Resistor) and r.name.startswith("R")]
    ohms = np.array([system.value_row[name, "ohm"] for name in resistors])
    return ohms, np.concatenate([system.triode_on, system.pentode_on]), system.value_row["mains", "rms_v"]


def _single_faults(solved: Solved) -> list[Fault]:
    ohms, sections, _ = _rows(solved)
    found: list[Fault] = [[(int(row), ohm)] for row in ohms for ohm in (OPEN_OHM, SHORT_OHM)]
    found += [[(int(row), siemens)] for row in solved.system.leak_of for siemens in (SHORT_S, LEAK_S)]
    found += [[(int(row), emission)] for row in sections for emission in (0.0, 0.3, 2.0)]
    return found


def _point(solved: Solved, values: np.ndarray, *, near: bool) -> DcPoint:
    system = solved.system
    assert solved.cycle is not None
    mains = system.value_row["mains", "rms_v"]
    law = tangent_law(solved.cycle, values[mains] / solved.values[mains, 0])
    start = (
        np.repeat(solved.dc.volts, values.shape[1], axis=1) if near else np.zeros((system.size + 1, values.shape[1]))
    )
    return solve_dc(DcProblem(system, values, law), start)


def _both_starts_agree(solved: Solved, values: np.ndarray) -> None:
    """Every column is solved from nothing and from the sound board, and both answers are one within their errors."""
    cold, warm = (_point(solved, values, near=near) for near in (False, True))
    assert cold.solved.all()
    assert warm.solved.all()
    apart = np.abs(cold.volts - warm.volts)[:-1]
    doubt = 1e-5 + 1e-9 * np.abs(warm.volts[:-1]) + 2.0 * (np.abs(cold.error_v) + np.abs(warm.error_v)).max(axis=0)
    assert np.all(apart <= doubt)


def test_a_thousand_boards_at_20_percent(solved: Solved) -> None:
    rng = np.random.default_rng(SEED)
    ohms, sections, mains = _rows(solved)
    values = np.repeat(solved.values, BOARDS, axis=1)
    values[ohms] *= rng.uniform(0.8, 1.2, (len(ohms), BOARDS))
    values[sections] *= rng.uniform(0.75, 1.25, (len(sections), BOARDS))
    values[mains] *= rng.uniform(0.9, 1.1, BOARDS)
    _both_starts_agree(solved, values)


def test_a_thousand_boards_with_every_resistor_off_by_up_to_a_decade(solved: Solved) -> None:
    rng = np.random.default_rng(SEED + 1)
    ohms, _, mains = _rows(solved)
    values = np.repeat(solved.values, BOARDS, axis=1)
    values[ohms] *= 10.0 ** rng.uniform(-1.0, 1.0, (len(ohms), BOARDS))
    values[mains] *= rng.uniform(0.2, 2.0, BOARDS)
    _both_starts_agree(solved, values)


def test_every_single_fault_and_many_double_ones(solved: Solved) -> None:
    rng = np.random.default_rng(SEED + 2)
    faults = _single_faults(solved)
    single = len(faults)
    while len(faults) < FAULTS:
        first, second = rng.integers(0, single, 2)
        faults.append(faults[first] + faults[second])
    _both_starts_agree(solved, _broken(solved, np.repeat(solved.values, len(faults), axis=1), faults))


def test_a_thousand_boards_at_20_percent_with_up_to_four_faults(solved: Solved) -> None:
    rng = np.random.default_rng(SEED + 3)
    single = _single_faults(solved)
    ohms, _, _ = _rows(solved)
    values = np.repeat(solved.values, BOARDS, axis=1)
    values[ohms] *= rng.uniform(0.8, 1.2, (len(ohms), BOARDS))
    faults = [[f for k in rng.integers(0, len(single), rng.integers(1, 5)) for f in single[k]] for _ in range(BOARDS)]
    _both_starts_agree(solved, _broken(solved, values, faults))


def _broken(solved: Solved, values: np.ndarray, faults: list[Fault]) -> np.ndarray:
    for column, fault in enumerate(faults):
        for row, value in fault:
            values[row, column] = value
    return values


def test_the_error_estimate_is_the_true_error(solved: Solved) -> None:
    """Against the root found to the last digit: one Newton step from a point a little off tells how far off it is."""
    rng = np.random.default_rng(SEED + 4)
    system = solved.system
    assert solved.cycle is not None
    problem = DcProblem(system, solved.values, tangent_law(solved.cycle))
    root = problem.newton(solved.dc.volts.copy()).volts
    for size in (1e-6, 1e-5, 1e-4):
        off = root.copy()
        off[:-1] += size * rng.normal(size=(system.size, 1))
        told = problem.newton(off, steps=1).error_v
        true = (off - root)[:-1]
        assert np.abs(told).max() == pytest.approx(np.abs(true).max(), rel=0.02)
