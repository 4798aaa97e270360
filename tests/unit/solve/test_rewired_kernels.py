"""The machine code of a fault list: what it says of each wiring is what whole matrices say."""

from __future__ import annotations

from dataclasses import asdict
from types import SimpleNamespace

import numpy as np
import pytest

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw
from lugwright.circuit.rewiring import Rewiring
from lugwright.circuit.tubes.drive import grid_current_a
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.solve.dc import DcProblem
from lugwright.solve.device_laws import diode_laws, tube_state_at
from lugwright.solve.idle import solve_columns
from lugwright.solve.kernel import diodes, ports, seen, settle
from lugwright.solve.kernel.supplies import Curves
from lugwright.solve.rewired import _Batch
from lugwright.solve.rewired_devices import drawn
from lugwright.solve.rewired_layout import HELD_S, Differences, Drops
from lugwright.solve.rewired_matrix import BaseInverse, UpdatedInverse
from lugwright.solve.rewired_newton import newton

from ...generated.rewirings import every_rewiring
from ..bringup.faults.one_stage import one_stage

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
    against = np.full_like(touched, JOINTS)
    against[:2, 1] = touched[:2, 0]
    delta = np.zeros((HARMONICS, COLUMNS, 3, 3), dtype=complex)
    delta[:, :, :2, :2] = rng.normal(size=(HARMONICS, COLUMNS, 2, 2))
    release = np.array([(0.0, 0.0, 0.0), (0.3, 0.0, 0.0), (0.1, -0.2, 0.0)])
    count = PORTS if len(slopes) else FIRST
    a, b = (rng.integers(0, JOINTS + 1, (COLUMNS, count)) for _ in range(2))
    wirings = seen.Wirings(touched, against, delta, release, a, b)
    siemens, drive = rng.normal(size=(COLUMNS, len(slopes))), rng.normal(size=(COLUMNS, JOINTS)) + 0j
    siemens[1, 3:] = 0.0  # there the third of the ports with slopes carries nothing
    plain, found = np.empty((COLUMNS, count), dtype=complex), np.zeros((HARMONICS, COLUMNS, FIRST, FIRST), complex)
    expected, alone = found.copy(), np.empty((COLUMNS, FIRST), dtype=complex)
    for c in range(COLUMNS):
        pattern = port_patterns(wirings, c)
        for h in range(HARMONICS):
            drops = np.eye(JOINTS + 1)[touched[c]] - np.eye(JOINTS + 1)[against[c]]
            matrix = base[h] + (drops.T @ (delta[h, c] + np.diag(release[c])) @ drops)[:-1, :-1]
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


@pytest.mark.parametrize("kind", [float, complex])
def test_an_updated_inverse_is_that_of_the_whole_matrix_also_where_a_joint_is_hardly_held(kind: type) -> None:
    """Joint 0 hangs on a nanosiemens and on what a column adds; what holds it in the base is taken out again."""
    rng = np.random.default_rng(7)
    matrix = whole_matrices(rng)[0]
    matrix[0] = matrix[:, 0] = 0.0
    matrix[0, 0] = HELD_S
    matrix = matrix if kind is complex else matrix.real.copy()
    touched, delta = np.array([[0, 4], [2, 4]]), rng.normal(size=(2, 2, 2)).astype(kind) * 1e-8
    release = np.array([[1e-9 - HELD_S, 0.0], [0.0, 0.0]])
    out, into = ((rng.integers(0, JOINTS + 1, (2, count)), np.full((2, count), JOINTS)) for count in (3, 5))
    none = np.zeros((0, 2), dtype=int)
    against, at = np.full_like(touched, JOINTS), np.zeros_like(touched)
    part = Differences(np.arange(2), Drops(touched, against, none, at), delta, release)
    updated = UpdatedInverse(BaseInverse(np.pad(np.linalg.inv(matrix), (0, 1)), np.pad(matrix, (0, 1)), ()), part)
    between, among = updated.between(out, into), updated.among(*into)
    amps = rng.normal(size=(JOINTS + 1, 2)).astype(kind)
    volts, across = updated.apply(amps), updated.between_pairs(amps, *into)
    even = np.ones(JOINTS)
    even[0] = 1e4  # the joint's row is nanosiemens: scaled, it is no smaller than the others
    for c in range(2):
        whole = matrix.copy()
        whole[np.ix_(touched[c], touched[c])] += delta[c] + np.diag(release[c])
        exact = np.pad(even[:, None] * np.linalg.inv(even[:, None] * whole * even) * even, (0, 1))
        expected = exact[np.ix_(out[0][c], into[0][c])]
        assert np.abs(between[c] - expected).max() < SAME * np.abs(exact).max()
        assert np.abs(among[c] - exact[np.ix_(into[0][c], into[0][c])]).max() < SAME * np.abs(exact).max()
        assert np.abs(volts[:, c] - exact @ amps[:, c]).max() < SAME * np.abs(exact).max()
        pairs = (exact @ amps[:, c])[into[0][c]] - (exact @ amps[:, c])[into[1][c]]
        assert np.abs(across[c] - pairs).max() < SAME * np.abs(exact).max()


@pytest.mark.parametrize("size", [PORTS, 20, 31])
def test_what_devices_draw_is_that_of_the_whole_equations(size: int) -> None:
    rng, count = np.random.default_rng(11), 2
    between = rng.normal(size=(count, size, size))
    ends = np.concatenate([ENDS, rng.integers(0, size - 2, (2 * (size - PORTS), 2))])  # the last two are diodes
    both = rng.normal(size=(count, 2, 2))
    both[1, :, 0] = 0.0  # a diode that does not conduct
    siemens = rng.normal(size=(count, len(ends)))
    siemens[0, 2] = 0.0
    off, drawn = rng.normal(size=(count, size, 3)), np.empty((count, size, 3))
    ports.drawn_amps(between, ports.Slopes(ends, siemens, both), off, drawn)
    for k in range(count):
        whole = np.zeros((size, size))
        for (i, j), s in zip(ends, siemens[k], strict=True):
            whole[i, j] += s
        whole[-2:, -2:] += both[k]
        matrix = np.eye(size) + between[k] @ whole
        assert np.allclose(drawn[k], whole @ np.linalg.solve(matrix, off[k]), rtol=SAME, atol=SAME)


def no_curves() -> Curves:
    """Return the supplies of a circuit without mains."""
    none, rows = np.zeros(0), np.zeros(0, dtype=np.intp)
    two, three = np.zeros((0, 0)), np.zeros((0, 0, 0))
    return Curves(rows, two, rows, two, three, three, three, three, np.zeros((0, 0, 0, 0)), none, none, two)


def one_pentode(law: dict[str, float], gain: float) -> settle.Laws:
    """Return a pentode, and a diode that follows a plane."""
    figures = np.array([[law[name] for name in settle.PENTODE_FIGURES]])
    no_triodes = (np.zeros((0, len(settle.TRIODE_FIGURES))), np.zeros(0), np.zeros((1, 0)))
    tubes = settle.Tubes(*no_triodes, figures, np.array([gain]), np.ones((1, 1)))
    plane = (np.full((1, 1), 1e-3), np.full((1, 1), 2.0), np.full((1, 1, 1), 5e-3))
    kind, own = np.full((1, 1), settle.PLANE), np.zeros((1, 1, diodes.SIZE))
    return settle.Laws(tubes, settle.Diodes(kind, own, *plane, np.zeros(1)), no_curves())


@pytest.mark.parametrize("grid_v", [-30.0, 0.0, 40.0, 400.0])
def test_a_pentode_settles_where_its_currents_leave_its_volts(grid_v: float) -> None:
    record = tube_type("6l6gc").law
    assert isinstance(record, PentodeLaw)
    law = asdict(record)
    gain = law.pop("grid_gain")
    system = SimpleNamespace(triodes=(), pentodes=("V5",), diodes=("CR1",))
    ohm, open_v = np.diag([2e3, 2e4, 1e4, 50.0]), np.array([[300.0], [400.0], [grid_v], [3.0]])
    u, settled = newton(system, one_pentode(law, gain), ohm[None], open_v, open_v)  # type: ignore[arg-type]
    assert settled.all()
    plate, screen, grid, across = u[:, 0]
    found = pentode_currents_a(plate, screen, grid, **law)
    amps = np.array([found.plate_a, found.screen_a, grid_current_a(grid, gain=gain)[0], 1e-3 + 5e-3 * (across - 2.0)])
    assert u[:, 0] == pytest.approx(open_v[:, 0] - ohm @ amps, abs=1e-4)  # steps end at a ten-millionth of the volts
    assert across == pytest.approx((3.0 - 50.0 * (1e-3 - 1e-2)) / 1.25, abs=1e-9)


def test_every_wiring_settles_where_its_devices_leave_its_volts() -> None:
    circuit = one_stage()[1]
    batch = _Batch(solve_columns(circuit)[0], every_rewiring(circuit, bridges=6)[::5])
    block = max(batch._blocks(), key=lambda b: len(b.chosen))
    chosen, ports_of = block.chosen, block.ports
    open_v = ports_of.across(block.updated.apply(batch.dc.drive[:, chosen]))
    start = np.repeat(batch._start_u(), len(chosen), axis=1)
    u, settled = newton(batch.system, batch.tables(chosen), block.between, open_v, start)
    assert settled.mean() > 0.9
    balanced = open_v - np.einsum("cpq,cq->pc", block.between, drawn(batch.tables(chosen), u).amps)
    within = np.abs(u - balanced) <= 1e-4 * (1.0 + np.abs(u))  # a step ends at a ten-millionth; noise of open ends
    assert within[:, settled].all()


def test_what_devices_do_is_what_their_laws_say() -> None:
    circuit = one_stage()[1]
    batch = _Batch(solve_columns(circuit)[0], [Rewiring("as planned")] * 40)
    system, t = batch.system, len(batch.system.triodes)
    rng = np.random.default_rng(3)
    u = np.concatenate(
        [rng.uniform(-20.0, 400.0, (t, 40)), rng.uniform(-8.0, 2.0, (t, 40)), rng.uniform(-1.0, 1.2, (2, 40))]
    )
    u[0, :4] = (-3.0, -2.5, -2.4, -1.0)  # where a plate below its cathode stops
    values = np.repeat(batch.base.values, 40, axis=1)
    laws = batch.dc.laws.of(np.arange(40), np.zeros(40))  # without mains every diode follows its own
    found = drawn(laws, u)
    state = tube_state_at(system, values, (u[:t], u[t : 2 * t]), (u[:0],) * 3)
    diodes, steep = diode_laws(system, values).currents_a(u[2 * t :])
    amps = np.concatenate([*state.triode_a, diodes]).T
    slopes = np.concatenate(state.triode_slopes).T
    assert np.allclose(found.amps, amps, rtol=SAME, atol=1e-18)
    assert np.allclose(found.siemens, slopes, rtol=SAME, atol=1e-18)
    assert np.allclose(np.diagonal(found.diode_s, axis1=1, axis2=2), steep.T, rtol=SAME, atol=1e-18)
    assert np.abs(amps).max() > 1e-3
    assert found.diode_s[:, 0, 1].tolist() == [0.0] * 40


def test_what_is_left_over_at_joints_is_what_a_circuit_by_itself_leaves() -> None:
    base = solve_columns(one_stage()[1])[0]
    batch = _Batch(base, [Rewiring("as planned"), Rewiring("again")])
    rng, system, chosen = np.random.default_rng(5), base.system, np.array([1, 0])
    moved = base.dc.volts + rng.normal(size=(system.size + 1, 2)) * 0.3
    moved[-1] = 0.0
    v = np.insert(moved, [system.size] * (batch.columns.ground - system.size), 0.0, axis=0)
    found = drawn(batch.tables(chosen), batch.columns.ports.across(v))
    flows = batch.dc.flows(chosen, v, found)

    def law(_: np.ndarray, columns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return found.diode_a[columns].T, found.diode_s[columns].transpose(1, 2, 0)

    alone = DcProblem(system, np.repeat(base.values, 2, axis=1), law).newton(moved, steps=1)
    size, count = np.abs(alone.left_over_a).max(), system.size
    assert size > 1e-4  # half a volt off, and currents do not cancel
    assert np.abs(flows.left[:count] - alone.left_over_a).max() < SAME * size
    assert np.allclose(flows.allowed[:count], alone.allowed_a, rtol=SAME, atol=0.0)
    assert not flows.left[-1].any()


def test_joints_that_are_ten_millivolts_off_come_back_to_where_currents_cancel() -> None:
    base = solve_columns(one_stage()[1])[0]
    batch = _Batch(base, every_rewiring(base.system.circuit, bridges=6))
    many, dc, rng = batch.run(), batch.dc, np.random.default_rng(7)
    known = many.solved & ~many.exact
    assert known.sum() > 40
    for block in many.blocks:
        part = block.narrowed(np.flatnonzero(known[block.chosen]))
        off = many.volts[:, part.chosen] + rng.normal(size=(len(many.volts), len(part.chosen))) * 0.01
        dc._polish(part.tables, many.tables(part.chosen), np.ascontiguousarray(off.T))
        assert np.all(np.abs(dc.left[:, part.chosen]) <= dc.allowed[:, part.chosen])


def test_where_no_point_is_found_the_best_is_kept() -> None:
    base = solve_columns(one_stage()[1])[0]
    batch = _Batch(base, [Rewiring("as planned"), Rewiring("again")])
    dc, (block,), chosen = batch.dc, batch._blocks(), np.arange(2)
    start = np.zeros((2, batch.columns.ground + 1))
    start[0, :-1], start[1, :-1] = 1e30, np.nan
    first = batch.dc.flows(chosen, start.T, drawn(batch.tables(chosen), batch.columns.ports.across(start.T)))
    dc._polish(block.tables, batch.tables(chosen), start.copy())
    worst = [float(np.max(np.abs(left[:, 0]) / allowed[:, 0])) for left, allowed in
             ((first.left, first.allowed), (dc.left, dc.allowed))]  # fmt: skip
    assert worst[1] <= worst[0]
    assert not dc.certified[1]
