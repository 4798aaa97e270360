"""The planning problem as numbers: terminals, parts with two leads, the seats each could take."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

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
    Thermistor,
    Tube,
)
from lugwright.layout.covers import Floats, Ints, Size, body_lines, covers, spans_mm
from lugwright.layout.hardware import Hardware
from lugwright.layout.holds import Hold, allowed_rows
from lugwright.layout.insulation import MAINS_AIR_MM, clearance_mm, creepage_mm
from lugwright.layout.joint_classes import JointFacts, planned_terminals, working_v
from lugwright.layout.objective import (
    BUS_ORDER,
    FAT_MM,
    FAT_ON_PANEL,
    HOT_FROM_W,
    LONG_LEAD,
    MAX_LEAD_MM,
    MIN_LEAD_MM,
    PANEL_LEAD,
    SLANT,
    WIRE_WEIGHT,
    neighbor_penalty,
)
from lugwright.layout.results import PlanTerminal

FREE, BARRED = -1, -2
NEIGHBOR_REACH_MM = 22.0
LUG_RADIUS_MM = 2.5  # half the width of a lug, pin or bus point, for air gaps
THERMISTOR_BODY_MM = (15.0, 7.0)  # diameter, length; from memory: inrush limiter disc of 15 mm
MAX_LAYERS = 3
BODY_KINDS = (Resistor, Capacitor, Diode, Thermistor)


@dataclass(frozen=True)
class Hanging:
    """A part held by its two leads (or a stated bond wire, which has no body)."""

    name: str
    lead_names: tuple[str, str]
    joints: tuple[int, int]
    length_mm: float
    diameter_mm: float
    stage: int
    is_bond: bool
    is_hot: bool = False  # a power resistor
    fears_heat: bool = False  # an electrolytic

    @property
    def size(self) -> Size:
        """Return length and diameter of the body."""
        return self.length_mm, self.diameter_mm


@dataclass(frozen=True)
class Seats:
    """Every pair of terminals a part could hang between, one row each."""

    first: Ints
    second: Ints
    cost: Floats
    span_mm: Floats
    full: Floats  # x0, y0, x1, y1 of the leads' line
    body: Floats  # x0, y0, x1, y1 of the body's axis
    min_layer: Ints

    def only(self, keep: NDArray[np.bool_]) -> Seats:
        """Return the rows that are kept."""
        return Seats(*(getattr(self, f.name)[keep] for f in fields(self)))


@dataclass(frozen=True)
class Board:
    """Everything the search reads and never changes."""

    terminals: tuple[PlanTerminal, ...]
    joints: tuple[str, ...]
    facts: tuple[JointFacts, ...]
    joint_at: Ints  # joint number, FREE or BARRED
    capacity: Ints
    distance: Floats  # along x and y, as wires run
    weight: Floats  # per joint
    parts: tuple[Hanging, ...]
    seats: tuple[Seats, ...]
    needed_mm: Mapping[str, Floats]  # creepage group ("air" for different owners) -> (joint, joint)
    neighbors: tuple[tuple[tuple[int, float, str], ...], ...]  # per terminal: (other, gap, group)
    beside: tuple[tuple[int, int], ...]  # neighboring lugs of one strip
    next_lugs: tuple[tuple[int, ...], ...]  # per terminal: the lugs beside it
    penalty: Floats  # (joint, joint) for neighboring lugs
    bundles: tuple[tuple[int, ...], ...]  # terminals that are one piece of metal: a bus, the chassis
    barred: frozenset[tuple[int, int]] = frozenset()  # joint and terminal that the builder keeps apart
    dislikes: Mapping[str, float] = field(default_factory=dict)  # term -> factor of its prices, not yet in those above


def make_board(
    build: Build,
    hardware: Hardware,
    terminals: Mapping[str, PlanTerminal],
    facts: Mapping[str, JointFacts],
    held: Mapping[str, Hold] | None = None,
) -> Board:
    """Return the planning problem of a build; parts that are ``held`` have only the seats that leaves them."""
    points = tuple(terminals.values())
    names = tuple(build.joints)
    number = {name: index for index, name in enumerate(names)}
    joint_facts = tuple(facts[name] for name in names)
    joint_at = np.array([_start_joint(t, number) for t in points], dtype=np.int64)
    capacity = np.array([t.capacity for t in points], dtype=np.int64)
    xy = np.array([(t.x_mm, t.y_mm) for t in points])
    distance = np.abs(xy[:, None, :] - xy[None, :, :]).sum(axis=2)
    parts = _hanging_parts(build, number)
    height = build.chassis.height_mm if build.chassis else 60.0
    over = covers(build, _pairs_of_sizes(parts), points, joint_at)
    ground = _Ground(points, joint_at, capacity, height, *_as_arrays(build, points))
    holds = {part.name: (held or {}).get(part.name) for part in parts}
    seats = tuple(_seats_of(build, part, ground, over, holds[part.name]) for part in parts)
    beside = _beside(points)
    needed = _needed(joint_facts, tuple(sorted({row.creepage_group for row in hardware.strips.values()})))
    return Board(
        points, names, joint_facts, joint_at, capacity, distance,
        _dislike(build, "wires") * np.array([WIRE_WEIGHT.get(f.name, 1.0) for f in joint_facts]),
        parts, seats, needed, _neighbors(build, hardware, points), beside,
        tuple(tuple(b if a == i else a for a, b in beside if i in (a, b)) for i in range(len(points))),
        _dislike(build, "coupling")
        * np.array([[neighbor_penalty(a.name, b.name) for b in joint_facts] for a in joint_facts]),
        _bundles(build, points), dislikes=build.wishes.weights,
    )  # fmt: skip


def _dislike(build: Build, term: str) -> float:
    """Return by how much the builder has raised the weight of a term."""
    return build.wishes.weights.get(term, 1.0)


def _start_joint(terminal: PlanTerminal, number: Mapping[str, int]) -> int:
    if terminal.capacity == 0:
        return BARRED
    return number.get(terminal.joint, BARRED) if terminal.joint else FREE


def _hanging_parts(build: Build, number: Mapping[str, int]) -> tuple[Hanging, ...]:
    stage_of = {name: index for index, stage in enumerate(build.stages) for name in stage.parts}
    found = []
    for part in build.parts:
        if not isinstance(part.values, (*BODY_KINDS, Bond)):
            continue
        one, two = part.terminals[:2]
        if not one.joint or not two.joint:
            continue
        diameter, length = body_size(part)
        found.append(
            Hanging(
                part.name,
                (one.name, two.name),
                (number[one.joint], number[two.joint]),
                length,
                diameter,
                stage_of.get(part.name, 0),
                isinstance(part.values, Bond),
                isinstance(part.values, Resistor) and part.values.watts >= HOT_FROM_W,
                isinstance(part.values, Capacitor) and part.values.polar,
            )
        )
    return tuple(found)


def body_size(part: Part) -> tuple[float, float]:
    """Return diameter and length of the body of a part with two leads."""
    values = part.values
    if isinstance(values, Resistor | Capacitor | Diode):
        return values.body.diameter_mm, values.body.length_mm
    return THERMISTOR_BODY_MM if isinstance(values, Thermistor) else (0.0, 0.0)


def bus_shares(build: Build, points: tuple[PlanTerminal, ...]) -> dict[int, tuple[float, float]]:
    """Return for every bus point its place along the bus from the input end, and the bus length. [mm]"""
    found: dict[int, tuple[float, float]] = {}
    start = next((t for t in points if t.kind == "jack"), None)
    for bus in build.buses:
        on_bus = [i for i, t in enumerate(points) if t.owner == bus.name]
        along = [0.0]
        for a, b in itertools.pairwise(on_bus):
            along.append(along[-1] + float(np.hypot(points[a].x_mm - points[b].x_mm, points[a].y_mm - points[b].y_mm)))
        length = along[-1]
        if start is not None and _apart(points[on_bus[-1]], start) < _apart(points[on_bus[0]], start):
            along = [length - a for a in along]
        found.update({i: (a, length) for i, a in zip(on_bus, along, strict=True)})
    return found


def _apart(a: PlanTerminal, b: PlanTerminal) -> float:
    return abs(a.x_mm - b.x_mm) + abs(a.y_mm - b.y_mm)


@dataclass(frozen=True)
class _Ground:
    """What the seats of every part are worked out from."""

    points: tuple[PlanTerminal, ...]
    joint_at: Ints
    capacity: Ints
    height_mm: float
    xyz: Floats
    shares: Floats  # per terminal: place along its bus, length of the bus
    on_panel: Floats


def _as_arrays(build: Build, points: tuple[PlanTerminal, ...]) -> tuple[Floats, Floats, Floats]:
    """Return of every terminal its place, its place along a bus, and 1 where it is on a panel part."""
    shares = np.zeros((len(points), 2))
    for index, share in bus_shares(build, points).items():
        shares[index] = share
    on_panel = np.array([t.kind in ("pot", "jack", "panel") for t in points], dtype=np.float64)
    return np.array([(t.x_mm, t.y_mm, t.z_mm) for t in points]), shares, on_panel


def _pairs_of_sizes(parts: tuple[Hanging, ...]) -> dict[Size, set[tuple[int, int]]]:
    """Return the joints that bodies of each size lie between."""
    found: dict[Size, set[tuple[int, int]]] = {}
    for part in parts:
        if not part.is_bond:
            found.setdefault(part.size, set()).add(part.joints)
    return dict(sorted(found.items()))


def _seats_of(
    build: Build,
    part: Hanging,
    ground: _Ground,
    over: Mapping[Size, tuple[Ints, Floats]],
    hold: Hold | None,
) -> Seats:
    """Return the terminal pairs a part fits between; a grid stopper leaves its pin only when it has to."""
    points, joint_at = ground.points, ground.joint_at
    if hold is not None:
        keys = [{ends[side] for ends in hold.ends} for side in (0, 1)]
        held_ends = [
            _ends(build, part, side, points, joint_at, ground.capacity)
            if "" in keys[side]
            else np.array([i for i, t in enumerate(points) if t.key in keys[side]], dtype=np.int64)
            for side in (0, 1)
        ]
        seats = _seats(build, part, held_ends, ground, over)
        return seats.only(allowed_rows(hold, points, (seats.first, seats.second), part.joints, joint_at))
    ends = [_ends(build, part, side, points, joint_at, ground.capacity) for side in (0, 1)]
    pins = [stopper_pin(build, part, side, points) for side in (0, 1)]
    if any(pin is not None for pin in pins):
        on_pin = [ends[side] if pin is None else np.array([pin], dtype=np.int64) for side, pin in enumerate(pins)]
        seats = _seats(build, part, on_pin, ground, over)
        if len(seats.first):
            return seats
    return _seats(build, part, ends, ground, over)


def _seats(
    build: Build, part: Hanging, ends: list[Ints], ground: _Ground, over: Mapping[Size, tuple[Ints, Floats]]
) -> Seats:
    """Return the terminal pairs a part fits between; empty when there are none."""
    xyz = ground.xyz
    first, second = (grid.ravel() for grid in np.meshgrid(ends[0], ends[1], indexing="ij"))
    span = spans_mm(xyz, first, second)
    low, high = part.length_mm + 2.0 * MIN_LEAD_MM, part.length_mm + 2.0 * MAX_LEAD_MM
    fits = (first != second) & ((span >= low) & (span <= high) if not part.is_bond else span >= 0.0)
    first, second, span = first[fits], second[fits], np.round(span[fits], 1)
    full = np.hstack([xyz[first, :2], xyz[second, :2]])
    body = body_lines(full, span, part.length_mm)
    min_layer = np.ones(len(first), dtype=np.int64) if part.is_bond else over[part.size][0][first, second]
    top = np.maximum(xyz[first, 2], xyz[second, 2]) + part.diameter_mm + (min_layer - 1) * 9.0
    keep = (min_layer <= MAX_LAYERS) & (top <= ground.height_mm - 1.0)
    count = max(1, len(build.stages))
    order = np.zeros(len(first))
    for side in (first, second):
        along = ground.shares[side]
        order += _dislike(build, "order") * BUS_ORDER * np.abs(along[:, 0] - along[:, 1] * (part.stage + 0.5) / count)
    order *= not part.is_bond  # a bond is no return of a stage
    leads = LONG_LEAD * np.maximum(0.0, span - part.length_mm - 8.0) * (not part.is_bond)
    panel_cost = FAT_ON_PANEL if part.diameter_mm >= FAT_MM else PANEL_LEAD
    leads += panel_cost * (ground.on_panel[first] + ground.on_panel[second])
    leads += SLANT * part.length_mm * _askew(full)
    cost = order + _dislike(build, "leads") * leads
    if part.is_bond:
        cost = cost + _dislike(build, "wires") * np.abs(full[:, :2] - full[:, 2:]).sum(axis=1)
    else:
        cost = cost + _dislike(build, "layers") * over[part.size][1][first, second]
    return Seats(first[keep], second[keep], cost[keep], span[keep], full[keep], body[keep], min_layer[keep])


def _askew(full: Floats) -> Floats:
    """Return how far lines are from square with the chassis: 0 along or across it, 1 at 45 degrees."""
    x, y = full[:, 2] - full[:, 0], full[:, 3] - full[:, 1]
    return np.asarray(4.0 * x * x * y * y / np.maximum((x * x + y * y) ** 2, 1e-9))


def _ends(
    build: Build, part: Hanging, side: int, points: tuple[PlanTerminal, ...], joint_at: Ints, capacity: Ints
) -> Ints:
    """Return the terminals one lead may go to: its own joint's, or a free lug."""
    joint = part.joints[side]
    name = list(build.joints)[joint]
    own = [i for i in np.nonzero(joint_at == joint)[0] if points[i].kind != "exit" and capacity[i] > 0]
    if part.is_bond:  # it carries the current of a fault: to the bus or a jack, not to a pin or the lug of a pot
        own = [i for i in own if points[i].kind not in ("pin", "pot")] or own
    if name == CHASSIS:
        bolt = {EARTH: "chassis.1", GROUND: "chassis.2"}.get(list(build.joints)[part.joints[1 - side]], "")
        at_bolt = [i for i in own if part.is_bond and points[i].key == bolt]
        return np.array(at_bolt or [i for i in own if points[i].key != "chassis.1"], dtype=np.int64)
    free = [] if part.is_bond and (own or name in (EARTH, GROUND)) else list(np.nonzero(joint_at == FREE)[0])
    return np.array(sorted([*own, *free]), dtype=np.int64)


def stopper_pin(build: Build, part: Hanging, side: int, points: tuple[PlanTerminal, ...]) -> int | None:
    """Return the grid pin when this lead is all that the joint connects it with: a grid stopper."""
    at = build.joints[list(build.joints)[part.joints[side]]]
    grids = [t for t in at if t.name == "grid" and isinstance(build.part(t.part).values, Tube)]
    if len(at) != 2 or len(grids) != 1 or part.is_bond:
        return None
    key = f"{grids[0].part}.{grids[0].pins[0]}"
    return next((i for i, t in enumerate(points) if t.key == key), None)


@lru_cache(maxsize=2)  # the same for every set of strips tried
def _needed(facts: tuple[JointFacts, ...], groups: tuple[str, ...]) -> dict[str, Floats]:
    """Return the distance two joints need, over each board material and through air."""
    found = {}
    for group in [*groups, "air"]:
        rows = [[needed_mm(a, b, group) for b in facts] for a in facts]
        found[group] = np.array(rows)
    return found


def needed_mm(a: JointFacts, b: JointFacts, group: str) -> float:
    """Return the distance two joints need over a material, or through air (group "air").

    Parameters
    ----------
    a, b : JointFacts
        The joints.
    group : str
        Material group of the strip, or "air". [-]

    Returns
    -------
    float
        The distance; mains to anything else never less than 6 mm. [mm]

    Source
    ------
    `creepage_mm`, `clearance_mm`; 6 mm from mains to anything is common practice.
    """
    if a is b:
        return 0.0
    volts = working_v(a, b)
    distance = clearance_mm(peak_v=volts * 1.414) if group == "air" else creepage_mm(working_v=volts, group=group)
    return max(distance, MAINS_AIR_MM) if (a.name == "mains") != (b.name == "mains") else distance


def _neighbors(
    build: Build, hardware: Hardware, points: tuple[PlanTerminal, ...]
) -> tuple[tuple[tuple[int, float, str], ...], ...]:
    """Return for each terminal the others near enough that insulation between them counts."""
    strips = {strip.name: hardware.strips[strip.type] for strip in build.strips}
    xy = np.array([(t.x_mm, t.y_mm) for t in points])
    in_reach = np.abs(xy[:, None, :] - xy[None, :, :]).max(axis=2) <= NEIGHBOR_REACH_MM
    found: list[tuple[tuple[int, float, str], ...]] = []
    for i, a in enumerate(points):
        near: list[tuple[int, float, str]] = []
        for k in np.flatnonzero(in_reach[i]).tolist():
            b = points[k]
            harmless = "exit" in (a.kind, b.kind) or (a.kind == b.kind and a.kind in ("bus", "bolt"))
            if i == k or harmless:
                continue
            apart = float(np.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm))
            if a.owner == b.owner and a.owner in strips:
                row = strips[a.owner]
                near.append((k, round(apart - row.lug_width_mm, 2), row.creepage_group))
            elif a.owner != b.owner and apart < NEIGHBOR_REACH_MM:
                apart = float(np.hypot(apart, a.z_mm - b.z_mm))
                near.append((k, round(apart - 2.0 * LUG_RADIUS_MM, 2), "air"))
        found.append(tuple(near))
    return tuple(found)


def _beside(points: tuple[PlanTerminal, ...]) -> tuple[tuple[int, int], ...]:
    strip_lugs = [(i, t) for i, t in enumerate(points) if t.kind in ("lug", "foot")]
    pairs = itertools.pairwise(strip_lugs)
    return tuple((i, k) for (i, a), (k, b) in pairs if a.owner == b.owner)


def _bundles(build: Build, points: tuple[PlanTerminal, ...]) -> tuple[tuple[int, ...], ...]:
    """Return terminals that are one piece of metal: points of a bus, feet and bolts, pins joined in the tube."""
    buses = sorted({t.owner for t in points if t.kind == "bus"})
    found = [tuple(i for i, t in enumerate(points) if t.kind == "bus" and t.owner == bus) for bus in buses]
    metal = tuple(i for i, t in enumerate(points) if t.kind in ("foot", "bolt") and t.capacity)
    place = {t.key: i for i, t in enumerate(points)}
    found += [tuple(place[f"{t.part}.{pin}"] for pin in t.pins) for t in planned_terminals(build) if len(t.pins) > 1]
    return (*found, metal) if metal else tuple(found)
