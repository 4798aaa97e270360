"""Many wirings at once against the same wirings solved one by one with their own mains cycle."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring, ends_of
from lugwright.errors import CircuitError, NoIdlePoint
from lugwright.solve.idle import solve_beside
from lugwright.solve.mains_harmonics import INSTANTS
from lugwright.solve.rewired import ManyRewired, solve_rewired
from lugwright.solve.rewired_exact import joint_volts, solve_whole
from lugwright.solve.rewired_supply import supply_law
from lugwright.solve.solved import Solved
from lugwright.workflow.opened import Opened, open_build

from ...generated.rewirings import every_rewiring

EXAMPLES = Path(__file__).parents[3] / "examples"
DEMOS = ("dunlin_5", "curlew_18", "godwit_40", "redshank_50")
TRIED, BRIDGES = 12, 60
# Rounding and the width of a meter's last digit; what a supply's law may miss of what its own load moves.
SAME_V, SAME_SHARE, SUPPLY_SHARE = 1e-3, 1e-3, 1e-2
HELD_OHM = 1e8


@cache
def _demo(name: str) -> tuple[Opened, ManyRewired]:
    opened = open_build(EXAMPLES / f"{name}.toml")
    return opened, solve_rewired(opened.solved, every_rewiring(opened.circuit, bridges=BRIDGES))


@pytest.mark.parametrize("name", DEMOS)
def test_every_column_is_certified_or_holds_no_numbers(name: str) -> None:
    _, many = _demo(name)
    assert np.all(np.abs(many.left_over_a[:, many.solved]) <= many.allowed_a[:, many.solved])
    assert np.isnan(many.volts[:, ~many.solved]).all()
    assert many.solved.mean() > 0.99


@pytest.mark.parametrize("name", DEMOS)
def test_columns_agree_with_the_whole_solution(name: str) -> None:
    opened, many = _demo(name)
    batch = np.flatnonzero(many.solved & ~many.exact)
    for column in np.random.default_rng(5).choice(batch, TRIED, replace=False):
        whole = solve_whole(many.base, many.columns, int(column), instants=INSTANTS)
        _assert_alike(opened, many, int(column), whole)


@pytest.mark.parametrize("name", DEMOS)
def test_columns_with_a_cycle_of_their_own_agree_with_the_whole_solution(name: str) -> None:
    opened, many = _demo(name)
    own, compared = np.flatnonzero(many.solved & many.exact & ~many.rough), 0
    for column in np.random.default_rng(6).choice(own, TRIED, replace=False):
        try:
            whole = solve_whole(many.base, many.columns, int(column))
        except NoIdlePoint:
            continue  # the slower way finds nothing to compare with
        _assert_alike(opened, many, int(column), whole)
        compared += 1
    assert compared > 0.7 * TRIED


def _assert_alike(opened: Opened, many: ManyRewired, column: int, whole: Solved) -> None:
    """Compare the joints that something holds: a floating one may take any level."""
    names, system = many.columns.names[column], opened.solved.system
    joints = [*system.joints, *names]
    held = many.source_ohm([joints if c == column else joints[:1] * len(joints) for c in range(many.columns.count)])
    rows = np.flatnonzero(held[column] < HELD_OHM)
    expected = joint_volts(whole, names, len(many.volts), system)[rows]
    found = many.volts[rows, column]
    moved = np.abs(expected - many.volts[rows, 0]).max()
    allowed = SAME_V + SAME_SHARE * np.abs(expected) + SUPPLY_SHARE * moved
    worst = int(np.argmax(np.abs(found - expected) / allowed))
    assert len(rows) > 0.7 * len(joints)  # an open primary leaves the mains side held by nothing
    assert abs(found[worst] - expected[worst]) <= allowed[worst], (many.columns.rewirings[column].name, joints[worst])


@pytest.mark.parametrize("shorted", ["B+2", "B+3"])
def test_a_short_on_a_supply_without_load_is_what_the_whole_solution_says(shorted: str) -> None:
    """Far from the base: the other supply sees no load, and the shorted one a hundred times the base's."""
    opened, _ = _demo("godwit_40")
    system = opened.solved.system
    out = tuple(SetValue(tube.name, "on", 0.0) for tube in (*system.triodes, *system.pentodes))
    (base,) = solve_beside(opened.solved, [Edit("pulled", out)])
    bridge = Rewiring("shorted", bridges=(Bridge(shorted, opened.circuit.ground, 0.1),))
    many = solve_rewired(base, [Rewiring("as planned"), bridge])
    _assert_alike(opened, many, 1, solve_whole(base, many.columns, 1, instants=INSTANTS))


def test_tubes_that_the_mains_drives_do_not_reach_into_the_rectifier() -> None:
    """The heaters' return on a cathode: by the slopes of its tube one half of the rectifier had nothing to do."""
    opened, _ = _demo("curlew_18")
    dark = tuple(SetValue(f"V{number}{half}", "on", 0.0) for number in (1, 2, 3) for half in "ab")
    ends = (("DS1", "b"), ("T1.heater.2-3", "b"), ("V4.heater", "b"), ("V5.heater", "b"))
    moved = tuple(Moved(name, end, "V3b.cathode") for name, end in ends)
    many = solve_rewired(opened.solved, [Rewiring("as planned"), Rewiring("on the cathode", dark, moved)])
    assert many.rough[1]
    whole = solve_whole(many.base, many.columns, 1)
    b_plus = whole.dc.volts[whole.system.row["B+1"], 0]
    assert many.volts_at(["B+1"])[1, 0] == pytest.approx(b_plus, rel=0.01)
    first, second = many.answer.diode_a[1]
    assert first == pytest.approx(second, rel=0.1)


def test_no_supply_is_found_beyond_its_law() -> None:
    opened, _ = _demo("godwit_40")
    (base,) = solve_beside(opened.solved, [Edit("pulled", tuple(SetValue(name, "on", 0.0) for name in ("V5", "V6")))])
    bridge = Rewiring("shorted", bridges=(Bridge("B+2", opened.circuit.ground, 0.1),))
    many = solve_rewired(base, [Rewiring("as planned"), bridge])
    assert not many.exact[0]
    assert many.exact[1]  # on the law's straight lines the bias supply would be at 73 V, more than without load
    _assert_alike(opened, many, 1, solve_whole(base, many.columns, 1, instants=INSTANTS))


def test_the_law_of_a_supply_ends_at_no_load_and_at_a_short() -> None:
    opened, _ = _demo("godwit_40")
    law, steps = supply_law(opened.solved), np.linspace(0.0, 1.0, 5)
    for curve in law.curves:
        v = np.repeat(law.base.cycle.mean_v[:, None], 5, axis=1) if law.base.cycle else np.zeros((0, 5))
        for end, beyond in ((curve.shift_v[0], -1.0), (curve.shift_v[-1], 1.0)):
            there = v.copy()
            there[law.excited] += np.stack([np.interp(steps * end, curve.shift_v, off) for off in curve.off_v.T])
            assert law.reaches(there[:, :-1], np.ones(4)).all()
            there[law.excited[curve.ports]] += beyond * 20.0
            assert not law.reaches(there[:, -1:], np.ones(1)).any()
            assert law.reaches(there[:, -1:], np.zeros(1)).all()  # without mains there is no law to end


def test_the_circuit_as_planned_is_the_base() -> None:
    opened, many = _demo("godwit_40")
    assert many.volts[: opened.solved.system.size, 0] == pytest.approx(opened.solved.dc.volts[:-1, 0], abs=1e-6)


def test_joints_are_asked_for_by_name_also_those_a_wiring_makes() -> None:
    opened, _ = _demo("dunlin_5")
    away = Rewiring("plate lead off", moved=(Moved("V1a", "plate", "V1 pin 1"),))
    many = solve_rewired(opened.solved, [Rewiring(""), away])
    found = many.volts_at([["V1a.plate", "ground"], ["V1a.plate", "V1 pin 1"]])
    assert found.shape == (2, 2)
    assert found[0, 1] == 0.0
    assert found[1, 0] > found[0, 0] + 10.0
    assert found[1, 1] < found[0, 0]
    assert many.volts_at(["V1a.plate"])[:, 0] == pytest.approx(found[:, 0])


def test_an_extra_edit_holds_for_all_columns() -> None:
    opened, _ = _demo("dunlin_5")
    dead = Edit("output tube out", (SetValue("V2", "on", 0.0),))
    together = solve_rewired(opened.solved, [Rewiring("")], extra=dead)
    alone = solve_rewired(opened.solved, [Rewiring("", dead.changes)])
    assert together.volts_at(["B+1"])[0, 0] == pytest.approx(alone.volts_at(["B+1"])[0, 0], rel=SAME_SHARE)


def test_what_does_not_fit_is_refused() -> None:
    opened, _ = _demo("dunlin_5")
    with pytest.raises(CircuitError, match="does not fit the circuit"):
        solve_rewired(opened.solved, [Rewiring("x", moved=(Moved("R999", "a", "ground"),))])
    with pytest.raises(CircuitError, match="does not fit the circuit"):
        solve_rewired(opened.solved, [Rewiring("x", (SetValue("R999", "ohm", 1.0),))])


def test_a_bridge_is_a_joint_that_both_share() -> None:
    opened, _ = _demo("godwit_40")
    bridged = Rewiring("bridged", bridges=(Bridge("V1a.plate", "V1b.plate", 1e-3),))
    ends = [(e, end) for e, end, j in ends_of(opened.circuit.elements) if j == "V1b.plate"]
    moved = Rewiring("moved", moved=tuple(Moved(e, end, "V1a.plate") for e, end in ends))
    many = solve_rewired(opened.solved, [bridged, moved])
    others = [j for j in opened.solved.system.joints if j not in ("V1a.plate", "V1b.plate")]
    by_bridge, by_moving = many.volts_at(others)
    assert by_bridge == pytest.approx(by_moving, abs=1e-4)
    assert many.volts_at(["V1a.plate"])[0, 0] == pytest.approx(many.volts_at(["V1a.plate"])[1, 0], abs=1e-4)
