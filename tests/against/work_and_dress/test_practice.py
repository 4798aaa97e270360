"""The plan and the order of work of every example, held against what builders agree on. None of the planner's rules."""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Mapping
from typing import Any

import pytest

from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Bond, Can, Capacitor, Jack, Resistor, Tube
from lugwright.layout.results import Plan, SeatedPart
from lugwright.layout.routing import TWIST_PITCH_MM
from lugwright.workflow.opened import Opened

from ...planned_examples import NAMES, example

Place = tuple[float, float, float]


@pytest.fixture(params=NAMES)
def opened(request: pytest.FixtureRequest) -> Opened:
    return example(request.param)


@pytest.fixture
def limits(rows: list[dict[str, str]]) -> Mapping[str, float]:
    return {row["fact"]: float(row["limit"]) for row in rows}


@pytest.fixture
def places(rows: list[dict[str, str]]) -> Mapping[str, int]:
    """Return the place of each kind of work in the order that builders agree on."""
    return {row["fact"]: int(row["limit"]) for row in rows if row["unit"] == "place"}


def first_stage(opened: Opened) -> dict[str, int]:
    """Return the number of the first stage that names each part."""
    found: dict[str, int] = {}
    for number, stage in enumerate(opened.build.stages):
        for name in stage.parts:
            found.setdefault(name, number)
    return found


def test_work_goes_from_the_earth_bond_to_the_input_stage(opened: Opened, places: Mapping[str, int]) -> None:
    """A card out of the order is one of what had to wait, and says so."""
    now = 0
    for job in opened.work_order.jobs:
        if job.phase in places and "had to wait" not in job.title:
            assert places[job.phase] >= now, (job.number, job.title)
            now = places[job.phase]
    assert now == places["input"]


def test_heater_wires_are_the_first_after_the_mains_and_lie_lowest(opened: Opened) -> None:
    wires = {w.number: w for w in opened.plan.wires}
    laid = [n for job in opened.work_order.jobs for n in job.wires]
    heater = [laid.index(n) for n, w in wires.items() if w.twist and w.kind == "heater"]
    others = [laid.index(n) for n, w in wires.items() if w.kind in ("B+", "plate", "grid", "signal", "cathode")]
    assert max(heater) < min(others)
    heights = defaultdict(list)
    for wire in wires.values():
        if len(wire.route) > 3:
            heights[wire.kind].append(min(z for _, _, z in wire.route[1:-1]))
    assert max(heights["heater"]) <= min(min(v) for kind, v in heights.items() if kind in ("B+", "plate", "signal"))


def test_feedback_is_the_last_thing_joined(opened: Opened) -> None:
    last = [job.phase for job in opened.work_order.jobs]
    if "feedback" in last:
        assert last[-1] == "feedback"
        assert last[-2] == "check"
    else:
        assert last[-1] == "check"


def test_no_lug_is_soldered_before_its_last_lead(opened: Opened) -> None:
    left = Counter(lead.label for job in opened.work_order.jobs for lead in job.leads if job.phase != "feedback")
    for job in opened.work_order.jobs:
        if job.phase != "feedback":
            left.subtract(lead.label for lead in job.leads)
            assert [label for label in job.solder if left[label]] == []


def test_each_heater_pair_is_twisted_to_the_pins_and_the_input_tube_is_the_last(
    opened: Opened, limits: Mapping[str, float]
) -> None:
    assert limits["longest pitch of a heater twist"] >= TWIST_PITCH_MM
    plan, stages = opened.plan, first_stage(opened)
    tubes = {p.name for p in opened.build.parts if isinstance(p.values, Tube)}
    pairs = {
        frozenset(plan.terminals[key].owner for key in w.terminals)
        for w in plan.wires
        if w.kind == "heater" and w.twist and all(plan.terminals[key].kind in ("pin", "exit") for key in w.terminals)
    }
    for wire in plan.wires:
        owners = {plan.terminals[key].owner for key in wire.terminals}
        if wire.kind == "heater" and len(owners & tubes) == 2:
            assert wire.twist
    reached = Counter(owner for pair in pairs for owner in pair & tubes)
    ends = {name for name, count in reached.items() if count == 1}
    chained = sorted(reached, key=lambda name: stages.get(name, 99))
    if len(chained) > 2:
        assert chained[0] in ends


def test_the_same_heater_wire_is_on_the_same_pins_of_every_socket_of_a_kind(opened: Opened) -> None:
    joints: dict[tuple[str, str, frozenset[str]], set[str]] = defaultdict(set)
    for part in opened.build.parts:
        if isinstance(part.values, Tube):
            heater = [t for t in part.terminals if t.name.startswith("heater") and t.joint]
            pair = frozenset(t.joint for t in heater)
            for terminal in heater:
                for pin in terminal.pins:
                    joints[part.values.type.name, str(pin), pair].add(terminal.joint)
    assert len(joints) >= 2
    assert {key: at for key, at in joints.items() if len(at) > 1} == {}


def test_ground_meets_the_metal_once_and_the_earth_bolt_holds_one_lead(
    opened: Opened, limits: Mapping[str, float]
) -> None:
    build, plan = opened.build, opened.plan
    bonds = {p.name for p in build.parts if isinstance(p.values, Bond) and _joints(p) == {GROUND, CHASSIS}}
    jacks = {
        p.name
        for p in build.parts
        if isinstance(p.values, Jack) and not p.values.isolated and p.terminal("sleeve").joint == GROUND
    }
    assert len(bonds | jacks) == limits["bonds of ground to the metal"]
    (earth,) = {p.name for p in build.parts if isinstance(p.values, Bond) and _joints(p) == {EARTH, CHASSIS}}
    (wire,) = (w for w in plan.wires if w.bond == earth)
    (bolt,) = (key for key in wire.terminals if plan.terminals[key].kind == "bolt")
    assert len(plan.leads_at(bolt)) == limits["leads on the earth bolt"]


def _joints(part: Any) -> set[str]:
    return {t.joint for t in part.terminals}


def test_the_bus_is_thick_and_returns_meet_it_in_stage_order(
    opened: Opened, limits: Mapping[str, float], tolerance: Mapping[str, Any]
) -> None:
    build, plan = opened.build, opened.plan
    by_name = {wire.name: wire.awg for wire in opened.hardware.wires}
    for row in opened.work_order.cut_list:
        if row.type in by_name and "bare" in row.type:
            assert limits["thickest bus"] <= by_name[row.type] <= limits["thinnest bus"]
    number = {n: k for k, s in enumerate(build.stages) if s.duty not in ("supply", "mains", "heater", "bias")
              for n in s.parts}  # fmt: skip
    jack = next(t for t in plan.terminals.values() if t.kind == "jack")
    for bus in build.buses:
        points = [t for t in plan.terminals.values() if t.owner == bus.name]
        if math.dist(_flat(points[-1]), _flat(jack)) < math.dist(_flat(points[0]), _flat(jack)):
            points.reverse()
        along = {points[0].key: 0.0}
        for one, two in itertools.pairwise(points):
            along[two.key] = along[one.key] + math.dist(_flat(one), _flat(two))
        lands = [(number[s.part], along[k], s.part) for s in plan.seats for k in s.terminals
                 if k in along and s.part in number]  # fmt: skip
        out = [(a[2], b[2]) for a in lands for b in lands if a[0] < b[0] and a[1] - b[1] > tolerance["stage_order_mm"]]
        assert out == []


def _flat(terminal: Any) -> tuple[float, float]:
    return terminal.x_mm, terminal.y_mm


def test_a_grounded_center_tap_comes_to_the_minus_of_a_reservoir_first(opened: Opened) -> None:
    build, plan = opened.build, opened.plan
    polar = {p.name for p in build.parts if isinstance(p.values, Capacitor | Can)}
    taps = [w for w in plan.wires if w.joint == GROUND and any(".hv." in key for key in w.terminals)]
    for wire in taps:
        (end,) = (key for key in wire.terminals if ".hv." not in key)
        here = {lead.split(".")[0] for lead in plan.leads_at(end)} | {plan.terminals[end].owner}
        assert here & polar, (wire.number, end)
    if build.title.startswith(("Dunlin", "Curlew")):
        assert len(taps) == 1


def test_wires_that_can_see_high_volts_are_of_a_600_v_style(opened: Opened) -> None:
    styles = {wire.name: wire for wire in opened.hardware.wires}
    volts = opened.joint_volts
    high = [
        w
        for w in opened.plan.wires
        if w.type in styles and (w.kind in ("B+", "screen", "plate", "mains") or volts.get(w.joint, 0.0) > 300.0)
    ]
    assert len(high) >= 5
    for wire in high:
        assert styles[wire.type].insulation_v >= max(600.0, volts.get(wire.joint, 0.0)), wire.number


def test_hot_resistors_keep_clear_of_electrolytics(
    opened: Opened, limits: Mapping[str, float], tolerance: Mapping[str, Any]
) -> None:
    values = {p.name: p.values for p in opened.build.parts}
    hot = [s for s in opened.plan.seats if isinstance(v := values[s.part], Resistor) and v.watts >= 2.0]
    cold = [s for s in opened.plan.seats if isinstance(v := values[s.part], Capacitor) and v.polar]
    for one in hot:
        for two in cold:
            air = min(math.dist(a, b) for a in _axis(opened.plan, one) for b in _axis(opened.plan, two))
            air -= (one.body_diameter_mm + two.body_diameter_mm) / 2.0
            assert air >= limits["hot resistor to electrolytic"] - tolerance["air_mm"], (one.part, two.part)


def _axis(plan: Plan, seat: SeatedPart, steps: int = 24) -> list[Place]:
    """Return points along the middle of a body, at its height."""
    a, b = (plan.terminals[key] for key in seat.terminals)
    apart = math.dist((a.x_mm, a.y_mm, a.z_mm), (b.x_mm, b.y_mm, b.z_mm))
    share = min(1.0, seat.body_length_mm / max(apart, 1e-9))
    at = [0.5 + share * (k / steps - 0.5) for k in range(steps + 1)]
    return [(a.x_mm + t * (b.x_mm - a.x_mm), a.y_mm + t * (b.y_mm - a.y_mm), seat.z_mm) for t in at]


def test_a_grid_stopper_sits_on_its_pin(opened: Opened) -> None:
    """A stopper: a resistor of at most 100 kilohms that is all there is between a grid and the rest."""
    build, seats = opened.build, {s.part: s for s in opened.plan.seats}
    count = 0
    for part in build.parts:
        if not isinstance(part.values, Resistor) or part.values.ohm > 100e3 or part.name not in seats:
            continue
        for terminal in part.terminals:
            at = build.joints[terminal.joint]
            grids = [t for t in at if t.name == "grid"]
            if len(at) == 2 and len(grids) == 1:
                keys = {f"{grids[0].part}.{pin}" for pin in grids[0].pins}
                tube = {t.owner for key, t in opened.plan.terminals.items() if key in keys}
                assert keys & set(seats[part.name].terminals) or not tube, part.name
                count += 1
    assert count > 0


def test_a_braid_is_soldered_at_one_end(opened: Opened, limits: Mapping[str, float]) -> None:
    leads = Counter(lead for key in opened.plan.terminals for lead in opened.plan.leads_at(key) if "braid" in lead)
    assert set(leads.values()) <= {int(limits["ends at which a braid is soldered"])}
    assert len(leads) == sum(bool(w.shield) for w in opened.plan.wires)


def test_a_tenth_of_the_lugs_is_spare(opened: Opened, limits: Mapping[str, float]) -> None:
    used = sum(t.kind == "lug" and bool(t.joint) for t in opened.plan.terminals.values())
    assert len(opened.plan.spare_lugs) >= max(2, limits["spare lugs"] * used)
