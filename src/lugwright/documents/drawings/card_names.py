"""Names in the drawing of a job card: what is on the big drawing already is taken over, the rest finds a place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from lugwright.buildfile.build import Can, Tube
from lugwright.documents.drawings.card_regions import Bounds, inside
from lugwright.documents.drawings.fittings import chassis_of
from lugwright.documents.drawings.geometry import Box, Point, along, boxes_overlap, segment_hits_box, unit, upright
from lugwright.documents.drawings.labels import Label, Placed, Spot, texts
from lugwright.documents.drawings.metal import panel_body
from lugwright.documents.drawings.terminal_points import terminal_box
from lugwright.documents.drawings.wiring_side import TEXT_MM, WiringSide, terminal_text
from lugwright.workorder.results import Job

TAG_STEP_MM = 1.5
RING_MM = (4.5, 6.5, 9.0, 12.0, 16.0)
_ANGLES = tuple(math.pi * step / 6.0 for step in range(12))
_RINGS = tuple((ring * math.cos(angle), ring * math.sin(angle)) for ring in RING_MM for angle in _ANGLES)


def labels_by_thing(side: WiringSide) -> dict[str, list[Placed]]:
    """Return the labels of the big drawing by what they name."""
    found: dict[str, list[Placed]] = {}
    for placed in side.labelled.placed:
        found.setdefault(placed.label.key.split(" ")[0], []).append(placed)
    return found


def names_in(side: WiringSide, job: Job, window: Bounds, labels: Mapping[str, Sequence[Placed]]) -> list[Placed]:
    """Return the names of what a job brings and of what it is soldered to, as far as they lie in a window.

    ``labels`` are those of the big drawing by what they name.
    """
    keys = [key for key in dict.fromkeys(lead.terminal for lead in job.leads) if _holds(window, side.points[key])]
    size = terminal_text(side.scale)
    taken = [terminal_box(side.plan.terminals[key], side.points[key], size) for key in keys]
    new = set(job.parts)
    mine = [body for body in side.bodies if body.part.name in new]
    bodies = [body.box for body in mine]
    lines = [leg for number in job.wires for leg in pairwise(side.routes[number])] + [(b.a, b.b) for b in mine]
    found = list(_taken_over(job, window, labels))
    for label, free in (*_missing(side, job, window, found), *((label, bodies) for label in _owners(side, keys))):
        placed = _placed(label, window, [*taken, *free, *(p.box for p in found)], lines)
        if placed is not None:
            found.append(placed)
    return found


def _taken_over(job: Job, window: Bounds, labels: Mapping[str, Sequence[Placed]]) -> Iterator[Placed]:
    for name in (*job.parts, *(f"W{number}" for number in job.wires)):
        for placed in labels.get(name, ()):
            ends = placed.leader() or ()
            if inside(placed.box.bounds(), window) and all(_holds(window, point) for point in ends):
                yield placed


def _missing(
    side: WiringSide, job: Job, window: Bounds, found: Sequence[Placed]
) -> Iterator[tuple[Label, Sequence[Box]]]:
    """Yield labels of wires and parts that the window cuts off from theirs, with the bodies they keep clear of."""
    named = {placed.label.key.split(" ")[0] for placed in found}
    size = TEXT_MM / side.scale
    bodies = {body.part.name: body.box for body in side.bodies if body.part.name in job.parts}
    for what in dict.fromkeys(lead.what for lead in job.leads):
        if what in named or not any(_holds(window, side.points[k.terminal]) for k in job.leads if k.what == what):
            continue
        if what in bodies:
            box = bodies[what]
            spots = (Spot(box.x, box.y), *_around((box.x, box.y)))
            yield Label(what, texts(what), size, spots, (), style="backed"), [b for n, b in bodies.items() if n != what]
        else:
            route = side.routes[int(what[1:])]
            ends = [side.points[k.terminal] for k in job.leads if k.what == what and not k.lead]
            yield (
                Label(what, texts(what[1:]), size, _beside_ends(route, ends, window), (), style="tag", pad=0.3),
                (list(bodies.values())),
            )


def _beside_ends(route: Sequence[Point], ends: Sequence[Point], window: Bounds) -> tuple[Spot, ...]:
    """Return places on a wire, those nearest to its ends in the window first; then places led away from it."""
    places = [(p, turn) for p, turn in along(route, TAG_STEP_MM) if _holds(window, p)]
    places.sort(key=lambda place: min(math.dist(place[0], end) for end in ends))
    led_away = [spot._replace(pointer=p) for p, _ in places[-1:] for spot in _around(p)]
    return (*(Spot(*p, round(upright(turn), 1)) for p, turn in places), *led_away)


def _owners(side: WiringSide, keys: Iterable[str]) -> Iterator[Label]:
    """Yield the name of everything that owns one of these terminals."""
    size = TEXT_MM / side.scale
    owners: dict[str, list[str]] = {}
    for key in keys:
        terminal = side.plan.terminals[key]
        owners.setdefault(terminal.label if terminal.kind == "bolt" else terminal.owner, []).append(key)
    for owner, mine in owners.items():
        points = [side.points[key] for key in mine]
        spots = tuple(_spots(side, owner, mine[0], points))
        yield Label(f"name {owner}", texts(owner), size * 1.1, spots, (), style="bold", pad=0.2)


def _spots(side: WiringSide, owner: str, key: str, points: Sequence[Point]) -> Iterator[Spot]:
    strip = next((s for s in side.build.strips if s.name == owner), None)
    part = side.build.part_by_name.get(owner)
    if strip is not None:
        ux, uy = unit(strip.turn)
        half = side.fittings.strips[strip.type].pitch_mm / 2.0
        yield from (Spot(x + s * half * ux, y + s * half * uy) for x, y in points for s in (-1.0, 1.0))
    elif part is not None and side.plan.terminals[key].kind != "exit":
        placement = side.build.placements[owner]
        if owner in side.fittings.panel:
            box = panel_body(chassis_of(side.build), placement, side.fittings.panel[owner])
            yield from (Spot(box.x + i * box.width * 0.3, box.y + k * box.height * 0.3)
                        for k in (0, 1, -1) for i in (0, 1, -1))  # fmt: skip
        elif isinstance(part.values, Tube | Can):
            yield Spot(*placement.at)
    for point in points:
        yield from _around(point)


def _around(at: Point) -> Iterator[Spot]:
    """Yield places in rings about a point."""
    x, y = at
    for across, down in _RINGS:
        yield Spot(round(x + across, 2), round(y + down, 2))


def _placed(label: Label, window: Bounds, taken: Sequence[Box], lines: Sequence[tuple[Point, Point]]) -> Placed | None:
    """Return the label at its first free place in the window, if there is one where it lies on no wire or lead."""
    second = None
    for spot in label.spots:
        box = label.box(spot, label.texts[0])
        if not inside(box.bounds(), window) or any(boxes_overlap(box, other) for other in taken):
            continue
        placed = Placed(label, label.texts[0], box, spot.pointer)
        if label.style == "tag" or not any(segment_hits_box(a, b, box) for a, b in lines):
            return placed
        second = second or placed
    return second


def _holds(window: Bounds, point: Point) -> bool:
    return window[0] <= point[0] <= window[2] and window[1] <= point[1] <= window[3]
