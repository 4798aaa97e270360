"""The drill template: a face at exactly 1:1, every hole crossed, measured from two edges, with check bars."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.drill_plan import MARK, Hole, drill_holes, face_size_mm, mirrored, on_sheet
from lugwright.documents.drawings.fittings import Fittings, chassis_of
from lugwright.documents.drawings.geometry import Box, Point
from lugwright.documents.drawings.label_markup import label_markup
from lugwright.documents.drawings.label_placer import Soft, place_labels
from lugwright.documents.drawings.labels import Label, Labelled, Obstacle, Spot, texts
from lugwright.documents.drawings.svg import (
    Markup,
    circle,
    document,
    el,
    group,
    line,
    path_data,
    rect,
    text,
    text_width_mm,
)
from lugwright.layout.results import Plan

SIZE = 2.4
STAR = "*"  # behind a size from memory
CHECK_BAR_MM = 100.0
LARGE_MM = 9.5  # radius of a hole that has room for its own label
LEFT_MM, TOP_MM, RIGHT_MM, BOTTOM_MM = 26.0, 41.0, 14.0, 22.0
NOTE_MM = 3.7  # from line to line of the heading
ORDINATE_STEP_MM = 2.9
TABLE_ROW_MM = 3.9
TABLE_COLUMN_MM = 122.0
_CELLS = ((5.0, "end"), (16.0, "end"), (27.0, "end"), (29.5, "start"), (43.0, "start"), (75.0, "start"))
_HEADS = ("no.", "x", "y", "size", "tool", "what")
_VIEWS = {  # (plate, outside): what is seen, and what to beware of
    (True, True): ("SEEN FROM THE TOP (TUBE SIDE)",
                   "Left and right are the other way round than on the wiring-side drawing. Front edge below."),
    (True, False): ("SEEN FROM THE WIRING SIDE",
                    "Never mark the top from this sheet: left and right would be swapped. Front edge below."),
    (False, True): ("SEEN FROM OUTSIDE", "Chassis upside down as on the bench: the plate is the lower edge."),
    (False, False): ("SEEN FROM INSIDE", "Never mark the outside from this sheet: left and right would be swapped."),
}  # fmt: skip


def drill_template_svg(
    build: Build, plan: Plan, fittings: Fittings, face: str, *, outside: bool = True, table: bool = True
) -> str:
    """Return the template of one face; print it at 100 %, scaling off.

    ``outside``: seen from where it is marked and drilled, else from the wiring side.
    """
    chassis = chassis_of(build)
    width, height = face_size_mm(chassis, face)
    holes = [h for h in drill_holes(build, plan, fittings) if h.face == face]
    spots = {h.number: on_sheet(chassis, h, outside=outside) for h in holes}
    labelled = hole_labels(holes, spots, (0.0, 0.0, width, height))
    sheet_w = LEFT_MM + max(width, 190.0) + RIGHT_MM
    sheet_h = max(height, CHECK_BAR_MM + 2.0) + TOP_MM + BOTTOM_MM
    children = [
        title_markup(build, face, outside, holes),
        rect((0.0, 0.0), (width, height), width=0.35),
        *[hole_markup(h, spots[h.number], outside) for h in holes],
        *ordinates(sorted({s[0] for s in spots.values()}), width, level=True),
        *ordinates(sorted({s[1] for s in spots.values()}), height, level=False),
        *[label_markup(p) for p in labelled.placed],
        *check_bars(height),
    ]
    if table:
        rows, extra = _table(holes, spots, sheet_w, sheet_h - TOP_MM)
        children += rows
        sheet_h += extra
    title = f"{build.title}: drill template, {face}"
    return document(children, box=(-LEFT_MM, -TOP_MM, sheet_w, sheet_h), title=title)


def hole_labels(holes: Sequence[Hole], spots: dict[int, Point], window: tuple[float, float, float, float]) -> Labelled:
    """Return number and size of every hole whose center is in the window, placed beside it and inside the window."""
    obstacles = [Obstacle(f"hole {h.number}", Box(*spots[h.number], *_extent(h))) for h in holes]
    labels = []
    for hole in holes:
        x, y = spots[hole.number]
        if not (window[0] <= x <= window[2] and window[1] <= y <= window[3]):
            continue
        reach = max(_extent(hole)) / 2.0
        large = reach > LARGE_MM
        options = [Spot(x, y + k * reach * 0.42) for k in (1.0, -1.0)] if large else []
        words = texts(*_label_words(hole))
        if not large:
            options += _around((x, y), reach, words[0])
        own = frozenset({f"hole {hole.number}", f"cross {hole.number} 1"} if large else ())
        labels.append(Label(f"hole {hole.number}", words, SIZE, tuple(options), ((x, y),), own, "backed", 2))
    crosses = [
        Soft(f"cross {h.number} {k}", a, b) for h in holes for k, (a, b) in enumerate(_cross(h, spots[h.number]))
    ]
    return place_labels(
        labels, obstacles, crosses, (window[0] + 0.5, window[1] + 0.5, window[2] - 0.5, window[3] - 0.5)
    )


def _around(at: Point, reach: float, lines: Sequence[str]) -> list[Spot]:
    """Return places about a hole, the nearest ring first, at which these lines stand clear of it."""
    half_w = max(text_width_mm(words, SIZE) for words in lines) / 2.0
    half_h = len(lines) * SIZE / 2.0
    return [
        Spot(
            round(at[0] + math.cos(angle) * (reach + half_w + 0.6 + ring), 2),
            round(at[1] + math.sin(angle) * (reach + half_h + 0.6 + ring), 2),
            0.0,
            1.0 + ring,
        )
        for ring in range(8)
        for angle in (k * math.pi / 8.0 for k in range(16))
    ]


def _label_words(hole: Hole) -> tuple[str | tuple[str, ...], ...]:
    """Return what may stand at a hole, the wanted words first; a star where the size is from memory."""
    if hole.origin == "the part":
        return (f"{hole.number} {hole.owner}:", MARK), (f"{hole.number} {hole.owner}", "mark from", "the part")
    return (f"{hole.number} {hole.size}{'' if hole.confirmed else STAR}",)


def short_size(hole: Hole) -> str:
    """Return the size in few letters."""
    return hole.size if hole.diameter_mm or hole.cutout_mm else "mark"


def _extent(hole: Hole) -> tuple[float, float]:
    if hole.cutout_mm:
        return hole.cutout_mm
    size = (hole.diameter_mm or 4.0) + 1.0
    return size, size


def _cross(hole: Hole, at: Point) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    """Return the two center lines of a hole."""
    x, y = at
    reach_x, reach_y = (extent / 2.0 + 1.5 for extent in _extent(hole))
    return ((x - reach_x, y), (x + reach_x, y)), ((x, y - reach_y), (x, y + reach_y))


def title_markup(build: Build, face: str, outside: bool, holes: Sequence[Hole], sheet: str = "") -> Markup:
    """Return the heading: which face, from where it is seen, how to print it, what to check before drilling."""
    name = "PLATE" if face == "plate" else f"{face.upper()} PANEL"
    plate = face == "plate"
    seen, note = _VIEWS[plate, outside]
    lines = [sheet + note, *_measure_words(build), *before_drilling(holes)]
    left, top = -LEFT_MM + 4.0, -TOP_MM + 5.0
    return group(
        [
            text((left, top), f"{name}: {seen}", 4.4, anchor="start", bold=True),
            *[text((left, top + 5.5 + k * NOTE_MM), words, SIZE, anchor="start") for k, words in enumerate(lines)],
        ],
        id="title",
    )


def _measure_words(build: Build) -> tuple[str, ...]:
    return (
        f"{build.title}. Inside measures, mm, from the left and the upper edge. Print at 100 %: both check bars must "
        "measure 100 mm.",
    )


def before_drilling(holes: Sequence[Hole]) -> tuple[str, ...]:
    """Return what a sheet has to say of its holes: what is assumed, remembered, or not known at all."""
    found = []
    if any(hole.across_key for hole in holes):
        found.append(
            "The wedge is the key of a socket. That its screws stand across the key is assumed: turn your socket on "
            "the mark first."
        )
    if any(hole.origin == "memory" for hole in holes):
        found.append(f"{STAR} Size from memory, read on no sheet: measure your part, hold it to the mark, then drill.")
    if any(hole.origin == "the part" for hole in holes):
        found.append(
            "Dashed: center only, no hole pattern is known. Hold the part to the cross and mark its holes from it."
        )
    return tuple(found)


def hole_markup(hole: Hole, at: Point, outside: bool) -> Markup:
    """Return a hole with its center crossed; a dashed ring where it is marked from the part, a wedge at a key."""
    x, y = at
    wide, high = _extent(hole)
    found = [line(a, b, width=0.12) for a, b in _cross(hole, at)]
    if hole.cutout_mm:
        found.append(rect((x - wide / 2.0, y - high / 2.0), hole.cutout_mm, width=0.3))
    elif hole.diameter_mm is None:
        found.append(circle(at, 2.0, width=0.25, dash="0.8 0.8"))
    else:
        found.append(circle(at, hole.diameter_mm / 2.0, width=0.3))
    if hole.key and hole.diameter_mm:
        found.append(_wedge(hole, at, hole.diameter_mm / 2.0, outside))
    return group(found, class_="hole", data_hole=hole.number, data_part=hole.owner)


def _wedge(hole: Hole, at: Point, radius: float, outside: bool) -> Markup:
    """Return a small wedge inside the rim where the key or gap of the socket is."""
    (x, y), (kx, ky) = at, hole.key or (0.0, 0.0)
    kx = -kx if mirrored(hole.face, outside) else kx
    corners = [(r, s) for r, s in ((radius - 0.6, 0.0), (radius - 3.2, -1.3), (radius - 3.2, 1.3))]
    points = [(x + kx * r - ky * s, y + ky * r + kx * s) for r, s in corners]
    return el("path", {"d": path_data(points, closed=True), "fill": "#000", "class": "key"})


def ordinates(values: Sequence[float], length: float, *, level: bool) -> list[Markup]:
    """Return the measures along the datum edge: a tick at the true place, the figure where there is room."""
    wanted = list(values)
    places: list[float] = []
    for value in wanted:
        places.append(max(value, places[-1] + ORDINATE_STEP_MM) if places else value)
    over = max(0.0, places[-1] - max(length, wanted[-1])) if places else 0.0
    for index in range(len(places) - 1, -1, -1):
        limit = places[index + 1] - ORDINATE_STEP_MM if index + 1 < len(places) else places[index] - over
        places[index] = min(places[index], limit)
    found = []
    for value, place in zip(wanted, places, strict=True):
        a, b, c = (value, -0.8), (value, -2.4), (place, -5.2)
        if not level:
            a, b, c = a[::-1], b[::-1], c[::-1]
        words = f"{value:.1f}"
        label = text((place, -6.0), words, SIZE * 0.92, anchor="start", turn=-90.0) if level else text(
            (-6.0, place), words, SIZE * 0.92, anchor="end")  # fmt: skip
        found.append(group([line(a, b, width=0.18), line(b, c, width=0.18), label], class_="measure"))
    return found


def check_bars(height: float) -> list[Markup]:
    """Return a bar of exactly 100 mm along each axis."""
    y = max(height, CHECK_BAR_MM + 2.0) + 8.0
    x = -LEFT_MM + 6.0
    words = "check bar: 100 mm"
    level = [
        line((0.0, y), (CHECK_BAR_MM, y), width=0.5),
        *[line((k, y - 2.0), (k, y + 2.0), width=0.25) for k in (0.0, CHECK_BAR_MM)],
        text((CHECK_BAR_MM / 2.0, y + 3.6), words, SIZE),
    ]
    upright = [
        line((x, 0.0), (x, CHECK_BAR_MM), width=0.5),
        *[line((x - 2.0, k), (x + 2.0, k), width=0.25) for k in (0.0, CHECK_BAR_MM)],
        text((x - 3.2, CHECK_BAR_MM / 2.0), words, SIZE, turn=-90.0),
    ]
    return [group(level, id="check-bar-x"), group(upright, id="check-bar-y")]


def _table(holes: Sequence[Hole], spots: dict[int, Point], sheet_w: float, top: float) -> tuple[list[Markup], float]:
    """Return the hole table below the face, in columns, and the height it takes."""
    columns = max(1, int((sheet_w - 8.0) / TABLE_COLUMN_MM))
    per_column = math.ceil(len(holes) / columns)
    found = []
    for index, hole in enumerate(holes):
        column, row = divmod(index, per_column)
        x, y = -LEFT_MM + 5.0 + column * TABLE_COLUMN_MM, top + 4.0 + (row + 1) * TABLE_ROW_MM
        at = spots[hole.number]
        size = short_size(hole)
        words = (f"{hole.number}", f"{at[0]:.1f}", f"{at[1]:.1f}", size, hole.tool, hole.what)
        found.append(group(_row((x, y), words), class_="row", data_hole=hole.number))
    for column in range(math.ceil(len(holes) / per_column) if holes else 0):
        found += _row((-LEFT_MM + 5.0 + column * TABLE_COLUMN_MM, top + 3.6), _HEADS, bold=True)
    return found, 10.0 + (per_column + 1) * TABLE_ROW_MM


def _row(at: Point, words: Sequence[str], *, bold: bool = False) -> list[Markup]:
    return [
        text((at[0] + dx, at[1]), word, SIZE * 0.88, anchor=anchor, bold=bold)
        for word, (dx, anchor) in zip(words, _CELLS, strict=True)
    ]
