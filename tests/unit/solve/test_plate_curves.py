"""Plate curves agree with the idle they are drawn around, and with the tube's own law."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.triode import triode_plate_current_a
from lugwright.solve.results import CurveLine
from lugwright.workflow import Opened, open_build

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda p: p.stem)
def opened(request: pytest.FixtureRequest) -> Opened:
    return open_build(request.param)


def on(line: CurveLine, volts: float) -> float:
    """Return the current of a line at some volts. [A]"""
    order = np.argsort(line.volts)
    return float(np.interp(volts, np.array(line.volts)[order], np.array(line.amps)[order]))


def test_every_amplifying_section_is_shown_once(opened: Opened) -> None:
    shown = [name for found in opened.plate_curves for name in found.together]
    assert sorted(shown) == sorted(n for n, t in opened.idle.tubes.items() if t.transconductance_a_per_v > 0)


def test_figures_are_those_of_the_idle(opened: Opened) -> None:
    for found in opened.plate_curves:
        for name in found.together:
            tube = opened.idle.tubes[name]
            assert found.idle_plate_v == pytest.approx(tube.plate_to_cathode_v, rel=0.03)
            assert found.idle_plate_a == pytest.approx(tube.plate_a, rel=0.03)
        first = opened.idle.tubes[found.together[0]]
        assert (found.idle_plate_a, found.screen_v) == (first.plate_a, first.screen_to_cathode_v)


def test_both_load_lines_pass_through_the_idle(opened: Opened) -> None:
    for found in opened.plate_curves:
        for line in (found.dc_line, found.ac_line):
            assert on(line, found.idle_plate_v) == pytest.approx(found.idle_plate_a, rel=1e-9)


def test_the_ac_line_meets_the_curve_of_no_grid_volts_where_it_says(opened: Opened) -> None:
    for found in opened.plate_curves:
        assert found.curves[0].label == "0 V"
        assert on(found.ac_line, found.grid_zero_v) == pytest.approx(found.grid_zero_a, rel=1e-3)
        assert on(found.curves[0], found.grid_zero_v) == pytest.approx(found.grid_zero_a, rel=0.02)


def test_the_idle_lies_between_the_curves_of_its_neighboring_grid_volts(opened: Opened) -> None:
    for found in opened.plate_curves:
        grids = [float(c.label.removesuffix(" V").replace("−", "-")) for c in found.curves]
        above = max((g, k) for k, g in enumerate(grids) if g <= found.idle_grid_v)[1]
        low, high = (on(found.curves[k], found.idle_plate_v) for k in (above, above - 1))
        assert low <= found.idle_plate_a * 1.03
        assert found.idle_plate_a <= high * 1.03


def test_curves_are_the_tubes_own_law(opened: Opened) -> None:
    for found in opened.plate_curves:
        element = opened.circuit.by_name[found.together[0]]
        law = {k: v for k, v in element.law.__dict__.items() if k != "grid_gain"}
        for curve in found.curves[:2]:
            grid_v = float(curve.label.removesuffix(" V").replace("−", "-"))
            volts = np.array(curve.volts)
            if found.screen_v is None:
                amps = triode_plate_current_a(volts, grid_v, **law)[0]
            else:
                amps = pentode_currents_a(volts, found.screen_v, grid_v, **law).plate_a
            assert curve.amps == pytest.approx(amps, rel=1e-12)


def test_a_pair_bends_where_the_other_tube_is_cut_off() -> None:
    curves = open_build(EXAMPLES[2]).plate_curves
    (pair,) = (found for found in curves if found.ac_alone_ohm is not None)
    assert pair.together == ("V5", "V6")
    bend_v = pair.idle_plate_v - pair.ac_ohm * pair.idle_plate_a
    assert on(pair.ac_line, bend_v) == pytest.approx(2.0 * pair.idle_plate_a)
    steep = (on(pair.ac_line, bend_v - 100.0) - on(pair.ac_line, bend_v)) / 100.0
    assert steep == pytest.approx(1.0 / pair.ac_alone_ohm)


def test_limits_are_those_of_the_type(opened: Opened) -> None:
    for found in opened.plate_curves:
        name = found.together[0]
        part = next(p for p in opened.build.parts if p.name in (name, name[:-1]))
        assert found.plate_w_limit == part.values.type.limits["plate_w"].value
        assert found.plate_v_limit == part.values.type.limits["plate_v"].value
