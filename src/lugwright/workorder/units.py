"""What goes in as one piece: a part with its two leads, a wire, a twisted pair, a ground bus."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.buildfile.build import Build
from lugwright.layout.results import Plan, Wire
from lugwright.workorder.feedback import feedback_ends
from lugwright.workorder.phases import (
    FEEDBACK,
    GROUND_BUS,
    RANK,
    is_earth_bond,
    is_ground_bond,
    seat_slot,
    stage_order,
    wire_slot,
)

Priority = tuple[int | float | str, ...]


@dataclass(frozen=True)
class Unit:
    """One piece of work that is never split over two cards. ``name``: R3, W12, "W4 + W5", bus name, "W9's end"."""

    name: str
    kind: str  # part, wire, bus, end
    phase: str
    stage: int
    parts: tuple[str, ...]
    wires: tuple[int, ...]
    ends: tuple[tuple[str, str, str], ...]  # (what, lead, terminal key) in the order they go in
    priority: Priority
    earth: bool = False  # carries the protective earth
    ground_bond: bool = False  # the one place where ground meets the metal: last of its phase
    left_off: str = ""  # terminal whose end stays off for now (of a feedback wire)

    @property
    def terminals(self) -> frozenset[str]:
        """Return the keys of the terminals it ends at."""
        return frozenset(key for _, _, key in self.ends)


def units(build: Build, plan: Plan) -> tuple[Unit, ...]:
    """Return every unit of the plan, sorted by when it would go in if nothing lay over anything."""
    last = feedback_ends(build, plan)
    found = [*_part_units(build, plan, last), *_wire_units(build, plan, last), *_bus_units(build)]
    return tuple(sorted(found, key=lambda unit: unit.priority))


def _part_units(build: Build, plan: Plan, last: Mapping[str, str]) -> list[Unit]:
    position = {part.name: index for index, part in enumerate(build.parts)}
    found = []
    for seat in plan.seats:
        phase, stage = seat_slot(build, plan, seat)
        phase = FEEDBACK if seat.part in last else phase
        ends = tuple((seat.part, lead, key) for lead, key in zip(seat.lead_names, seat.terminals, strict=True))
        order = (*stage_order(RANK[phase], stage), 1, seat.layer, 0.0, position[seat.part], seat.part)
        found.append(Unit(seat.part, "part", phase, stage, (seat.part,), (), ends, order))
    return found


def _wire_units(build: Build, plan: Plan, last: Mapping[str, str]) -> list[Unit]:
    bundles = defaultdict(list)
    for wire in sorted(plan.wires, key=lambda w: w.number):
        bundles[f"twist {wire.twist}" if wire.twist else f"W{wire.number}"].append(wire)
    found = []
    for bundle in bundles.values():
        slots = [wire_slot(build, plan, wire) for wire in bundle]
        phase, stage = min(slots, key=lambda slot: stage_order(RANK[slot[0]], slot[1]))
        name = " + ".join(f"W{wire.number}" for wire in bundle)
        turn = 0
        earth = any(is_earth_bond(build, wire) for wire in bundle)
        if earth:
            stage = -1
        bond = not earth and any(is_ground_bond(build, wire) for wire in bundle)
        if bond:
            turn, stage = 2, len(build.stages) + 1
        numbers = tuple(wire.number for wire in bundle)
        off = last.get(name, "")
        ends = tuple(end for wire in bundle for end in _wire_ends(wire) if end[2] != off or end[1])
        height = min((point[2] for wire in bundle for point in wire.route), default=0.0)
        order = (*stage_order(RANK[phase], stage), turn, 0, height, numbers[0], name)
        found.append(Unit(name, "wire", phase, stage, (), numbers, ends, order, earth, bond, off))
        if off:
            found.append(_closing_unit(name, numbers[0], off))
    return found


def _wire_ends(wire: Wire) -> list[tuple[str, str, str]]:
    """Return (what, lead, terminal) of both ends of a wire and, where it is shielded, of its braid."""
    braid = [(f"W{wire.number}", "braid", wire.shield)] if wire.shield else []
    return [*((f"W{wire.number}", "", key) for key in wire.terminals), *braid]


def _closing_unit(name: str, number: int, key: str) -> Unit:
    order = (*stage_order(RANK[FEEDBACK], 0), 0, 0, 0.0, number, name)
    return Unit(f"{name}'s end", "end", FEEDBACK, 0, (), (), ((name, "", key),), order)


def _bus_units(build: Build) -> list[Unit]:
    return [
        Unit(bus.name, "bus", GROUND_BUS, -1, (), (), (), (*stage_order(RANK[GROUND_BUS], -1), 0, 0, 0.0, i, bus.name))
        for i, bus in enumerate(build.buses)
    ]
