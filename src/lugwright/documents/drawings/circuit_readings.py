"""Idle readings in a circuit drawing: volts against ground in a box at each joint, plate current at each cathode."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.circuit.operating import Idle, JointIdle
from lugwright.documents.drawings.circuit_figure import Figure, Mark, Point, Wire, volts_bounds
from lugwright.documents.drawings.circuit_pieces import SIGNS
from lugwright.documents.drawings.circuit_symbols import Bounds
from lugwright.quantities import with_unit

CLEAR = 0.45  # between a box and its wire
SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)
OFFS = (0.5, 1.0, 1.5, 2.0)  # farther from the wire, where there is no room right at it
LEAST_AC_V = 1.0  # rms
LEAST_V = 0.005  # below this a meter says nothing


def add_readings(figure: Figure, idle: Idle, grids: frozenset[str]) -> tuple[str, ...]:
    """Write the readings where there is room; return the joints that found none. No volts are said only of grids."""
    _add_currents(figure, idle)
    left_out = []
    names = dict.fromkeys([w.joint for w in figure.wires] + [m.owner for m in figure.marks if m.kind == "flag"])
    for joint in names:
        reading = idle.joints.get(joint)
        if joint in SIGNS or reading is None:
            continue
        words = _volts_words(reading)
        if not words and joint not in grids:
            continue
        words = words or "0 V"
        place = next(
            (p for p in _places(figure, joint, words) if _is_free(figure, joint, volts_bounds(words, p))), None
        )
        if place is None:
            left_out.append(joint)
        else:
            figure.volts(joint, words, place)
    return tuple(left_out)


def _volts_words(reading: JointIdle) -> str:
    """Return a joint's volts; where alternating voltage outweighs them, its rms behind a tilde; "" for none."""
    words = [with_unit(reading.volts, "V")] if abs(reading.volts) >= LEAST_V else []
    if reading.ripple_rms_v > max(LEAST_AC_V, 0.3 * abs(reading.volts)):
        outweighed = abs(reading.volts) < 0.05 * reading.ripple_rms_v
        words = [*([] if outweighed else words), "~" + with_unit(reading.ripple_rms_v, "V")]
    return " ".join(words)


def _add_currents(figure: Figure, idle: Idle) -> None:
    for mark in [m for m in figure.marks if m.kind == "symbol"]:
        x, y = (mark.bounds[0] + mark.bounds[2]) / 2.0, (mark.bounds[1] + mark.bounds[3]) / 2.0
        rectifier = [tube.plate_a for name, tube in idle.tubes.items() if name.startswith(f"{mark.owner}.plate")]
        if mark.owner in idle.tubes:
            words = _milliamperes(idle.tubes[mark.owner].plate_a)
            x0, _, x1, _ = volts_bounds(words, (0.0, 0.0))
            figure.volts(mark.owner, words, (x - CLEAR - (x1 - x0) / 2.0, y + 6.4), framed=False)
        elif rectifier:
            words = _milliamperes(sum(rectifier))
            x0, _, x1, _ = volts_bounds(words, (0.0, 0.0))
            off = 5.1 + (x1 - x0) / 2.0
            downs = (1.6, 0.0, 3.2, -1.6, -3.2, 4.8, -4.8, 6.4)
            places = [(x + side * (off + more), y + down) for more in (0.0, 1.0, 2.0) for side in (1.0, -1.0)
                      for down in downs]  # fmt: skip
            free = (place for place in places if _is_free(figure, "", volts_bounds(words, place)))
            figure.volts(mark.owner, words, next(free, places[0]), framed=False)


def _milliamperes(plate_a: float) -> str:
    shown = 1000.0 * plate_a
    return f"{shown:.2f} mA" if shown < 10.0 else f"{shown:.1f} mA" if shown < 100.0 else f"{shown:.0f} mA"


def _places(figure: Figure, joint: str, words: str) -> Iterator[Point]:
    x0, y0, x1, y1 = volts_bounds(words, (0.0, 0.0))
    half_w, half_h = (x1 - x0) / 2.0 + CLEAR, (y1 - y0) / 2.0 + CLEAR
    mine = [wire for wire in figure.wires if wire.joint == joint]
    upright = sorted((w for w in mine if _is_upright(w)), key=_length, reverse=True)
    lying = sorted((w for w in mine if not _is_upright(w)), key=_length, reverse=True)
    for share in SHARES:
        for wire in upright:
            x, y = _at(wire, share)
            yield from ((x - half_w, y), (x + half_w, y))
        for wire in lying:
            x, y = _at(wire, share)
            yield from ((x, y - half_h), (x, y + half_h))
    for off in OFFS:
        for share in (*SHARES, 0.05, 0.95):
            for wire in lying:
                x, y = _at(wire, share)
                yield from ((x, y - half_h - off), (x, y + half_h + off))
            for wire in upright:
                x, y = _at(wire, share)
                yield from ((x - half_w - off, y), (x + half_w + off, y))
    for mark in (m for m in figure.marks if m.kind == "flag" and m.owner == joint):
        left, top, right, bottom = mark.bounds
        middle = (left + right) / 2.0
        yield from ((middle, top - half_h), (middle, bottom + half_h))
        yield from ((right + half_w, (top + bottom) / 2.0), (left - half_w, (top + bottom) / 2.0))


def _is_upright(wire: Wire) -> bool:
    return abs(wire.a[0] - wire.b[0]) < 1e-6


def _length(wire: Wire) -> float:
    return abs(wire.a[0] - wire.b[0]) + abs(wire.a[1] - wire.b[1])


def _at(wire: Wire, share: float) -> Point:
    return wire.a[0] + (wire.b[0] - wire.a[0]) * share, wire.a[1] + (wire.b[1] - wire.a[1]) * share


def _is_free(figure: Figure, joint: str, box: Bounds) -> bool:
    x0, y0, x1, y1 = box
    around = (x0 - 0.4, y0 - 0.4, x1 + 0.4, y1 + 0.4)
    if any(boxes_meet(box, (x - 0.9, y - 0.7, x + 0.9, y + 0.7)) for x, y in (*figure.dots, *figure.numbers)):
        return False
    if any(boxes_meet(around, mark.bounds) for mark in figure.marks):
        return False
    for wire in figure.wires:
        if wire_meets(box if wire.joint == joint else (x0 - 0.8, y0 - 0.8, x1 + 0.8, y1 + 0.8), wire):
            return False
    return True


def boxes_meet(a: Bounds, b: Bounds, *, slack: float = 0.05) -> bool:
    """Return whether two areas share more than an edge."""
    return a[0] + slack < b[2] and b[0] + slack < a[2] and a[1] + slack < b[3] and b[1] + slack < a[3]


def wire_meets(box: Bounds, wire: Wire, *, slack: float = 0.05) -> bool:
    """Return whether a wire passes through an area."""
    x0, y0, x1, y1 = box
    low_x, high_x = sorted((wire.a[0], wire.b[0]))
    low_y, high_y = sorted((wire.a[1], wire.b[1]))
    return low_x < x1 - slack and high_x > x0 + slack and low_y < y1 - slack and high_y > y0 + slack


def wires_touch(one: Wire, other: Wire) -> bool:
    """Return whether a wire ends on another, so that they seem joined; crossing is not touching."""
    return any(_lies_on(p, other) for p in (one.a, one.b)) or any(_lies_on(p, one) for p in (other.a, other.b))


def _lies_on(p: Point, wire: Wire) -> bool:
    low_x, high_x = sorted((wire.a[0], wire.b[0]))
    low_y, high_y = sorted((wire.a[1], wire.b[1]))
    return low_x - 1e-3 <= p[0] <= high_x + 1e-3 and low_y - 1e-3 <= p[1] <= high_y + 1e-3


def overlaps(marks: tuple[Mark, ...], wires: tuple[Wire, ...]) -> list[str]:
    """Return everything that lies on something else, in words."""
    found = []
    for index, one in enumerate(marks):
        for other in marks[index + 1 :]:
            if boxes_meet(one.bounds, other.bounds):
                found.append(f"{one.kind} {one.owner} on {other.kind} {other.owner}")
        found += [f"wire of {w.joint} through {one.kind} {one.owner}" for w in wires if wire_meets(one.bounds, w)]
    return found
