"""Where pins, lugs, exits and bus points stand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from lugwright.buildfile.build import Placement
from lugwright.errors import PlanError
from lugwright.layout.chassis import fixed_terminals

from .amplifier import amplifier

BUILD, _ = amplifier(1)
TERMINALS = fixed_terminals(BUILD)


def at(key: str) -> tuple[float, float]:
    return TERMINALS[key].x_mm, TERMINALS[key].y_mm


def turned(part: str, turn: float) -> dict:
    placements = dict(BUILD.placements) | {part: replace(BUILD.placements[part], turn=turn)}
    return fixed_terminals(replace(BUILD, placements=placements))


def test_noval_pins_stand_on_a_circle_with_the_gap_to_the_rear_at_turn_0():
    pins = turned("V1", 0.0)
    x, y = BUILD.placements["V1"].at
    for pin in range(1, 10):
        assert math.hypot(pins[f"V1.{pin}"].x_mm - x, pins[f"V1.{pin}"].y_mm - y) == pytest.approx(11.89 / 2, abs=0.1)
    assert pins["V1.1"].x_mm > x
    assert pins["V1.9"].x_mm < x
    assert pins["V1.1"].y_mm == pins["V1.9"].y_mm == min(p.y_mm for p in pins.values() if p.owner == "V1")
    assert pins["V1.5"].x_mm == pytest.approx(x)


def test_pins_count_clockwise_seen_from_the_wiring_side():
    pins = turned("V90", 0.0)
    order = [pins[f"V90.{n}"] for n in range(1, 9)]
    twice_area = sum(a.x_mm * b.y_mm - b.x_mm * a.y_mm for a, b in zip(order, [*order[1:], order[0]], strict=True))
    assert twice_area > 0.0  # with y pointing down the page a positive area runs clockwise


def test_neighboring_noval_pins_are_the_chord_apart():
    assert math.dist(at("V1.1"), at("V1.2")) == pytest.approx(3.67, abs=0.15)


def test_a_quarter_turn_is_clockwise():
    assert turned("V90", 90.0)["V90.1"].y_mm > turned("V90", 0.0)["V90.1"].y_mm


def test_unused_pins_take_no_lead_but_a_free_octal_pin_may():
    assert TERMINALS["V90.1"].capacity == 0
    assert TERMINALS["V90.6"].capacity > 0
    assert TERMINALS["V90.6"].joint == ""


def test_strip_lugs_run_along_the_turn_and_feet_carry_only_the_metal():
    assert at("A1.2") == pytest.approx((12.0 + 9.5, 80.0))
    assert TERMINALS["A1.3"].kind == "foot"
    assert TERMINALS["A1.3"].joint == "chassis"
    assert {TERMINALS[f"A1.{n}"].joint for n in (1, 2, 4, 5)} == {""}
    strip = replace(BUILD.strips[0], turn=90.0)
    down = fixed_terminals(replace(BUILD, strips=(strip,)))
    assert (down["A1.2"].x_mm, down["A1.2"].y_mm) == pytest.approx((12.0, 89.5))


def test_bus_points_stand_ten_millimeters_apart_and_carry_ground():
    points = [t for t in TERMINALS.values() if t.kind == "bus"]
    assert len(points) == pytest.approx((points[-1].x_mm - points[0].x_mm) / 10.0 + 1, abs=1)
    assert {t.joint for t in points} == {"ground"}


def test_pot_lugs_seen_from_inside_run_the_other_way_at_the_front():
    assert TERMINALS["R101.1"].x_mm > TERMINALS["R101.3"].x_mm
    assert TERMINALS["R101.1"].y_mm < BUILD.chassis.depth_mm


def test_transformer_leads_are_named_by_color_and_take_one_wire():
    assert TERMINALS["T2.primary.blue"].label == "T2 blue lead"
    assert {t.capacity for t in TERMINALS.values() if t.kind == "exit"} == {1}


def test_speakers_stand_outside():
    assert not [t for t in TERMINALS.values() if t.owner == "LS1"]


def test_a_tube_without_a_place_is_named():
    placements = {name: place for name, place in BUILD.placements.items() if name != "V1"}
    with pytest.raises(PlanError) as caught:
        fixed_terminals(replace(BUILD, placements=placements))
    assert str(caught.value) == (
        "no place for V1\n  found:  V1 (tube) has no entry under [place]\n  wanted: where it stands on the chassis\n"
        "  do:     add V1 = { at = [x, y] } under [place]"
    )


def test_panel_parts_on_all_four_walls_stay_inside():
    for panel in ("front", "rear", "left", "right"):
        placements = dict(BUILD.placements) | {"R101": Placement((60.0, 30.0), panel=panel)}
        found = fixed_terminals(replace(BUILD, placements=placements))
        for name in ("1", "2", "3"):
            lug = found[f"R101.{name}"]
            assert 0.0 < lug.x_mm < BUILD.chassis.width_mm
            assert 0.0 < lug.y_mm < BUILD.chassis.depth_mm
