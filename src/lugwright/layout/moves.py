"""What planning again has moved, and why, in the builder's words."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Build
from lugwright.layout.results import Move, Plan, SeatedPart, Wire


def moves(build: Build, before: Plan, after: Plan) -> tuple[Move, ...]:
    """Return every part and wire that is not as it was in an earlier plan, parts first, each in plan order."""
    if before.fingerprint == after.fingerprint:
        return ()
    return (*_parts(build, before, after), *_wires(build, before, after))


def _parts(build: Build, before: Plan, after: Plan) -> Iterator[Move]:
    old = {seat.part: seat for seat in before.seats}
    new = {seat.part: seat for seat in after.seats}
    for name, seat in old.items():
        if name not in new:
            yield Move(name, "part", _where(before, seat), "", "not in the circuit any more")
    fresh = sorted(new.keys() - old.keys())
    for name, seat in new.items():
        if name not in old:
            yield Move(name, "part", "", _where(after, seat), "new in the circuit")
        elif (seat.terminals, seat.layer) != (old[name].terminals, old[name].layer):
            why = _why(build, after, old[name], seat, fresh)
            yield Move(name, "part", _where(before, old[name]), _where(after, seat), why)


def _where(plan: Plan, seat: SeatedPart) -> str:
    one, two = (plan.terminals[key].label for key in seat.terminals)
    return f"{one} to {two}" + (f", layer {seat.layer}" if seat.layer > 1 else "")


def _why(build: Build, after: Plan, old: SeatedPart, new: SeatedPart, fresh: list[str]) -> str:
    """Return what keeps a part from its old place, the plainest reason first."""
    asked = build.wishes.between.get(new.part)
    if asked is not None and set(asked) == set(new.terminals) != set(old.terminals):
        return "asked for under [plan.between]"
    joints = {t.name: t.joint for t in build.part(new.part).terminals}
    for key, lead in zip(old.terminals, old.lead_names, strict=True):
        terminal = after.terminals.get(key)
        if terminal is None:
            return f"{key} is not there any more"
        if terminal.joint and terminal.joint != joints.get(lead):
            others = [name for name in after.leads_at(key) if not name.startswith(f"{new.part}.")]
            by = f" ({', '.join(others)})" if others else ""
            return f"{terminal.label} carries {terminal.joint} now{by}"
    if (old.body_length_mm, old.body_diameter_mm) != (new.body_length_mm, new.body_diameter_mm):
        return f"its body is {new.body_length_mm:g} by {new.body_diameter_mm:g} mm now"
    for key in old.terminals:
        if len(after.leads_at(key)) >= after.terminals[key].capacity:
            return f"{after.terminals[key].label} is full now ({', '.join(after.leads_at(key))})"
    if set(old.terminals) == set(new.terminals):
        return "something else lies there now"
    return f"to make room for {', '.join(fresh)}" if fresh else "to make room"


def _wires(build: Build, before: Plan, after: Plan) -> Iterator[Move]:
    old = {frozenset(wire.terminals): wire for wire in before.wires}
    new = {frozenset(wire.terminals): wire for wire in after.wires}
    for ends, wire in old.items():
        if ends not in new:
            yield Move(f"W{wire.number}", "wire", _ends(before, wire), "", _why_gone(after, wire))
    for ends, wire in new.items():
        if ends not in old:
            yield Move(f"W{wire.number}", "wire", "", _ends(after, wire), _why_new(before, after, wire))
        elif old[ends].number != wire.number:
            was = f"W{old[ends].number}"
            yield Move(f"W{wire.number}", "wire", was, f"W{wire.number}", f"{was} is the name of a bond now")


def _ends(plan: Plan, wire: Wire) -> str:
    return " to ".join(plan.terminals[key].label for key in wire.terminals)


def _why_gone(after: Plan, wire: Wire) -> str:
    for key in wire.terminals:
        if key not in after.terminals:
            return f"{key} is not there any more"
        terminal = after.terminals[key]
        if not after.leads_at(key):
            return f"{terminal.label} is empty now"
        if terminal.joint != wire.joint and not wire.bond:
            return f"{terminal.label} carries {terminal.joint} now"
    return f"{wire.joint} is joined another way now"


def _why_new(before: Plan, after: Plan, wire: Wire) -> str:
    there = set()
    for key in wire.terminals:
        old = before.leads_at(key) if key in before.terminals else ()
        there |= {lead for lead in after.leads_at(key) if lead not in old and not lead.startswith("W")}
    if there:
        return f"joins {', '.join(sorted(there))} to {wire.joint}"
    return f"{wire.joint} is joined another way now"
