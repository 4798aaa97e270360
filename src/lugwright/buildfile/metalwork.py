"""Chassis, places, strips and buses of a build file."""

from __future__ import annotations

from collections.abc import Collection, Mapping
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


def strips_of(data: Mapping[str, Any], mistakes: Mistakes) -> tuple[tuple[b.Strip, ...], tuple[b.OpenStrip, ...]]:
    """Return the terminal strips that have a place, and those left to the program."""
    strips, left_open = [], []
    for name, raw in table_of(data, "strips", mistakes).items():
        path: KeyPath = ("strips", name)
        written = validated(raw, path, w.StripWritten, f"strip {name}", mistakes, name)
        if written is None or not _strip_holds(written, name, path, mistakes):
            continue
        place, feet = mistakes.place(path), _feet(written)
        if written.at is None or written.lugs is None:
            left_open.append(b.OpenStrip(name, written.lugs, feet, written.turn, written.type, place))
            continue
        at = (float(written.at[0]), float(written.at[1]))
        strips.append(b.Strip(name, written.lugs, feet or (), at, float(written.turn or 0.0), written.type, place))
    return tuple(strips), tuple(left_open)


def _feet(written: w.StripWritten) -> tuple[int, ...] | None:
    if written.feet is not None:
        return tuple(written.feet)
    return None if written.foot is None else (written.foot,)


def _strip_holds(written: w.StripWritten, name: str, path: KeyPath, mistakes: Mistakes) -> bool:
    """Return whether a strip's keys go together; add what does not."""
    feet = _feet(written)
    if written.lugs is None and (written.at is not None or feet is not None):
        given = [key for key in ("at", "foot", "feet") if getattr(written, key) is not None]
        mistakes.add(
            "missing-key",
            path,
            part=name,
            what=f"strip {name}: lugs is missing",
            found=f"only {', '.join(given)}",
            wanted="how many lugs, feet included, or neither lugs, feet nor at",
            do="write lugs = ... there",
        )
        return False
    if feet is not None and any(not 1 <= foot <= (written.lugs or 0) for foot in feet):
        mistakes.add(
            "bad-value",
            path,
            part=name,
            what=f"strip {name}: a foot outside the strip",
            found=f"feet {list(feet)}",
            wanted=f"lugs 1 to {written.lugs}",
            do="correct foot or lugs",
        )
        return False
    return True


def buses_of(
    data: Mapping[str, Any], joints: Joints, mistakes: Mistakes
) -> tuple[tuple[b.Bus, ...], tuple[b.OpenBus, ...]]:
    """Return the bare bus wires that have points, and those left to the program."""
    buses, left_open = [], []
    for name, raw in table_of(data, "bus", mistakes).items():
        path: KeyPath = ("bus", name)
        written = validated(raw, path, w.BusWritten, f"bus {name}", mistakes, name)
        if written is None:
            continue
        joint = joints.name_of(written.joint or name)
        if written.points is None:
            left_open.append(b.OpenBus(name, joint, written.height))
            continue
        points = tuple((float(x), float(y)) for x, y in written.points)
        buses.append(b.Bus(name, joint, points, written.height, mistakes.place(path)))
    return tuple(buses), tuple(left_open)


def stars_of(data: Mapping[str, Any], joints: Joints, buses: Collection[str], mistakes: Mistakes) -> tuple[b.Star, ...]:
    """Return the stars; ``buses`` are the joints that a bus carries."""
    stars: list[b.Star] = []
    for name, raw in table_of(data, "star", mistakes).items():
        path: KeyPath = ("star", name)
        written = validated(raw, path, w.StarWritten, f"star {name}", mistakes, name)
        if written is None:
            continue
        joint = joints.name_of(written.joint or name)
        if joint in (*buses, *(star.joint for star in stars)):
            mistakes.add(
                "bad-value", path, part=name, what=f"{joint} has a star and a bus, or two stars", found=f"star {name}",
                wanted="one place where its returns meet", do="take the star out, or the bus",
            )  # fmt: skip
            continue
        at = (float(written.at[0]), float(written.at[1]))
        stars.append(b.Star(name, joint, at, written.lugs, written.height, mistakes.place(path)))
    return tuple(stars)


def left_open_of(data: Mapping[str, Any], strips: tuple[b.OpenStrip, ...], buses: tuple[b.OpenBus, ...]) -> b.LeftOpen:
    """Return what is left to the program; a section that is not there at all is, an empty one says "none"."""
    if "chassis" not in data:
        return b.LeftOpen()
    if "bus" not in data and "star" not in data:
        buses = b.ALL_OPEN.buses
    return b.LeftOpen(strips, "strips" not in data, buses)
