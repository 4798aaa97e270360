"""The top side: the chassis as it stands, from above, with what is bolted to it there; the other side dashed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from lugwright.buildfile.build import Bridge, Build, Can, Chassis, Part, Placement, Tube
from lugwright.documents.drawings.fittings import Fittings, Standing, chassis_of, standing_transformers
from lugwright.documents.drawings.geometry import Box, Point
from lugwright.documents.drawings.label_markup import label_markup
from lugwright.documents.drawings.label_placer import place_labels
from lugwright.documents.drawings.labels import Label, Obstacle, texts
from lugwright.documents.drawings.metal import (
    BAND_MM,
    BRIDGE_MM,
    METAL,
    band_box,
    band_point,
    ears,
    key_arrow,
    panel_body,
    strip_box,
    used_panels,
)
from lugwright.documents.drawings.svg import Markup, circle, document, el, group, num, rect, text
from lugwright.documents.drawings.terminal_points import terminal_points
from lugwright.documents.drawings.wiring_labels import area_label, metal_labels, obstacles
from lugwright.layout.results import Plan

SIZE = 2.75  # capitals 2 mm high
MARGIN_MM, CAPTION_MM = 8.0, 13.0
DASH, UNDER = "2 1.2", "#7a7a7a"
SCREW_MM, GROMMET_MM = 5.5, 9.0
KEY_IN_MM = 2.0  # from the edge of a socket's hole to where the arrow at its key begins: the name stands in the middle
WORDS = (
    "TOP SIDE: the chassis as it stands, from above, front panel toward you. What is dashed is on the other side.",
    "A transformer is drawn about its place and its lead hole; its real size is on the part.",
)
_OTHER = {"left": "right", "right": "left"}


def top_side_svg(build: Build, plan: Plan, fittings: Fittings) -> str:
    """Return the top side; it is the wiring side turned over about its front edge, left and right exchanged."""
    over, turned = _turned_over(build), _turned_plan(build, plan)
    chassis = chassis_of(build)
    box = _box(over, chassis)
    children = [
        group(_metal(over, chassis), id="metal", class_="layer"),
        group(_under(over, fittings), id="under", class_="layer"),
        group(_standing(over, turned, fittings), id="standing", class_="layer"),
        group(_labels(over, turned, fittings, box), id="labels", class_="layer"),
        *(
            text((box[0] + 3.0, box[1] + box[3] - CAPTION_MM + 4.0 + 4.6 * k), words, SIZE, anchor="start")
            for k, words in enumerate(WORDS)
        ),
    ]
    return document(children, box=box, title=f"{build.title}: top side")


def _turned_over(build: Build) -> Build:
    """Return the build with everything where it is seen from above."""
    width = chassis_of(build).width_mm

    def place(placement: Placement) -> Placement:
        sideways = placement.panel in _OTHER
        at = placement.at if sideways else (width - placement.at[0], placement.at[1])
        return replace(placement, at=at, turn=-placement.turn, panel=_OTHER.get(placement.panel, placement.panel))

    strips = tuple(replace(s, at=(width - s.at[0], s.at[1]), turn=(180.0 - s.turn) % 360.0) for s in build.strips)
    placements = {name: place(placement) for name, placement in build.placements.items()}
    return replace(build, placements=placements, strips=strips, buses=(), stars=())


def _turned_plan(build: Build, plan: Plan) -> Plan:
    """Return the terminals where they are seen from above; nothing hangs between them on this side."""
    width = chassis_of(build).width_mm
    turned = {key: replace(t, x_mm=width - t.x_mm) for key, t in plan.terminals.items()}
    return replace(plan, terminals=turned, seats=(), wires=())


def _box(build: Build, chassis: Chassis) -> tuple[float, float, float, float]:
    areas = [(0.0, 0.0, chassis.width_mm, chassis.depth_mm)]
    areas += [band_box(chassis, panel, BAND_MM) for panel in used_panels(build)]
    low_x, low_y = min(a[0] for a in areas) - MARGIN_MM, min(a[1] for a in areas) - MARGIN_MM
    right, bottom = max(a[0] + a[2] for a in areas), max(a[1] + a[3] for a in areas)
    return low_x, low_y, right - low_x + MARGIN_MM, bottom - low_y + CAPTION_MM


def _metal(build: Build, chassis: Chassis) -> Iterator[Markup]:
    yield rect((0.0, 0.0), (chassis.width_mm, chassis.depth_mm), fill=METAL, width=0.6)
    for panel in used_panels(build):
        x, y, width, height = band_box(chassis, panel, BAND_MM)
        yield group([rect((x, y), (width, height), fill=METAL, width=0.4)], class_="panel", data_panel=panel)


def _under(build: Build, fittings: Fittings) -> Iterator[Markup]:
    """Yield what is below the plate: strips with the screws of their feet, what reaches in from the panels."""
    for strip in build.strips:
        row = fittings.strips[strip.type]
        yield group([_dashed(strip_box(strip, row.pitch_mm, row.board_width_mm))], data_strip=strip.name)
    chassis = chassis_of(build)
    for name, fitting in fittings.panel.items():
        placement = build.placements.get(name)
        if placement is not None:
            yield group([_dashed(panel_body(chassis, placement, fitting))], data_part=name)


def _dashed(box: Box) -> Markup:
    corner = (box.x - box.width / 2.0, box.y - box.height / 2.0)
    outline = rect(corner, (box.width, box.height), stroke=UNDER, width=0.3, radius=0.8, dash=DASH)
    return el("g", {"transform": f"rotate({num(box.turn)} {num(box.x)} {num(box.y)})"}, outline)


def _standing(build: Build, plan: Plan, fittings: Fittings) -> Iterator[Markup]:
    chassis = chassis_of(build)
    for part in build.parts:
        placement = build.placements.get(part.name)
        if placement is not None:
            yield from _part(chassis, part, placement, fittings)
    for standing in standing_transformers(build, plan):
        yield _transformer(standing)
    for strip in build.strips:
        feet = [plan.terminals[f"{strip.name}.{foot}"] for foot in strip.feet]
        screws = [_screw((foot.x_mm, foot.y_mm)) for foot in feet]
        yield group(screws, class_="feet", data_strip=strip.name)
    for terminal in plan.terminals.values():
        if terminal.kind == "bolt":
            at = (terminal.x_mm, terminal.y_mm)
            yield group([_screw(at)], class_="bolt", data_terminal=terminal.key, data_joint=terminal.joint)


def _screw(at: Point) -> Markup:
    """Return the head of a screw with its slot."""
    slot = rect((at[0] - 1.9, at[1] - 0.3), (3.8, 0.6), fill="#333", stroke="none")
    return group([circle(at, SCREW_MM / 2.0, fill="#fff", width=0.35), slot])


def _part(chassis: Chassis, part: Part, placement: Placement, fittings: Fittings) -> Iterator[Markup]:
    if part.name in fittings.panel:
        at = placement.at if placement.panel == "plate" else band_point(chassis, placement, BAND_MM)
        radius = min(fittings.panel[part.name].hole_mm / 2.0, 4.6)
        yield group([circle(at, radius, fill="#fff", width=0.4)], class_="panel-part", data_part=part.name)
    elif isinstance(part.values, Tube):
        row = fittings.sockets[part.values.socket]
        screws = [circle((ear.x, ear.y), ear.width / 2.0, fill="#fff") for ear in ears(placement, row)]
        disc = circle(placement.at, row.hole_mm / 2.0, fill="#fdfcf7", width=0.5)
        arrow = key_arrow(placement, row.hole_mm / 2.0 - KEY_IN_MM)
        yield group([disc, *screws, arrow], class_="socket", data_part=part.name)
    elif isinstance(part.values, Can):
        ring = circle(placement.at, part.values.body.diameter_mm / 2.0, fill="#dfe5ea", width=0.5)
        yield group([ring], class_="can", data_part=part.name)
    elif isinstance(part.values, Bridge):
        corner = (placement.at[0] - BRIDGE_MM / 2.0, placement.at[1] - BRIDGE_MM / 2.0)
        outline = rect(corner, (BRIDGE_MM, BRIDGE_MM), stroke=UNDER, radius=1.0, dash=DASH)
        yield group([outline], data_part=part.name)


def _transformer(standing: Standing) -> Markup:
    box = standing.outline()
    corner = (box.x - box.width / 2.0, box.y - box.height / 2.0)
    body = rect(corner, (box.width, box.height), fill="#e3e3e0", width=0.5, radius=1.5)
    turned = el("g", {"transform": f"rotate({num(box.turn)} {num(box.x)} {num(box.y)})"}, body)
    hole = circle(standing.grommet, GROMMET_MM / 2.0, stroke=UNDER, dash=DASH)
    return group([turned, hole], class_="transformer", data_part=standing.part.name)


def _labels(build: Build, plan: Plan, fittings: Fittings, box: tuple[float, float, float, float]) -> Iterator[Markup]:
    points = terminal_points(build, plan)
    bare = replace(plan, terminals={key: t for key, t in plan.terminals.items() if t.kind == "bolt"})
    blocked = list(obstacles(build, bare, fittings, points, (), SIZE, BAND_MM))
    blocked = [obstacle for obstacle in blocked if not obstacle.key.startswith("panel part")]
    standing = {each.part.name: each for each in standing_transformers(build, plan)}
    blocked += [
        Obstacle(f"foot {strip.name}.{foot}", _around(plan, f"{strip.name}.{foot}"))
        for strip in build.strips for foot in strip.feet
    ]  # fmt: skip
    blocked += [Obstacle(f"part {name}", each.outline()) for name, each in standing.items()]
    labels = [_named(label, standing) for label in metal_labels(build, plan, fittings, SIZE, BAND_MM)]
    bounds = (box[0], box[1], box[0] + box[2], box[1] + box[3] - CAPTION_MM)
    for placed in place_labels(labels, blocked, (), bounds).placed:
        yield label_markup(placed)


def _around(plan: Plan, key: str) -> Box:
    terminal = plan.terminals[key]
    return Box(terminal.x_mm, terminal.y_mm, SCREW_MM, SCREW_MM)


def _named(label: Label, standing: Mapping[str, Standing]) -> Label:
    """Return the label as it is from above: a transformer stands here, not on the other side."""
    name = label.key.removeprefix("name ")
    if name not in standing:
        return label
    part = standing[name].part
    words = texts((name, part.kind), name)
    inside = area_label(name, words, standing[name].at, standing[name].half_mm, SIZE)
    return replace(inside, own=frozenset({f"part {name}"}))
