"""What the builder asks of the plan, `[plan]`: parts between lugs, joints on lugs, strips to keep off, dislikes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from lugwright.buildfile import build as b
from lugwright.buildfile.joints import Joints, plain_terminal
from lugwright.buildfile.locate import KeyPath
from lugwright.buildfile.mistakes import Mistakes
from lugwright.buildfile.records import TERMS, PlanWritten
from lugwright.buildfile.tables import table_of
from lugwright.catalogue.load import socket_type
from lugwright.findings import Place

HANGING = (b.Resistor, b.Capacitor, b.Diode, b.Thermistor, b.Bond)  # held by two leads, so that they can be placed
_SOLDERED_TO = (b.Tube, b.Pot, b.Jack, b.Switch, b.Fuse, b.Lamp, b.Inlet, b.Can, b.Bridge)


def wishes_of(
    data: Mapping[str, Any], build: b.Build, joints: Joints, broken: set[str], mistakes: Mistakes
) -> b.Wishes:
    """Return the wishes of the builder; ``broken`` parts could not be read and have been told of."""
    written = _written(table_of(data, "plan", mistakes), mistakes)
    desk = _Desk(build, joints, broken, mistakes)
    places: dict[str, Place] = {}

    def at(table: str, key: str, name: str) -> str:
        places[f"{table} {name}"] = mistakes.place(("plan", table, key))
        return name

    between = {}
    for part, pair in written.between.items():
        ends = [desk.point(name, ("plan", "between", part, index)) for index, name in enumerate(pair)]
        if desk.may_hang(part) and all(ends) and desk.apart(part, ends[0], ends[1]):
            between[at("between", part, part)] = (ends[0], ends[1])
    on = {}
    for joint, given in written.on.items():
        points, name = desk.points(given, joint), desk.joint(joint)
        if points and name:
            on[at("on", joint, name)] = points
    desk.no_lug_twice(written.on)
    keep_off = {}
    for who, given in written.keep_off.items():
        strips, name = desk.strips(given, who), desk.part_or_joint(who)
        if strips and name:
            keep_off[at("keep_off", who, name)] = strips
    weights = {at("dislike", t, t): float(factor) for t, factor in written.dislike.items() if desk.known_term(t)}
    shield = {}
    for joint, wanted in written.shield.items():
        if name := desk.joint_to_shield(joint):
            shield[at("shield", joint, name)] = wanted
    return b.Wishes(between, on, keep_off, weights, places, shield)


def _written(raw: Mapping[str, Any], mistakes: Mistakes) -> PlanWritten:
    """Return what can be read of the section; what cannot is told of, and left out."""
    try:
        return PlanWritten.model_validate(raw)
    except ValidationError as error:
        mistakes.add_validation(error, ("plan",), PlanWritten, "[plan]", raw)
        bad = {tuple(item["loc"][:2]) for item in error.errors(include_url=False)}
    rest = {
        table: {key: value for key, value in entries.items() if (table, key) not in bad}
        for table, entries in raw.items()
        if isinstance(entries, dict) and (table,) not in bad
    }
    return PlanWritten.model_validate(rest)


@dataclass(frozen=True)
class _Desk:
    """Holds what names are looked up in."""

    build: b.Build
    joints: Joints
    broken: set[str]
    mistakes: Mistakes

    def may_hang(self, part: str) -> bool:
        """Return whether a part is one that hangs between two terminals."""
        path: KeyPath = ("plan", "between", part)
        if part in self.broken:
            return False
        found = self.build.part_by_name.get(part)
        if found is None:
            names = [p.name for p in self.build.parts if isinstance(p.values, HANGING)]
            self._unknown(part, path, names, f"there is no part {part} to place", "a part of this file with two leads")
        elif not isinstance(found.values, HANGING):
            self.mistakes.add(
                "bad-value",
                path,
                part=part,
                what=f"{part} does not hang between two terminals",
                found=f"{part} is a {found.kind}",
                wanted="a part held by its two leads: resistor, capacitor, diode, thermistor, bond",
                do="say where it stands under [place]",
            )
        return found is not None and isinstance(found.values, HANGING)

    def apart(self, part: str, first: str, second: str) -> bool:
        """Return whether the two terminals of a part are two."""
        if first == second:
            self.mistakes.add(
                "bad-value",
                ("plan", "between", part),
                part=part,
                what=f"{part}: both leads on one terminal",
                found=first,
                wanted="two terminals",
                do="correct one of them",
            )
        return first != second

    def points(self, given: list[str], joint: str) -> tuple[str, ...]:
        """Return the keys of the terminals that are to carry a joint."""
        keys = [self.point(name, ("plan", "on", joint, index)) for index, name in enumerate(given)]
        return tuple(dict.fromkeys(key for key in keys if key))

    def no_lug_twice(self, on: Mapping[str, list[str]]) -> None:
        """Tell of a lug that two joints are to be on."""
        holder: dict[str, str] = {}
        for joint, given in on.items():
            for name in given:
                first = holder.setdefault(name, joint)
                if self.joints.name_of(plain_terminal(first)) != self.joints.name_of(plain_terminal(joint)):
                    self.mistakes.add(
                        "bad-value",
                        ("plan", "on", joint),
                        what=f"{name} is to carry two joints",
                        found=f"{first} and {joint}",
                        wanted="one joint on a lug",
                        do="give one of them another lug",
                    )

    def joint(self, name: str) -> str:
        """Return the joint that is to be on a lug, "" when there is none such."""
        return self._joint(name, ("plan", "on", name), list(self.build.joints), "a joint of this file")

    def joint_to_shield(self, name: str) -> str:
        """Return the joint whose wires are or are not to be shielded, "" when there is none such."""
        return self._joint(name, ("plan", "shield", name), list(self.build.joints), "a joint of this file")

    def part_or_joint(self, name: str) -> str:
        """Return the part or joint that is to keep off a strip, "" when there is none such."""
        hanging = [p.name for p in self.build.parts if isinstance(p.values, HANGING)]
        if name in hanging:
            return name
        known = [*self.build.joints, *hanging]
        return self._joint(name, ("plan", "keep_off", name), known, "a joint of this file, or a part with two leads")

    def _joint(self, name: str, path: KeyPath, known: list[str], wanted: str) -> str:
        joint = self.joints.name_of(plain_terminal(name))
        if joint in self.build.joints:
            return joint
        if not {name, name.split(".")[0], name.split(".")[0].rstrip("ab")} & self.broken:
            self._unknown(name, path, known, f"there is no joint {name}", wanted)
        return ""

    def strips(self, given: list[str], who: str) -> tuple[str, ...]:
        """Return the strips that someone keeps off."""
        known = list(self.build.strip_names)
        wanted = f"one of {', '.join(known)}" if known else "a strip of this file; it has none"
        for index, name in enumerate(given):
            if name not in known:
                path: KeyPath = ("plan", "keep_off", who, index)
                self._unknown(name, path, known, f"there is no strip {name} to keep off", wanted)
        return tuple(dict.fromkeys(name for name in given if name in known))

    def known_term(self, term: str) -> bool:
        """Return whether the plan has a term of that name to dislike."""
        if term not in TERMS:
            wanted = f"one of {', '.join(TERMS)}"
            self._unknown(term, ("plan", "dislike", term, "="), list(TERMS), f"nothing is called {term!r}", wanted)
        return term in TERMS

    def _unknown(self, name: str, path: KeyPath, known: list[str], what: str, wanted: str) -> None:
        close = self.mistakes.nearest(name, known)
        self.mistakes.add(
            "unknown-wish",
            path,
            what=what,
            found=name,
            wanted=wanted,
            do=f"write {close!r}" if close else "take it out, or correct its name",
        )

    def point(self, name: str, path: KeyPath) -> str:
        """Return the key of a terminal: ``A.2``, ``V1.3``, and for ``V1a.plate`` its pin, "" if none."""
        plain = plain_terminal(name)
        for terminal in self.build.joints.get(self.joints.name_of(plain), ()):
            if str(terminal) == plain and terminal.pins:
                return f"{terminal.part}.{terminal.pins[0]}"
        owner, dot, rest = plain.partition(".")
        points = self._points_of(owner) if dot else None
        if points is None and owner in self.broken:
            return ""
        if points is None or not rest:
            owners = list(self.build.strip_names)
            owners += [*(x.name for x in self.build.buses), *(star.name for star in self.build.stars)]
            owners += [p.name for p in self.build.parts if isinstance(p.values, _SOLDERED_TO)]
            why = "has leads alone" if owner in self.build.part_by_name else "is nothing to solder to"
            self._unknown(owner, path, owners, f"{name!r} is no lug or pin: {owner} {why}", _LIKE)
            return ""
        if points and rest not in points:
            ends = f"{owner}.{points[0]} to {owner}.{points[-1]}" if rest.isdecimal() else ", ".join(points)
            keys = [f"{owner}.{point}" for point in points]
            self._unknown(plain, path, keys, f"there is no {name} to solder to", f"one of {ends}")
            return ""
        return plain

    def _points_of(self, owner: str) -> list[str] | None:
        """Return the points one can solder to at an owner; none where the plan alone knows how many there are."""
        for strip in self.build.strips:
            if strip.name == owner:
                return [str(lug) for lug in range(1, strip.lugs + 1)]
        buses = [bus.name for bus in self.build.buses] + [bus.name for bus in self.build.left_open.buses]
        buses += [star.name for star in self.build.stars]
        if owner == b.CHASSIS or owner in buses or owner in self.build.strip_names:
            return []
        part = self.build.part_by_name.get(owner)
        if part is None or not isinstance(part.values, _SOLDERED_TO):
            return None
        if isinstance(part.values, b.Tube):
            return [str(pin) for pin in range(1, socket_type(part.values.socket).pin_count + 1)]
        return [terminal.name for terminal in part.terminals]


_LIKE = 'a lug, a pin or a point of the bus, e.g. "A.2", "V1.3", "R5.2", "ground.4"'
