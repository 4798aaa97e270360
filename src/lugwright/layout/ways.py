"""The way of every wire: routed one by one, then taken up and laid again as long as something becomes better."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence, Set
from dataclasses import replace

from lugwright.buildfile.build import Build
from lugwright.layout.hardware import Hardware
from lugwright.layout.joint_classes import JointFacts
from lugwright.layout.lane_search import Node
from lugwright.layout.lanes import Lanes
from lugwright.layout.links import Link
from lugwright.layout.plate import Plate, Point, make_plate
from lugwright.layout.results import PlanTerminal, SeatedPart, Wire

DIRECT_MM = 26.0  # terminals nearer than this are joined straight through the air
LUG_AIR_MM = 2.5  # a straight wire passes no lug nearer than this
SOCKET_MM = 9.0  # from a pin: the ring of an octal socket's pins
SPLIT_MM = 4.0  # a twist ends so far from its first pin; from there the other wire crosses the socket
ROUNDS = 4
LEAST_TWIST_MM = 30.0  # three turns
SAMPLE_MM, TOGETHER_MM = 2.0, 3.0
# Height of the lane a class runs in: heaters and mains hug the metal, signals run above.
LANE_MM = {
    "heater": 3.0, "mains": 3.0, "earth": 3.0, "ground": 5.0, "speaker": 5.0, "output plate": 5.0, "B+": 7.0,
    "screen": 7.0, "bias": 7.0, "plate": 9.0, "cathode": 9.0, "signal": 12.0, "grid": 12.0,
}  # fmt: skip

Route = tuple[tuple[float, float, float], ...]


def ways_of(
    build: Build,
    hardware: Hardware,
    terminals: Mapping[str, PlanTerminal],
    seats: Sequence[SeatedPart],
    links: Sequence[Link],
    facts: Mapping[str, JointFacts],
    laid: Sequence[Wire] = (),
) -> dict[Link, Route]:
    """Return the route of every link, laid in the order in which they stand; ``laid`` wires lie already."""
    there = {frozenset(wire.terminals): wire.route for wire in laid}
    desk = _Desk(build, hardware, terminals, seats, links, facts, set(there))
    desk.keep({link: there[frozenset(link.terminals)] for link in links if frozenset(link.terminals) in there})
    for crowd in range(1, ROUNDS + 1):
        if not desk.lay_all(crowd):
            break
    routes = {link: there.get(frozenset(link.terminals)) or desk.route(link) for link in links}
    loose = _soon_apart({k: r for k, r in routes.items() if not desk.is_copied(k)}, routes, desk.leader)
    return {replace(link, twist="") if link.twist in loose else link: route for link, route in routes.items()}


def _soon_apart(some: Mapping[Link, Route], routes: Mapping[Link, Route], leaders: Mapping[str, Link]) -> set[str]:
    """Return the twists of which a wire leaves the others too soon for a twist to hold or to help."""
    return {
        link.twist
        for link, route in some.items()
        if link.twist
        and link is not leaders[link.twist]
        and together_mm(route, routes[leaders[link.twist]]) < LEAST_TWIST_MM
    }


def together_mm(one: Route, two: Route) -> float:
    """Return how far a route runs along with another, seen from above.

    Parameters
    ----------
    one, two : sequence of (x, y, z)
        Their corners. [mm]

    Returns
    -------
    float
        Length of the first nearer than 3 mm to the second, in steps of 2 mm. [mm]

    Source
    ------
    Plane geometry, sampled.
    """
    near = 0
    for a, b in itertools.pairwise(one):
        count = int(math.dist(a[:2], b[:2]) / SAMPLE_MM)
        for k in range(count):
            share = (k + 0.5) / count
            at = (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))
            near += any(_apart(at, c[:2], d[:2]) < TOGETHER_MM for c, d in itertools.pairwise(two))
    return SAMPLE_MM * near


class _Desk:
    """The lanes, and the ways found so far; a heater pair is one way, other twisted wires follow one another."""

    def __init__(
        self,
        build: Build,
        hardware: Hardware,
        terminals: Mapping[str, PlanTerminal],
        seats: Sequence[SeatedPart],
        links: Sequence[Link],
        facts: Mapping[str, JointFacts],
        laid: Set[frozenset[str]],
    ) -> None:
        self.terminals = terminals
        self.laid = laid
        grids = [((t.x_mm, t.y_mm), "grid") for t in terminals.values() if _class(t, facts) == "grid"]
        plate = make_plate(build, hardware, terminals, seats)
        self.lanes = Lanes(plate, {link.name for link in links}, grids, build.wishes.weights)
        self.leader = _leaders(links, terminals, plate, laid)
        self.direct = {link for link in links if not link.twist and self._goes_straight(link)}
        self.links = [link for link in self._leaders_first(links) if not self.is_copied(link)]
        self.ways: dict[Link, list[Node]] = {}

    def _leaders_first(self, links: Sequence[Link]) -> list[Link]:
        """Return the wires to be laid, those of a twist one after the other where its first one stands."""
        place = {link: index for index, link in enumerate(links)}
        first = {link.twist: min(place[k] for k in links if k.twist == link.twist) for link in links if link.twist}
        leaders = set(self.leader.values())
        return sorted(
            (link for link in links if link not in self.direct),
            key=lambda k: (first.get(k.twist, place[k]), k not in leaders, place[k]),
        )

    def _goes_straight(self, link: Link) -> bool:
        a, b = (self.terminals[key] for key in link.terminals)
        if _apart_xy(a, b) > DIRECT_MM:
            return False
        if a.owner == b.owner and a.kind == b.kind == "pin":
            return True
        near = [t for t in self.terminals.values() if math.dist(_at(t), _at(a)) < DIRECT_MM and t.kind != "bus"]
        others = [_at(t) for t in near if t.key not in link.terminals]
        return self.lanes.is_free(_at(a), _at(b)) and all(_apart(p, _at(a), _at(b)) > LUG_AIR_MM for p in others)

    def is_copied(self, link: Link) -> bool:
        """Return whether a wire has the way of the first of its pair: heater wires from socket to socket."""
        first = self.leader.get(link.twist, link)
        return first is not link and self._owners(first) == self._owners(link)

    def _owners(self, link: Link) -> frozenset[str]:
        return frozenset(self.terminals[key].owner for key in link.terminals)

    def keep(self, routes: Mapping[Link, Route]) -> None:
        """Leave wires that are laid already where they are."""
        for link, route in routes.items():
            nodes = [self.lanes.plate.node(point[:2]) for point in route]
            self.ways[link] = nodes
            for one, two in itertools.pairwise(nodes):
                if one[0] == two[0] or one[1] == two[1]:  # not what goes straight through the air
                    self.lanes.lay([one, two], link.name)
        self.links = [link for link in self.links if link not in routes]

    def lay_all(self, crowd: int) -> bool:
        """Lay every wire anew, given where the others lie; return whether any has another way than before."""
        changed = False
        for link in self.links:
            before = self.ways.get(link)
            if before is not None:
                self.lanes.lay(before, link.name, -1)
                if self.lanes.is_undisturbed(before, link.name):
                    self.lanes.lay(before, link.name)
                    continue
            first = self.leader.get(link.twist, link)
            along = [self.ways[first]] if first is not link and first in self.ways else []
            a, b = (_at(self.terminals[key]) for key in link.terminals)
            self.ways[link] = self.lanes.way(a, b, link.name, crowd=crowd, along=along)
            self.lanes.lay(self.ways[link], link.name)
            changed |= self.ways[link] != before
        return changed

    def route(self, link: Link) -> Route:
        """Return the way of a wire with heights, from its first terminal to its second."""
        a, b = (self.terminals[key] for key in link.terminals)
        start, end = (a.x_mm, a.y_mm, a.z_mm), (b.x_mm, b.y_mm, b.z_mm)
        if link in self.direct:
            return (start, end)
        lane = LANE_MM[link.name]
        first = self.leader.get(link.twist, link)
        if self.is_copied(link):
            corners = self._beside(first, link)
        else:
            corners = self.lanes.points(self.ways[link], _at(a), _at(b))
            corners = _split(_at(a), corners, _at(b)) if link.twist else corners
        points = [start, (a.x_mm, a.y_mm, lane), *((x, y, lane) for x, y in corners), (b.x_mm, b.y_mm, lane), end]
        return tuple(p for i, p in enumerate(points) if i == 0 or p != points[i - 1])

    def _beside(self, first: Link, link: Link) -> list[Point]:
        """Return the corners of the first wire of a pair, turned round where the second runs the other way."""
        a, b = (_at(self.terminals[key]) for key in first.terminals)
        corners = self.lanes.points(self.ways[first], a, b)
        if frozenset(first.terminals) in self.laid:  # it may be the one that crosses its sockets
            corners = _between(a, corners, b)
        corners = _split(a, corners, b)
        same = self.terminals[first.terminals[0]].owner == self.terminals[link.terminals[0]].owner
        return corners if same else corners[::-1]


def _leaders(
    links: Sequence[Link], terminals: Mapping[str, PlanTerminal], plate: Plate, laid: Set[frozenset[str]]
) -> dict[str, Link]:
    """Return the wire of each twist that the others follow: one that is in already, else the one laid first.

    That is the short one, at the pins toward the wall; the other crosses over.
    """

    def way(link: Link) -> tuple[bool, float]:
        a, b = (terminals[key] for key in link.terminals)
        return frozenset(link.terminals) not in laid, _apart_xy(a, b) + 2.0 * (
            plate.to_wall_mm(_at(a)) + plate.to_wall_mm(_at(b))
        )

    found: dict[str, Link] = {}
    for link in sorted(links, key=way):
        if link.twist:
            found.setdefault(link.twist, link)
    return found


def _apart_xy(a: PlanTerminal, b: PlanTerminal) -> float:
    return abs(a.x_mm - b.x_mm) + abs(a.y_mm - b.y_mm)


def _between(a: Point, corners: list[Point], b: Point) -> list[Point]:
    """Return the corners from the first to the last that is clear of both ends."""
    clear = [i for i, p in enumerate(corners) if min(math.dist(p, a), math.dist(p, b)) > SOCKET_MM]
    return corners[clear[0] : clear[-1] + 1] if clear else corners


def _split(a: Point, corners: list[Point], b: Point) -> list[Point]:
    """Return the corners of a pair with the points near its ends where the two wires part."""
    line = [a, *corners, b]
    return [_toward(line[0], line[1]), *corners, _toward(line[-1], line[-2])]


def _toward(end: Point, corner: Point) -> Point:
    length = math.dist(end, corner)
    share = min(0.45, SPLIT_MM / length) if length else 0.0
    return round(end[0] + share * (corner[0] - end[0]), 1), round(end[1] + share * (corner[1] - end[1]), 1)


def _class(terminal: PlanTerminal, facts: Mapping[str, JointFacts]) -> str:
    fact = facts.get(terminal.joint)
    return fact.name if fact else ""


def _at(terminal: PlanTerminal) -> Point:
    return terminal.x_mm, terminal.y_mm


def _apart(point: Point, a: Point, b: Point) -> float:
    """Return the distance of a point from a straight piece. [mm]"""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = max(dx * dx + dy * dy, 1e-9)
    share = min(1.0, max(0.0, ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / square))
    return math.hypot(point[0] - a[0] - share * dx, point[1] - a[1] - share * dy)


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
