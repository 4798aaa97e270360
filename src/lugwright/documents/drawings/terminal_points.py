"""Where terminals are drawn, and the short word in each: lugs over one another are drawn side by side."""

from __future__ import annotations

import math
from itertools import combinations

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.geometry import Box, Point
from lugwright.documents.drawings.svg import Markup, el, group, path_data, text, text_width_mm
from lugwright.layout.results import Plan, PlanTerminal

APART_MM = 3.7  # nearer than this two lugs cannot be told apart
DISC = 1.14  # diameter of a terminal, of the size of its number
TIPPED = 0.85  # how much of a lug's height is drawn sideways
_OUTWARD = {"front": (0, 1), "rear": (0, -1), "left": (-1, 0), "right": (1, 0)}
_WORDS = {"tip": "T", "sleeve": "S", "tip_switch": "TS", "line": "L", "neutral": "N", "earth": "E", "minus": "−",
          "plus": "+", "anode": "A", "cathode": "K"}  # fmt: skip


def terminal_points(build: Build, plan: Plan) -> dict[str, Point]:
    """Return the drawn place of every terminal, by key.

    Lugs of a switch that stand over one another are drawn as if the switch were tipped outward with its panel.
    """
    found = {key: (t.x_mm, t.y_mm) for key, t in plan.terminals.items()}
    owners: dict[str, list[PlanTerminal]] = {}
    for terminal in plan.terminals.values():
        if terminal.kind in ("panel", "jack", "pot"):
            owners.setdefault(terminal.owner, []).append(terminal)
    for owner, lugs in owners.items():
        placement = build.placements.get(owner)
        if placement is None or not any(_close(a, b) for a, b in combinations(lugs, 2)):
            continue
        out_x, out_y = _OUTWARD.get(placement.panel, (0, 1))
        middle = (min(t.z_mm for t in lugs) + max(t.z_mm for t in lugs)) / 2.0
        for t in lugs:
            off = TIPPED * (t.z_mm - middle)
            found[t.key] = (round(t.x_mm + out_x * off, 2), round(t.y_mm + out_y * off, 2))
    return found


def _close(a: PlanTerminal, b: PlanTerminal) -> bool:
    return math.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) < APART_MM


def terminal_word(terminal: PlanTerminal) -> str:
    """Return what is written in a terminal: its number, or a letter or two."""
    name = terminal.key.removeprefix(terminal.owner + ".")
    if terminal.kind in ("exit", "bolt"):
        return ""
    pole, dot, throw = name.partition(".")
    if dot and throw == "common":
        return "c" if pole == "1" else f"{pole}c"
    if dot:
        return throw if pole == "1" else f"{pole}.{throw}"
    return _WORDS.get(name, name)


def terminal_box(terminal: PlanTerminal, at: Point, size: float) -> Box:
    """Return the area a terminal takes on the drawing."""
    if terminal.kind == "exit":
        return Box(*at, 1.8, 1.8)
    if terminal.kind == "bolt":
        return Box(*at, 6.0, 6.0)
    if not terminal_word(terminal):
        return Box(*at, 1.6, 1.6)
    height = size * DISC
    return Box(*at, max(height, text_width_mm(terminal_word(terminal), size) + size * 0.4), height)


def terminal_markup(terminal: PlanTerminal, at: Point, size: float, *, used: bool, faded: bool = False) -> Markup:
    """Return a terminal: a disc with its number; feet square, spare lugs gray, bolts as a hexagon."""
    box = terminal_box(terminal, at, size)
    edge = "#a8a8a8" if faded else "#000"
    children: list[Markup] = []
    if terminal.kind == "bolt":
        corners = [(at[0] + 3.0 * math.cos(math.radians(60 * k)), at[1] + 3.0 * math.sin(math.radians(60 * k)))
                   for k in range(6)]  # fmt: skip
        points = " ".join(f"{x:.2f},{y:.2f}" for x, y in corners)
        children.append(el("polygon", {"points": points, "fill": "#fff", "stroke": edge, "stroke-width": 0.35}))
        inside = el("circle", {"cx": at[0], "cy": at[1], "r": 1.3, "fill": edge})
        children.append(earth_mark((at[0], at[1] + 0.2)) if "earth" in terminal.label else inside)
    else:
        radius = 0.3 if terminal.kind == "foot" else box.height / 2.0
        children.append(
            el("rect", {"x": box.x - box.width / 2.0, "y": box.y - box.height / 2.0, "width": box.width,
                        "height": box.height, "rx": radius, "fill": "#fff" if used else "#ededed", "stroke": edge,
                        "stroke-width": 0.3 if used else 0.2})
        )  # fmt: skip
        word = terminal_word(terminal)
        if word:
            children.append(text(at, word, size, fill="#8a8a8a" if faded else "#000"))
    return group(children, class_=f"terminal {terminal.kind}", data_terminal=terminal.key, data_joint=terminal.joint)


def earth_mark(at: Point, size: float = 3.0) -> Markup:
    """Return the earth sign as a path: fonts do not all have it."""
    x, y = at
    points = [((x, y - size / 2.0), (x, y))]
    points += [((x - size * k / 2.0, y + i * size * 0.25), (x + size * k / 2.0, y + i * size * 0.25))
               for i, k in enumerate((1.0, 0.64, 0.28))]  # fmt: skip
    data = "".join(path_data(pair) for pair in points)
    return el("path", {"d": data, "fill": "none", "stroke": "#000", "stroke-width": 0.4})
