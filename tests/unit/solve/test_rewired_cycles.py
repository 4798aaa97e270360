"""Mains cycles of many wirings together: each is the one that is found by itself."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.solve.device_laws import DiodeLaws, diode_laws, law_table
from lugwright.solve.idle import solve_columns
from lugwright.solve.kernel import cycles
from lugwright.solve.load_line import LoadLine
from lugwright.solve.rewired_cycles import Loads, ManyCycles
from lugwright.solve.rewired_supply import supply_law

from ..bringup.faults.one_stage import one_stage

# Stated before the first run. A cycle counts as closed at 1e-7 of the mains left over: so its means.
CLOSED_SHARE = 1e-6
ROUNDED = 1e-9  # a current and its law, summed in another order


def mixed_diodes(columns: int) -> DiodeLaws:
    """Return silicon, a zener and a vacuum diode in some columns."""

    def every(*figures: float) -> np.ndarray:
        return np.repeat(np.array(figures)[:, None], columns, axis=1)

    return DiodeLaws(
        on=every(1.0, 1.0, 0.8), junctions=np.array([0, 1]), threshold_v=every(0.6, 0.7), smooth_v=every(0.04, 0.05),
        bulk_ohm=every(0.3, 2.0), at_zero=every(3e-7, 8e-7), zeners=np.array([1]), among_junctions=np.array([1]),
        zener_v=every(12.0), vacuum=np.array([2]), perveance=every(1.2e-3),
    )  # fmt: skip


def apart(laws: DiodeLaws, v: np.ndarray) -> tuple[cycles.Around, cycles.Load, cycles.State]:
    """Return diodes that see 5 ohm within an instant, nothing else and no mains, at volts (column, diode, instant)."""
    count, ports, instants = v.shape
    nothing, ways, none = np.zeros((count, ports, ports, 2 * instants)), np.zeros((count, 3, 3)), np.zeros((count, 3))
    tables = (np.zeros(v.shape), nothing, nothing, ways, none, none + 5.0, none, law_table(laws))
    around = cycles.Around(np.arange(count), *tables)
    state = cycles.State(*(np.zeros(v.shape) for _ in cycles.State._fields))
    state.v[:] = v
    return around, cycles.Load(none, ways, ways, none), state


def test_volts_found_for_a_wave_carry_the_current_of_the_law() -> None:
    count, instants, laws = 2, 63, mixed_diodes(2)
    rng = np.random.default_rng(11)
    before, moved = rng.uniform(-30.0, 3.0, (count, 3, instants)), -1.0
    around, load, state = apart(laws, before)
    state.amps[:], state.moved[:], worst = rng.uniform(0.0, 4.0, before.shape), moved, np.zeros(count)
    wave = before - moved + 5.0 * state.amps
    cycles.advance(around, load, state, np.arange(count), worst)
    by_law = [laws.currents_a(state.v[:, :, i].T) for i in range(instants)]
    amps, slope = (np.stack([found[k].T for found in by_law], axis=2) for k in (0, 1))
    assert np.allclose(state.amps, amps, rtol=ROUNDED, atol=1e-15)
    assert np.allclose(state.slope, slope, rtol=ROUNDED, atol=1e-15)
    assert np.allclose(state.v + 5.0 * state.amps, wave, atol=1e-7)
    assert np.allclose(state.left, state.v, atol=1e-15)
    assert worst.tolist() == np.abs(state.v).max(axis=(1, 2)).tolist()


@pytest.mark.parametrize(("moved_v", "amps_left"), [(0.02, 0.8), (0.1, 0.0), (-0.05, 1.5)])
def test_a_diode_goes_on_with_the_current_of_its_tangent_or_lets_go(moved_v: float, amps_left: float) -> None:
    v = np.full((1, 3, 5), 0.9)
    around, load, state = apart(mixed_diodes(1), v)
    state.amps[:], state.slope[:], state.moved[:] = 1.0, 10.0, moved_v
    cycles.advance(around, load, state, np.arange(1), np.zeros(1))
    assert np.allclose(state.v + 5.0 * state.amps, 0.9 - moved_v + 5.0 * amps_left, atol=1e-7)


def test_slopes_of_means_are_those_of_all_instants_together() -> None:
    instants, rng = 21, np.random.default_rng(12)
    around, _, state = apart(mixed_diodes(1), np.zeros((1, 3, instants)))
    each = rng.uniform(0.0, 4.0, (3, 3, instants))
    each -= each.mean(axis=2, keepdims=True)
    around.response[0] = np.concatenate([each, each], axis=2)
    around.response[0, [0, 1, 2], [0, 1, 2], ::instants] += 20.0
    around.reach[:] = 50.0
    state.slope[:] = np.where(rng.uniform(size=state.slope.shape) < 0.5, 0.0, rng.uniform(0.0, 0.5, state.slope.shape))
    slopes = np.zeros((1, 3, 3))
    cycles.mean_slopes(around, np.arange(1), state.slope, 1e-7, slopes)
    late = (np.arange(instants)[:, None] - np.arange(instants)) % instants
    impedance = each[:, :, late].transpose(0, 2, 1, 3)
    impedance[[0, 1, 2], :, [0, 1, 2], :] += 20.0 * np.eye(instants)
    steep = state.slope[0].ravel()
    matrix = np.eye(3 * instants) + impedance.reshape(3 * instants, -1) * steep
    follow = np.linalg.solve(matrix, np.kron(np.eye(3), np.ones((instants, 1))))
    whole = (steep[:, None] * follow).reshape(3, instants, 3).mean(axis=1)
    assert np.abs(whole).min() > 1e-4
    assert np.allclose(slopes[0], whole, rtol=1e-9)


def test_each_cycle_is_the_one_that_is_found_by_itself() -> None:
    law = supply_law(solve_columns(one_stage()[1])[0])
    around, shares = law.around, np.array([0.4, 1.0, 2.5])
    ports = around.ports
    loads = Loads(np.repeat(law._mean_v[None], 3, axis=0), np.eye(ports) * (200.0 / shares)[:, None, None])
    many = ManyCycles(
        np.repeat(around.impedance[None], 3, axis=0), np.repeat(around.open_v[None], 3, axis=0),
        diode_laws(law.system, np.repeat(law.base.values, 3, axis=1)),
    )  # fmt: skip
    start = np.repeat(law.coarse_v(np.arange(ports))[None], 3, axis=0)
    found = many.close(loads, start)
    assert found.closed.all()
    for k in range(3):
        alone = around.close(LoadLine(loads.open_v[k], loads.ohm[k]), start[k])
        assert np.abs(alone.mean_a).max() > 1e-3  # there is a load
        assert np.allclose(found.mean_a[k], alone.mean_a, rtol=CLOSED_SHARE, atol=1e-12)
        assert np.allclose(found.slope_s[k], alone.slope_s, rtol=1e-4, atol=1e-12)
        assert np.allclose(found.port_v[k], alone.port_v, atol=1e-4)


def test_a_column_without_numbers_has_no_cycle() -> None:
    law = supply_law(solve_columns(one_stage()[1])[0])
    around, ports = law.around, law.around.ports
    many = ManyCycles(around.impedance[None].copy(), around.open_v[None].copy(), around._diodes)
    lost = Loads(np.full((1, ports), np.nan), np.zeros((1, ports, ports)))
    assert not many.close(lost, law.coarse_v(np.arange(ports))[None]).closed.any()


def test_columns_that_see_something_else_close_as_if_they_had_always_seen_it() -> None:
    law = supply_law(solve_columns(one_stage()[1])[0])
    around, ports = law.around, law.around.ports
    laws = diode_laws(law.system, np.repeat(law.base.values, 2, axis=1))
    impedance, open_v = np.stack([around.impedance, 1.2 * around.impedance]), np.stack([around.open_v] * 2)
    late = ManyCycles(np.stack([around.impedance] * 2), open_v.copy(), laws)
    late.see(np.array([1]), impedance[1:], 0.9 * open_v[1:])
    open_v[1] *= 0.9
    loads = Loads(np.repeat(law._mean_v[None], 2, axis=0), np.stack([200.0 * np.eye(ports)] * 2))
    start = np.repeat(law.coarse_v(np.arange(ports))[None], 2, axis=0)
    found, always = late.close(loads, start), ManyCycles(impedance, open_v, laws).close(loads, start)
    assert always.closed.all()
    assert np.array_equal(found.mean_a, always.mean_a)
    assert np.abs(found.mean_a[1] - found.mean_a[0]).max() > 1e-4
    again = np.array([1, 1, 0])
    assert np.array_equal(late.only(again).close(loads.only(again), start[again]).mean_a, found.mean_a[again])


def test_a_start_without_numbers_is_left_for_where_the_mains_alone_puts_the_diodes() -> None:
    law = supply_law(solve_columns(one_stage()[1])[0])
    around, ports = law.around, law.around.ports
    many = ManyCycles(around.impedance[None].copy(), around.open_v[None].copy(), around._diodes)
    load = Loads(law._mean_v[None], 200.0 * np.eye(ports)[None])
    starts = around.open_v[None], np.full(around.open_v[None].shape, np.nan)
    usual, lost = (many.close(load, start) for start in starts)
    assert usual.closed.all()
    assert lost.closed.all()
    assert np.array_equal(lost.mean_a, usual.mean_a)
