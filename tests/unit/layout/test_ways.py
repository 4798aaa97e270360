"""Wires as an expert dresses them: in lanes, off sockets and screws, pairs together, clean away from dirty."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from lugwright.layout.hardware import hardware_for
from lugwright.layout.lanes import Lanes
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.plate import Plate, make_plate
from lugwright.layout.results import Plan, Wire
from lugwright.layout.ways import DIRECT_MM, LEAST_TWIST_MM, together_mm

from .amplifier import amplifier
from .edits import with_resistor

BUILD, VOLTS = amplifier(2)
HARDWARE = hardware_for(BUILD)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_lugs(BUILD, joint_volts=VOLTS)


def samples(wire: Wire, ends_off_mm: float) -> list[tuple[float, float]]:
    """Return points every millimeter of a wire, its two ends left out."""
    found, start, end = [], wire.route[0], wire.route[-1]
    for a, b in itertools.pairwise(wire.route):
        count = max(1, int(math.dist(a[:2], b[:2])))
        for k in range(count):
            at = tuple(p + (q - p) * k / count for p, q in zip(a[:2], b[:2], strict=True))
            if min(math.dist(at, start[:2]), math.dist(at, end[:2])) > ends_off_mm:
                found.append((at[0], at[1]))
    return found


def in_lanes(plan: Plan) -> list[Wire]:
    """Return the wires that are not joined straight through the air."""
    return [wire for wire in plan.wires if len(wire.route) > 2]


def test_wires_that_are_laid_turn_at_right_angles(plan: Plan) -> None:
    for wire in in_lanes(plan):
        if wire.kind != "heater":  # the second wire of a pair crosses its socket straight
            flat = [point[:2] for point in wire.route]
            slants = [(a, b) for a, b in itertools.pairwise(flat) if min(abs(a[0] - b[0]), abs(a[1] - b[1])) > 2.6]
            assert not slants, (wire.number, slants)


def test_no_laid_wire_runs_through_a_socket_or_over_a_screw(plan: Plan) -> None:
    plate = make_plate(BUILD, HARDWARE, plan.terminals, ())
    for wire in in_lanes(plan):
        away = 20.0 if wire.kind == "heater" else 6.0  # the second wire of a pair crosses its own socket
        assert not [at for at in samples(wire, away) if plate.barred[plate.node(at)]], wire.number


def test_no_laid_wire_runs_in_the_lane_of_another(plan: Plan) -> None:
    lanes: Counter[tuple[bool, int, int]] = Counter()
    for wire in in_lanes(plan):
        if wire.twist:
            continue
        used = set()
        for a, b in itertools.pairwise(wire.route):
            level = abs(a[1] - b[1]) < 0.05
            for x, y in samples(replace(wire, route=(a, b)), 4.0):
                used.add((level, round(x / 2.5), round(y / 2.5)))
        lanes.update(used)
    shared = sum(1 for count in lanes.values() if count > 1)
    assert shared <= 0.02 * len(lanes), f"{shared} of {len(lanes)}"


def test_heater_wires_from_socket_to_socket_run_together_and_the_input_tube_ends_the_chain(plan: Plan) -> None:
    pairs: dict[str, list[Wire]] = {}
    for wire in plan.wires:
        if wire.twist and wire.kind == "heater":
            pairs.setdefault(wire.twist, []).append(wire)
    assert len(pairs) >= 3
    for one, two in pairs.values():
        shorter = min(one, two, key=lambda w: w.length_mm)
        other = two if shorter is one else one
        assert (
            together_mm(shorter.route, other.route)
            > 0.6 * sum(math.dist(a, b) for a, b in itertools.pairwise(shorter.route)) - 25.0
        )
    owners = Counter(plan.terminals[key].owner for pair in pairs.values() for key in pair[0].terminals)
    assert owners["V1"] == 1
    assert owners["V2"] == 2


def test_mains_wires_of_the_switch_are_twisted(plan: Plan) -> None:
    twisted = [w for w in plan.wires if w.kind == "mains" and w.twist]
    for name in {w.twist for w in twisted}:
        one, two = (w for w in twisted if w.twist == name)
        assert together_mm(one.route, two.route) >= LEAST_TWIST_MM
        assert one.joint != two.joint


def test_a_short_wire_goes_straight_and_a_long_one_does_not(plan: Plan) -> None:
    for wire in plan.wires:
        a, b = (plan.terminals[key] for key in wire.terminals)
        if abs(a.x_mm - b.x_mm) + abs(a.y_mm - b.y_mm) > DIRECT_MM:
            assert len(wire.route) > 2


def empty_plate() -> Plate:
    step = 2.5
    return Plate(200.0, 150.0, step, (np.arange(81) * step)[:, None], (np.arange(61) * step)[None, :])


def test_a_grid_wire_keeps_off_an_output_plate_wire_and_a_second_plate_wire_does_not() -> None:
    lanes = Lanes(empty_plate(), ("grid", "output plate"), ())
    lanes.lay([(10, 20), (70, 20)], "output plate")
    grid, plate = (lanes.way((25.0, 55.0), (175.0, 55.0), name) for name in ("grid", "output plate"))
    assert plate == [(10, 22), (70, 22)]
    assert max(y for _, y in grid) >= 26


def test_a_wire_taken_up_leaves_nothing_behind() -> None:
    lanes = Lanes(empty_plate(), ("grid", "heater"), ())
    before = lanes.way((25.0, 55.0), (175.0, 100.0), "grid")
    lanes.lay([(10, 20), (70, 20), (70, 40)], "heater")
    assert not lanes.is_undisturbed([(10, 22), (70, 22)], "grid")
    lanes.lay([(10, 20), (70, 20), (70, 40)], "heater", -1)
    assert lanes.is_undisturbed([(10, 22), (70, 22)], "grid")
    assert lanes.way((25.0, 55.0), (175.0, 100.0), "grid") == before


def test_a_heater_pair_takes_the_lane_along_the_wall() -> None:
    lanes = Lanes(empty_plate(), ("heater", "B+"), ())
    heater, supply = (lanes.way((20.0, 30.0), (180.0, 30.0), name) for name in ("heater", "B+"))
    assert min(y for _, y in heater) <= 5
    assert supply == [(8, 12), (72, 12)]


def test_who_dislikes_crossings_gets_a_way_round_and_who_does_not_care_goes_across() -> None:
    across, around = (Lanes(empty_plate(), ("B+", "grid"), (), {"crossings": factor}) for factor in (0.0, 20.0))
    for lanes in (across, around):
        lanes.lay([(40, 10), (40, 40)], "B+")
    straight = across.way((25.0, 90.0), (175.0, 90.0), "B+")
    assert straight == [(10, 36), (70, 36)]
    assert max(y for _, y in around.way((25.0, 90.0), (175.0, 90.0), "B+")) > 40


def test_a_part_more_leaves_nearly_every_wire_where_it_was(plan: Plan) -> None:
    again = plan_lugs(with_resistor(BUILD, "R77", "V1a.out", "ground"), joint_volts=VOLTS, previous=plan)
    old = {frozenset(w.terminals): w.route for w in plan.wires}
    same = [w.route == old[frozenset(w.terminals)] for w in again.wires if frozenset(w.terminals) in old]
    assert len(same) >= len(plan.wires) - 3
    assert sum(same) >= 0.9 * len(same)
