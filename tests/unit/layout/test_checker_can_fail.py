"""Every check of a plan can fail: each kind of damage, done to the plan of every example, is found."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

import lugwright.layout
from lugwright.buildfile.build import EARTH, GROUND, Bond, Build, Inlet
from lugwright.layout.checker import check_plan
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart, Wire
from lugwright.workflow.opened import Opened

from ...planned_examples import NAMES, example

FAR_V = 3.0  # times the volts of the build: what was room enough is not any more


def rules(opened: Opened, plan: Plan, *, volts: float = 1.0, build: Build | None = None) -> set[str]:
    level = {joint: v * volts for joint, v in opened.joint_volts.items()}
    return {f.rule for f in check_plan(build or opened.build, plan, joint_volts=level, hardware=opened.hardware)}


def with_seat(plan: Plan, old: SeatedPart, **changes: object) -> Plan:
    return replace(plan, seats=tuple(replace(s, **changes) if s is old else s for s in plan.seats))


def with_wire(plan: Plan, old: Wire, **changes: object) -> Plan:
    return replace(plan, wires=tuple(replace(w, **changes) if w is old else w for w in plan.wires))


def with_terminal(plan: Plan, key: str, **changes: object) -> Plan:
    return replace(plan, terminals={**plan.terminals, key: replace(plan.terminals[key], **changes)})


def more_wires(plan: Plan, *ends: tuple[str, str]) -> Plan:
    """Return the plan with straight wires between some terminals."""
    like = next(w for w in plan.wires if not w.bond and not w.twist and w.type != "lead" and not w.shield)
    new = []
    for count, pair in enumerate(ends):
        a, b = (plan.terminals[key] for key in pair)
        route = ((a.x_mm, a.y_mm, a.z_mm), (b.x_mm, b.y_mm, b.z_mm))
        new.append(
            replace(like, number=900 + count, terminals=pair, joint=a.joint, route=route, length_mm=2000.0, bond="")
        )
    return replace(plan, wires=(*plan.wires, *new))


def of_kind(plan: Plan, *kinds: str) -> list[PlanTerminal]:
    return [t for t in plan.terminals.values() if t.kind in kinds]


def plain(plan: Plan) -> Wire:
    """Return a wire off the reel, neither twisted nor a bond."""
    return next(w for w in plan.wires if not w.bond and not w.twist and w.type != "lead" and len(w.route) > 2)


def twisted(plan: Plan) -> Wire:
    """Return a wire of the longest heater pair."""
    return max((w for w in plan.wires if w.twist and w.kind == "heater"), key=lambda w: w.length_mm)


def neighbors(plan: Plan) -> tuple[PlanTerminal, PlanTerminal]:
    """Return two lugs beside each other that carry two joints."""
    lugs = of_kind(plan, "lug")
    return next(
        (a, b) for a in lugs for b in lugs
        if a.owner == b.owner and a.joint and b.joint and a.joint != b.joint
        and int(b.key.split(".")[1]) - int(a.key.split(".")[1]) == 1
    )  # fmt: skip


# -- what is joined -------------------------------------------------------------------------------


def two_leads_swapped(_: Opened, plan: Plan) -> Plan:
    one = plan.seats[0]
    two = next(s for s in plan.seats if plan.terminals[s.terminals[0]].joint != plan.terminals[one.terminals[0]].joint)
    ends = (two.terminals[0], one.terminals[1]), (one.terminals[0], two.terminals[1])
    return with_seat(with_seat(plan, one, terminals=ends[0]), two, terminals=ends[1])


def a_wire_left_out(_: Opened, plan: Plan) -> Plan:
    return replace(plan, wires=tuple(w for w in plan.wires if w is not plain(plan)))


def a_bridge_between_lugs(_: Opened, plan: Plan) -> Plan:
    a, b = neighbors(plan)
    return more_wires(plan, (a.key, b.key))


def a_lug_labeled_wrong(_: Opened, plan: Plan) -> Plan:
    a, b = neighbors(plan)
    return with_terminal(plan, a.key, joint=b.joint)


def a_wire_labeled_wrong(_: Opened, plan: Plan) -> Plan:
    other = next(w.joint for w in plan.wires if w.joint != plain(plan).joint)
    return with_wire(plan, plain(plan), joint=other)


def a_lead_on_the_metal(_: Opened, plan: Plan) -> Plan:
    seat = next(s for s in plan.seats if plan.terminals[s.terminals[0]].joint not in (GROUND, "chassis"))
    return with_seat(plan, seat, terminals=(of_kind(plan, "foot")[0].key, seat.terminals[1]))


def a_part_left_out(_: Opened, plan: Plan) -> Plan:
    return replace(plan, seats=plan.seats[1:])


def leads_named_wrong(_: Opened, plan: Plan) -> Plan:
    seat = plan.seats[0]
    return with_seat(plan, seat, lead_names=seat.lead_names[::-1])


def a_bond_left_out(_: Opened, plan: Plan) -> Plan:
    return replace(plan, wires=tuple(w for w in plan.wires if not w.bond))


def a_spare_lug_in_use(_: Opened, plan: Plan) -> Plan:
    lug = next(t for t in of_kind(plan, "lug") if plan.leads_at(t.key))
    return replace(plan, spare_lugs=(*plan.spare_lugs, lug.key))


def a_terminal_missing(_: Opened, plan: Plan) -> Plan:
    key = of_kind(plan, "pin")[0].key
    return replace(plan, terminals={k: t for k, t in plan.terminals.items() if k != key})


def a_pin_of_another_joint(_: Opened, plan: Plan) -> Plan:
    return with_terminal(plan, next(t.key for t in of_kind(plan, "pin") if t.joint), joint=EARTH)


# -- what fits ------------------------------------------------------------------------------------


def a_terminal_overfull(_: Opened, plan: Plan) -> Plan:
    lug = next(t for t in of_kind(plan, "lug") if plan.leads_at(t.key))
    return more_wires(plan, *[(lug.key, lug.key)] * 2)


def bodies_at_one_height(_: Opened, plan: Plan) -> Plan:
    return replace(plan, seats=tuple(replace(s, z_mm=26.0) for s in plan.seats))


def a_body_through_the_plate(_: Opened, plan: Plan) -> Plan:
    return with_seat(plan, plan.seats[0], z_mm=0.2)


def another_body(_: Opened, plan: Plan) -> Plan:
    return with_seat(plan, plan.seats[0], body_length_mm=plan.seats[0].body_length_mm + 1.0)


def a_span_too_wide(_: Opened, plan: Plan) -> Plan:
    seat = plan.seats[0]
    near = plan.terminals[seat.terminals[1]]
    far = max(of_kind(plan, "lug"), key=lambda t: abs(t.x_mm - near.x_mm))
    return with_seat(plan, seat, terminals=(far.key, seat.terminals[1]))


def one_layer(_: Opened, plan: Plan) -> Plan:
    return replace(plan, seats=tuple(replace(s, layer=1) for s in plan.seats))


def a_strip_moved(_: Opened, plan: Plan) -> Plan:
    key = of_kind(plan, "lug")[0].key
    return with_terminal(plan, key, y_mm=plan.terminals[key].y_mm + 3.0)


def a_lug_raised(_: Opened, plan: Plan) -> Plan:
    key = of_kind(plan, "lug")[0].key
    return with_terminal(plan, key, z_mm=plan.terminals[key].z_mm + 3.0)


def a_pot_moved(_: Opened, plan: Plan) -> Plan:
    key = of_kind(plan, "pot")[0].key
    return with_terminal(plan, key, x_mm=plan.terminals[key].x_mm + 3.0)


def a_bus_moved(_: Opened, plan: Plan) -> Plan:
    key = of_kind(plan, "bus")[0].key
    return with_terminal(plan, key, y_mm=plan.terminals[key].y_mm + 3.0)


# -- wires ----------------------------------------------------------------------------------------


def a_wire_too_short(_: Opened, plan: Plan) -> Plan:
    return with_wire(plan, plain(plan), length_mm=12.0)


def a_wire_without_slack(_: Opened, plan: Plan) -> Plan:
    wire = max((w for w in plan.wires if not w.twist and not w.shield), key=lambda w: w.length_mm)
    return with_wire(plan, wire, length_mm=round(wire.length_mm * 0.94, 1))


def a_route_from_nowhere(_: Opened, plan: Plan) -> Plan:
    wire = plain(plan)
    x, y, z = wire.route[0]
    return with_wire(plan, wire, route=((x + 5.0, y, z), *wire.route[1:]))


def a_route_through_the_wall(_: Opened, plan: Plan) -> Plan:
    wire = plain(plan)
    x, y, z = wire.route[1]
    return with_wire(plan, wire, route=(wire.route[0], (x, y - 5000.0, z), *wire.route[2:]), length_mm=50000.0)


def twist_lost(_: Opened, plan: Plan) -> Plan:
    name = twisted(plan).twist
    return replace(plan, wires=tuple(replace(w, twist="") if w.twist == name else w for w in plan.wires))


def every_twist_lost(_: Opened, plan: Plan) -> Plan:
    return replace(plan, wires=tuple(replace(w, twist="") for w in plan.wires))


def half_a_twist(_: Opened, plan: Plan) -> Plan:
    return with_wire(plan, twisted(plan), twist="")


def twins_that_part(_: Opened, plan: Plan) -> Plan:
    wire = twisted(plan)
    away = tuple((x, y + (20.0 if 0 < k < len(wire.route) - 1 else 0.0), z) for k, (x, y, z) in enumerate(wire.route))
    return with_wire(plan, wire, route=away, length_mm=3000.0)


def thin_insulation(_: Opened, plan: Plan) -> Plan:
    wire = next(w for w in plan.wires if w.kind == "B+" and w.type != "lead")
    return with_wire(plan, wire, type="16 AWG bare")


def a_lead_off_the_reel(_: Opened, plan: Plan) -> Plan:
    return with_wire(plan, plain(plan), type="lead")


def wire_of_no_reel(_: Opened, plan: Plan) -> Plan:
    return with_wire(plan, plain(plan), type="bell wire")


def a_number_twice(_: Opened, plan: Plan) -> Plan:
    return with_wire(plan, plain(plan), number=next(w.number for w in plan.wires if w is not plain(plan)))


def a_part_s_name_on_a_wire(_: Opened, plan: Plan) -> Plan:
    return with_wire(plan, plain(plan), number=next(int(w.bond[1:]) for w in plan.wires if w.bond))


def a_ring_of_ground(_: Opened, plan: Plan) -> Plan:
    grounds = [t.key for t in plan.terminals.values() if t.joint == GROUND and t.kind in ("lug", "jack", "bus", "pin")]
    return more_wires(plan, (grounds[0], grounds[-1]))


def earth_in_black(_: Opened, plan: Plan) -> Plan:
    return with_wire(plan, next(w for w in plan.wires if w.color == "green-yellow"), color="black")


def b_plus_in_green_yellow(_: Opened, plan: Plan) -> Plan:
    return with_wire(plan, next(w for w in plan.wires if w.kind == "B+" and w.type != "lead"), color="green-yellow")


def something_on_the_earth_bolt(_: Opened, plan: Plan) -> Plan:
    bond = next(w for w in plan.wires if w.bond and "chassis.1" not in w.terminals)
    return with_wire(plan, bond, terminals=("chassis.1", bond.terminals[1]))


def mains_beside_a_lug(opened: Opened, plan: Plan) -> Plan:
    """Wire the line to a spare lug next to one in use."""
    inlet = next(p for p in opened.build.parts if isinstance(p.values, Inlet))
    line = plan.terminals[f"{inlet.name}.line"]
    used = {t.key for t in of_kind(plan, "lug") if plan.leads_at(t.key)}
    spare = next(
        key for key in plan.spare_lugs
        if {f"{key.split('.')[0]}.{int(key.split('.')[1]) + step}" for step in (-1, 1)} & used
    )  # fmt: skip
    plan = with_terminal(plan, spare, joint=line.joint)
    return more_wires(replace(plan, spare_lugs=tuple(k for k in plan.spare_lugs if k != spare)), (line.key, spare))


# -- braids ---------------------------------------------------------------------------------------


def shielded(opened: Opened, plan: Plan) -> tuple[Plan, Wire]:
    """Return the plan with a wire made a shielded one, its braid on a ground nearby."""
    ground = [t for t in plan.terminals.values() if t.joint == GROUND and t.kind in ("jack", "bus", "lug")]
    wire, at = min(
        ((w, t) for w in plan.wires for t in ground if w.kind in ("grid", "signal") and w.type != "lead"),
        key=lambda pair: abs(pair[0].route[0][0] - pair[1].x_mm) + abs(pair[0].route[0][1] - pair[1].y_mm),
    )
    kind = next(row.name for row in opened.hardware.wires if row.kind == "shielded")
    more = replace(wire, type=kind, shield=at.key, jacket_mm=(20.0, 20.0), length_mm=wire.length_mm + 60.0)
    return replace(plan, wires=tuple(more if w is wire else w for w in plan.wires)), more


def a_braid_on_the_metal(opened: Opened, plan: Plan) -> Plan:
    plan, wire = shielded(opened, plan)
    return with_wire(plan, wire, shield=of_kind(plan, "foot")[0].key)


def a_braid_at_both_ends(opened: Opened, plan: Plan) -> Plan:
    """Solder the other end of the braid too: a second way from ground to ground."""
    plan, wire = shielded(opened, plan)
    at = plan.terminals[wire.shield]
    other = next(t for t in plan.terminals.values() if t.joint == GROUND and t.owner != at.owner and t.kind != "exit")
    return more_wires(plan, (wire.shield, other.key))


def a_braid_on_a_grid(opened: Opened, plan: Plan) -> Plan:
    plan, wire = shielded(opened, plan)
    return with_wire(plan, wire, shield=wire.terminals[0])


def a_braid_that_hangs(opened: Opened, plan: Plan) -> Plan:
    plan, wire = shielded(opened, plan)
    return with_wire(plan, wire, shield="")


def a_braid_too_far(opened: Opened, plan: Plan) -> Plan:
    plan, wire = shielded(opened, plan)
    x = wire.route[0][0]
    far = max((t for t in plan.terminals.values() if t.joint == GROUND), key=lambda t: abs(t.x_mm - x))
    return with_wire(plan, wire, shield=far.key)


def a_braid_as_long_as_its_core(opened: Opened, plan: Plan) -> Plan:
    plan, wire = shielded(opened, plan)
    return with_wire(plan, wire, jacket_mm=wire.strip_mm)


def a_braid_on_nothing(opened: Opened, plan: Plan) -> Plan:
    plan, wire = shielded(opened, plan)
    return with_wire(plan, wire, shield="Z9.9")


DAMAGE: tuple[tuple[Callable[[Opened, Plan], Plan], str], ...] = (
    (two_leads_swapped, "joints-shorted"), (a_wire_left_out, "joint-open"), (a_bridge_between_lugs, "joints-shorted"),
    (a_lug_labeled_wrong, "lug-label"), (a_wire_labeled_wrong, "wire-label"), (a_lead_on_the_metal, "joints-shorted"),
    (a_part_left_out, "part-seat"), (leads_named_wrong, "part-leads"), (a_bond_left_out, "bond-wire"),
    (a_bond_left_out, "no-earth-wire"), (a_spare_lug_in_use, "spare-lug-used"),
    (a_terminal_missing, "terminal-missing"), (a_pin_of_another_joint, "terminal-joint"),
    (a_terminal_overfull, "terminal-full"), (bodies_at_one_height, "bodies-touch"),
    (a_body_through_the_plate, "body-outside"), (another_body, "part-body"), (a_span_too_wide, "part-span"),
    (one_layer, "leads-cross"), (a_strip_moved, "terminal-place"), (a_lug_raised, "terminal-place"),
    (a_pot_moved, "terminal-place"), (a_bus_moved, "terminal-place"), (a_wire_too_short, "wire-length"),
    (a_wire_without_slack, "wire-slack"), (a_route_from_nowhere, "wire-length"),
    (a_route_through_the_wall, "wire-outside"), (twist_lost, "heater-not-twisted"),
    (every_twist_lost, "heater-not-twisted"), (half_a_twist, "twist-not-a-pair"), (twins_that_part, "twins-part"),
    (thin_insulation, "wire-insulation"), (a_lead_off_the_reel, "wire-type"), (wire_of_no_reel, "wire-unknown"),
    (a_number_twice, "wire-number"), (a_part_s_name_on_a_wire, "wire-name"), (a_ring_of_ground, "wire-ring"),
    (earth_in_black, "earth-color"), (b_plus_in_green_yellow, "earth-color"),
    (something_on_the_earth_bolt, "earth-bolt-shared"), (mains_beside_a_lug, "creepage"),
    (a_braid_on_the_metal, "joints-shorted"), (a_braid_at_both_ends, "wire-ring"),
    (a_braid_on_a_grid, "joints-shorted"), (a_braid_that_hangs, "shield-open"), (a_braid_too_far, "shield-reach"),
    (a_braid_as_long_as_its_core, "shield-jacket"), (a_braid_on_nothing, "terminal-unknown"),
)  # fmt: skip
# Said of a build, or of a plan no example can be brought to; each has a test of its own below or beside this one.
ELSEWHERE = {
    "holes-meet", "screw-under-core", "ground-bonds", "ground-floats", "place-beyond-edge", "places-meet",
    "body-in-can", "lead-over-bus",
}  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_the_plan_of_an_example_has_nothing_to_find(name: str) -> None:
    opened = example(name)
    assert rules(opened, opened.plan) == set()


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("damage", "rule"), DAMAGE, ids=lambda value: getattr(value, "__name__", value))
def test_damage_is_found(name: str, damage: Callable[[Opened, Plan], Plan], rule: str) -> None:
    opened = example(name)
    assert rule in rules(opened, damage(opened, opened.plan))


@pytest.mark.parametrize("name", NAMES)
def test_three_times_the_volts_are_too_much_for_some_distance(name: str) -> None:
    opened = example(name)
    assert "creepage" in rules(opened, opened.plan, volts=FAR_V)


@pytest.mark.parametrize("name", NAMES)
def test_every_wire_and_every_part_is_missed(name: str) -> None:
    opened = example(name)
    plan = opened.plan
    for k in range(0, len(plan.wires), max(1, len(plan.wires) // 12)):
        found = rules(opened, replace(plan, wires=plan.wires[:k] + plan.wires[k + 1 :]))
        assert found & {"joint-open", "bond-wire"}, plan.wires[k]
    for k in range(0, len(plan.seats), max(1, len(plan.seats) // 8)):
        assert "part-seat" in rules(opened, replace(plan, seats=plan.seats[:k] + plan.seats[k + 1 :])), plan.seats[k]


def test_a_ground_without_bond_floats_and_one_with_two_is_told_of() -> None:
    opened = example(NAMES[0])
    bond = next(
        p for p in opened.build.parts if isinstance(p.values, Bond) and GROUND in {t.joint for t in p.terminals}
    )
    floating = replace(opened.build, parts=tuple(p for p in opened.build.parts if p is not bond))
    assert "ground-floats" in rules(opened, opened.plan, build=floating)
    twice = replace(opened.build, parts=(*opened.build.parts, replace(bond, name="W99")))
    assert "ground-bonds" in rules(opened, opened.plan, build=twice)


def test_a_lead_over_the_bus_and_a_body_in_a_can() -> None:
    opened = example("godwit_40")
    plan = opened.plan
    seat = plan.seats[0]
    (bus,) = opened.build.buses
    level = bus.points[0][1]
    above = min((t for t in of_kind(plan, "lug") if t.y_mm < level), key=lambda t: level - t.y_mm)
    below = min((t for t in of_kind(plan, "lug") if t.y_mm > level), key=lambda t: abs(t.x_mm - above.x_mm))
    assert "lead-over-bus" in rules(opened, with_seat(plan, seat, terminals=(above.key, below.key), layer=1))
    x, y = opened.build.placements[of_kind(plan, "can")[0].owner].at
    left, right = (f"{above.owner}.{lug}" for lug in (1, 2))
    over = {left: {"x_mm": x - 20.0}, right: {"x_mm": x + 20.0}}
    for key, place in over.items():
        plan = with_terminal(plan, key, y_mm=y, **place)
    assert "body-in-can" in rules(opened, with_seat(plan, seat, terminals=(left, right), z_mm=6.0))


def test_there_is_no_check_that_no_damage_sets_off() -> None:
    folder = Path(lugwright.layout.__path__[0])
    text = " ".join(path.read_text(encoding="utf-8") for path in sorted(folder.glob("check_*.py")))
    named = set(re.findall(r'(?:rule=|fault\(|_danger\()\s*"([a-z-]+)"', text))
    assert len(named) > 40
    assert named == {rule for _, rule in DAMAGE} | ELSEWHERE


@pytest.mark.parametrize(("long_mm", "told"), [(29.9, False), (30.1, True)])
def test_lamp_wires_need_a_twist_from_three_turns_on(long_mm: float, told: bool) -> None:
    opened = example("dunlin_5")
    lamp = [w for w in opened.plan.wires if any(key.startswith("DS1.") for key in w.terminals)]
    assert len(lamp) == 2
    plan = opened.plan
    for wire in lamp:
        x, y, z = wire.route[0]
        ends = next((key, "E.4" if key == "DS1.1" else "E.6") for key in wire.terminals if key.startswith("DS1."))
        plan = with_wire(plan, wire, twist="", terminals=ends, route=((x, y, z), (x - long_mm, y, z)))
    assert ("heater-not-twisted" in rules(opened, plan)) == told
