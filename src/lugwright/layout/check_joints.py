"""Proof that a plan joins what the circuit joins, and nothing else. Shares no code with the planner."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from lugwright.buildfile.build import (
    CHASSIS,
    EARTH,
    GROUND,
    Bond,
    Build,
    Capacitor,
    Diode,
    Part,
    Resistor,
    Speaker,
    Tank,
    Thermistor,
    Tube,
)
from lugwright.findings import Finding, Grade
from lugwright.layout.results import Plan

HANGING = (Resistor, Capacitor, Diode, Thermistor)
OUTSIDE = (Speaker, Tank)
METAL = "the chassis metal"


def check_joints(build: Build, plan: Plan, mains: frozenset[str]) -> Iterator[Finding]:
    """Yield what the wiring joins wrongly, leaves apart, or leaves out."""
    points = _points(build, plan)
    yield from _missing_terminals(build, plan)
    yield from _seat_findings(build, plan)
    root = _wired(build, plan)
    at: dict[str, dict[str, list[str]]] = {}
    for what, key, joint in points:
        at.setdefault(root.get(key, key), {}).setdefault(joint, []).append(what)
    yield from _shorts(at, mains)
    yield from _opens(at)
    yield from _wrong_names(plan, root, at)
    yield from _bonds(build, plan, root, at)


def part_joints(part: Part) -> Iterator[tuple[str, str]]:
    """Yield (terminal key, joint) of a part that stands still."""
    shared = {pin for terminal in part.terminals if terminal.joint for pin in terminal.pins}
    for terminal in part.terminals:
        if isinstance(part.values, Tube):
            open_pins = [pin for pin in terminal.pins if terminal.joint or pin not in shared]
            yield from ((f"{part.name}.{pin}", terminal.joint) for pin in open_pins)
        else:
            yield f"{part.name}.{terminal.name}", terminal.joint


def _stands(part: Part) -> bool:
    return not isinstance(part.values, (*HANGING, *OUTSIDE, Bond))


def _points(build: Build, plan: Plan) -> list[tuple[str, str, str]]:
    """Return (what, terminal key, joint of the circuit) of every point that carries a joint."""
    found = [(key, key, joint) for part in build.parts if _stands(part) for key, joint in part_joints(part) if joint]
    parts = {part.name: part for part in build.parts}
    for seat in plan.seats:
        joints = {t.name: t.joint for t in parts[seat.part].terminals} if seat.part in parts else {}
        found += [
            (f"{seat.part}.{lead}", key, joints[lead])
            for lead, key in zip(seat.lead_names, seat.terminals, strict=True)
            if lead in joints
        ]
    for t in plan.terminals.values():
        if t.kind in ("foot", "bolt"):
            found.append((t.label, t.key, CHASSIS))
    found += [(f"W{wire.number} braid", wire.shield, GROUND) for wire in plan.wires if wire.shield in plan.terminals]
    found += [(star.name, f"{star.name}.1", star.joint) for star in build.stars]
    return found + [(bus.name, f"{bus.name}.1", bus.joint) for bus in build.buses]


def _wired(build: Build, plan: Plan) -> dict[str, str]:
    """Return for every terminal the piece it belongs to, by its wires and by what is one metal."""
    root = {key: key for key in plan.terminals} | {METAL: METAL}

    def find(key: str) -> str:
        while root.setdefault(key, key) != key:
            key = root[key]
        return key

    def join(a: str, b: str) -> None:
        root[find(a)] = find(b)

    for wire in plan.wires:
        if not wire.bond:
            join(*wire.terminals)
    for t in plan.terminals.values():
        if t.kind == "bus":
            join(t.key, f"{t.owner}.1")
        elif t.kind in ("foot", "bolt"):
            join(t.key, METAL)
    for part in build.parts:
        for terminal in part.terminals:
            for pin in terminal.pins[1:]:
                join(f"{part.name}.{pin}", f"{part.name}.{terminal.pins[0]}")
    return {key: find(key) for key in list(root)}


def _missing_terminals(build: Build, plan: Plan) -> Iterator[Finding]:
    for part in build.parts:
        for key, joint in part_joints(part) if _stands(part) else ():
            if key not in plan.terminals:
                yield fault(
                    "terminal-missing",
                    part.name,
                    f"the plan does not know {key}",
                    "no such terminal",
                    f"{key} with joint {joint or 'none'}",
                    "plan again: the build file has changed",
                )
            elif plan.terminals[key].joint != joint:
                yield fault("terminal-joint", part.name, f"{key} has another joint in the circuit",
                            f"{plan.terminals[key].joint or 'none'} in the plan", joint or "none",
                            "plan again: the build file has changed")  # fmt: skip


def _seat_findings(build: Build, plan: Plan) -> Iterator[Finding]:
    """Yield parts without exactly one seat, and leads that the part does not have."""
    seats: dict[str, int] = {}
    for seat in plan.seats:
        seats[seat.part] = seats.get(seat.part, 0) + 1
    hanging = {p.name: p for p in build.parts if isinstance(p.values, HANGING) and all(t.joint for t in p.terminals)}
    for name in sorted({*seats, *hanging}):
        if seats.get(name, 0) != 1 or name not in hanging:
            wanted = "one seat" if name in hanging else "no seat"
            yield fault("part-seat", name, f"{name} is not seated as it should be", f"{seats.get(name, 0)} seats",
                        wanted, "plan again")  # fmt: skip
    for seat in plan.seats:
        names = tuple(t.name for t in hanging[seat.part].terminals) if seat.part in hanging else ()
        if names and seat.lead_names != names:
            yield fault("part-leads", seat.part, f"{seat.part} has its leads mixed up",
                        ", ".join(seat.lead_names), ", ".join(names), "plan again")  # fmt: skip


def _shorts(at: Mapping[str, Mapping[str, list[str]]], mains: frozenset[str]) -> Iterator[Finding]:
    for piece in at.values():
        if len(piece) < 2:
            continue
        joints = sorted(piece)
        few = min(joints, key=lambda joint: (len(piece[joint]), joint))
        danger = bool(mains & set(joints)) or EARTH in joints or CHASSIS in joints
        yield Finding(
            rule="joints-shorted", grade=Grade.DANGER if danger else Grade.FAULT,
            what=f"joints {' and '.join(joints)} are wired together", found=f"{piece[few][0]} lies on the wrong wiring",
            wanted="each joint by itself", do=f"look at {', '.join(piece[few][:4])}", part=piece[few][0].split(".")[0],
        )  # fmt: skip


def _opens(at: Mapping[str, Mapping[str, list[str]]]) -> Iterator[Finding]:
    pieces: dict[str, list[list[str]]] = {}
    for piece in at.values():
        for joint, points in piece.items():
            pieces.setdefault(joint, []).append(points)
    for joint, groups in sorted(pieces.items()):
        if len(groups) > 1:
            least = min(groups, key=lambda group: (len(group), group))
            yield fault(
                "joint-open",
                least[0].split(".")[0],
                f"joint {joint} is in {len(groups)} pieces",
                f"{', '.join(least[:4])} by themselves",
                "one piece",
                f"wire {least[0]} to the rest of {joint}",
            )


def _wrong_names(plan: Plan, root: Mapping[str, str], at: Mapping[str, Mapping[str, list[str]]]) -> Iterator[Finding]:
    """Yield lugs and wires that are labeled with another joint than they carry."""
    used = {key for seat in plan.seats for key in seat.terminals} | {k for w in plan.wires for k in w.terminals}
    for t in plan.terminals.values():
        carried = set(at.get(root[t.key], {}))
        if t.kind in ("lug", "pin") and t.key in used and carried and t.joint not in carried:
            yield fault("lug-label", t.owner, f"{t.label} is labeled with the wrong joint", t.joint or "spare",
                        " and ".join(sorted(carried)), "plan again")  # fmt: skip
        if t.key in plan.spare_lugs and t.key in used:
            yield fault("spare-lug-used", t.owner, f"{t.label} is called spare and used",
                        ", ".join(plan.leads_at(t.key)), "nothing on a spare lug", "plan again")  # fmt: skip
    for wire in plan.wires:
        carried = {joint for key in wire.terminals for joint in at.get(root.get(key, key), {})}
        if carried and wire.joint not in carried:
            yield fault("wire-label", f"W{wire.number}", f"W{wire.number} is labeled with the wrong joint", wire.joint,
                        " and ".join(sorted(carried)), "plan again")  # fmt: skip


def _bonds(
    build: Build, plan: Plan, root: Mapping[str, str], at: Mapping[str, Mapping[str, list[str]]]
) -> Iterator[Finding]:
    """Yield bonds that are not exactly one wire between their two joints."""
    bonds = {part.name: [t.joint for t in part.terminals] for part in build.parts if isinstance(part.values, Bond)}
    for name in sorted({*bonds, *(w.bond for w in plan.wires if w.bond)}):
        wires = [w for w in plan.wires if w.bond == name]
        joined = [[set(at.get(root.get(key, key), {})) for key in w.terminals] for w in wires]
        wanted = bonds.get(name, [])
        right = (
            len(joined) == 1 and len(wanted) == 2 and all(j in ends for j, ends in zip(wanted, joined[0], strict=True))
        )
        if not right:
            grade = Grade.DANGER if {EARTH, CHASSIS, GROUND} & set(wanted) else Grade.FAULT
            found = "; ".join(" to ".join(w.terminals) for w in wires) or "no wire"
            yield Finding(
                rule="bond-wire", grade=grade, what=f"bond {name} is not wired as stated", found=found,
                wanted=f"one wire from {' to '.join(wanted) or 'nowhere: the build has no such bond'}", do="plan again",
                part=name,
            )  # fmt: skip


def fault(rule: str, part: str, what: str, found: str, wanted: str, do: str) -> Finding:
    """Return a finding of grade fault."""
    return Finding(rule=rule, grade=Grade.FAULT, what=what, found=found, wanted=wanted, do=do, part=part)
