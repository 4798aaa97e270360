"""What each layout rule says, word for word: of a plan that breaks it, and its worst place in one that does not."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from lugwright.buildfile.build import Wishes
from lugwright.findings import Finding
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart
from lugwright.layout.rules.bare_lead_near_lug import bare_lead_near_lug
from lugwright.layout.rules.bus_order import bus_order
from lugwright.layout.rules.busy_lug import busy_lug
from lugwright.layout.rules.case import Case, Judged, case_of
from lugwright.layout.rules.cathode_lead_length import cathode_lead_length
from lugwright.layout.rules.charging_loop import charging_loop
from lugwright.layout.rules.covered_joint import covered_joint
from lugwright.layout.rules.creepage_margin import creepage_margin
from lugwright.layout.rules.grid_lead_length import grid_lead_length
from lugwright.layout.rules.grid_stopper_on_pin import grid_stopper_on_pin
from lugwright.layout.rules.heater_chain_order import heater_chain_order
from lugwright.layout.rules.heater_near_grid import heater_near_grid
from lugwright.layout.rules.heavy_part import heavy_part
from lugwright.layout.rules.hot_near_electrolytic import hot_near_electrolytic
from lugwright.layout.rules.input_lead_shield import input_lead_shield
from lugwright.layout.rules.mains_near_signal import mains_near_signal
from lugwright.layout.rules.output_near_grid import output_near_grid
from lugwright.layout.rules.plate_beside_grid import plate_beside_grid
from lugwright.layout.rules.polarity_readable import polarity_readable
from lugwright.layout.rules.spare_lugs import spare_lugs
from lugwright.layout.rules.stacked_bodies import stacked_bodies
from lugwright.layout.rules.table import RULES, judged, layout_findings
from lugwright.layout.rules.terminal_room import terminal_room
from lugwright.layout.rules.unsupported_lead import unsupported_lead

from .amplifier import amplifier

BUILD, VOLTS = amplifier(1)
PLAN = plan_lugs(BUILD, joint_volts=VOLTS)
CASE = case_of(BUILD, PLAN, VOLTS)
Rule = Callable[[Case], Judged]


def of(plan: Plan) -> Case:
    return replace(CASE, plan=plan)


def only(rule: Rule, plan: Plan) -> Finding:
    """Return the one finding of a rule; its worst place then says that the rule is not met."""
    answer = rule(of(plan))
    (finding,) = answer.findings
    assert answer.worst is not None
    assert not answer.worst.met
    assert answer.worst.rule == finding.rule
    return finding


def worst(rule: Rule, plan: Plan = PLAN) -> WorstPlace:
    """Return the worst place of a rule that is met."""
    answer = rule(of(plan))
    assert answer.findings == ()
    assert answer.worst is not None
    assert answer.worst.met
    return answer.worst


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
    assert not spare_lugs(CASE).findings


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
    low, high = math.ceil(seat.body_length_mm + 4.0), math.floor(seat.body_length_mm + 32.0)
    pin, lugs = PLAN.terminals["V1.2"], [t for t in PLAN.terminals.values() if t.kind == "lug"]
    apart = {t.label: math.dist((pin.x_mm, pin.y_mm, pin.z_mm), (t.x_mm, t.y_mm, t.z_mm)) for t in lugs}
    label = min(apart, key=lambda lug: apart[lug])
    assert found.do == (
        f"stand a free lug {low} to {high} mm from the pin; the nearest lug now is {label}, {apart[label]:.0f} mm away"
    )
    assert worst(grid_stopper_on_pin).place.endswith(" of V1 pin 2")


def test_plate_beside_grid():
    lugs = {"A1.1": "V1a.plate", "A1.2": "V1b.grid"}
    terminals = {
        k: replace(t, joint=lugs.get(k, "" if t.kind == "lug" else t.joint)) for k, t in PLAN.terminals.items()
    }
    found = only(plate_beside_grid, replace(PLAN, terminals=terminals))
    assert found.what == "a plate and a grid are neighbors: strip A1 lug 1 and strip A1 lug 2"
    assert found.found == "V1a.plate beside V1b.grid (1 such places), about 0.25 pF"


@pytest.mark.parametrize(
    ("rule", "kind", "within"), [(heater_near_grid, "heater", 10), (mains_near_signal, "mains", 20)]
)
def test_hum_beside_a_grid_wire(rule, kind, within):
    found = only(rule, beside(kind))
    assert found.what == f"W{PLAN.wires[0].number} runs beside {kind} wire W{PLAN.wires[1].number}"
    assert found.found == f"100 mm nearer than {within} mm"
    assert not rule(of(beside("speaker"))).findings


def test_hot_resistor_near_an_electrolytic():
    hot = next(s for s in PLAN.seats if s.part == "R11")
    cold = next(s for s in PLAN.seats if s.part == "C5")
    near = replace(cold, terminals=hot.terminals, z_mm=hot.z_mm + 10.0)
    found = only(hot_near_electrolytic, replace(PLAN, seats=(hot, near)))
    assert found.what == f"R11 ({BUILD.part('R11').values.watts:g} W) lies close to electrolytic C5"
    assert found.wanted == "5 mm of air or more"


def test_heavy_part():
    part = BUILD.part("C2")
    body = replace(part.values.body, grams=21.0)
    parts = tuple(replace(p, values=replace(p.values, body=body)) if p is part else p for p in BUILD.parts)
    seats = tuple(s for s in PLAN.seats if s.part == "C2")
    (found,) = heavy_part(replace(of(replace(PLAN, seats=seats)), build=replace(BUILD, parts=parts))).findings
    assert found.what == "C2 is too heavy to hang by its leads"
    assert found.found == "21 g (1 such parts)"


def test_unsupported_lead():
    seat = replace(PLAN.seats[0], span_mm=PLAN.seats[0].body_length_mm + 60.0)
    found = only(unsupported_lead, replace(PLAN, seats=(seat,)))
    assert found.found == "30 mm each side"
    assert not unsupported_lead(CASE).findings


def test_returns_out_of_stage_order():
    first = next(s for s in PLAN.seats if s.part == "R2")
    later = next(s for s in PLAN.seats if s.part == "R10")
    far, near = "bus.15", "bus.2"
    seats = (replace(first, terminals=("A1.1", far)), replace(later, terminals=("A1.2", near)))
    found = only(bus_order, replace(PLAN, seats=seats))
    assert found.what == "returns meet bus out of stage order"
    assert found.found.startswith("R2 lands ")
    in_order = (replace(first, terminals=("A1.1", near)), replace(later, terminals=("A1.2", far)))
    assert not bus_order(of(replace(PLAN, seats=in_order))).findings


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
    assert not charging_loop(case_of(build, plan, volts)).findings


NAMES = {"R": ("1", "2"), "C": ("1", "2")}


def point(key: str, x: float, y: float, joint: str = "in", kind: str = "lug") -> PlanTerminal:
    return PlanTerminal(key, key.split(".")[0], kind, x, y, 12.0, joint, 4, f"lug {key}")


def lying(part: str, ends: tuple[str, str], *, layer: int = 1, z: float = 12.0, across: float = 6.0) -> SeatedPart:
    return SeatedPart(part, ends, NAMES[part[0]], layer, 14.0, across, z, 30.0)


def small(seats: tuple[SeatedPart, ...], *points: PlanTerminal) -> Plan:
    """Return a plan of a few points and seats, and no wire."""
    return replace(PLAN, terminals={t.key: t for t in points}, seats=seats, wires=(), spare_lugs=())


ALONG = (point("A.1", 100.0, 50.0), point("A.2", 130.0, 50.0))
ACROSS = (point("B.1", 115.0, 35.0), point("B.2", 115.0, 65.0))


def test_a_long_cathode_wire():
    wire = replace(PLAN.wires[0], number=7, kind="cathode", joint="V1a.cathode", terminals=("V1.3", "A1.1"))
    found = only(cathode_lead_length, replace(PLAN, wires=(replace(wire, length_mm=95.4),)))
    assert found.what == "cathode wire W7 is long: the parts of V1a.cathode do not sit at the socket"
    assert found.found == "95 mm, V1 pin 3 to strip A1 lug 1"
    assert found.wanted == "80 mm or less"
    assert found.do == "give the cathode a lug nearer its socket"
    place = worst(cathode_lead_length, replace(PLAN, wires=(replace(wire, length_mm=41.0),)))
    assert place == WorstPlace("cathode-lead-length", "longest cathode wire", "W7, V1 pin 3 to strip A1 lug 1",
                               "41 mm", "80 mm or less", met=True)  # fmt: skip


def test_a_body_over_a_joint():
    seats = (lying("R2", ("A.1", "A.2")), lying("R3", ("B.1", "B.2")))
    over = point("A.2", 115.0, 51.0)
    found = only(covered_joint, small(seats, ALONG[0], over, *ACROSS))
    assert found.what == "R3 lies over lug A.2"
    assert found.found == "3.0 mm over it (1 such joints)"
    assert found.wanted == "beside it, not over it"
    assert found.do == "solder and test lug A.2 before R3 goes in; R3 must come out to repair it"


def test_a_joint_beside_a_body():
    seats = (lying("R2", ("A.1", "A.2")), lying("R3", ("B.1", "B.2")))
    place = worst(covered_joint, small(seats, ALONG[0], ALONG[1], point("B.1", 115.0, 60.0), point("B.2", 115.0, 90.0)))
    assert place.place == "lug B.1 by R2"
    assert place.found == "7.0 mm beside it"


def test_a_mark_of_polarity_under_another_body():
    (cap,) = (lying("C1", ("A.1", "A.2"), across=8.0),)
    above = (point("B.1", 110.0, 35.0), point("B.2", 110.0, 65.0))
    found = only(
        polarity_readable, small((cap, lying("R3", ("B.1", "B.2"), layer=2, z=25.0, across=9.0)), *ALONG, *above)
    )
    assert found.what == "the polarity of C1 cannot be read once R3 lies over it"
    assert found.found == "100% of the marked end covered (1 such parts)"
    assert found.wanted == "50% or less"
    assert found.do == "check C1 before R3 goes in, and turn its print outward"


def test_a_mark_of_polarity_under_a_body_that_lies_over_the_other_end():
    (cap,) = (lying("C1", ("A.1", "A.2"), across=8.0),)
    above = (point("B.1", 120.0, 35.0), point("B.2", 120.0, 65.0))
    plan = small((cap, lying("R3", ("B.1", "B.2"), layer=2, z=25.0, across=9.0)), *ALONG, *above)
    assert worst(polarity_readable, plan).found == "0% of the marked end covered"


def test_a_third_layer():
    seats = (lying("R2", ("A.1", "A.2")), lying("R3", ("B.1", "B.2"), layer=3, z=40.0))
    found = only(stacked_bodies, small(seats, *ALONG, *ACROSS))
    assert found.what == "R3 over R2 is stacked high"
    assert found.found == "layer 3"
    assert found.wanted == "layer 2 or lower"
    assert found.do == "add lugs beside it, so that it can lie lower"
    two = (seats[0], lying("R3", ("B.1", "B.2"), layer=2, z=30.0))
    place = worst(stacked_bodies, small(two, *ALONG, *ACROSS))
    assert place.found == "layer 2 (1 of 2 bodies above the first)"


def test_the_least_distance_to_spare_is_between_the_lugs_with_most_volts():
    lugs = {"A1.1": "in", "A1.2": "B+1", "A1.6": "B+2", "A1.7": "B+3"}
    terminals = {k: replace(t, joint=lugs.get(k, "")) for k, t in PLAN.terminals.items() if t.owner == "A1"}
    place = worst(creepage_margin, replace(PLAN, terminals=terminals, seats=(), wires=()))
    assert place.place == "strip A1 lug 1 and strip A1 lug 2"
    assert place.found == "4.5 mm for 378 V"
    assert place.limit == "3.8 mm or more"


def test_too_small_a_distance_is_shown_as_such():
    lugs = {"A1.1": "in", "A1.2": "V90.plate"}
    terminals = {k: replace(t, joint=lugs.get(k, "")) for k, t in PLAN.terminals.items() if t.owner == "A1"}
    volts = VOLTS | {"V90.plate": 900.0}
    answer = creepage_margin(case_of(BUILD, replace(PLAN, terminals=terminals, seats=(), wires=()), volts))
    assert answer.worst is not None
    assert not answer.worst.met


def test_the_fullest_terminal():
    wires = tuple(replace(PLAN.wires[0], number=900 + n, terminals=("A1.1", "V1.1")) for n in range(3))
    plan = replace(PLAN, seats=(), wires=wires)
    place = worst(terminal_room, plan)
    assert place.place == "V1 pin 1: W900, W901, W902"
    assert place.found == "3 leads (1 as full as this)"
    assert place.limit == "3 leads"


def test_plate_and_grid_with_lugs_between_them():
    lugs = {"A1.1": "V1a.plate", "A1.5": "V1b.grid"}
    terminals = {
        k: replace(t, joint=lugs.get(k, "" if t.kind == "lug" else t.joint)) for k, t in PLAN.terminals.items()
    }
    place = worst(plate_beside_grid, replace(PLAN, terminals=terminals))
    assert place.place == "strip A1 lug 1 and strip A1 lug 5"
    assert place.found == "4 lugs apart"


def test_clean_wires_that_run_nowhere_near_the_mains():
    along = ((20.0, 60.0, 3.0), (120.0, 60.0, 3.0))
    grid = replace(PLAN.wires[0], number=1, kind="grid", route=tuple((x, y + 44.0, z) for x, y, z in along))
    place = worst(
        mains_near_signal, replace(PLAN, wires=(grid, replace(PLAN.wires[1], number=2, kind="mains", route=along)))
    )
    assert place.place == "W1 beside W2"
    assert place.found == "no run; 44 mm apart at the nearest"
    assert place.limit == "30 mm nearer than 20 mm"


def test_the_longest_lead_on_a_grid_counts_where_there_is_no_grid_wire():
    seat = next(s for s in PLAN.seats if "V1.2" in s.terminals)
    seat = replace(seat, span_mm=seat.body_length_mm + 24.0)
    place = worst(grid_lead_length, replace(PLAN, seats=(seat,), wires=()))
    assert place.place == f"{seat.part} on V1 pin 2, no grid wire"
    assert place.found == "12 mm"


def test_a_plan_of_nothing_has_no_worst_places_and_no_findings():
    plan = replace(PLAN, terminals={}, seats=(), wires=(), spare_lugs=())
    places, findings = judged(BUILD, plan, joint_volts=VOLTS)
    assert [p.rule for p in places] == ["spare-lugs"]
    assert findings == ()


def test_every_rule_is_in_the_table_once_and_answers_on_a_real_plan():
    assert len({rule.__name__ for rule in RULES}) == len(RULES) == 23
    places, findings = judged(BUILD, PLAN, joint_volts=VOLTS)
    assert len({p.rule for p in places}) == len(places) >= len(RULES) - 2  # no star; no plate on a strip with a grid
    assert {p.rule for p in places if not p.met} == {f.rule for f in findings}
    assert {f.grade.value for f in layout_findings(BUILD, PLAN, joint_volts=VOLTS)} <= {"doubt", "note"}


def test_the_input_tube_in_the_middle_of_the_heater_chain():
    pair = [w for w in PLAN.wires if w.kind == "heater" and w.twist and "V1" in w.twist]
    assert len(pair) == 2
    assert worst(heater_chain_order) == WorstPlace(
        "heater-chain-order",
        "input tube in the heater chain",
        "V1",
        "2 tubes, none behind it",
        "the last one",
        met=True,
    )
    swap = {"V90": "V1", "V1": "V90"}
    ends = {k: replace(t, owner=swap.get(t.owner, t.owner)) for k, t in PLAN.terminals.items()}
    finding = only(heater_chain_order, replace(PLAN, terminals=ends))
    assert (finding.grade.value, finding.what) == ("doubt", "heater current of other tubes runs past the input tube V1")
    assert (finding.found, finding.wanted) == ("V90 behind it", "the input tube at the end of the chain")
    assert finding.do == "plan again, or feed the heaters from the other end"


def test_a_grid_wire_beside_an_output_plate_wire():
    plate = next(w for w in PLAN.wires if CASE.classes[w.joint] == "output plate")
    route = ((100.0, 60.0, 5.0), (180.0, 60.0, 5.0))
    grid = replace(plate, number=99, joint="V1a.grid", kind="grid", route=tuple((x, y + 8.0, z) for x, y, z in route))
    finding = only(output_near_grid, replace(PLAN, wires=(replace(plate, route=route), grid)))
    assert finding.rule == "output-near-grid"
    assert finding.what == f"W99 runs beside output plate wire W{plate.number}"
    assert (finding.found, finding.wanted) == ("80 mm nearer than 15 mm", "30 mm or less")
    assert finding.do == "cross it at a right angle, or use shielded wire"


def test_a_long_input_lead_without_shield():
    wire = next(w for w in PLAN.wires if w.joint == "in")
    route = ((10.0, 60.0, 5.0), (90.0, 60.0, 5.0))
    bare = replace(PLAN, wires=(replace(wire, route=route, shield=""),))
    finding = only(input_lead_shield, bare)
    assert (finding.grade.value, finding.part) == ("doubt", f"W{wire.number}")
    assert finding.what == f"input lead W{wire.number} is long and has no shield"
    assert finding.found == (
        "80 mm of route, up to 28 µV of hum 10 mm beside a heater pair; "
        "no ground with room for its braid within reach of either end"
    )
    assert finding.wanted == "60 mm or less, or shielded wire"
    assert (
        finding.do
        == "leave room for one lead more on the jack's sleeve, or bring ground to a lug beside the wire's end"
    )
    shielded = replace(PLAN, wires=(replace(wire, route=route, shield="J1.sleeve"),))
    assert worst(input_lead_shield, shielded) == WorstPlace(
        "input-lead-shield", "longest input lead without shield", f"W{wire.number}", "all shielded", "60 mm or less",
        met=True,
    )  # fmt: skip
    forbidden = replace(of(bare), build=replace(BUILD, wishes=Wishes(shield={"in": False})))
    assert input_lead_shield(forbidden) == Judged()


def test_bare_lead_near_lug():
    """Two lugs of a strip 9.5 mm apart and a third between them: the lead lies on it, or 4 mm above."""
    lugs = [
        PlanTerminal(f"A.{n}", "A", "lug", 9.5 * n, 50.0, 11.0, joint, 4, f"strip A lug {n}")
        for n, joint in ((1, "in"), (2, "B+3"), (5, "ground"))
    ]
    seat = SeatedPart("R1", ("A.1", "A.5"), ("1", "2"), 1, 6.0, 3.0, 11.0, 38.0)
    other = SeatedPart("R2", ("A.2", "A.9"), ("1", "2"), 1, 6.0, 3.0, 11.0, 38.0)
    far = PlanTerminal("A.9", "A", "lug", 85.5, 50.0, 11.0, "out", 4, "strip A lug 9")
    plan = replace(PLAN, terminals={t.key: t for t in (*lugs, far)}, seats=(seat, other), wires=())
    found = only(bare_lead_near_lug, plan)
    assert (found.part, found.what) == ("R1", "bare lead R1.1 passes strip A lug 2, which is another joint")
    assert (found.found, found.wanted) == ("0.0 mm beside it", "2.5 mm beside or 3 mm above, or a sleeve")
    assert found.do == "slip a sleeve over R1.1, R2.1"
    high = replace(plan, seats=tuple(replace(s, z_mm=25.0) for s in (seat, other)))
    assert bare_lead_near_lug(of(high)) == Judged()
