"""Wires a bare chassis from job cards alone: reads what is printed, does it row by row, refuses what cannot be done."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from lugwright.buildfile.build import Build, Part
from lugwright.layout.chassis import fixed_terminals

Row = tuple[str, str, str, str]  # what, lead, goes in, solder: the columns of a card
Place = tuple[float, float, float]

LEAD_MM = 30.0  # a new part's lead, from its body to the end
_REEL = re.compile(r"^W(\d+): .*, cut ([\d.]+) mm, strip ")
_OWN = re.compile(r"^W(\d+): (.+?)(?: \([^)]*\))?, the part's own, to .*, cut at ([\d.]+) mm from its grommet")
_BOND = re.compile(r"^W(\d+): .*; it is the bond (\w+)")
_BRAID = re.compile(r"^W(\d+): .* braid to ")
_BODY = re.compile(r"^(\w+) .*, body ([\d.]+) mm above the plate")
_BUS = re.compile(r"^(\w+): bare tinned wire")
_CLEAR = re.compile(r"(\w+(?:(?:, | and )\w+)*) until (\w+(?:(?:, | and )\w+)*) (?:is|are) soldered")


class CannotBeDone(Exception):
    """A row of a card asks for something nobody can do."""


@dataclass(frozen=True)
class Card:
    """What is printed on one card."""

    number: int
    text: tuple[str, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...]


def printed_cards(jobs: Iterable[Mapping[str, Any]]) -> list[Card]:
    """Return the cards of `jobs --json`, nothing but the words a person sees."""
    return [
        Card(
            job["number"],
            tuple(job["text"]),
            tuple((r["what"], r["lead"], r["label"], r["solder"]) for r in job["leads"]),
            tuple(job["notes"]),
        )
        for job in jobs
    ]


@dataclass
class Point:
    """A lug, pin or lead exit of the bare chassis, and what is in it by now."""

    key: str
    owner: str
    kind: str
    at: Place
    room: int
    leads: list[tuple[str, str]] = field(default_factory=list)
    soldered: bool = False


class Chassis:
    """A drilled chassis with everything bolted in, and a heap of parts and reels beside it."""

    def __init__(self, build: Build) -> None:
        self.build = build
        self.points = {
            t.label: Point(t.key, t.owner, t.kind, (t.x_mm, t.y_mm, t.z_mm), t.capacity)
            for t in fixed_terminals(build).values()
        }
        self.buses = {bus.name for bus in build.buses}
        self.laid_buses: set[str] = set()
        self.cut_mm: dict[str, float] = {}
        self.bonds: dict[str, str] = {}
        self.braids: set[str] = set()
        self.body_mm: dict[str, float] = {}  # height a card asks for
        self.lead_at: dict[tuple[str, str], Point] = {}
        self.ends: dict[str, list[Point]] = {}
        self.bodies: dict[str, tuple[Place, Place, float, float, float]] = {}
        self.standing_clear: dict[str, set[str]] = {}

    def work(self, cards: Iterable[Card]) -> None:
        """Do every card."""
        for card in cards:
            self._read(card)
            for row in card.rows:
                try:
                    self._do(row)
                except CannotBeDone as error:
                    raise CannotBeDone(f"card {card.number}, {' '.join(row)}: {error}") from None

    def _read(self, card: Card) -> None:
        for line in card.text:
            if found := _REEL.match(line):
                self.cut_mm[f"W{found[1]}"] = float(found[2])
            elif found := _OWN.match(line):
                self.cut_mm[f"W{found[1]}"] = float(found[3])
            elif found := _BODY.match(line):
                self.body_mm[found[1]] = float(found[2])
            elif (found := _BUS.match(line)) and found[1] in self.buses:
                self.laid_buses.add(found[1])
            if found := _BRAID.match(line):
                self.braids.add(f"W{found[1]}")
            if found := _BOND.match(line):
                self.bonds[f"W{found[1]}"] = found[2]
        for note in card.notes:
            if note.startswith("Leave standing clear: "):
                for uppers, firsts in _CLEAR.findall(note):
                    for upper in re.findall(r"\w+", uppers.replace(" and ", " ")):
                        self.standing_clear[upper] = set(re.findall(r"\w+", firsts.replace(" and ", " ")))

    def _do(self, row: Row) -> None:
        what, lead, label, solder = row
        point = self._point(label)
        if point.owner in self.buses and point.owner not in self.laid_buses:
            raise CannotBeDone("the bus is not in yet")
        end = self._end_in_hand(what, lead)
        if point.kind != "exit" and (body := self._body_over(point)):
            raise CannotBeDone(f"{body} lies over it")
        if point.soldered != solder.startswith("melt"):
            raise CannotBeDone("soldered already" if point.soldered else "nothing to melt")
        if len(point.leads) >= point.room:
            raise CannotBeDone(f"full: {point.room} in already")
        self._reach(what, lead, point)
        point.leads.append((what, end))
        self.lead_at[what, end] = point
        if end != "braid":
            self.ends.setdefault(what, []).append(point)
        self._lay_body(what)
        self._solder(point, solder)

    def _point(self, label: str) -> Point:
        """Return a terminal by its printed name; a pin's electrode stands behind it in brackets."""
        point = self.points.get(label) or self.points.get(re.sub(r" \([^()]*\)$", "", label))
        if point is None:
            raise CannotBeDone("no such place on the chassis")
        return point

    def _end_in_hand(self, what: str, lead: str) -> str:
        if lead == "braid":
            if what not in self.braids or (what, lead) in self.lead_at:
                raise CannotBeDone("this wire has no loose braid")
            return lead
        if what in self.cut_mm and not lead:
            count = len(self.ends.get(what, ()))
            if count == 2:
                raise CannotBeDone("both ends of this wire are in")
            return str(count + 1)
        part = self.build.part_by_name.get(what)
        if part is None:
            raise CannotBeDone("no such part, and no wire was cut for it")
        names = {t.name for t in part.terminals}
        end = lead if lead in names else {"+": "1", "-": "2", "cathode (band)": "cathode"}.get(lead, "")
        if end not in names:
            raise CannotBeDone(f"{what} has no such lead")
        if (what, end) in self.lead_at:
            raise CannotBeDone("this lead is in already")
        return end

    def _reach(self, what: str, lead: str, point: Point) -> None:
        """Refuse a second end that the first, with its length, does not reach."""
        for other in self.ends.get(what, ()) if lead != "braid" else ():
            away = math.dist(other.at, point.at)
            longest = self.cut_mm[what] if what in self.cut_mm else self._body(what)[0] + 2.0 * LEAD_MM
            if away > longest:
                raise CannotBeDone(f"{away:.0f} mm away, it is {longest:.0f} mm long")
            if what not in self.cut_mm and away < self._body(what)[0] * 0.999 and point.at != other.at:
                raise CannotBeDone(f"the body does not fit between: {away:.0f} mm")

    def _body(self, name: str) -> tuple[float, float]:
        body = self.build.part(name).values.body  # type: ignore[union-attr]
        return body.length_mm, body.diameter_mm

    def _lay_body(self, what: str) -> None:
        ends = self.ends.get(what, [])
        if len(ends) == 2 and what in self.body_mm:
            length, diameter = self._body(what)
            self.bodies[what] = (ends[0].at, ends[1].at, length, diameter, self.body_mm[what])

    def _body_over(self, point: Point) -> str:
        """Return the body that hides a terminal from the iron, "" where none does."""
        for name, (a, b, length, diameter, height) in self.bodies.items():
            if height <= point.at[2] or point.at in (a, b) or self._stands_clear(name):
                continue
            whole = math.dist(a[:2], b[:2])
            if math.dist(((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0), point.at[:2]) > (length + diameter) / 2.0:
                continue
            half = min(1.0, length / whole) / 2.0 if whole else 0.0
            places = (0.5 + half * (k / 20.0 - 1.0) for k in range(41))
            line = ((a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])) for s in places)
            if min(math.dist(p, point.at[:2]) for p in line) < diameter / 2.0:
                return name
        return ""

    def _stands_clear(self, name: str) -> bool:
        waiting = self.standing_clear.get(name, set())
        return any((piece, end) not in self.lead_at for piece in waiting for end in self._ends_of(piece))

    def _ends_of(self, piece: str) -> tuple[str, ...]:
        part = self.build.part_by_name.get(piece)
        return tuple(t.name for t in part.terminals) if part else ("1", "2")

    def _solder(self, point: Point, words: str) -> None:
        if point.kind == "exit":
            if not words.startswith("no solder"):
                raise CannotBeDone("a lead is not soldered where it comes out of its grommet")
            return
        if words.startswith(("solder now", "bolt down now")):
            if (said := re.search(r"all (\d+) in", words)) and int(said[1]) != len(point.leads):
                raise CannotBeDone(f"{len(point.leads)} are in")
            point.soldered = True
        elif not words.startswith(("wait", "melt")):
            raise CannotBeDone("does not say whether it is soldered")


def faults(chassis: Chassis) -> list[str]:
    """Return what differs between the wired chassis and the circuit of the build file, in words; [] when nothing."""
    build = chassis.build
    found = [f"{p.key} is open" for p in chassis.points.values() if p.leads and p.kind != "exit" and not p.soldered]
    nets = _Nets()
    for (what, end), point in chassis.lead_at.items():
        nets.join(f"lead {what}.{end}", point.key)
    for point in chassis.points.values():
        if point.owner in chassis.buses:
            nets.join(point.key, f"bus {point.owner}")
        if point.kind in ("foot", "bolt"):
            nets.join(point.key, "the metal")
    for part in build.parts:
        for t in part.terminals:
            if len(t.pins) > 1 and "heater" not in t.name:  # one electrode on two pins: the tube joins them
                nets.join(f"{part.name}.{t.pins[0]}", f"{part.name}.{t.pins[1]}")
    found += [f"{wire}'s braid is loose" for wire in sorted(chassis.braids) if (wire, "braid") not in chassis.lead_at]
    bonds = {}
    for wire in sorted(chassis.cut_mm):
        if any((wire, end) not in chassis.lead_at for end in ("1", "2")):
            found.append(f"{wire} has a loose end")
        elif wire in chassis.bonds:
            bonds[chassis.bonds[wire]] = wire
        else:
            nets.join(f"lead {wire}.1", f"lead {wire}.2")
    return found + _against_the_circuit(build, chassis, nets, bonds)


def _against_the_circuit(build: Build, chassis: Chassis, nets: _Nets, bonds: Mapping[str, str]) -> list[str]:
    found: list[str] = []
    keys = {point.key for point in chassis.points.values()}
    joint_of: dict[str, str] = {}
    for joint, terminals in build.joints.items():
        places = {place for t in terminals for place in _places(build.part(t.part), t.name, t.pins, keys)}
        if joint == "chassis":
            places.add("the metal")
        if joint == "ground":
            places |= {f"lead {wire}.braid" for wire in chassis.braids}
        tops = {nets.top(place) for place in places}
        if len(tops) > 1:
            found.append(f"{joint} is in {len(tops)} pieces: {sorted(places)}")
        for top in tops:
            if joint_of.setdefault(top, joint) != joint:
                found.append(f"{joint} is joined with {joint_of[top]}")
    for part in build.parts:
        if part.kind != "bond" or part.name not in bonds:
            continue
        ends = {joint_of.get(nets.top(f"lead {bonds[part.name]}.{end}"), "") for end in ("1", "2")}
        if ends != {t.joint for t in part.terminals}:
            found.append(f"bond {part.name} joins {sorted(ends)}")
    return found


def _places(part: Part, name: str, pins: tuple[int, ...], keys: set[str]) -> list[str]:
    """Return what carries a terminal of a part: its pins, its lug, its lead; nothing for what is outside."""
    if pins:
        return [f"{part.name}.{pin}" for pin in pins if f"{part.name}.{pin}" in keys]
    if f"{part.name}.{name}" in keys:
        return [f"{part.name}.{name}"]
    return [f"lead {part.name}.{name}"] if hasattr(part.values, "body") and len(part.terminals) == 2 else []


class _Nets:
    """What is joined with what."""

    def __init__(self) -> None:
        self.parent: dict[str, str] = {}

    def top(self, name: str) -> str:
        """Return what stands for everything joined with a point."""
        while self.parent.setdefault(name, name) != name:
            name = self.parent[name]
        return name

    def join(self, one: str, other: str) -> None:
        """Join two points."""
        self.parent[self.top(one)] = self.top(other)
