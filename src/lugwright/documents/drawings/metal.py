"""Chassis, folded-out panels, sockets, strips, cans, transformers: what is bolted down before any wire."""

from __future__ import annotations

import math
from collections.abc import Iterable

from lugwright.buildfile.build import Bridge, Build, Can, Chassis, Part, Placement, Strip, Tube
from lugwright.catalogue.records import PanelPart, SocketType
from lugwright.documents.drawings.fittings import PANELS, Fittings, Standing, chassis_of, standing_transformers
from lugwright.documents.drawings.geometry import Box, Point, unit
from lugwright.documents.drawings.svg import Markup, circle, el, group, line, path_data, rect
from lugwright.layout.results import Plan

METAL = "#f7f7f5"
STAR_SCREW_MM = 7.0  # head of an M4 screw
BAND_MM = 22.0  # a hole and a name of three lines
BRIDGE_MM = 15.0


def used_panels(build: Build) -> tuple[str, ...]:
    """Return the panels something stands on."""
    return tuple(panel for panel in PANELS if any(p.panel == panel for p in build.placements.values()))


def band_box(chassis: Chassis, panel: str, band: float) -> tuple[float, float, float, float]:
    """Return x, y, width, height of a folded-out panel."""
    gap = 1.5
    return {
        "front": (0.0, chassis.depth_mm + gap, chassis.width_mm, band),
        "rear": (0.0, -gap - band, chassis.width_mm, band),
        "left": (-gap - band, 0.0, band, chassis.depth_mm),
        "right": (chassis.width_mm + gap, 0.0, band, chassis.depth_mm),
    }[panel]


def band_point(chassis: Chassis, placement: Placement, band: float) -> Point:
    """Return where a panel part's hole is drawn on its band."""
    x, y, width, height = band_box(chassis, placement.panel, band)
    depth = 6.0
    return {
        "front": (placement.at[0], y + depth),
        "rear": (placement.at[0], y + height - depth),
        "left": (x + width - depth, placement.at[0]),
        "right": (x + depth, placement.at[0]),
    }[placement.panel]


def panel_body(chassis: Chassis, placement: Placement, row: PanelPart) -> Box:
    """Return the room a panel part takes over the plate."""
    along, depth = placement.at[0], row.depth_mm
    return {
        "front": Box(along, chassis.depth_mm - depth / 2.0, row.width_mm, depth),
        "rear": Box(along, depth / 2.0, row.width_mm, depth),
        "left": Box(depth / 2.0, along, depth, row.width_mm),
        "right": Box(chassis.width_mm - depth / 2.0, along, depth, row.width_mm),
        "plate": Box(placement.at[0], placement.at[1], row.width_mm, row.width_mm),
    }[placement.panel]


def strip_box(strip: Strip, pitch_mm: float, width_mm: float) -> Box:
    """Return the board of a strip."""
    ux, uy = unit(strip.turn)
    half = (strip.lugs - 1) * pitch_mm / 2.0
    length = (strip.lugs - 1) * pitch_mm + min(pitch_mm, 6.5)
    return Box(strip.at[0] + ux * half, strip.at[1] + uy * half, length, width_mm, strip.turn)


def metal_markup(build: Build, plan: Plan, fittings: Fittings, band: float) -> list[Markup]:
    """Return the metal: plate, bands, outlines of everything that is bolted to it."""
    chassis = chassis_of(build)
    found = [rect((0.0, 0.0), (chassis.width_mm, chassis.depth_mm), fill=METAL, width=0.6)]
    for panel in used_panels(build):
        x, y, width, height = band_box(chassis, panel, band)
        found.append(group([rect((x, y), (width, height), fill=METAL, width=0.4)], class_="panel", data_panel=panel))
    found += [_transformer(standing) for standing in standing_transformers(build, plan)]
    for part in build.parts:
        placement = build.placements.get(part.name)
        if placement is not None:
            found += _standing_part(chassis, part, placement, fittings, band)
    return [*found, *_stars(build, plan), *_sockets(build, fittings)]


def _stars(build: Build, plan: Plan) -> list[Markup]:
    """Return each star: its screw, and the ring on which its lugs stand."""
    found = []
    for star in build.stars:
        lugs = [(t.x_mm, t.y_mm) for t in plan.terminals.values() if t.owner == star.name]
        rays = [line(star.at, lug, width=0.6) for lug in lugs]
        screw = circle(star.at, STAR_SCREW_MM / 2.0, fill="#fff", width=0.4)
        found.append(group([*rays, screw], class_="star", data_star=star.name, data_joint=star.joint))
    return found


def _standing_part(
    chassis: Chassis, part: Part, placement: Placement, fittings: Fittings, band: float
) -> Iterable[Markup]:
    if part.name in fittings.panel:
        yield _panel_part(chassis, part, placement, fittings.panel[part.name], band)
    elif isinstance(part.values, Can):
        ring = circle(placement.at, part.values.body.diameter_mm / 2.0, fill="#eef1f4", width=0.35)
        yield group([ring], class_="can", data_part=part.name)
    elif isinstance(part.values, Bridge):
        corner = (placement.at[0] - BRIDGE_MM / 2.0, placement.at[1] - BRIDGE_MM / 2.0)
        yield group([rect(corner, (BRIDGE_MM, BRIDGE_MM), fill="#e6e6e6", radius=1.0)], data_part=part.name)


def _panel_part(chassis: Chassis, part: Part, placement: Placement, row: PanelPart, band: float) -> Markup:
    box = panel_body(chassis, placement, row)
    corner = (box.x - box.width / 2.0, box.y - box.height / 2.0)
    body = rect(corner, (box.width, box.height), fill="#e9edf0", stroke="#555", width=0.3, radius=1.2)
    found = [body]
    if placement.panel != "plate":
        at = band_point(chassis, placement, band)
        radius = min(row.hole_mm / 2.0, 4.6)
        found += [circle(at, radius, fill="#fff", width=0.35), *_cross(at, radius + 1.0)]
    return group(found, class_="panel-part", data_part=part.name)


def _cross(at: Point, reach: float) -> list[Markup]:
    x, y = at
    return [line((x - reach, y), (x + reach, y), width=0.15), line((x, y - reach), (x, y + reach), width=0.15)]


def ears(placement: Placement, row: SocketType) -> list[Box]:
    """Return the two fixing holes of a socket, across the line from key to center: an assumption."""
    (x, y), (ux, uy) = placement.at, unit(placement.turn)
    offs = [sign * row.fixing_centers_mm / 2.0 for sign in (-1.0, 1.0)]
    return [Box(x + ux * off, y + uy * off, row.fixing_hole_mm, row.fixing_hole_mm) for off in offs]


def socket_ears(build: Build, fittings: Fittings) -> list[tuple[str, Box]]:
    """Return the fixing holes of every socket."""
    found = []
    for part in build.parts:
        placement = build.placements.get(part.name)
        if isinstance(part.values, Tube) and placement is not None:
            found += [(part.name, box) for box in ears(placement, fittings.sockets[part.values.socket])]
    return found


def _sockets(build: Build, fittings: Fittings) -> list[Markup]:
    ears = socket_ears(build, fittings)
    found = []
    for part in build.parts:
        placement = build.placements.get(part.name)
        if isinstance(part.values, Tube) and placement is not None:
            row = fittings.sockets[part.values.socket]
            holes = [circle((box.x, box.y), box.width / 2.0, fill="#fff") for name, box in ears if name == part.name]
            disc = circle(placement.at, row.hole_mm / 2.0, fill="#fdfcf7", width=0.4)
            key = key_arrow(placement, row.pin_circle_mm / 2.0 - 3.4)
            found.append(group([disc, *holes, key], class_="socket", data_part=part.name))
    return found


def key_arrow(placement: Placement, reach: float) -> Markup:
    """Return a small arrow that points at the key or gap."""
    (x, y), (ux, uy) = placement.at, unit(placement.turn)
    out, side = (uy, -ux), (ux, uy)
    base = [(x + out[0] * (reach - 0.8) + side[0] * s, y + out[1] * (reach - 0.8) + side[1] * s) for s in (-1.2, 1.2)]
    tip = (x + out[0] * (reach + 1.2), y + out[1] * (reach + 1.2))
    return el("path", {"d": path_data([tip, *base], closed=True), "fill": "#000"})


def _transformer(standing: Standing) -> Markup:
    (x, y), half = standing.at, standing.half_mm
    place = f"rotate({standing.turn:g} {x:g} {y:g})"
    outline = rect((x - half * 1.15, y - half), (half * 2.3, half * 2.0), stroke="#777", width=0.35, dash="3 1.6",
                   radius=1.5)  # fmt: skip
    exits = standing.exits
    span = max(math.dist((exits[0].x_mm, exits[0].y_mm), (exits[-1].x_mm, exits[-1].y_mm)), 0.0)
    grommet_x, grommet_y = standing.grommet
    (ex, ey), (fx, fy) = (exits[0].x_mm, exits[0].y_mm), (exits[-1].x_mm, exits[-1].y_mm)
    turn = math.degrees(math.atan2(fy - ey, fx - ex)) if span > 0 else 0.0
    oval = el(
        "rect",
        {"x": grommet_x - span / 2.0 - 2.4, "y": grommet_y - 2.4, "width": span + 4.8, "height": 4.8, "rx": 2.4,
         "fill": "#d8d8d8", "stroke": "#222", "stroke-width": 0.5,
         "transform": f"rotate({turn:.2f} {grommet_x:.2f} {grommet_y:.2f})"},
    )  # fmt: skip
    return group([el("g", {"transform": place}, outline), oval], class_="transformer", data_part=standing.part.name)


def strips_markup(build: Build, fittings: Fittings) -> list[Markup]:
    """Return the boards of all terminal strips."""
    found = []
    for strip in build.strips:
        row = fittings.strips[strip.type]
        box = strip_box(strip, row.pitch_mm, row.board_width_mm)
        board = el(
            "rect",
            {"x": box.x - box.width / 2.0, "y": box.y - box.height / 2.0, "width": box.width, "height": box.height,
             "rx": 0.8, "fill": "#e7d3b1", "stroke": "#5b4a2c", "stroke-width": 0.3,
             "transform": f"rotate({strip.turn:g} {box.x:.2f} {box.y:.2f})"},
        )  # fmt: skip
        found.append(group([board], class_="strip", data_strip=strip.name))
    return found


def buses_markup(build: Build) -> list[Markup]:
    """Return the bare ground wires."""
    return [
        group(
            [
                el("path", {"d": path_data(bus.points), "fill": "none", "stroke": ink, "stroke-width": width})
                for ink, width in (("#fff", 3.0), ("#111", 2.0), ("#cfc8ba", 1.4))
            ],
            class_="bus", data_bus=bus.name, data_joint=bus.joint,
        )
        for bus in build.buses
    ]  # fmt: skip
