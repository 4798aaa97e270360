"""Mains cycles of many wirings together: each is the one that is found by itself."""

from __future__ import annotations

import numpy as np

from lugwright.solve.device_laws import DiodeLaws, law_table
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


def test_volts_found_for_a_wave_carry_the_current_of_the_law() -> None:
    count, instants, laws = 2, 63, mixed_diodes(2)
    rng = np.random.default_rng(11)
    v = rng.uniform(-30.0, 3.0, (count, 3, instants))
    nothing, ways = np.zeros((count, 3, 3, 2 * instants)), np.zeros((count, 3, 3))
    r = np.full((count, 3), 5.0)
    around = cycles.Around(
        np.zeros(v.shape), nothing, nothing, ways, np.zeros((count, 3)), r, np.zeros((count, 3)), law_table(laws)
    )
    load = cycles.Load(np.zeros((count, 3)), ways, ways, np.zeros((count, 3)))
    state = cycles.State(*(np.zeros(v.shape) for _ in range(6)))
    wave = v + rng.uniform(0.0, 20.0, v.shape)
    state.wave[:], state.v[:], worst = wave, v, np.zeros(count)
    cycles.advance(around, load, state, np.arange(count), worst)
    by_law = [laws.currents_a(state.v[:, :, i].T) for i in range(instants)]
    amps, slope = (np.stack([found[k].T for found in by_law], axis=2) for k in (0, 1))
    assert np.allclose(state.amps, amps, rtol=ROUNDED, atol=1e-15)
    assert np.allclose(state.slope, slope, rtol=ROUNDED, atol=1e-15)
    assert np.allclose(state.v + 5.0 * state.amps, wave, atol=1e-7)
    assert np.allclose(state.left, state.v, atol=1e-15)
    assert worst.tolist() == np.abs(state.v).max(axis=(1, 2)).tolist()


def test_each_cycle_is_the_one_that_is_found_by_itself() -> None:
    law = supply_law(solve_columns(one_stage()[1])[0])
    around, shares = law.around, np.array([0.4, 1.0, 2.5])
    ports = around.ports
    loads = Loads(np.repeat(law._mean_v[None], 3, axis=0), np.eye(ports) * (200.0 / shares)[:, None, None])
    laws = around._diodes
    names = ("on", "threshold_v", "smooth_v", "bulk_ohm", "at_zero", "zener_v", "perveance")
    each = {name: np.repeat(getattr(laws, name), 3, axis=1) for name in names}
    many = ManyCycles(
        np.repeat(around.impedance[None], 3, axis=0), np.repeat(around.open_v[None], 3, axis=0),
        DiodeLaws(junctions=laws.junctions, zeners=laws.zeners, among_junctions=laws.among_junctions,
                  vacuum=laws.vacuum, **each),
    )  # fmt: skip
    start = np.repeat(law.coarse_v(np.arange(ports))[None], 3, axis=0)
    found = many.close(loads, start)
    for k, cycle in enumerate(found):
        alone = around.close(LoadLine(loads.open_v[k], loads.ohm[k]), start[k])
        assert cycle is not None
        assert np.abs(alone.mean_a).max() > 1e-3  # there is a load
        assert np.allclose(cycle.mean_a, alone.mean_a, rtol=CLOSED_SHARE, atol=1e-12)
        assert np.allclose(cycle.slope_s, alone.slope_s, rtol=1e-4, atol=1e-12)
        assert np.allclose(cycle.port_v, alone.port_v, atol=1e-4)


def test_a_column_without_numbers_has_no_cycle() -> None:
    law = supply_law(solve_columns(one_stage()[1])[0])
    around, ports = law.around, law.around.ports
    many = ManyCycles(around.impedance[None].copy(), around.open_v[None].copy(), around._diodes)
    lost = Loads(np.full((1, ports), np.nan), np.zeros((1, ports, ports)))
    assert many.close(lost, law.coarse_v(np.arange(ports))[None]) == [None]


def test_a_start_without_numbers_is_left_for_where_the_mains_alone_puts_the_diodes() -> None:
    law = supply_law(solve_columns(one_stage()[1])[0])
    around, ports = law.around, law.around.ports
    many = ManyCycles(around.impedance[None].copy(), around.open_v[None].copy(), around._diodes)
    load = Loads(law._mean_v[None], 200.0 * np.eye(ports)[None])
    starts = around.open_v[None], np.full(around.open_v[None].shape, np.nan)
    usual, lost = (many.close(load, start)[0] for start in starts)
    assert usual is not None
    assert lost is not None
    assert np.array_equal(lost.mean_a, usual.mean_a)
