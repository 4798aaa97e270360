"""Whether wires and insulation of a plan are safe: creepage, volts, earth, lengths, twists. No planner code."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Bond, Build, Inlet, Jack, Tube
from lugwright.findings import Finding, Grade
from lugwright.layout.check_joints import fault
from lugwright.layout.check_volts import Volts
from lugwright.layout.hardware import Hardware
from lugwright.layout.insulation import MAINS_AIR_MM, clearance_mm, creepage_mm
from lugwright.layout.results import Plan, PlanTerminal, Wire

AIR_REACH_MM = 16.0
LUG_WIDTH_MM = 5.0
EARTH_BOLT = "chassis.1"
B_PLUS_STYLE_V, B_PLUS_FROM_V = 600.0, 150.0
TINY_MM = 0.05
TWIST_FROM_MM = 30.0  # three turns; a wire that is shorter, seen from above, cannot be twisted
CREEPAGE_SOURCE = "IEC 60664-1 table F.4, pollution degree 2"


def check_wires(build: Build, plan: Plan, volts: Volts, hardware: Hardware) -> Iterator[Finding]:
    """Yield insulation too short or too thin, a bad earth, wires too short, heaters not twisted."""
    yield from _distances(build, plan, volts, hardware)
    for wire in plan.wires:
        if set(wire.terminals) <= set(plan.terminals):
            yield from _insulation(plan, wire, volts, hardware)
            yield from _length(build, plan, wire)
    yield from _names(build, plan)
    yield from _twists(build, plan)
    yield from _earth(build, plan)
    yield from _ground_bonds(build)


def _distances(build: Build, plan: Plan, volts: Volts, hardware: Hardware) -> Iterator[Finding]:
    rows = {strip.name: hardware.strips[strip.type] for strip in build.strips}
    points = [t for t in plan.terminals.values() if _carried(t) and t.kind != "exit"]
    first = {t.key: t for t in points if t.owner in rows or _carried(t) in volts.mains}
    for one in first.values():
        for two in points:
            apart = math.hypot(one.x_mm - two.x_mm, one.y_mm - two.y_mm)
            if _carried(one) == _carried(two) or (two.key in first and two.key <= one.key) or apart > 40.0:
                continue
            between = volts.between_v(_carried(one), _carried(two))
            mains = (_carried(one) in volts.mains) != (_carried(two) in volts.mains)
            if two.owner == one.owner and one.owner in rows:
                gap = apart - rows[one.owner].lug_width_mm
                needed = creepage_mm(working_v=between, group=rows[one.owner].creepage_group)
            elif two.owner != one.owner and apart < AIR_REACH_MM:
                gap = math.hypot(apart, one.z_mm - two.z_mm) - LUG_WIDTH_MM
                needed = clearance_mm(peak_v=between * math.sqrt(2.0))
            else:
                continue
            needed = max(needed, MAINS_AIR_MM) if mains else needed
            if gap < needed - TINY_MM:
                yield Finding(
                    rule="creepage", grade=Grade.DANGER, part=one.owner, source=CREEPAGE_SOURCE,
                    what=f"{one.label} and {two.label} are too near each other for their voltage",
                    found=f"{gap:.1f} mm for {between:.0f} V ({_carried(one)} to {_carried(two)})",
                    wanted=f"{needed:.1f} mm", do=_apart_how(one, two),
                )  # fmt: skip


def _apart_how(one: PlanTerminal, two: PlanTerminal) -> str:
    return "leave a lug between them" if one.owner == two.owner else f"move {one.owner} and {two.owner} apart"


def _carried(t: PlanTerminal) -> str:
    return CHASSIS if t.kind in ("foot", "bolt") else t.joint


def _insulation(plan: Plan, wire: Wire, volts: Volts, hardware: Hardware) -> Iterator[Finding]:
    ends = [plan.terminals[key] for key in wire.terminals]
    is_lead = any(t.kind == "exit" for t in ends)
    if is_lead != (wire.type == "lead"):
        yield fault("wire-type", f"W{wire.number}", f"W{wire.number} cannot be {wire.type}",
                    "a transformer's own lead" if is_lead else "no transformer lead at either end",
                    "lead" if is_lead else "a wire type of the catalogue", "plan again")  # fmt: skip
    if is_lead or wire.type == "lead":
        return
    known = {w.name: w for w in hardware.wires}
    rated = known[wire.type].insulation_v if wire.type in known else 0.0
    needed = max(volts.between_v(t.joint, GROUND) for t in ends if t.joint)
    if needed > B_PLUS_FROM_V:
        needed = max(needed, B_PLUS_STYLE_V)
    if rated < needed:
        yield Finding(
            rule="wire-insulation", grade=Grade.DANGER, part=f"W{wire.number}",
            what=f"W{wire.number} ({wire.joint}) has too thin an insulation", found=f"{wire.type}, {rated:.0f} V",
            wanted=f"{needed:.0f} V", do=f"use wire made for {needed:.0f} V or more",
            source="UL 1007 and UL 1015 wire styles: 300 V and 600 V",
        )  # fmt: skip


def _names(build: Build, plan: Plan) -> Iterator[Finding]:
    for wire in plan.wires:
        name = f"W{wire.number}"
        if name in build.part_by_name and wire.bond != name:
            yield fault("wire-name", name, f"a wire and a {build.part(name).kind} are both called {name}",
                        f"a wire from {' to '.join(wire.terminals)}, which is not that part", "each name once",
                        "plan again")  # fmt: skip


def _length(build: Build, plan: Plan, wire: Wire) -> Iterator[Finding]:
    route = sum(math.dist(a, b) for a, b in zip(wire.route, wire.route[1:], strict=False))
    ends = [plan.terminals[key] for key in wire.terminals]
    met = len(wire.route) >= 2 and all(
        math.dist(point, (t.x_mm, t.y_mm, t.z_mm)) <= 0.2
        for point, t in zip((wire.route[0], wire.route[-1]), ends, strict=True)
    )
    if wire.length_mm < route or not met:
        yield fault("wire-length", f"W{wire.number}", f"W{wire.number} does not reach",
                    f"{wire.length_mm:.0f} mm cut" if met else "its route does not run from terminal to terminal",
                    f"at least {route:.0f} mm from {ends[0].label} to {ends[1].label}", "plan again")  # fmt: skip
    if build.chassis and not all(
        0.0 <= x <= build.chassis.width_mm
        and 0.0 <= y <= build.chassis.depth_mm
        and 0.0 <= z <= build.chassis.height_mm
        for x, y, z in wire.route
    ):
        yield fault("wire-outside", f"W{wire.number}", f"W{wire.number} runs out of the chassis",
                    "a corner of its route outside", "inside the chassis", "plan again, or move the strip")  # fmt: skip


def _alternating(build: Build) -> set[str]:
    """Return the joints that feed heaters and nothing else: not those of a heater that sits on its cathode."""
    tubes = [part for part in build.parts if isinstance(part.values, Tube)]
    others = {t.joint for part in tubes for t in part.terminals if not t.name.startswith("heater")}
    sides = [{t.joint for t in part.terminals if t.name.startswith("heater") and t.joint} for part in tubes]
    return {joint for joints in sides if not joints & others for joint in joints} - {GROUND}


def _twists(build: Build, plan: Plan) -> Iterator[Finding]:
    """Yield heater wires between two tubes that run alone, and pairs that are no pairs."""
    heaters = {
        f"{part.name}.{pin}"
        for part in build.parts
        if isinstance(part.values, Tube)
        for terminal in part.terminals
        if terminal.name.startswith("heater")
        for pin in terminal.pins
    }
    alternating = _alternating(build)
    heaters |= {t.key for t in plan.terminals.values() if t.kind == "exit" and t.joint in alternating}
    pairs: dict[str, list[Wire]] = {}
    for wire in plan.wires:
        owners = {plan.terminals[key].owner for key in wire.terminals if key in plan.terminals}
        if wire.twist:
            pairs.setdefault(wire.twist, []).append(wire)
        elif wire.kind == "heater" and len(owners) == 2 and heaters >= set(wire.terminals):
            yield fault(
                "heater-not-twisted",
                f"W{wire.number}",
                f"heater wire W{wire.number} runs alone",
                " to ".join(wire.terminals),
                "both heater wires of a tube twisted together",
                "plan again",
            )
    yield from _side_by_side(plan, heaters)
    for name, wires in sorted(pairs.items()):
        yield from _twist(plan, name, wires)


def _side_by_side(plan: Plan, told: set[str]) -> Iterator[Finding]:
    """Yield two heater wires between the same two things, a lamp and a socket for one, that are no pair."""
    alone: dict[frozenset[str], list[Wire]] = {}
    for wire in plan.wires:
        owners = frozenset(plan.terminals[key].owner for key in wire.terminals if key in plan.terminals)
        if wire.kind == "heater" and not wire.twist and len(owners) == 2 and not told >= set(wire.terminals):
            alone.setdefault(owners, []).append(wire)
    for owners, wires in sorted(alone.items(), key=lambda item: item[1][0].number):
        if len({wire.joint for wire in wires}) == 2 and min(map(_seen_from_above_mm, wires)) >= TWIST_FROM_MM:
            yield fault("heater-not-twisted", f"W{wires[0].number}",
                        f"heater wires W{wires[0].number} and W{wires[1].number} run side by side untwisted",
                        f"both from {' to '.join(sorted(owners))}", "the two twisted together",
                        "plan again")  # fmt: skip


def _seen_from_above_mm(wire: Wire) -> float:
    return sum(math.dist(a[:2], b[:2]) for a, b in itertools.pairwise(wire.route))


def _twist(plan: Plan, name: str, wires: list[Wire]) -> Iterator[Finding]:
    """Yield a twist that is none: heater wires go in pairs from one owner to another, others leave one together."""
    ends = [frozenset(plan.terminals[k].owner for k in w.terminals if k in plan.terminals) for w in wires]
    heater = any(wire.kind == "heater" for wire in wires)
    apart = len(wires) < 2 or len({wire.joint for wire in wires}) < len(wires) or not frozenset.intersection(*ends)
    if apart or (heater and (len(wires) != 2 or ends[0] != ends[1])):
        wanted = (
            "two wires of the two heater joints, side by side" if heater else "wires of several joints, from one part"
        )
        found = ", ".join(f"W{w.number} {' to '.join(w.terminals)}" for w in wires)
        yield fault("twist-not-a-pair", f"W{wires[0].number}", f"twist {name} is no pair", found, wanted, "plan again")


def _earth(build: Build, plan: Plan) -> Iterator[Finding]:
    """Yield a missing protective earth, and anything else on its bolt."""
    if not any(isinstance(part.values, Inlet) for part in build.parts):
        return
    bonds = [
        p.name for p in build.parts if isinstance(p.values, Bond) and {t.joint for t in p.terminals} == {EARTH, CHASSIS}
    ]
    wires = [w for w in plan.wires if w.bond in bonds and EARTH_BOLT in w.terminals]
    if not wires:
        yield _danger("no-earth-wire", "the metal is not bonded to protective earth",
                      "no wire from earth to the earth bolt", "one wire from the inlet's earth to its own bolt",
                      "add a bond from earth to chassis to the build file")  # fmt: skip
    others = [lead for lead in plan.leads_at(EARTH_BOLT) if lead not in {f"W{w.number}" for w in wires}]
    if others or len(wires) > 1:
        yield _danger(
            "earth-bolt-shared",
            "the earth bolt holds something else",
            ", ".join(plan.leads_at(EARTH_BOLT)),
            "the protective earth wire alone",
            "give the other lead the bond bolt or a strip foot",
        )


def _ground_bonds(build: Build) -> Iterator[Finding]:
    """Yield a circuit ground that floats, or that meets the metal in more than one place."""
    paths = [
        p.name
        for p in build.parts
        if isinstance(p.values, Bond) and {t.joint for t in p.terminals} == {GROUND, CHASSIS}
    ]
    paths += [
        p.name
        for p in build.parts
        if isinstance(p.values, Jack) and not p.values.isolated and p.terminal("sleeve").joint == GROUND
    ]
    through = [p.name for p in build.parts if GROUND in (js := {t.joint for t in p.terminals}) and CHASSIS in js]
    if not paths and not through and GROUND in build.joints:
        yield _danger(
            "ground-floats",
            "the circuit ground is bonded to the metal nowhere",
            "no bond",
            "one bond from ground to chassis",
            "add a bond from ground to chassis to the build file",
        )
    elif len(paths) > 1:
        yield Finding(
            rule="ground-bonds", grade=Grade.DOUBT, what="ground meets the metal in more than one place",
            found=", ".join(paths), wanted="one place", part=paths[-1],
            do="use isolated jacks, or leave out the bond where a jack makes it",
        )  # fmt: skip


def _danger(rule: str, what: str, found: str, wanted: str, do: str) -> Finding:
    return Finding(rule=rule, grade=Grade.DANGER, what=what, found=found, wanted=wanted, do=do)
