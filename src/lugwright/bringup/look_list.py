"""What to look at before the first ohmmeter: this very chassis, place by place."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import combinations

from lugwright.bringup.plan_places import place_of, seat_ends
from lugwright.buildfile.build import (
    CHASSIS,
    GROUND,
    Bond,
    Build,
    Diode,
    Fuse,
    Inlet,
    Part,
    Switch,
    Thermistor,
    Transformer,
    Tube,
)
from lugwright.layout.results import Plan, PlanTerminal

APART_V = 100.0  # between neighbors: from here on a drop of solder between them is looked for by name
NEAR_MM = 12.0
MOST_NEIGHBORS = 8
NO_PLAN = "Plan the wiring first (lugwright plan FILE): then this list names every place."
_MAINS = (Inlet, Fuse, Switch, Thermistor)


def look_words(build: Build, plan: Plan | None, joint_volts: Mapping[str, float]) -> tuple[str, ...]:
    """Return what to look at, each to be ticked; without a plan, what can be said without places."""
    done = f"Every job card done: {len(plan.wires)} wires, {len(plan.seats)} parts, no lead left over." if plan else ""
    return (
        "Turn the chassis over and shake it: clippings, strands and solder balls out. Then a bright lamp, glasses or a "
        "magnifier, and every joint once: wetted all round, no ring around the lead, nothing that moves.",
        done or NO_PLAN,
        *_mains(build),
        *_fuses(build),
        *_bonds(build),
        *_sockets(build),
        *_diodes(build, plan),
        *(_neighbors(plan, joint_volts) if plan else ()),
        "Leads of a transformer that go nowhere: each cut blunt and sleeved by itself, none twisted with another.",
        "No wire pulled tight over an edge of metal, no strand outside its hole, no sleeve melted back.",
    )


def mains_joints(build: Build) -> frozenset[str]:
    """Return the joints on the mains: from the inlet through fuses, switches and limiters to the primary."""
    inlets = [p for p in build.parts if isinstance(p.values, Inlet)]
    seen = {p.terminal(name).joint for p in inlets for name in ("line", "neutral")}
    while True:
        near = {t.part for joint in seen for t in build.joints.get(joint, ())}
        through = [build.part(name) for name in near if isinstance(build.part(name).values, _MAINS)]
        found = {t.joint for part in through for t in part.terminals if _on_the_way(part, t.name, seen)}
        if found <= seen:
            return frozenset(seen)
        seen |= found


def _on_the_way(part: Part, name: str, seen: set[str]) -> bool:
    """Return whether a terminal belongs to the same pole, or part, as one already on the mains."""
    if isinstance(part.values, Inlet):
        return name != "earth"
    if not isinstance(part.values, Switch):
        return True
    pole = name.partition(".")[0]
    return any(t.name.partition(".")[0] == pole and t.joint in seen for t in part.terminals)


def _mains(build: Build) -> Iterator[str]:
    joints = mains_joints(build)
    if joints:
        names = [
            f"{p.name} {t.name}" for p in build.parts for t in p.terminals
            if t.joint in joints and not isinstance(p.values, Transformer)
        ]  # fmt: skip
        yield f"Mains: every one of these sleeved or covered, so that no finger gets there: {', '.join(names)}."


def _fuses(build: Build) -> Iterator[str]:
    for part in build.parts:
        if isinstance(part.values, Fuse):
            rated = f"{part.values.amps:g} A {part.values.speed}"
            yield f"{part.name}: {rated}, read on the fuse itself, not on the holder."


def _bonds(build: Build) -> Iterator[str]:
    for part in build.parts:
        if isinstance(part.values, Bond):
            ends = " and ".join(t.joint for t in part.terminals)
            yield f"{part.name}: joins {ends} ({part.values.purpose}), bare metal under it, nut tight."
    bonds = [
        p for p in build.parts if isinstance(p.values, Bond) and {t.joint for t in p.terminals} == {GROUND, CHASSIS}
    ]
    if bonds:
        yield f"Circuit ground touches the metal nowhere but at {' and '.join(p.name for p in bonds)}."


def _sockets(build: Build) -> Iterator[str]:
    names = [p.name for p in build.parts if isinstance(p.values, Tube)]
    if names:
        yield (
            f"Pins counted clockwise from gap or key, seen from this side, once more at each of {', '.join(names)}: a "
            "socket wired as seen from above has every pin wrong."
        )


def _diodes(build: Build, plan: Plan | None) -> Iterator[str]:
    for part in build.parts:
        if isinstance(part.values, Diode):
            joint = part.terminal("cathode").joint
            where = place_of(plan, seat_ends(plan, part.name).get("cathode", "")) if plan else ""
            yield f"{part.name}: the band at {where or 'its cathode'} ({joint})."


def _neighbors(plan: Plan, joint_volts: Mapping[str, float]) -> Iterator[str]:
    """Yield the neighbors that a stray strand would hurt most, by volts over the gap between them."""
    points = [t for t in plan.terminals.values() if t.joint and t.kind not in ("exit", "bolt", "bus")]
    pairs = []
    for one, other in combinations(points, 2):
        gap_mm = math.dist((one.x_mm, one.y_mm, one.z_mm), (other.x_mm, other.y_mm, other.z_mm))
        volts = abs(joint_volts.get(one.joint, 0.0) - joint_volts.get(other.joint, 0.0))
        if 0.0 < gap_mm < NEAR_MM and one.joint != other.joint and volts > APART_V:
            pairs.append((volts / gap_mm, gap_mm, volts, one, other))
    pairs.sort(key=lambda pair: (-pair[0], pair[3].key, pair[4].key))
    for _, gap_mm, volts, one, other in pairs[:MOST_NEIGHBORS]:
        yield _neighbor_words(one, other, gap_mm, volts)


def _neighbor_words(one: PlanTerminal, other: PlanTerminal, gap_mm: float, volts: float) -> str:
    return (
        f"Nothing between {one.label} ({one.joint}) and {other.label} ({other.joint}): {gap_mm:.1f} mm apart, "
        f"up to {volts:.0f} V."
    )
