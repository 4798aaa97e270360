"""Which labels the wiring side carries, and what they must keep clear of."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise

from lugwright.buildfile.build import Build, Can, Jack, Part, Pot, Switch, Tube
from lugwright.documents.drawings.bodies import SeatedBody, short_value
from lugwright.documents.drawings.fittings import Fittings, chassis_of, standing_transformers
from lugwright.documents.drawings.geometry import Box, Point, along, point_in_box, unit, upright
from lugwright.documents.drawings.label_placer import Soft
from lugwright.documents.drawings.labels import Label, Obstacle, Spot, texts
from lugwright.documents.drawings.metal import band_box, band_point, panel_body, socket_ears, strip_box, used_panels
from lugwright.documents.drawings.terminal_points import terminal_box
from lugwright.layout.results import Plan, Wire

STAR_RADIUS_MM = 13.0  # of its lugs, and a little air
FRAME_MM = 0.6  # of the line round the plate and a panel
SHORT_MM = 12.0  # places on a wire shorter than this are tried closer together
ACROSS_DISC_COST = 7.0  # of a leader line that runs across the number of a terminal
NAMES_APART_MM = 0.8  # half the air between the names of neighbors on a panel
SECOND_TAG_MM = 90.0  # a wire drawn longer than this has a number near each end


def obstacles(
    build: Build,
    plan: Plan,
    fittings: Fittings,
    points: Mapping[str, Point],
    bodies: Sequence[SeatedBody],
    size: float,
    band: float,
) -> list[Obstacle]:
    """Return everything a label may not cover."""
    found = [Obstacle(f"part {body.part.name}", body.box) for body in bodies]
    used = {key for key in plan.terminals if plan.leads_at(key)}
    for key, terminal in plan.terminals.items():
        if terminal.kind != "bus" or key in used:
            found.append(Obstacle(f"terminal {key}", terminal_box(terminal, points[key], size), ACROSS_DISC_COST))
    found += [Obstacle(f"fixing hole of {name}", box) for name, box in socket_ears(build, fittings)]
    chassis = chassis_of(build)
    frames = [(0.0, 0.0, chassis.width_mm, chassis.depth_mm)]
    frames += [band_box(chassis, panel, band) for panel in used_panels(build)]
    found += [Obstacle(f"frame {k}", box) for k, frame in enumerate(frames) for box in _edges(*frame)]
    for name, row in fittings.panel.items():
        placement = build.placements.get(name)
        if placement is not None:
            found.append(Obstacle(f"panel part {name}", panel_body(chassis, placement, row)))
            if placement.panel != "plate":
                hole = min(row.hole_mm, 9.2) + 1.0
                found.append(Obstacle(f"hole of {name}", Box(*band_point(chassis, placement, band), hole, hole)))
    return found


def _edges(x: float, y: float, width: float, height: float) -> list[Box]:
    """Return the four lines of a frame."""
    middle_x, middle_y = x + width / 2.0, y + height / 2.0
    return [
        *(Box(middle_x, edge, width, FRAME_MM) for edge in (y, y + height)),
        *(Box(edge, middle_y, FRAME_MM, height) for edge in (x, x + width)),
    ]


def soft_lines(
    build: Build,
    plan: Plan,
    fittings: Fittings,
    routes: Mapping[int, Sequence[Point]],
    bodies: Sequence[SeatedBody],
) -> list[Soft]:
    """Return the lines a label had better not cover: wires, leads, rims, outlines."""
    found = [Soft(f"W{number}", a, b) for number, points in routes.items() for a, b in pairwise(points)]
    for body in bodies:
        tail, head = body.ends
        found += [Soft(f"lead {body.part.name}", body.a, tail), Soft(f"lead {body.part.name}", head, body.b)]
    for part in build.parts:
        placement = build.placements.get(part.name)
        if isinstance(part.values, Tube) and placement is not None:
            rim = _ring(placement.at, fittings.sockets[part.values.socket].hole_mm / 2.0)
            found += [Soft(f"socket {part.name}", a, b) for a, b in pairwise(rim)]
    for standing in standing_transformers(build, plan):
        corners = standing.outline().corners()
        found += [Soft(f"outline {standing.part.name}", a, b) for a, b in pairwise((*corners, corners[0]))]
    for strip in build.strips:
        row = fittings.strips[strip.type]
        corners = strip_box(strip, row.pitch_mm, row.board_width_mm).corners()
        found += [Soft(f"board {strip.name}", a, b) for a, b in pairwise((*corners, corners[0]))]
    for bus in build.buses:
        found += [Soft(f"bus {bus.name}", a, b) for a, b in pairwise(bus.points)]
    return found


def _ring(at: Point, radius: float) -> list[Point]:
    angles = (math.pi * k / 8.0 for k in range(17))
    return [(at[0] + radius * math.cos(a), at[1] + radius * math.sin(a)) for a in angles]


def wire_labels(
    plan: Plan,
    routes: Mapping[int, Sequence[Point]],
    bodies: Sequence[SeatedBody],
    size: float,
    discs: Sequence[Box] = (),
) -> Iterator[Label]:
    """Yield a number tag for every wire, two for a long one; a leader does not end on a terminal's disc."""
    own = [body.box for body in bodies]
    covers = [*own, *discs]
    for wire in plan.wires:
        length = sum(math.dist(a, b) for a, b in pairwise(routes[wire.number]))
        places = along(routes[wire.number], 1.0 if length > SHORT_MM else 0.25)
        if length > SECOND_TAG_MM:
            half = len(places) // 2
            yield _wire_label(wire, places[:half], covers, own, size, "near", wanted=min(14, half // 2))
            yield _wire_label(wire, places[half:][::-1], covers, own, size, "far", wanted=min(14, half // 2))
        else:
            yield _wire_label(wire, places, covers, own, size, "", wanted=len(places) // 2)


def _wire_label(
    wire: Wire,
    places: list[tuple[Point, float]],
    covers: Sequence[Box],
    bodies: Sequence[Box],
    size: float,
    end: str,
    *,
    wanted: int,
) -> Label:
    order = sorted(range(len(places)), key=lambda i: (abs(i - wanted), i))
    spots = [
        Spot(round(x, 2), round(y, 2), round(upright(turn), 1), round(0.08 * abs(i - wanted), 2))
        for i in order
        for (x, y), turn in (places[i],)
    ]
    inner = [places[i][0] for i in order]
    # Under a body only the ends show, in their discs; with a body over both, the ends are farthest from its name.
    reached = _open(inner, covers) or _open(inner, bodies) or inner[::-1]
    anchors = reached[:: max(1, len(reached) // 6)]
    return Label(
        f"W{wire.number}{' ' + end if end else ''}", texts(str(wire.number)), size, tuple(spots), tuple(anchors),
        frozenset({f"W{wire.number}"}), "tag", 6, 0.3,
    )  # fmt: skip


def _open(points: Sequence[Point], covers: Sequence[Box]) -> list[Point]:
    """Return the points that nothing covers."""
    if not points:
        return []
    near = _near(points, covers)
    return [p for p in points if not any(point_in_box(p, box) for box in near)]


def _near(points: Sequence[Point], boxes: Sequence[Box]) -> list[Box]:
    """Return the boxes that can hold one of the points."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    least_x, most_x, least_y, most_y = min(xs), max(xs), min(ys), max(ys)
    found = []
    for box in boxes:
        low_x, low_y, high_x, high_y = box.bounds()
        if low_x <= most_x and high_x >= least_x and low_y <= most_y and high_y >= least_y:
            found.append(box)
    return found


def part_labels(
    bodies: Sequence[SeatedBody],
    low_wires: Collection[str],
    wires: Collection[str],
    size: float,
    discs: Sequence[Box] = (),
) -> Iterator[Label]:
    """Yield the name of every seated part, with its value where the body has room for it.

    ``low_wires`` lie under all parts, all ``wires`` under parts of the second layer and up.
    """
    for index, body in enumerate(bodies):
        above = [b.box for b in bodies[index + 1 :]]
        over = [*above, *discs]
        beneath = frozenset(wires if body.seat.layer > 1 else low_wires) | {
            f"lead {lower.part.name}" for lower in bodies[: index + 1]
        }
        name, value = body.part.name, short_value(body.part)
        longer = [(f"{name} {value}",), (name, value)] if value else []
        turn = round(upright(body.box.turn), 1)
        ux, uy = unit(body.box.turn)
        reach = body.writing.width / 2.0
        spots = []
        for step in (0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6):
            t = reach * step / 7.0
            for share in (0.0, 0.5, -0.5, 0.75, -0.75):
                off = share * body.writing.height / 2.0
                x, y = body.writing.x + ux * t - uy * off, body.writing.y + uy * t + ux * off
                spots.append(Spot(x, y, turn, 0.1 * abs(step) + 0.3 * abs(share)))
        spots.sort(key=lambda spot: spot.cost)
        middle = (body.box.x, body.box.y)
        points = [p for p, _ in along((body.a, body.b), 1.5)]
        anchors = _open(sorted(points, key=lambda p: math.dist(p, middle)), over) or _open(points, above)
        yield Label(
            name, texts(*longer, name), size, tuple(spots), tuple(anchors) or (middle,), frozenset({f"part {name}"}),
            "plain", 2, 0.05, body.writing, beneath,
        )  # fmt: skip


def metal_labels(build: Build, plan: Plan, fittings: Fittings, size: float, band: float) -> Iterator[Label]:
    """Yield the names of sockets, strips, cans, transformers, buses and panel parts."""
    for part in build.parts:
        placement = build.placements.get(part.name)
        if placement is None:
            continue
        if part.name in fittings.panel:
            yield _panel_label(build, part, size, band)
        elif isinstance(part.values, Tube):
            radius = fittings.sockets[part.values.socket].hole_mm / 2.0
            words = texts((part.name, part.values.type.name), f"{part.name} {part.values.type.name}", part.name)
            yield _round_label(part.name, words, placement.at, radius, size * 1.15)
        elif isinstance(part.values, Can):
            yield _round_label(part.name, texts(part.name), placement.at, part.values.body.diameter_mm / 2.0, size)
        elif part.kind != "transformer" and not any(s.part is part for s in standing_transformers(build, plan)):
            yield _round_label(part.name, texts(part.name), placement.at, 8.0, size)
    for standing in standing_transformers(build, plan):
        words = texts((standing.part.name, standing.part.kind, "(other side)"), (standing.part.name, "(other side)"),
                      standing.part.name)  # fmt: skip
        yield area_label(standing.part.name, words, standing.at, standing.half_mm, size)
    for strip in build.strips:
        row = fittings.strips[strip.type]
        yield _strip_label(strip.name, strip_box(strip, row.pitch_mm, row.board_width_mm), size * 1.25)
    for terminal in plan.terminals.values():
        if terminal.kind == "bolt":
            yield _round_label(terminal.key, texts(terminal.label), (terminal.x_mm, terminal.y_mm), 3.0, size)
    for star in build.stars:
        yield _round_label(f"star {star.name}", texts(f"star {star.name}"), star.at, STAR_RADIUS_MM, size)
    for bus in build.buses:
        places = along(bus.points, 4.0)
        spots = tuple(
            Spot(x - uy * off, y + ux * off, upright(turn), 0.02 * i)
            for i, ((x, y), turn) in enumerate(places)
            for ux, uy in (unit(turn),)
            for off in (3.2, -3.2)
        )
        yield Label(f"bus {bus.name}", texts(f"{bus.name} ({bus.joint})", bus.name), size, spots,
                    tuple(p for p, _ in places), style="bold", rank=3)  # fmt: skip


def _round_label(name: str, words: tuple[tuple[str, ...], ...], at: Point, radius: float, size: float) -> Label:
    spots = [Spot(*at, 0.0, 0.0)]
    for ring in range(1, 7):
        reach = radius + 1.4 * ring + 1.0
        for step in range(24):
            angle = 2.0 * math.pi * step / 24
            x, y = at[0] + reach * math.cos(angle) * 1.25, at[1] + reach * math.sin(angle)
            spots.append(Spot(round(x, 2), round(y, 2), 0.0, 1.0 + ring))
    rim = tuple((at[0] + radius * math.cos(a), at[1] + radius * math.sin(a)) for a in (0.0, 1.57, 3.14, 4.71))
    return Label(f"name {name}", words, size, tuple(spots), rim, frozenset({f"part {name}"}), "bold", 1)


def area_label(name: str, words: tuple[tuple[str, ...], ...], at: Point, half: float, size: float) -> Label:
    steps = [k * 0.15 for k in range(-6, 7)]
    spots = tuple(
        Spot(round(at[0] + half * i, 2), round(at[1] + half * k, 2), 0.0, round(abs(i) + abs(k), 2))
        for i in steps
        for k in steps
    )
    inside = Box(*at, half * 2.2, half * 1.9)
    return Label(f"name {name}", words, size, spots, (at,), style="bold", rank=4, inside=inside)


def _strip_label(name: str, box: Box, size: float) -> Label:
    ux, uy = unit(box.turn)
    spots = []
    for end, cost in ((-1, 0.0), (1, 0.5)):
        for push in range(6):
            reach = box.width / 2.0 + 2.4 + 1.2 * push
            spots += [
                Spot(box.x + end * ux * reach - uy * off, box.y + end * uy * reach + ux * off, 0.0,
                     cost + 0.5 * push + abs(off) * 0.3)
                for off in (0.0, 3.0, -3.0, 5.5, -5.5)
            ]  # fmt: skip
    for k in range(-4, 5):
        t = box.width / 2.0 * k / 4.0
        spots += [Spot(box.x + ux * t - uy * off, box.y + uy * t + ux * off, 0.0, 4.0) for off in (7.0, -7.0)]
    ends = tuple((box.x + s * ux * box.width / 2.0, box.y + s * uy * box.width / 2.0) for s in (-1, 1))
    return Label(f"strip {name}", texts(name), size, tuple(spots), ends, style="bold", rank=1)


def _panel_label(build: Build, part: Part, size: float, band: float) -> Label:
    chassis = chassis_of(build)
    placement = build.placements[part.name]
    values = part.values
    caption = values.label if isinstance(values, Pot | Jack | Switch) else part.kind
    words = texts((part.name, caption), *_wrapped(part.name, caption), part.name) if caption else texts(part.name)
    if placement.panel == "plate":
        return _round_label(part.name, words, placement.at, 10.0, size)
    x, y = band_point(chassis, placement, band)
    out_x, out_y = {"front": (0, 1), "rear": (0, -1), "left": (-1, 0), "right": (1, 0)}[placement.panel]
    turn = 0.0 if out_y else -90.0
    lead = 5.4 + size * (len(words[0]) * 0.5 + 0.3)
    spots = [
        Spot(round(x + out_x * (lead + push) + out_y * side, 2), round(y + out_y * (lead + push) + out_x * side, 2),
             turn, 0.2 * abs(side) + push)
        for push in (0.0, 0.8, 1.6)
        for side in (0.0, 3.0, -3.0, 6.0, -6.0, 9.0, -9.0)
    ]  # fmt: skip
    return Label(f"name {part.name}", words, size, tuple(spots), ((x, y),), style="bold", rank=0, pad=NAMES_APART_MM)


def _wrapped(name: str, caption: str) -> list[tuple[str, ...]]:
    first, space, rest = caption.partition(" ")
    return [(name, first, rest)] if space else []
