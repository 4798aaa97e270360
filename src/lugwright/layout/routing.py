"""The way of each wire over the plate, its length, and what it lies over."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Build, Transformer, Tube
from lugwright.layout.crossings import with_what_it_lies_over
from lugwright.layout.floor import Floor, make_floor
from lugwright.layout.hardware import Hardware
from lugwright.layout.insulation import twist_factor
from lugwright.layout.joint_classes import KIND_OF_CLASS, JointFacts, heater_pairs, heater_sides
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart, Wire
from lugwright.layout.shielding import Run, apart_mm, braids, jackets_mm, tail_mm
from lugwright.layout.wire_choice import COLORS, choose_wire, strip_mm, wire_class

SLACK = 1.05  # of the route, so that a joint can be remade; common practice
SLACK_MM = 10.0
TWIST_PITCH_MM = 10.0  # one full turn per centimeter
DIRECT_MM = 26.0  # terminals nearer than this are joined straight through the air
LEAD_OUTSIDE_MM = 1.8  # a transformer's own lead over its insulation; from memory: 300 V and 600 V leads
# Height of the lane a class runs in: heaters and mains hug the metal, signals run above.
LANE_MM = {
    "heater": 3.0, "mains": 3.0, "earth": 3.0, "ground": 5.0, "speaker": 5.0, "output plate": 5.0, "B+": 7.0,
    "screen": 7.0, "bias": 7.0, "plate": 9.0, "cathode": 9.0, "signal": 12.0, "grid": 12.0,
}  # fmt: skip
# Hot and dirty wires first: the clean ones then keep away from them.
ROUTE_ORDER = (
    "mains", "earth", "heater", "B+", "screen", "ground", "output plate", "speaker", "bias", "plate", "cathode",
    "signal", "grid",
)  # fmt: skip
AMPS = {"B+": 0.3, "screen": 0.05, "output plate": 0.15, "speaker": 2.5, "mains": 2.0}  # most in such an amplifier
USUAL_AMPS = 0.1

Route = tuple[tuple[float, float, float], ...]


@dataclass(frozen=True)
class Link:
    """Two terminals to be wired. ``bond``: the Bond part it is; ``twist``: its pair; ``name``: its class."""

    joint: str
    terminals: tuple[str, str]
    twist: str
    bond: str
    name: str = ""


def route_wires(
    build: Build,
    hardware: Hardware,
    terminals: Mapping[str, PlanTerminal],
    seats: Sequence[SeatedPart],
    links: Sequence[Link],
    facts: Sequence[JointFacts],
    previous: Plan | None = None,
) -> tuple[Wire, ...]:
    """Return every link as a wire with its route, cut length, type, color and number."""
    by_joint = {f.joint: f for f in facts}
    named = [replace(link, name=_class_of(link, by_joint, terminals)) for link in links]
    order = sorted(
        _paired(build, named, terminals), key=lambda k: (ROUTE_ORDER.index(k.name), k.twist, k.joint, k.terminals)
    )
    floor = make_floor(build, hardware, terminals)
    twists: dict[str, list[tuple[float, float]]] = {}
    routes = {link: _route(floor, terminals, link, twists) for link in order}
    numbers = _numbers(order, previous, set(build.part_by_name))
    amps = _heater_amps(build)
    shields = _shields(build, terminals, seats, routes)
    wires = []
    for link in sorted(order, key=numbers.__getitem__):
        current = amps.get(link.joint, AMPS.get(link.name, USUAL_AMPS))
        wire = _wire(build, hardware, terminals, link, by_joint, current, routes[link], shields.get(link.terminals, ""))
        wires.append(replace(wire, number=numbers[link]))
    return with_what_it_lies_over(wires, seats, terminals)


def _shields(
    build: Build,
    terminals: Mapping[str, PlanTerminal],
    seats: Sequence[SeatedPart],
    routes: Mapping[Link, Route],
) -> dict[tuple[str, str], str]:
    """Return the terminal of the braid of every wire that is shielded, by the two terminals of the wire."""
    runs = [
        Run(link.joint, link.terminals, link.name, route_length_mm(route))
        for link, route in routes.items()
        if not link.twist and not link.bond and all(terminals[key].kind != "exit" for key in link.terminals)
    ]
    return braids(build, terminals, seats, [link.terminals for link in routes], runs)


def _class_of(link: Link, facts: Mapping[str, JointFacts], terminals: Mapping[str, PlanTerminal]) -> str:
    ends = [facts.get(terminals[key].joint) for key in link.terminals]
    return wire_class(facts[link.joint], next((f for f in ends if f and f.joint != link.joint), None))


def _paired(build: Build, links: list[Link], terminals: Mapping[str, PlanTerminal]) -> list[Link]:
    """Return the links, heater wires that run between the same two owners twisted together."""
    found = {link: link for link in links}
    for one, two in heater_pairs(build):
        loose = [k for k in links if not k.twist and k.joint in (one, two)]
        sides: dict[tuple[str, ...], dict[str, Link]] = {}
        for link in loose:
            owners = tuple(sorted(terminals[key].owner for key in link.terminals))
            if owners[0] != owners[1]:
                sides.setdefault(owners, {}).setdefault(link.joint, link)
        for owners, pair in sorted(sides.items()):
            if len(pair) == 2:
                found.update((k, replace(k, twist=f"{owners[0]}-{owners[1]} {one}")) for k in pair.values())
    return [found[link] for link in links]


def _numbers(order: Sequence[Link], previous: Plan | None, parts: Set[str]) -> dict[Link, int]:
    """Return the wire numbers: a bond has that of its name, a wire that was there keeps its own, no other part's."""
    old = {frozenset(w.terminals): w.number for w in previous.wires} if previous else {}
    found = {link: int(link.bond[1:]) for link in order if re.fullmatch(r"W[1-9][0-9]*", link.bond)}
    for link in order:
        kept = old.get(frozenset(link.terminals))
        if link not in found and kept is not None and f"W{kept}" not in parts:
            found[link] = kept
    taken, number = set(found.values()), 0
    for link in order:
        if link not in found:
            number += 1
            while number in taken or f"W{number}" in parts:
                number += 1
            found[link] = number
    return found


def _heater_amps(build: Build) -> dict[str, float]:
    found: dict[str, float] = {}
    for part in build.parts:
        if isinstance(part.values, Tube):
            for joint in sorted({t.joint for t in heater_sides(part)}):
                found[joint] = found.get(joint, 0.0) + part.values.type.heater.amps
    return found


def _route(
    floor: Floor, terminals: Mapping[str, PlanTerminal], link: Link, twists: dict[str, list[tuple[float, float]]]
) -> Route:
    """Return the way of a wire; the second wire of a pair follows the first."""
    a, b = (terminals[key] for key in link.terminals)
    start, end = (a.x_mm, a.y_mm, a.z_mm), (b.x_mm, b.y_mm, b.z_mm)
    if abs(a.x_mm - b.x_mm) + abs(a.y_mm - b.y_mm) <= DIRECT_MM and not link.twist:
        return (start, end)
    lane = LANE_MM[link.name]
    if link.twist in twists:
        corners = twists[link.twist]
        corners = min(corners, corners[::-1], key=lambda way: _near(way[0], a) + _near(way[-1], b))
    else:
        corners = floor.way((a.x_mm, a.y_mm), (b.x_mm, b.y_mm), link.name)
        if link.twist:
            twists[link.twist] = corners
    inner = [(x, y, lane) for x, y in corners]
    down, up = (a.x_mm, a.y_mm, lane), (b.x_mm, b.y_mm, lane)
    points = [start, down, *inner, up, end]
    return tuple(p for i, p in enumerate(points) if i == 0 or p != points[i - 1])


def _near(point: tuple[float, float], terminal: PlanTerminal) -> float:
    return abs(point[0] - terminal.x_mm) + abs(point[1] - terminal.y_mm)


def route_length_mm(route: Sequence[tuple[float, float, float]]) -> float:
    """Return the length of a route.

    Parameters
    ----------
    route : sequence of (x, y, z)
        Its corners. [mm]

    Returns
    -------
    float
        Sum of its straight pieces. [mm]

    Source
    ------
    Plane geometry.
    """
    return sum(math.dist(a, b) for a, b in itertools.pairwise(route))


def cut_length_mm(*, route_mm: float, outside_mm: float, twisted: bool) -> float:
    """Return the length to cut from the reel.

    Parameters
    ----------
    route_mm : float
        Length of the route. [mm]
    outside_mm : float
        Diameter over the insulation. [mm]
    twisted : bool
        Whether the wire is half of a pair twisted once per centimeter. [-]

    Returns
    -------
    float
        Route plus 5 % plus 10 mm, times the take-up of the twist. [mm]

    Source
    ------
    Slack: common practice, room to remake the joint twice. Take-up: `twist_factor`.
    """
    plain = route_mm * SLACK + SLACK_MM
    return plain * twist_factor(outside_mm=outside_mm, pitch_mm=TWIST_PITCH_MM) if twisted else plain


def _wire(
    build: Build,
    hardware: Hardware,
    terminals: Mapping[str, PlanTerminal],
    link: Link,
    facts: Mapping[str, JointFacts],
    amps: float,
    route: Route,
    shield: str,
) -> Wire:
    ends = [terminals[key] for key in link.terminals]
    exits = [t for t in ends if t.kind == "exit"]
    fact = facts[link.joint]
    kind = KIND_OF_CLASS[link.name]
    if exits:
        name, outside, color = "lead", LEAD_OUTSIDE_MM, lead_color(build, exits[0]) or COLORS[link.name]
    else:
        volts = abs(fact.dc_v) + fact.ac_v
        wire = choose_wire(hardware.wires, name=link.name, volts=volts, amps=amps, shielded=bool(shield))
        name, outside, color = wire.name, wire.outside_mm, COLORS[link.name]
    length = cut_length_mm(route_mm=route_length_mm(route), outside_mm=outside, twisted=bool(link.twist))
    one, two = (strip_mm(t, pin_count=_pin_count(build, hardware, t)) for t in ends)
    rounded = tuple((round(x, 1), round(y, 1), round(z, 1)) for x, y, z in route)
    found = Wire(
        0, link.joint, link.terminals, kind, name, color, rounded, length, (one, two), link.twist, (), link.bond
    )  # fmt: skip
    if shield:
        found = _with_braid(build, hardware, terminals, found, shield)
    return replace(found, length_mm=math.ceil((length + tail_mm(found)) * 10.0) / 10.0)


def _with_braid(
    build: Build, hardware: Hardware, terminals: Mapping[str, PlanTerminal], wire: Wire, shield: str
) -> Wire:
    """Return the wire with its braid soldered to a terminal."""
    one, two = (apart_mm(terminals[key], terminals[shield]) for key in wire.terminals)
    at = terminals[shield]
    jackets = jackets_mm(
        to_braid_mm=(one, two),
        strip_mm=wire.strip_mm,
        braid_strip_mm=strip_mm(at, pin_count=_pin_count(build, hardware, at)),
    )
    return replace(wire, shield=shield, jacket_mm=jackets)


def lead_color(build: Build, terminal: PlanTerminal) -> str:
    """Return the color of a transformer's own lead, "" when the build does not say."""
    values = build.part(terminal.owner).values
    if isinstance(values, Transformer):
        for winding in values.windings:
            for end, color in zip(winding.ends, winding.colors, strict=False):
                if terminal.key == f"{terminal.owner}.{end}":
                    return color
    return ""


def _pin_count(build: Build, hardware: Hardware, terminal: PlanTerminal) -> int:
    if terminal.kind != "pin":
        return 0
    values = build.part(terminal.owner).values
    return hardware.sockets[values.socket].pin_count if isinstance(values, Tube) else 0
