"""The wiring side: the open chassis as it lies on the bench, every part and wire where it goes."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.bodies import SeatedBody, body_markup, seated_bodies
from lugwright.documents.drawings.fittings import Fittings, chassis_of
from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.label_markup import label_markup
from lugwright.documents.drawings.label_placer import place_labels
from lugwright.documents.drawings.labels import Label, Labelled, Placed
from lugwright.documents.drawings.metal import BAND_MM, band_box, buses_markup, metal_markup, strips_markup, used_panels
from lugwright.documents.drawings.svg import Markup, document, group, line, text
from lugwright.documents.drawings.terminal_points import terminal_markup, terminal_points
from lugwright.documents.drawings.wire_tracks import drawn_routes
from lugwright.documents.drawings.wires import wire_markup
from lugwright.documents.drawings.wiring_labels import metal_labels, obstacles, part_labels, soft_lines, wire_labels
from lugwright.layout.results import Plan, Wire

TEXT_MM = 2.5  # on paper
TERMINAL_TEXT_MM = 2.0  # on paper
MARGIN_MM = 14.0
CAPTION_MM = 9.0
PAPER_MM = {"A4": (277.0, 180.0), "A3": (400.0, 267.0)}  # landscape, inside the margins and a caption
HIGH_LANE_MM = 8.5


@dataclass(frozen=True)
class WiringSide:
    """Everything placed, ready to be drawn whole or for one job."""

    build: Build
    plan: Plan
    fittings: Fittings
    points: Mapping[str, Point]
    routes: Mapping[int, tuple[Point, ...]]
    bodies: tuple[SeatedBody, ...]
    labelled: Labelled
    box: tuple[float, float, float, float]
    band: float  # depth of the folded-out panels on the drawing
    paper: str
    scale: float


def wiring_side(build: Build, plan: Plan, fittings: Fittings) -> WiringSide:
    """Return the wiring side with every label placed; draw it with `wiring_side_svg`."""
    paper, scale = paper_for(*_box(build, BAND_MM)[2:])
    band = BAND_MM / scale
    box = _box(build, band)
    paper, scale = paper_for(box[2], box[3])
    points = terminal_points(build, plan)
    bodies = seated_bodies(build, plan, points)
    routes = drawn_routes(plan, points)
    size, small = TEXT_MM / scale, TERMINAL_TEXT_MM / scale
    labels: list[Label] = [
        *metal_labels(build, plan, fittings, size, band),
        *part_labels(bodies, size),
        *wire_labels(plan, routes, bodies, size),
    ]
    bounds = (box[0] + 1.0, box[1] + 1.0, box[0] + box[2] - 1.0, box[1] + box[3] - CAPTION_MM / scale)
    labelled = place_labels(
        labels,
        obstacles(build, plan, fittings, points, bodies, small, band),
        soft_lines(build, plan, fittings, routes, bodies),
        bounds,
    )
    return WiringSide(build, plan, fittings, points, routes, bodies, labelled, box, band, paper, scale)


def paper_for(width_mm: float, height_mm: float) -> tuple[str, float]:
    """Return the smallest paper that takes the drawing at true size, else A3 and the scale that fits."""
    for name, (width, height) in PAPER_MM.items():
        if width_mm <= width and height_mm <= height:
            return name, 1.0
    width, height = PAPER_MM["A3"]
    return "A3", round(min(width / width_mm, height / height_mm), 3)


def _box(build: Build, band: float) -> tuple[float, float, float, float]:
    chassis = chassis_of(build)
    areas = [(0.0, 0.0, chassis.width_mm, chassis.depth_mm)]
    areas += [band_box(chassis, panel, band) for panel in used_panels(build)]
    low_x, low_y = min(a[0] for a in areas), min(a[1] for a in areas)
    high_x, high_y = max(a[0] + a[2] for a in areas), max(a[1] + a[3] for a in areas)
    return (
        low_x - MARGIN_MM, low_y - 5.0, high_x - low_x + 2.0 * MARGIN_MM, high_y - low_y + 8.0 + CAPTION_MM,
    )  # fmt: skip


def wiring_side_svg(side: WiringSide, *, only: Collection[str] | None = None) -> str:
    """Return the drawing. ``only`` names parts and wires ("R3", "W12") drawn full; the rest is then light gray."""
    plan, size = side.plan, TERMINAL_TEXT_MM / side.scale
    shown = _shown(side, only)
    low = [w for w in plan.wires if not _is_high(w)]
    high = [w for w in plan.wires if _is_high(w)]
    first = [b for b in side.bodies if b.seat.layer == 1]
    later = [b for b in side.bodies if b.seat.layer > 1]
    layers = [
        group(metal_markup(side.build, plan, side.fittings, side.band), id="metal", class_="layer"),
        group(strips_markup(side.build, side.fittings), id="strips", class_="layer"),
        group(_wires(side, low, shown), id="low-wires", class_="layer"),
        group(buses_markup(side.build), id="bus", class_="layer"),
        group([body_markup(b, faded=b.part.name not in shown) for b in first], id="parts-1", class_="layer"),
        group(_wires(side, high, shown), id="upper-wires", class_="layer"),
        group([body_markup(b, faded=b.part.name not in shown) for b in later], id="parts-2", class_="layer"),
        group(_terminals(side, size, shown, only), id="terminals", class_="layer"),
        group([label_markup(p, faded=not _is_shown(p, shown)) for p in side.labelled.placed
               if only is None or p.label.style == "bold" or _is_shown(p, shown)], id="labels", class_="layer"),
        _caption(side),
    ]  # fmt: skip
    return document(layers, box=side.box, scale=side.scale, title=f"{side.build.title}: wiring side")


def _shown(side: WiringSide, only: Collection[str] | None) -> frozenset[str]:
    everything = {b.part.name for b in side.bodies} | {f"W{w.number}" for w in side.plan.wires}
    return frozenset(everything if only is None else only)


def _is_shown(placed: Placed, shown: frozenset[str]) -> bool:
    return placed.label.style == "bold" or placed.label.key.split(" ")[0] in shown


def _is_high(wire: Wire) -> bool:
    over_parts = any(not name.removeprefix("W").isdigit() for name in wire.lies_over)
    return over_parts or max(z for _, _, z in wire.route[1:-1] or wire.route) > HIGH_LANE_MM


def _wires(side: WiringSide, wires: Sequence[Wire], shown: frozenset[str]) -> list[Markup]:
    order = sorted(wires, key=lambda w: (max(z for _, _, z in w.route[1:-1] or w.route), w.number))
    return [wire_markup(w, side.routes[w.number], faded=f"W{w.number}" not in shown) for w in order]


def _terminals(side: WiringSide, size: float, shown: frozenset[str], only: Collection[str] | None) -> list[Markup]:
    found = []
    for key, terminal in side.plan.terminals.items():
        leads = side.plan.leads_at(key)
        if terminal.kind == "bus" and not leads:
            continue
        faded = only is not None and not any(lead.split(".")[0] in shown for lead in leads)
        found.append(terminal_markup(terminal, side.points[key], size, used=bool(terminal.joint), faded=faded))
    return found


def _caption(side: WiringSide) -> Markup:
    x, y, width, height = side.box
    size = TEXT_MM / side.scale
    base = y + height - 3.2 / side.scale
    words = (
        "WIRING SIDE: open side up, front panel toward you. Pins count clockwise. Panels folded out, heights not shown."
    )
    bar_end = x + width - 4.0
    ticks = [line((bar_end - k, base - 1.2), (bar_end - k, base + 1.2), width=0.3) for k in (50.0, 0.0)]
    return group(
        [
            text((x + 4.0, base), words, size, anchor="start"),
            line((bar_end - 50.0, base), (bar_end, base), width=0.5),
            *ticks,
            text((bar_end - 53.0, base), "50 mm", size, anchor="end"),
        ],
        id="caption",
    )
