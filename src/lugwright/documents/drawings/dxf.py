"""The drill plan as DXF: one face, mm, layers by use, the same bytes for the same build."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.drill_plan import drill_holes, face_size_mm, on_sheet
from lugwright.documents.drawings.fittings import Fittings, chassis_of
from lugwright.layout.results import Plan

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

LAYERS = {"OUTLINE": 7, "HOLES": 1, "CUTOUTS": 3, "CENTERS": 8, "MARKS": 5, "NUMBERS": 2}
MILLIMETERS = 4
CENTER_MM = 2.0
TEXT_MM = 2.5


def drill_dxf(build: Build, plan: Plan, fittings: Fittings, face: str, *, outside: bool = True) -> str:
    """Return the DXF text of a face, seen as `drill_template_svg` shows it; y counts upward from the lower edge."""
    with _no_clock():
        drawing = _drawing()
        _draw(drawing.modelspace(), build, plan, fittings, face, outside)
        for kind in sorted(drawing.entitydb.dxf_types_in_use()):  # the library goes through them as they hash
            drawing.classes.add_class(kind)
        stream = io.StringIO()
        drawing.write(stream)
    return stream.getvalue()


@contextmanager
def _no_clock() -> Iterator[None]:
    """Keep the time of writing and random marks out of files written meanwhile."""
    from ezdxf._options import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _drawing() -> Drawing:
    from ezdxf.filemanagement import new

    drawing = new("R2010", setup=False)
    drawing.units = MILLIMETERS
    for name, color in LAYERS.items():
        drawing.layers.add(name, color=color)
    return drawing


def _draw(space: Modelspace, build: Build, plan: Plan, fittings: Fittings, face: str, outside: bool) -> None:
    chassis = chassis_of(build)
    width, height = face_size_mm(chassis, face)
    space.add_lwpolyline(
        [(0, 0), (width, 0), (width, height), (0, height)], close=True, dxfattribs={"layer": "OUTLINE"}
    )
    for hole in drill_holes(build, plan, fittings):
        if hole.face != face:
            continue
        x, down = on_sheet(chassis, hole, outside=outside)
        y = round(height - down, 2)
        if hole.cutout_mm:
            half_w, half_h = hole.cutout_mm[0] / 2.0, hole.cutout_mm[1] / 2.0
            corners = [(x + i * half_w, y + k * half_h) for i, k in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
            space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "CUTOUTS"})
        elif hole.diameter_mm:
            space.add_circle((x, y), hole.diameter_mm / 2.0, dxfattribs={"layer": "HOLES"})
        else:
            space.add_point((x, y), dxfattribs={"layer": "MARKS"})
        for dx, dy in ((CENTER_MM, 0.0), (0.0, CENTER_MM)):
            space.add_line((x - dx, y - dy), (x + dx, y + dy), dxfattribs={"layer": "CENTERS"})
        words = space.add_text(str(hole.number), height=TEXT_MM, dxfattribs={"layer": "NUMBERS"})
        words.set_placement((x + CENTER_MM + 0.5, y + 0.5))
