"""Where a meter's tip goes: socket pins, control lugs, can lugs and transformer leads, in words a builder uses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lugwright.buildfile.build import Build, Can, Jack, Part, Pot, Transformer, Tube

_LUG_WORDS = {"1": "lug 1 (counterclockwise end)", "2": "lug 2 (wiper)", "3": "lug 3 (clockwise end)"}


@dataclass(frozen=True)
class Point:
    """One place for the tip of a meter lead."""

    words: str  # "V1 pin 1 (plate a)"
    joint: str
    part: str
    electrode: str  # terminal name: plate, grid, heater1, 2, tip, hv.1
    section: str = ""
    key: str = ""  # of the terminal in the plan: V1.6, R10.2, T1.hv.1; "" for a joint read wherever it is


def tubes_of(build: Build) -> tuple[Part, ...]:
    """Return the tubes in file order."""
    return tuple(part for part in build.parts if isinstance(part.values, Tube))


def socket_points(part: Part) -> tuple[Point, ...]:
    """Return every pin of a tube's socket that is in use, by pin number."""
    found = [
        (pin, Point(f"{part.name} pin {pin} ({_electrode(t.name, t.section)})", t.joint, part.name, t.name, t.section,
                    f"{part.name}.{pin}"))
        for t in part.terminals
        for pin in t.pins
    ]  # fmt: skip
    return tuple(point for _, point in sorted(found, key=lambda pair: pair[0]))


def all_points(build: Build) -> tuple[Point, ...]:
    """Return every point of the ohms chart: sockets first, then controls, jacks, cans and transformer leads."""
    groups: dict[type, list[Point]] = {Tube: [], Pot: [], Jack: [], Can: [], Transformer: []}
    for part in build.parts:
        kind = type(part.values)
        if kind in groups:
            groups[kind] += _points_of(part)
    return tuple(point for points in groups.values() for point in points)


def _points_of(part: Part) -> Iterator[Point]:
    if isinstance(part.values, Tube):
        yield from socket_points(part)
        return
    for terminal in part.terminals:
        words = f"{part.name} {_terminal_words(part, terminal.name)}"
        yield Point(words, terminal.joint, part.name, terminal.name, key=f"{part.name}.{terminal.name}")


def _terminal_words(part: Part, name: str) -> str:
    match part.values:
        case Pot(label=label):
            return f"{label} {_LUG_WORDS.get(name, name)}".strip()
        case Jack(label=label):
            return f"{label} {name.replace('_', ' ')}".strip()
        case Transformer():
            return f"lead {name}"
        case _:
            return f"lug {name}"


def _electrode(name: str, section: str) -> str:
    return f"{name.replace('_', ' ')} {section}".strip()
