"""The machine code of a fault list: what it says of each wiring is what whole matrices say."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from lugwright.solve.device_laws import TubeState
from lugwright.solve.kernel import ports, seen
from lugwright.solve.rewired_layout import HELD_S, Differences
from lugwright.solve.rewired_matrix import UpdatedInverse
from lugwright.solve.rewired_newton import Answer, newton

# Stated before the first run. Matrices of a dozen rows, conditioned to some thousands: rounding and no more.
SAME = 1e-9
JOINTS, COLUMNS, HARMONICS = 9, 3, 2
PORTS, FIRST = 5, 2
ENDS = np.array([(0, 0), (0, 1), (1, 1), (2, 0)])


def whole_matrices(rng: np.random.Generator) -> np.ndarray:
    """Return matrices of a base at some harmonics (harmonic, joint, joint), ground left out."""
    shape = (HARMONICS, JOINTS, JOINTS)
    rough = rng.normal(size=shape) + 1j * rng.normal(size=shape)
    return rough + 6.0 * np.eye(JOINTS)


def with_ground(matrices: np.ndarray) -> np.ndarray:
    """Return inverses with a row and a column of zeros for ground."""
    return np.pad(np.linalg.inv(matrices), ((0, 0), (0, 1), (0, 1)))


def port_patterns(wirings: seen.Wirings, column: int) -> np.ndarray:
    """Return one at each port's first joint, less one at its second (joint, port)."""
    unit = np.eye(JOINTS + 1)
    return (unit[wirings.a[column]] - unit[wirings.b[column]])[:, :-1].T


@pytest.mark.parametrize("slopes", [ENDS, ENDS[:0]], ids=["with slopes", "without"])
def test_what_ports_see_is_what_the_whole_matrix_says(slopes: np.ndarray) -> None:
    rng = np.random.default_rng(2026)
    base = whole_matrices(rng)
    touched = np.stack([rng.permutation(JOINTS)[:3] for _ in range(COLUMNS)])
    touched[:, 2] = JOINTS  # filled up with ground
    delta = np.zeros((HARMONICS, COLUMNS, 3, 3), dtype=complex)
    delta[:, :, :2, :2] = rng.normal(size=(HARMONICS, COLUMNS, 2, 2))
    release = np.array([(0.0, 0.0, 0.0), (0.3, 0.0, 0.0), (0.1, -0.2, 0.0)])
    count = PORTS if len(slopes) else FIRST
    a, b = (rng.integers(0, JOINTS + 1, (COLUMNS, count)) for _ in range(2))
    wirings = seen.Wirings(touched, delta, release, a, b)
    siemens, drive = rng.normal(size=(COLUMNS, len(slopes))), rng.normal(size=(COLUMNS, JOINTS)) + 0j
    plain, found = np.empty((COLUMNS, count), dtype=complex), np.zeros((HARMONICS, COLUMNS, FIRST, FIRST), complex)
    expected, alone = found.copy(), np.empty((COLUMNS, FIRST), dtype=complex)
    for c in range(COLUMNS):
        pattern = port_patterns(wirings, c)
        for h in range(HARMONICS):
            matrix = np.pad(base[h], ((0, 1), (0, 1)))
            matrix[np.ix_(touched[c], touched[c])] += delta[h, c] + np.diag(release[c])
            matrix = matrix[:-1, :-1]
            if h == 0:
                plain[c] = pattern.T @ np.linalg.solve(matrix, drive[c])
            for (i, j), s in zip(slopes, siemens[c], strict=True):
                matrix = matrix + s * np.outer(pattern[:, FIRST + i], pattern[:, FIRST + j])
            expected[h, c] = (pattern.T @ np.linalg.solve(matrix, pattern))[:FIRST, :FIRST]
            if h == 0:
                alone[c] = (pattern.T @ np.linalg.solve(matrix, drive[c]))[:FIRST]
    seen.see(with_ground(base), wirings, seen.Slopes(FIRST, slopes, siemens), plain, found)
    assert np.abs(found - expected).max() < SAME
    assert np.abs(plain[:, :FIRST] - alone).max() < SAME


def test_both_ways_to_a_column_s_inverse_agree_where_a_joint_is_hardly_held() -> None:
    rng = np.random.default_rng(7)
    matrices = whole_matrices(rng)[:1]
    matrices[0, 0] = matrices[0, :, 0] = 0.0
    matrices[0, 0, 0] = HELD_S
    touched, delta = np.array([[0, 4]]), rng.normal(size=(1, 1, 2, 2)) * 1e-8 + 0j
    release = np.array([[1e-9 - HELD_S, 0.0]])
    rows = np.array([[0, 4, 7]]), np.full((1, 3), JOINTS)
    inverses, found = with_ground(matrices), np.zeros((1, 1, 3, 3), dtype=complex)
    none = seen.Slopes(3, ENDS[:0], np.zeros((1, 0)))
    seen.see(inverses, seen.Wirings(touched, delta, release, *rows), none, np.zeros((1, 3), complex), found)
    part = Differences(np.arange(1), touched, delta[0], release)
    expected = UpdatedInverse(inverses[0], part).between(rows, rows)
    assert np.abs(found[0] / expected - 1.0).max() < SAME


@pytest.mark.parametrize("size", [PORTS, 20, 31])
def test_a_step_is_that_of_the_whole_equations(size: int) -> None:
    rng, going = np.random.default_rng(11), np.array([0, 2])
    between, count = rng.normal(size=(COLUMNS, size, size)), len(going)
    ends = np.concatenate([ENDS, rng.integers(0, size - 2, (2 * (size - PORTS), 2))])  # the last two are diodes
    diodes = rng.normal(size=(count, 2, 2))
    diodes[1, :, 0] = 0.0  # a diode that does not conduct
    siemens = rng.normal(size=(count, len(ends)))
    siemens[0, 2] = 0.0
    off, amps, move = rng.normal(size=(count, size)), rng.normal(size=(count, size)), np.empty((count, size))
    slopes, drawn = ports.Slopes(ends, siemens, diodes), np.empty((count, size))
    ports.drawn_amps(between[going], slopes, off, drawn)
    residual = off.copy()
    ports.step(between, going, slopes, off, amps, move)
    for k, column in enumerate(going):
        whole = np.zeros((size, size))
        for (i, j), s in zip(ends, siemens[k], strict=True):
            whole[i, j] += s
        whole[-2:, -2:] += diodes[k]
        matrix = np.eye(size) + between[column] @ whole
        assert np.allclose(drawn[k], whole @ np.linalg.solve(matrix, residual[k]), rtol=SAME, atol=SAME)
        left = residual[k] + between[column] @ amps[k]
        assert np.allclose(move[k], np.linalg.solve(matrix, left), rtol=SAME, atol=SAME)


def test_a_screen_that_saturates_is_found_where_full_steps_swing_past_it_for_ever() -> None:
    system = SimpleNamespace(triodes=(), pentodes=("V5",), diodes=())

    def devices(u: np.ndarray, _: np.ndarray) -> Answer:
        none, volts = np.zeros((1, u.shape[1])), u[1:2]
        above = np.maximum(volts, 0.0)
        bent, steep = above / (above + 0.5), np.where(volts > 0.0, 0.5 / (above + 0.5) ** 2, 0.0)
        state = TubeState((none[:0],) * 2, (none[:0],) * 2, (none[:0],) * 3, (u[:1], volts, u[2:]),
                          (none, bent, none), (none, none, none, none, steep, none, none))  # fmt: skip
        return Answer(np.concatenate([none, bent, none]), state, none[:0], np.zeros((0, 0, u.shape[1])))

    open_v = np.array([[300.0], [400.0], [-30.0]])
    u, settled = newton(system, devices, 1e3 * np.eye(3)[None], open_v, open_v)  # type: ignore[arg-type]
    assert settled.all()
    assert u[1, 0] == pytest.approx(1.0 / 3.0, abs=1e-3)  # where 0.4 A leaves 400 V behind a kilohm
