"""The drawing on a job card: what is there so far in light lines, what the card brings in full."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from lugwright.documents.drawings.card_base import CardBase, card_base
from lugwright.documents.drawings.card_names import labels_by_thing, names_in
from lugwright.documents.drawings.card_regions import MOST_WIDE_MM, Bounds, meet, windows
from lugwright.documents.drawings.label_markup import label_markup
from lugwright.documents.drawings.labels import Placed
from lugwright.documents.drawings.svg import Markup, document, group
from lugwright.documents.drawings.terminal_points import terminal_box
from lugwright.documents.drawings.wiring_side import WiringSide, terminal_text
from lugwright.workorder.results import Job, WorkOrder


def card_drawings(side: WiringSide, order: WorkOrder) -> Mapping[int, tuple[str, ...]]:
    """Return the drawings of every card that has leads or a bus, by its number, left to right."""
    base, labels = card_base(side), labels_by_thing(side)
    there: list[str] = []
    found = {}
    for job in order.jobs:
        pieces = windows(_wanted(side, job), side.scale)
        if pieces:
            found[job.number] = tuple(_drawing(side, base, job, there, labels, window) for window in pieces)
        there += [*job.buses, *job.parts, *(f"W{number}" for number in job.wires)]
    return found


def _wanted(side: WiringSide, job: Job) -> Iterator[Bounds]:
    size = terminal_text(side.scale)
    for key in dict.fromkeys(lead.terminal for lead in job.leads):
        yield terminal_box(side.plan.terminals[key], side.points[key], size).bounds()
    for body in side.bodies:
        if body.part.name in job.parts:
            yield body.box.bounds()
    for bus in side.build.buses:
        if bus.name in job.buses:
            xs, ys = zip(*bus.points, strict=True)
            yield min(xs), min(ys), max(xs), max(ys)


def _drawing(
    side: WiringSide,
    base: CardBase,
    job: Job,
    there: Collection[str],
    labels: Mapping[str, Sequence[Placed]],
    window: Bounds,
) -> str:
    light = [*base.metal, *(base.things[name] for name in there if name in base.things)]
    used = {lead.terminal for lead in job.leads}
    lugs = [thing for key, thing in base.terminals.items() if key not in used]
    children = [
        group([thing.markup for thing in light if thing.seen(window)], class_="there"),
        group(_new(side, job, window), class_="new"),
        group([thing.markup for thing in lugs if thing.seen(window)], class_="lugs"),
        group(_used(side, used, window), class_="used"),
        group([label_markup(placed) for placed in names_in(side, job, window, labels)], class_="labels"),
    ]
    x, y, right, bottom = window
    scale = min(side.scale, MOST_WIDE_MM / (right - x))
    title = f"{side.build.title}: card {job.number}"
    return document(children, box=(x, y, right - x, bottom - y), scale=scale, title=title)


def _new(side: WiringSide, job: Job, window: Bounds) -> list[Markup]:
    """Return what the card brings, lowest first."""
    wires = sorted((w for w in side.plan.wires if w.number in job.wires), key=lambda w: side.laid.drawn(w.number))
    high = side.laid.high
    drawn = {w.number: side.ink.wire(w) for w in wires}
    bodies = [b for b in side.bodies if b.part.name in job.parts and meet(b.box.grown(20.0).bounds(), window)]
    return [
        *(markup for name, markup in side.ink.buses if name in job.buses),
        *(drawn[w.number] for w in wires if w.number not in high),
        *(side.ink.body(b) for b in bodies if b.seat.layer == 1),
        *(drawn[w.number] for w in wires if w.number in high),
        *(side.ink.body(b) for b in bodies if b.seat.layer > 1),
    ]


def _used(side: WiringSide, used: Collection[str], window: Bounds) -> list[Markup]:
    size = terminal_text(side.scale)
    found = []
    for key, terminal in side.plan.terminals.items():
        if key in used and meet(terminal_box(terminal, side.points[key], size).bounds(), window):
            found.append(side.ink.terminal(terminal, used=True))
    return found
