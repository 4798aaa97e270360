"""From pairs of terminals to wires: way over the plate, type, length, number, what each lies over."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Mapping, Sequence, Set
from dataclasses import replace

from lugwright.buildfile.build import Build, Transformer, Tube
from lugwright.layout.crossings import with_what_it_lies_over
from lugwright.layout.frozen import as_laid
from lugwright.layout.hardware import Hardware
from lugwright.layout.heater_amps import heater_amps
from lugwright.layout.insulation import twist_factor
from lugwright.layout.joint_classes import KIND_OF_CLASS, JointFacts
from lugwright.layout.links import Link, links_in_order
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart, Wire
from lugwright.layout.shielding import Run, apart_mm, braids, jackets_mm, tail_mm
from lugwright.layout.ways import Route, route_length_mm, ways_of
from lugwright.layout.wire_choice import COLORS, choose_wire, strip_mm

SLACK = 1.05  # of the route, so that a joint can be remade; common practice
SLACK_MM = 10.0
TWIST_PITCH_MM = 10.0  # one full turn per centimeter
LEAD_OUTSIDE_MM = 1.8  # a transformer's own lead over its insulation; from memory: 300 V and 600 V leads
AMPS = {"B+": 0.3, "screen": 0.05, "output plate": 0.15, "speaker": 2.5, "mains": 2.0}  # most in such an amplifier
USUAL_AMPS = 0.1


def route_wires(
    build: Build,
    hardware: Hardware,
    terminals: Mapping[str, PlanTerminal],
    seats: Sequence[SeatedPart],
    links: Sequence[Link],
    facts: Sequence[JointFacts],
    previous: Plan | None = None,
    laid: Sequence[Wire] = (),
) -> tuple[Wire, ...]:
    """Return every link as a wire with its route, cut length, type, color and number; ``laid`` ones stay."""
    by_joint = {f.joint: f for f in facts}
    named = links_in_order(build, links, by_joint, terminals)
    routes = ways_of(build, hardware, terminals, seats, named, by_joint, laid)
    order = list(routes)
    numbers = _numbers(order, previous, set(build.part_by_name))
    amps = heater_amps(build, terminals, order)
    shields = _shields(build, terminals, seats, routes, laid)
    strands = Counter(link.twist for link in order)
    wires = []
    for link in sorted(order, key=numbers.__getitem__):
        current = max(amps.get(link.terminals, 0.0), AMPS.get(link.name, USUAL_AMPS))
        shield, count = shields.get(link.terminals, ""), strands[link.twist] if link.twist else 1
        wire = _wire(build, hardware, terminals, link, by_joint, current, routes[link], shield, count)
        wires.append(replace(wire, number=numbers[link]))
    return with_what_it_lies_over(_no_lone_twist(as_laid(wires, laid)), seats, terminals)


def _no_lone_twist(wires: Sequence[Wire]) -> tuple[Wire, ...]:
    """Return the wires, one that was laid with a partner that is no longer planned without its twist."""
    strands = Counter(wire.twist for wire in wires)
    return tuple(replace(wire, twist="") if wire.twist and strands[wire.twist] == 1 else wire for wire in wires)


def _shields(
    build: Build,
    terminals: Mapping[str, PlanTerminal],
    seats: Sequence[SeatedPart],
    routes: Mapping[Link, Route],
    laid: Sequence[Wire],
) -> dict[tuple[str, str], str]:
    """Return the terminal of the braid of every wire that is shielded, by the two terminals of the wire."""
    there = {frozenset(wire.terminals) for wire in laid}
    runs = [
        Run(link.joint, link.terminals, link.name, route_length_mm(route))
        for link, route in routes.items()
        if not link.twist
        and not link.bond
        and frozenset(link.terminals) not in there
        and all(terminals[key].kind != "exit" for key in link.terminals)
    ]
    taken: list[tuple[str, ...]] = [link.terminals for link in routes]
    return braids(build, terminals, seats, [*taken, *((w.shield,) for w in laid if w.shield)], runs)


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


def cut_length_mm(*, route_mm: float, outside_mm: float, strands: int = 1) -> float:
    """Return the length to cut from the reel.

    Parameters
    ----------
    route_mm : float
        Length of the route. [mm]
    outside_mm : float
        Diameter over the insulation. [mm]
    strands : int
        Wires twisted together once per centimeter, 1 for a wire that runs alone. [-]

    Returns
    -------
    float
        Route plus 5 % plus 10 mm, times the take-up of the twist. [mm]

    Source
    ------
    Slack: common practice, room to remake the joint twice. Take-up: `twist_factor`; the middles of n round wires that
    touch in a ring stand on a circle of 1 / sin(180 degrees / n) diameters.
    """
    plain = route_mm * SLACK + SLACK_MM
    if strands < 2:
        return plain
    return plain * twist_factor(outside_mm=outside_mm / math.sin(math.pi / strands), pitch_mm=TWIST_PITCH_MM)


def _wire(
    build: Build,
    hardware: Hardware,
    terminals: Mapping[str, PlanTerminal],
    link: Link,
    facts: Mapping[str, JointFacts],
    amps: float,
    route: Route,
    shield: str,
    strands: int,
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
    length = cut_length_mm(route_mm=route_length_mm(route), outside_mm=outside, strands=strands)
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
