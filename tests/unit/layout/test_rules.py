"""What each layout rule says, word for word, of a plan that breaks it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from lugwright.findings import Finding
from lugwright.layout.joint_classes import joint_classes
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.results import Plan
from lugwright.layout.rules.bus_order import bus_order
from lugwright.layout.rules.busy_lug import busy_lug
from lugwright.layout.rules.case import Case
from lugwright.layout.rules.charging_loop import charging_loop
from lugwright.layout.rules.grid_lead import grid_lead_length, grid_stopper_on_pin
from lugwright.layout.rules.near_grid import heater_beside_grid, mains_beside_signal, plate_beside_grid
from lugwright.layout.rules.parts_hang import heavy_part, hot_resistor_near_capacitor, unsupported_lead
from lugwright.layout.rules.spare_lugs import spare_lugs
from lugwright.layout.rules.table import RULES, layout_findings

from .amplifier import amplifier

BUILD, VOLTS = amplifier(1)
PLAN = plan_lugs(BUILD, joint_volts=VOLTS)
CLASSES = joint_classes(BUILD, VOLTS)
CASE = Case(BUILD, PLAN, CLASSES)


def only(rule: Callable[[Case], Iterator[Finding]], plan: Plan) -> Finding:
    (finding,) = rule(Case(BUILD, plan, CLASSES))
    return finding


def beside(kind: str) -> Plan:
    """Return the plan with its first wire made a grid wire that runs 8 mm beside a wire of a kind."""
    along = ((20.0, 60.0, 3.0), (120.0, 60.0, 3.0))
    grid, other = PLAN.wires[0], PLAN.wires[1]
    grid = replace(grid, kind="grid", route=tuple((x, y + 8.0, z) for x, y, z in along), length_mm=115.0)
    other = replace(other, kind=kind, route=along)
    return replace(PLAN, wires=(grid, other))


def test_busy_lug():
    key = PLAN.seats[0].terminals[0]
    wires = tuple(replace(PLAN.wires[0], number=900 + n, terminals=(key, "V1.1")) for n in range(4))
    found = only(busy_lug, replace(PLAN, seats=PLAN.seats[:1], wires=wires))
    assert found.what == f"{PLAN.terminals[key].label} is busy: R1.1, W900, W901, W902, W903"
    assert found.found == "5 leads (2 terminals hold more than 3)"


def test_spare_lugs():
    found = only(spare_lugs, replace(PLAN, spare_lugs=PLAN.spare_lugs[:1]))
    lugs = sum(1 for t in PLAN.terminals.values() if t.kind == "lug")
    assert found.found == f"1 spare beside {lugs - 1} used"
    assert not list(spare_lugs(CASE))


def test_long_grid_wire():
    found = only(grid_lead_length, beside("B+"))
    assert found.what == f"grid wire W{PLAN.wires[0].number} is long"
    assert found.found.startswith("115 mm, ")


def test_grid_stopper_off_its_pin():
    seat = next(s for s in PLAN.seats if "V1.2" in s.terminals)
    off = replace(seat, terminals=tuple("A1.1" if key == "V1.2" else key for key in seat.terminals))
    found = only(grid_stopper_on_pin, replace(PLAN, seats=tuple(off if s is seat else s for s in PLAN.seats)))
    assert found.what == f"grid stopper {seat.part} is not on the pin"
    assert found.wanted == "one lead on V1.2"
    assert not list(grid_stopper_on_pin(CASE))


def test_plate_beside_grid():
    lugs = {"A1.1": "V1a.plate", "A1.2": "V1b.grid"}
    terminals = {
        k: replace(t, joint=lugs.get(k, "" if t.kind == "lug" else t.joint)) for k, t in PLAN.terminals.items()
    }
    found = only(plate_beside_grid, replace(PLAN, terminals=terminals))
    assert found.what == "a plate and a grid are neighbors: strip A1 lug 1 and strip A1 lug 2"
    assert found.found == "V1a.plate beside V1b.grid (1 such places), about 0.25 pF"


@pytest.mark.parametrize(
    ("rule", "kind", "within"), [(heater_beside_grid, "heater", 10), (mains_beside_signal, "mains", 20)]
)
def test_hum_beside_a_grid_wire(rule, kind, within):
    found = only(rule, beside(kind))
    assert found.what == f"W{PLAN.wires[0].number} runs beside {kind} wire W{PLAN.wires[1].number}"
    assert found.found == f"100 mm nearer than {within} mm"
    assert not list(rule(Case(BUILD, beside("speaker"), CLASSES)))


def test_hot_resistor_near_an_electrolytic():
    hot = next(s for s in PLAN.seats if s.part == "R11")
    cold = next(s for s in PLAN.seats if s.part == "C5")
    near = replace(cold, terminals=hot.terminals, z_mm=hot.z_mm + 10.0)
    found = only(hot_resistor_near_capacitor, replace(PLAN, seats=(hot, near)))
    assert found.what == f"R11 ({BUILD.part('R11').values.watts:g} W) lies close to electrolytic C5"
    assert found.wanted == "5 mm of air or more"


def test_heavy_part():
    part = BUILD.part("C2")
    body = replace(part.values.body, grams=21.0)
    parts = tuple(replace(p, values=replace(p.values, body=body)) if p is part else p for p in BUILD.parts)
    (found,) = heavy_part(
        Case(replace(BUILD, parts=parts), replace(PLAN, seats=tuple(s for s in PLAN.seats if s.part == "C2")), CLASSES)
    )
    assert found.what == "C2 is too heavy to hang by its leads"
    assert found.found == "21 g (1 such parts)"


def test_unsupported_lead():
    seat = replace(PLAN.seats[0], span_mm=PLAN.seats[0].body_length_mm + 60.0)
    found = only(unsupported_lead, replace(PLAN, seats=(seat,)))
    assert found.found == "30 mm each side"
    assert not list(unsupported_lead(CASE))


def test_returns_out_of_stage_order():
    first = next(s for s in PLAN.seats if s.part == "R2")
    later = next(s for s in PLAN.seats if s.part == "R10")
    far, near = "bus.15", "bus.2"
    seats = (replace(first, terminals=("A1.1", far)), replace(later, terminals=("A1.2", near)))
    found = only(bus_order, replace(PLAN, seats=seats))
    assert found.what == "returns meet bus out of stage order"
    assert found.found.startswith("R2 lands ")
    in_order = (replace(first, terminals=("A1.1", near)), replace(later, terminals=("A1.2", far)))
    assert not list(bus_order(Case(BUILD, replace(PLAN, seats=in_order), CLASSES)))


def test_center_tap_that_lands_on_the_bus():
    tap = next(w for w in PLAN.wires if "T1.hv.ct" in w.terminals)
    wires = tuple(replace(w, terminals=("T1.hv.ct", "bus.9")) if w is tap else w for w in PLAN.wires)
    found = only(charging_loop, replace(PLAN, wires=wires))
    assert found.what == "charging current of C6 runs through the ground bus"
    assert found.found == "T1 red/yellow lead lands on bus point 9"


def test_center_tap_of_a_can_supply_goes_to_the_can():
    build, volts = amplifier(1, old_style=True)
    plan = plan_lugs(build, joint_volts=volts)
    assert any(set(w.terminals) == {"T1.hv.ct", "C90.minus"} for w in plan.wires)
    assert not list(charging_loop(Case(build, plan, joint_classes(build, volts))))


def test_every_rule_is_in_the_table_once_and_runs_on_a_real_plan():
    assert len({rule.__name__ for rule in RULES}) == len(RULES) == 12
    assert {f.grade.value for f in layout_findings(BUILD, PLAN, joint_volts=VOLTS)} <= {"doubt", "note"}
