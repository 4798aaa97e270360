"""Transformers in circuit drawings: the first winding left of the core, the others right of it, taps between."""

from __future__ import annotations

from itertools import pairwise

from lugwright.buildfile.build import GROUND, Transformer, Winding
from lugwright.documents.drawings.circuit_symbols import PIN_SIZE, Port, Symbol, path
from lugwright.documents.drawings.svg import Markup, line, num, text

STEP = 5.0  # between neighboring ends of a winding
BETWEEN = 5.0  # between two windings on one side
COIL_X = 1.6
MOST_WIRED = 2  # secondary ends drawn with wires; with more of them each gets a flag


def transformer(values: Transformer, joints: dict[str, str]) -> Symbol:
    """Return a transformer; ``joints`` says where each end goes (winding ends left open are not in it)."""
    first, *others = values.windings
    left = _side([first], joints)
    right = _side(others, joints)
    half = max(left[-1][2][-1], right[-1][2][-1] if right else 0.0) + 1.0
    shapes: list[Markup] = [line((x, -half), (x, half), width=0.35) for x in (-0.4, 0.4)]
    ports: list[Port] = []
    power = values.role == "power"
    taps = sum(joints.get(end, GROUND) != GROUND for winding in others for end in winding.ends)
    by_flags = power or taps > MOST_WIRED
    for side, windings in ((-1.0, left), (1.0, right)):
        for winding, ends, ys in windings:
            shapes += _coil(side, ys)
            flags = by_flags and side > 0
            shapes += _leads(side, winding.name, ends, ys, joints, ports, flags=flags, power=power)
    return Symbol(tuple(shapes), tuple(ports), (-3.2, -half, 7.5 if by_flags else 3.2, half))


def _side(windings: list[Winding], joints: dict[str, str]) -> list[tuple[Winding, list[str], list[float]]]:
    """Return each winding with its ends from the top down, a grounded end at the bottom, and their heights."""
    total = sum(STEP * (len(w.ends) - 1) for w in windings) + BETWEEN * max(0, len(windings) - 1)
    y = -total / 2.0
    found = []
    for winding in windings:
        ys = [y + STEP * k for k in range(len(winding.ends))]
        turned = joints.get(winding.ends[0]) == GROUND
        found.append((winding, list(reversed(winding.ends)) if turned else list(winding.ends), ys))
        y = ys[-1] + BETWEEN
    return found


def _coil(side: float, ys: list[float]) -> list[Markup]:
    x = side * COIL_X
    sweep = 0 if side < 0 else 1
    data = f"M{num(x)} {num(ys[0])}"
    for top, bottom in pairwise(ys):
        step = (bottom - top) / 4.0
        data += "".join(f"A1 {num(step / 2)} 0 0 {sweep} {num(x)} {num(top + step * (k + 1))}" for k in range(4))
    return [path(data)]


def _leads(side: float, name: str, ends: list[str], ys: list[float], joints: dict[str, str], ports: list[Port], *,
           flags: bool, power: bool) -> list[Markup]:  # fmt: skip
    shapes: list[Markup] = []
    x = side * COIL_X
    out = 5.0
    used = [(end, y) for end, y in zip(ends, ys, strict=True) if end in joints]
    for end, y in used:
        number = end.rsplit(".", 1)[-1]
        if flags:
            way, far = "F", 7.5
        elif power:
            way, far = ("N", 5.0) if y < (ys[0] + ys[-1]) / 2.0 else ("S", 5.0)
        elif joints[end] == GROUND and y == ys[-1]:
            way, far = "S", 5.0
        else:
            way, far = "N", out
            out += 2.5
        shapes += [line((x, y), (side * far, y)), text((side * 3.4, y - 1.2), number, PIN_SIZE, fill="#333")]
        ports.append(Port(end, side * far, y, way))
    if flags:
        shapes.append(text((3.0, (ys[0] + ys[1]) / 2.0 - 0.2), name, 1.5, anchor="start"))
    return shapes
