"""The wiring side: the open chassis as it lies on the bench, every part and wire where it goes."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.bodies import SeatedBody, seated_bodies
from lugwright.documents.drawings.card_regions import legs, meet
from lugwright.documents.drawings.fittings import Fittings, chassis_of
from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.label_placer import place_labels
from lugwright.documents.drawings.labels import Label, Labelled, Placed
from lugwright.documents.drawings.metal import BAND_MM, band_box, used_panels
from lugwright.documents.drawings.side_markup import SideMarkup
from lugwright.documents.drawings.svg import Markup, document, group
from lugwright.documents.drawings.terminal_points import terminal_points
from lugwright.documents.drawings.twists import twisted_routes
from lugwright.documents.drawings.wire_layers import Laying, bridges, class_groups, crossings, laying
from lugwright.documents.drawings.wire_tracks import drawn_routes
from lugwright.documents.drawings.wiring_caption import caption, caption_mm
from lugwright.documents.drawings.wiring_labels import metal_labels, obstacles, part_labels, soft_lines, wire_labels
from lugwright.layout.results import Plan
from lugwright.workorder.results import WorkOrder

TEXT_MM = 2.75  # on paper: capitals 2 mm high
TERMINAL_TEXT_MM = 2.75  # on paper: capitals 2 mm high
MOST_TERMINAL_TEXT = 3.21  # on the chassis: noval pins stand 3.67 mm apart, their discs are 1.14 times as wide
MARGIN_MM = 14.0
# Landscape, inside 10 mm margins and with room for a heading.
PAPER_MM = {"A4": (277.0, 180.0), "A3": (400.0, 267.0), "Letter": (259.0, 186.0), "Tabloid": (411.0, 249.0)}
USUAL_PAPERS = ("A4", "A3")
LEAST_SCALE, MOST_SHEETS, OVERLAP_MM = 0.865, 3, 20.0  # smaller, numbers in pins would be under 2 mm high
BESIDE_MM = 16.0  # half of the thickest body and more
CLEAR_OF_DISC_MM = 0.4  # between the end of a leader and a terminal

Window = tuple[float, float, float, float]  # x, y, width, height; mm on the chassis


@dataclass(frozen=True)
class WiringSide:
    """Everything placed, ready to be drawn whole or for one job."""

    build: Build
    plan: Plan
    fittings: Fittings
    points: Mapping[str, Point]
    routes: Mapping[int, tuple[Point, ...]]
    drawn: Mapping[int, tuple[Point, ...]]  # the routes with twisted pairs woven
    bodies: tuple[SeatedBody, ...]
    labelled: Labelled
    laid: Laying
    box: Window
    band: float  # depth of the folded-out panels on the drawing
    paper: str
    scale: float  # on paper
    sheets: tuple[Window, ...]  # x, y, width, height of each sheet's piece

    @cached_property
    def ink(self) -> SideMarkup:
        """Return what each thing looks like."""
        size = terminal_text(self.scale)
        return SideMarkup(self.build, self.plan, self.fittings, self.points, self.drawn, self.band, size)


def wiring_side(
    build: Build,
    plan: Plan,
    fittings: Fittings,
    *,
    papers: Sequence[str] = USUAL_PAPERS,
    order: WorkOrder | None = None,
) -> WiringSide:
    """Return the wiring side with every label placed, for `wiring_side_svg` and `wiring_side_sheets`.

    ``papers`` are names of `PAPER_MM`, smallest first: text is as large as the paper's scale asks. ``order`` says
    which of two wires that cross is laid later and so lies over the other.
    """
    _, scale, _ = paper_for(*_box(build, plan, 1.0)[2:], papers)
    band = BAND_MM / scale
    box = _box(build, plan, scale)
    laid = laying(plan, order)
    paper, scale, count = paper_for(box[2], box[3], papers)
    points = terminal_points(build, plan)
    bodies = seated_bodies(build, plan, points)
    routes = drawn_routes(plan, points)
    labelled = _labelled(build, plan, fittings, points, bodies, routes, laid=laid, box=box, band=band, scale=scale)
    tags = [p.box for p in labelled.placed if p.label.style == "tag" and p.pointer is None]
    drawn = twisted_routes(plan, routes, tags)
    return WiringSide(
        build,
        plan,
        fittings,
        points,
        routes,
        drawn,
        bodies,
        labelled,
        laid,
        box,
        band,
        paper,
        scale,
        sheet_windows(box, count),
    )


def _labelled(
    build: Build,
    plan: Plan,
    fittings: Fittings,
    points: dict[str, Point],
    bodies: tuple[SeatedBody, ...],
    routes: dict[int, tuple[Point, ...]],
    *,
    laid: Laying,
    box: Window,
    band: float,
    scale: float,
) -> Labelled:
    size, small = TEXT_MM / scale, terminal_text(scale)
    wires = [f"W{w.number}" for w in plan.wires]
    high = {f"W{number}" for number in laid.high}
    clear_of = obstacles(build, plan, fittings, points, bodies, small, band)
    discs = [obstacle.box.grown(CLEAR_OF_DISC_MM) for obstacle in clear_of if obstacle.key.startswith("terminal ")]
    labels: list[Label] = [
        *metal_labels(build, plan, fittings, size, band),
        *part_labels(bodies, [w for w in wires if w not in high], wires, size, discs),
        *wire_labels(plan, routes, bodies, size, discs),
    ]
    bounds = (box[0] + 1.0, box[1] + 1.0, box[0] + box[2] - 1.0, box[1] + box[3] - _caption_mm(plan, scale, box[2]))
    return place_labels(
        labels,
        clear_of,
        soft_lines(build, plan, fittings, routes, bodies),
        bounds,
    )


def terminal_text(scale: float) -> float:
    """Return the size of the numbers in lugs and pins on the drawing; pins of one socket must not touch."""
    return min(TERMINAL_TEXT_MM / scale, MOST_TERMINAL_TEXT)


def paper_for(width_mm: float, height_mm: float, papers: Sequence[str] = USUAL_PAPERS) -> tuple[str, float, int]:
    """Return paper, scale and number of sheets side by side: true size if it fits, else smaller, else cut.

    ``papers`` are those at hand, smallest first.
    """
    best = (papers[-1], 0.0, 1)
    for count in range(1, MOST_SHEETS + 1):
        part = (width_mm + (count - 1) * OVERLAP_MM) / count
        for name in papers:
            width, height = PAPER_MM[name]
            scale = round(min(1.0, width / part, height / height_mm), 3)
            if scale == 1.0 or (name == papers[-1] and scale >= LEAST_SCALE):
                return name, scale, count
            if scale > best[1] + 0.1:
                best = (name, scale, count)
    return best


def sheet_windows(box: Window, count: int) -> tuple[Window, ...]:
    """Return the pieces of the drawing that go on each sheet, left to right, overlapping a little."""
    x, y, width, height = box
    part = (width + (count - 1) * OVERLAP_MM) / count
    return tuple((round(x + k * (part - OVERLAP_MM), 2), y, round(part, 2), height) for k in range(count))


def wiring_side_sheets(side: WiringSide) -> tuple[str, ...]:
    """Return the drawing as sheets of `WiringSide.paper`, landscape, to be printed at 100 %."""
    if len(side.sheets) == 1:
        return (wiring_side_svg(side),)
    return tuple(
        _drawing(side, None, (), window, [_below(side, window, f"Sheet {k} of {len(side.sheets)}, left to right. ")])
        for k, window in enumerate(side.sheets, start=1)
    )


def _box(build: Build, plan: Plan, scale: float) -> Window:
    chassis = chassis_of(build)
    areas = [(0.0, 0.0, chassis.width_mm, chassis.depth_mm)]
    areas += [band_box(chassis, panel, BAND_MM / scale) for panel in used_panels(build)]
    low_x, low_y = min(a[0] for a in areas), min(a[1] for a in areas)
    high_x, high_y = max(a[0] + a[2] for a in areas), max(a[1] + a[3] for a in areas)
    width = high_x - low_x + 2.0 * MARGIN_MM
    return low_x - MARGIN_MM, low_y - 4.0, width, high_y - low_y + 6.0 + _caption_mm(plan, scale, width)


def _caption_mm(plan: Plan, scale: float, width_mm: float) -> float:
    """Return the height of the caption on the chassis; a wide drawing is cut, so that half its width has to do."""
    return caption_mm(plan, min(width_mm * scale, max(PAPER_MM["Letter"][0], width_mm * scale / 2.0)), TEXT_MM) / scale


def _below(side: WiringSide, box: Window, sheet: str = "") -> Markup:
    return caption(side.plan, box, side.scale, TEXT_MM, sheet)


def wiring_side_svg(
    side: WiringSide,
    *,
    only: Collection[str] | None = None,
    hidden: Collection[str] = (),
    window: Window | None = None,
    told: str = "",
    title: str = "",
) -> str:
    """Return the drawing.

    ``only`` names parts and wires ("R3", "W12") drawn full; the rest is then light gray. ``hidden`` ones are left
    out, because they are not there yet, buses too. ``window`` is x, y, width, height of the piece of the chassis to
    show. ``told`` comes first in the words below it.
    """
    captions = [] if window else [_below(side, side.box, told)]
    return _drawing(side, only, hidden, window or side.box, captions, title)


def _drawing(
    side: WiringSide,
    only: Collection[str] | None,
    hidden: Collection[str],
    box: Window,
    captions: Sequence[Markup],
    title: str = "",
) -> str:
    plan, shown, gone = side.plan, _shown(side, only), frozenset(hidden)
    seen = _Window(box)
    wires = [w for w in plan.wires if f"W{w.number}" not in gone and seen.line(side.drawn[w.number])]
    bodies = [b for b in side.bodies if b.part.name not in gone and seen.line((b.a, b.b))]
    labels = [p for p in side.labelled.placed if _is_there(p, gone) or _is_shown(p, shown - gone)]
    labels = [p for p in labels if seen.line((*p.box.corners(), *(p.leader() or ())))]
    high = side.laid.high
    upper = [w for w in wires if w.number in high]
    ink = side.ink
    drawn = {w.number: ink.wire(w, faded=f"W{w.number}" not in shown) for w in wires}
    layers = [
        _layer("metal", ink.metal),
        _layer("strips", ink.strips),
        _layer("low-wires", class_groups([w for w in wires if w.number not in high], side.laid, "low", drawn)),
        _layer("bus", [bus for name, bus in ink.buses if name not in gone]),
        _layer("parts-1", _parts(ink, [b for b in bodies if b.seat.layer == 1], shown)),
        _layer("upper-wires", [*class_groups(upper, side.laid, "upper", drawn), *_bridges(side, shown - gone)]),
        _layer("parts-2", _parts(ink, [b for b in bodies if b.seat.layer > 1], shown)),
        _layer("terminals", _terminals(side, seen, gone, shown, only)),
        _layer("labels", [ink.label(p) for p in labels]),
    ]
    title = title or f"{side.build.title}: wiring side"
    return document([*layers, *captions], box=box, scale=side.scale, title=title)


class _Window:
    """The piece of the chassis on a sheet; what lies wholly beside it is left out."""

    def __init__(self, box: Window) -> None:
        x, y, width, height = box
        self.bounds = x - BESIDE_MM, y - BESIDE_MM, x + width + BESIDE_MM, y + height + BESIDE_MM

    def line(self, points: Sequence[Point]) -> bool:
        """Return whether a line through these points may show."""
        return any(meet(leg, self.bounds) for leg in legs(points))


def _layer(name: str, children: Sequence[Markup]) -> Markup:
    return group(children, id=name, class_="layer")


def _parts(ink: SideMarkup, bodies: Sequence[SeatedBody], shown: frozenset[str]) -> list[Markup]:
    return [ink.body(body, faded=body.part.name not in shown) for body in bodies]


def window_around(side: WiringSide, names: Collection[str], *, margin_mm: float = 18.0) -> Window:
    """Return the piece of the drawing that shows these parts and wires with their labels and some room about them."""
    points = [p for number, route in side.routes.items() if f"W{number}" in names for p in route]
    points += [p for body in side.bodies if body.part.name in names for p in (body.a, body.b, *body.box.corners())]
    points += [c for p in side.labelled.placed if p.label.key.split(" ")[0] in names for c in p.box.corners()]
    points += [(t.x_mm, t.y_mm) for t in side.plan.terminals.values() if t.owner in names]
    if not points:
        return side.box
    low_x, low_y, width, height = side.box
    left = max(low_x, min(p[0] for p in points) - margin_mm)
    top = max(low_y, min(p[1] for p in points) - margin_mm)
    right = min(low_x + width, max(p[0] for p in points) + margin_mm)
    bottom = min(low_y + height, max(p[1] for p in points) + margin_mm)
    return round(left, 1), round(top, 1), round(right - left, 1), round(bottom - top, 1)


def _shown(side: WiringSide, only: Collection[str] | None) -> frozenset[str]:
    everything = {b.part.name for b in side.bodies} | {f"W{w.number}" for w in side.plan.wires}
    return frozenset(everything if only is None else only)


def _is_there(placed: Placed, gone: frozenset[str]) -> bool:
    """Return whether a label names what is bolted down, and that is there."""
    return placed.label.style == "bold" and placed.label.key.removeprefix("bus ") not in gone


def _is_shown(placed: Placed, shown: frozenset[str]) -> bool:
    return placed.label.key.split(" ")[0] in shown


def _bridges(side: WiringSide, full: frozenset[str]) -> list[Markup]:
    """Return what shows over and under among wires drawn full, where the layers alone show it the other way round."""
    wires = {w.number: w for w in side.plan.wires}
    there = {number: points for number, points in side.routes.items() if f"W{number}" in full}
    return bridges(crossings(there, side.laid), wires, side.laid, [b.box for b in side.bodies if b.seat.layer == 1])


def _terminals(
    side: WiringSide, seen: _Window, gone: frozenset[str], shown: frozenset[str], only: Collection[str] | None
) -> list[Markup]:
    found = []
    for key, terminal in side.plan.terminals.items():
        leads = side.plan.leads_at(key)
        if (terminal.kind == "bus" and (terminal.owner in gone or not leads)) or not seen.line((side.points[key],) * 2):
            continue
        faded = only is not None and not any(lead.split(".")[0].split(" ")[0] in shown for lead in leads)
        found.append(side.ink.terminal(terminal, used=bool(terminal.joint), faded=faded))
    return found
