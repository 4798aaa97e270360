"""Ohm readings of many wirings against each wiring read by itself."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from lugwright.bringup.ohms_chart import bench_circuit
from lugwright.circuit.edits import ScaleValue, SetValue
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring, ends_of, rewired
from lugwright.errors import CircuitError
from lugwright.solve.device_laws import DiodeLaws
from lugwright.solve.ohms import ohm_readings, power_off
from lugwright.solve.rewired_columns import compiled
from lugwright.solve.rewired_ohms import BENCH_LEAK_S, _junction_volts, ohms_rewired
from lugwright.solve.system import System
from lugwright.workflow.opened import open_build

from ...generated.rewirings import every_rewiring

EXAMPLES = Path(__file__).parents[3] / "examples"
DEMOS = ("dunlin_5", "curlew_18", "godwit_40", "redshank_50")
TRIED = 12
SAME_OHM, SAME_SHARE = 1e-3, 1e-3  # a hundredth of what leads and contacts do; a tenth of what a good meter does
NUDGE, SLOPE = 1e-4, 1e-3  # central differences are right to the square of the nudge and the rounding of a reading


@cache
def _bench(name: str) -> Circuit:
    opened = open_build(EXAMPLES / f"{name}.toml")
    return bench_circuit(opened.build, opened.circuit)


def _pairs(circuit: Circuit) -> list[tuple[str, str]]:
    joints = [joint for joint in circuit.joints if joint != circuit.ground]
    to_ground = [(joint, circuit.ground) for joint in joints]
    return [*to_ground, *((b, a) for a, b in to_ground[:10]), *pairwise(joints)]


def _baked(circuit: Circuit, rewiring: Rewiring) -> Circuit:
    """Return the wiring as a circuit of its own, its values in its elements and its leaks in place."""
    system = System(power_off(circuit))
    leaks = compiled(system, (replace(rewiring, changes=()),), BENCH_LEAK_S).leaks(0)
    elements = []
    for element in rewired(circuit, replace(rewiring, bridges=(*rewiring.bridges, *leaks))).elements:
        for c in rewiring.changes:
            if c.element == element.name:
                value = c.value if isinstance(c, SetValue) else getattr(element, c.field) * c.factor
                element = replace(element, **{c.field: value})
        elements.append(element)
    return Circuit(tuple(elements), circuit.ground, circuit.mains_hz)


@pytest.mark.parametrize("name", DEMOS)
def test_readings_agree_with_each_wiring_read_by_itself(name: str) -> None:
    circuit = _bench(name)
    rewirings = tuple(r for r in every_rewiring(circuit, bridges=150) if not _moves_the_plug(r))
    pairs = _pairs(circuit)
    floating = _floating(circuit)
    held = np.array([not floating & set(pair) for pair in pairs])
    many = ohms_rewired(circuit, pairs, rewirings)
    for column in (0, *np.random.default_rng(3).choice(len(rewirings), TRIED, replace=False)):
        alone = ohm_readings(_baked(circuit, rewirings[column]), pairs)
        label = rewirings[column].name
        good = held if _stirs(circuit, rewirings[column], floating) else np.ones(len(pairs), dtype=bool)
        assert list(np.isinf(many.ohm[column][good])) == list(np.isinf(alone.ohm[0][good])), label
        finite = good & np.isfinite(alone.ohm[0])
        assert many.ohm[column][finite] == pytest.approx(alone.ohm[0][finite], rel=SAME_SHARE, abs=SAME_OHM), label
        assert list(many.through_junction[column][good]) == list(alone.through_junction[good]), label


def _floating(circuit: Circuit) -> set[str]:
    """Return the joints that nothing holds to ground: of these the batch says nothing in wirings that touch them."""
    joints = [joint for joint in circuit.joints if joint != circuit.ground]
    ohm = ohm_readings(circuit, [(joint, circuit.ground) for joint in joints]).ohm[0]
    return {joint for joint, value in zip(joints, ohm, strict=True) if np.isinf(value)}


def _stirs(circuit: Circuit, rewiring: Rewiring, floating: set[str]) -> bool:
    ends = {name for name, _, joint in ends_of(circuit.elements) if joint in floating}
    touched = {m.element for m in rewiring.moved} | {c.element for c in rewiring.changes}
    bridged = {joint for b in rewiring.bridges for joint in (b.a, b.b)} | {m.to for m in rewiring.moved}
    return bool(touched & ends or bridged & floating)


def _moves_the_plug(rewiring: Rewiring) -> bool:
    return any(m.element == "mains" for m in rewiring.moved)


def test_shares_of_causes_are_the_slopes_of_the_logarithms() -> None:
    circuit = _bench("godwit_40")
    pairs = [("B+1", "ground"), ("V1a.plate", "ground"), ("drive a", "ground"), ("T1.primary.1", "T1.primary.2")]
    causes = [("R43", "ohm"), ("R37", "ohm"), ("T1.primary.1-2", "ohm"), ("C1", "leak_s"), ("V1a", "on")]
    causes = [c for c in causes if c in System(power_off(circuit)).value_row]
    assert len(causes) >= 4
    wirings = (Rewiring(""), Rewiring("bridge", bridges=(Bridge("B+2", "V1a.plate", 1e4),)))
    shares = ohms_rewired(circuit, pairs, wirings, causes=causes).by_cause
    for k, (element, field) in enumerate(causes):
        nudged = [Rewiring("", (ScaleValue(element, field, 1.0 + s * NUDGE),)) for s in (1.0, -1.0)]
        up, down = (ohms_rewired(circuit, pairs, [r + nudge for r in wirings]) for nudge in nudged)
        slope = np.log(up.ohm / down.ohm) / (2.0 * NUDGE)
        plain = ~up.through_junction & np.isfinite(up.ohm)
        assert shares[:, :, k][plain] == pytest.approx(slope[plain], abs=SLOPE)
        assert not shares[:, :, k][up.through_junction].any()


def test_leads_may_stand_on_other_joints_in_each_wiring() -> None:
    circuit = _bench("dunlin_5")
    away = Rewiring("off", moved=(Moved("R3", "b", "loose end"),))
    lead = ("V1a.plate", "ground")
    many = ohms_rewired(circuit, [lead], [Rewiring(""), away], stands=[[lead], [("loose end", "ground")]])
    through_r3 = ohms_rewired(circuit, [("B+3", "ground")], [away]).ohm[0, 0] + 100e3
    assert many.ohm[1, 0] == pytest.approx(through_r3, rel=SAME_SHARE)
    assert many.ohm[0, 0] == pytest.approx(ohm_readings(circuit, [lead]).ohm[0, 0], rel=SAME_SHARE)


def test_a_cold_tube_and_the_mains_do_not_show() -> None:
    circuit = _bench("dunlin_5")
    lit = Rewiring("lit", (SetValue("V1a", "on", 1.0), SetValue("mains", "rms_v", 230.0)))
    many = ohms_rewired(circuit, [("V1a.plate", "ground")], [Rewiring(""), lit], causes=[("mains", "rms_v")])
    assert many.ohm[0, 0] == many.ohm[1, 0]
    assert not many.by_cause.any()


def test_a_cause_that_is_no_value_is_refused() -> None:
    with pytest.raises(CircuitError) as refused:
        ohms_rewired(_bench("dunlin_5"), [("B+1", "ground")], [Rewiring("")], causes=[("R99", "ohm")])
    assert str(refused.value) == (
        "a cause of spread does not fit the circuit\n"
        "  found:  R99.ohm\n"
        "  wanted: an element of the circuit and one of its values\n"
        "  do:     check the part's name"
    )


def test_edits_in_any_order_read_alike() -> None:
    circuit = _bench("dunlin_5")
    one, other = SetValue("R3", "ohm", 47e3), ScaleValue("R11", "ohm", 3.0)
    moved = (Moved("R3", "b", "loose end"), Moved("C2", "a", "loose end"))
    pairs = _pairs(circuit)
    there = ohms_rewired(circuit, pairs, [Rewiring("", (one, other), moved)]).ohm
    back = ohms_rewired(circuit, pairs, [Rewiring("", (other, one), moved[::-1])]).ohm
    assert there == pytest.approx(back, rel=1e-9)


def test_a_reading_that_runs_away_holds_no_numbers() -> None:
    def each(figure: float) -> np.ndarray:
        return np.full((1, 2), figure)

    none, no_rows = np.zeros((0, 2)), np.zeros(0, dtype=np.intp)
    vacuum = DiodeLaws(
        on=each(1.0), junctions=no_rows, threshold_v=none, smooth_v=none, bulk_ohm=none, at_zero=none, zeners=no_rows,
        among_junctions=no_rows, zener_v=none, vacuum=np.array([0]), perveance=each(1e-3),
    )  # fmt: skip
    u, amps = _junction_volts(vacuum, np.full((2, 1, 1), 1e3), np.ones((2, 1)), np.array([[0.5], [1e200]]))
    assert np.isfinite(u[0, 0])
    assert u[0, 0] + 1e3 * amps[0, 0] == pytest.approx(1.0, abs=1e-9)
    assert np.isnan(u[1, 0])
    assert np.isnan(amps[1, 0])
