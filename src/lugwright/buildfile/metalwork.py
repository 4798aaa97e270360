"""Chassis, places, strips and buses of a build file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lugwright.buildfile import build as b
from lugwright.buildfile import records as w
from lugwright.buildfile.joints import Joints
from lugwright.buildfile.locate import KeyPath
from lugwright.buildfile.mistakes import Mistakes
from lugwright.buildfile.tables import table_of, validated
from lugwright.findings import Grade


def chassis_of(data: Mapping[str, Any], mistakes: Mistakes) -> b.Chassis | None:
    """Return the chassis, or None when it is not described."""
    if "chassis" not in data:
        mistakes.add(
            "no-chassis",
            ("build",),
            grade=Grade.NOTE,
            what="no chassis is described",
            found="no [chassis]",
            wanted="inside = [width, depth, height] in mm",
            do="add [chassis] to have the wiring planned",
        )
        return None
    written = validated(data["chassis"], ("chassis",), w.ChassisWritten, "[chassis]", mistakes)
    if written is None:
        return None
    width, depth, height = written.inside
    return b.Chassis(float(width), float(depth), float(height), written.material, written.thickness)


def placements_of(data: Mapping[str, Any], names: set[str], mistakes: Mistakes) -> dict[str, b.Placement]:
    """Return where each part stands."""
    result = {}
    for name, raw in table_of(data, "place", mistakes).items():
        path: KeyPath = ("place", name)
        if name not in names:
            close = mistakes.nearest(name, names)
            mistakes.add(
                "unknown-part",
                path,
                part=name,
                what=f"there is no part {name} to place",
                found=name,
                wanted="a designator of this file",
                do=f"write {close!r}" if close else "take it out",
            )
            continue
        written = validated(raw, path, w.PlaceWritten, f"place of {name}", mistakes, name)
        if written is not None:
            at = (float(written.at[0]), float(written.at[1]))
            result[name] = b.Placement(at, float(written.turn), written.panel, mistakes.place(path))
    return result


def strips_of(data: Mapping[str, Any], mistakes: Mistakes) -> tuple[b.Strip, ...]:
    """Return the terminal strips."""
    strips = []
    for name, raw in table_of(data, "strips", mistakes).items():
        path: KeyPath = ("strips", name)
        written = validated(raw, path, w.StripWritten, f"strip {name}", mistakes, name)
        if written is None:
            continue
        feet = tuple(written.feet if written.feet is not None else [] if written.foot is None else [written.foot])
        if any(not 1 <= foot <= written.lugs for foot in feet):
            mistakes.add(
                "bad-value",
                path,
                part=name,
                what=f"strip {name}: a foot outside the strip",
                found=f"feet {list(feet)}",
                wanted=f"lugs 1 to {written.lugs}",
                do="correct foot or lugs",
            )
            continue
        at = (float(written.at[0]), float(written.at[1]))
        strips.append(b.Strip(name, written.lugs, feet, at, float(written.turn), written.type, mistakes.place(path)))
    return tuple(strips)


def buses_of(data: Mapping[str, Any], joints: Joints, mistakes: Mistakes) -> tuple[b.Bus, ...]:
    """Return the bare bus wires."""
    buses = []
    for name, raw in table_of(data, "bus", mistakes).items():
        path: KeyPath = ("bus", name)
        written = validated(raw, path, w.BusWritten, f"bus {name}", mistakes, name)
        if written is None:
            continue
        joint = joints.name_of(written.joint or name)
        points = tuple((float(x), float(y)) for x, y in written.points)
        buses.append(b.Bus(name, joint, points, written.height, mistakes.place(path)))
    return tuple(buses)
