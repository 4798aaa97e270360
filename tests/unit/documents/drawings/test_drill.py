"""The drill plan: every placed part has its holes, the template is 1:1, the DXF holds the same holes."""

from __future__ import annotations

import io
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import ezdxf
import pytest

from lugwright.buildfile.build import Placement
from lugwright.documents.drawings.drill_plan import Hole, drill_holes, face_size_mm, faces, on_sheet
from lugwright.documents.drawings.drill_sheets import PAGES_MM, drill_template_sheets, tiles
from lugwright.documents.drawings.drill_template import before_drilling, drill_template_svg, hole_labels
from lugwright.documents.drawings.dxf import drill_dxf
from lugwright.documents.drawings.labels import label_overlaps
from lugwright.errors import DocumentError

from .dense_plan import dense

FACES = ("plate", "front", "rear")


def test_every_placed_part_strip_foot_and_bolt_has_its_holes() -> None:
    build, plan, hardware = dense()
    counts: dict[str, int] = {}
    for hole in drill_holes(build, plan, hardware):
        counts[hole.owner] = counts.get(hole.owner, 0) + 1
    assert counts == {
        "V1": 3, "V2": 3, "V3": 3, "J1": 1, "R101": 2, "S1": 1, "F1": 1, "P1": 3, "T1": 2, "C90": 1,
        "A": 1, "B": 1, "C": 1, "D": 1, "chassis.1": 1, "chassis.2": 1,
    }  # fmt: skip
    assert set(build.placements) <= set(counts)


def test_holes_are_numbered_from_one_on_each_face() -> None:
    holes = drill_holes(*dense())
    assert faces(dense()[0]) == FACES
    for face in FACES:
        numbers = [h.number for h in holes if h.face == face]
        assert numbers == list(range(1, len(numbers) + 1))


def test_seen_from_the_top_the_plate_is_mirrored_and_seen_from_the_wiring_side_it_is_not() -> None:
    build, plan, hardware = dense()
    socket = next(h for h in drill_holes(build, plan, hardware) if h.what == "V1 socket")
    assert build.chassis is not None
    assert on_sheet(build.chassis, socket, outside=True) == (260.0, 45.0)
    assert on_sheet(build.chassis, socket, outside=False) == (60.0, 45.0)


@pytest.mark.parametrize(("what", "outside"), [("J1 jack", (30.0, 30.0)), ("F1 fuse", (110.0, 30.0))])
def test_from_outside_the_front_runs_as_the_bench_shows_it_and_the_rear_the_other_way(
    what: str, outside: tuple[float, float]
) -> None:
    build, plan, hardware = dense()
    hole = next(h for h in drill_holes(build, plan, hardware) if h.what == what)
    assert build.chassis is not None
    assert on_sheet(build.chassis, hole, outside=True) == outside
    assert on_sheet(build.chassis, hole, outside=False) == (320.0 - outside[0], outside[1])


@pytest.mark.parametrize(("panel", "outside", "inside"), [("left", 70.0, 120.0), ("right", 120.0, 70.0)])
def test_side_panels_run_from_rear_to_front_at_the_left_and_back_at_the_right(
    panel: str, outside: float, inside: float
) -> None:
    build, plan, hardware = dense()
    moved = replace(build, placements={**build.placements, "S1": Placement((70.0, 25.0), panel=panel)})
    (hole,) = [h for h in drill_holes(moved, plan, hardware) if h.owner == "S1"]
    assert moved.chassis is not None
    assert (hole.face, face_size_mm(moved.chassis, panel)) == (panel, (190.0, 60.0))
    assert on_sheet(moved.chassis, hole, outside=True) == (outside, 35.0)
    assert on_sheet(moved.chassis, hole, outside=False) == (inside, 35.0)


def test_fixing_holes_of_panel_parts_are_where_the_part_seen_from_inside_has_them() -> None:
    build, plan, hardware = dense()
    (along, up, diameter), *_ = hardware.panel["R101"].extra_holes
    fixing = next(h for h in drill_holes(build, plan, hardware) if h.what == "R101 pot fixing")
    assert (fixing.x_mm, fixing.y_mm, fixing.diameter_mm) == (75.0 - along, 30.0 + up, diameter)


@pytest.mark.parametrize(
    ("diameter", "cutout", "tool"),
    [(3.2, None, "twist drill"), (6.5, None, "twist drill"), (8.0, None, "step drill"),
     (9.5, None, "step drill, reamer"), (12.0, None, "step drill"), (12.7, None, "step drill, reamer"),
     (19.0, None, "chassis punch"), (None, (27.0, 20.0), "saw or nibble, then file"),
     (None, None, "mark, then drill")],
)  # fmt: skip
def test_every_hole_names_the_tool_that_makes_it(
    diameter: float | None, cutout: tuple[float, float] | None, tool: str
) -> None:
    assert Hole(1, "plate", 10.0, 10.0, diameter, cutout, "R1", "R1 pot").tool == tool


def test_too_many_leads_for_any_grommet_is_an_error() -> None:
    build, plan, hardware = dense()
    more = {f"T1.x{k}": replace(plan.terminals["T1.hv.1"], key=f"T1.x{k}") for k in range(60)}
    with pytest.raises(DocumentError) as error:
        drill_holes(build, replace(plan, terminals={**plan.terminals, **more}), hardware)
    assert str(error.value) == (
        "no grommet for so many leads\n"
        "  found:  63 leads, a bundle of 17.1 mm\n"
        "  wanted: at most 15.9 mm\n"
        "  do:     bring the leads through two holes"
    )


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("outside", [True, False])
def test_the_template_crosses_every_hole_at_its_place_and_true_size(face: str, outside: bool) -> None:
    build, plan, hardware = dense()
    svg = drill_template_svg(build, plan, hardware, face, outside=outside, table=False)
    root = ElementTree.fromstring(svg.encode())
    assert build.chassis is not None
    drawn = {int(e.attrib["data-hole"]): e for e in root.iter() if e.get("class") == "hole"}
    holes = [h for h in drill_holes(build, plan, hardware) if h.face == face]
    assert set(drawn) == {h.number for h in holes}
    for hole in holes:
        x, y = on_sheet(build.chassis, hole, outside=outside)
        level, upright = [e for e in drawn[hole.number] if e.tag.endswith("line")]
        assert float(level.attrib["y1"]) == float(level.attrib["y2"]) == pytest.approx(y, abs=0.01)
        assert float(upright.attrib["x1"]) == float(upright.attrib["x2"]) == pytest.approx(x, abs=0.01)
        circles = [e for e in drawn[hole.number] if e.tag.endswith("circle")]
        if hole.diameter_mm and not hole.cutout_mm:
            assert float(circles[0].attrib["r"]) * 2.0 == pytest.approx(hole.diameter_mm, abs=0.01)


@pytest.mark.parametrize("face", FACES)
def test_check_bars_are_exactly_100_mm_on_a_sheet_in_millimeters(face: str) -> None:
    root = ElementTree.fromstring(drill_template_svg(*dense(), face).encode())
    _, _, width, height = (float(v) for v in root.attrib["viewBox"].split())
    assert root.get("width") == f"{width:g}mm"
    assert root.get("height") == f"{height:g}mm"
    for axis, name in (("x", "check-bar-x"), ("y", "check-bar-y")):
        (bar,) = [e for e in root.iter() if e.get("id") == name]
        first = next(e for e in bar if e.tag.endswith("line"))
        assert float(first.attrib[f"{axis}2"]) - float(first.attrib[f"{axis}1"]) == 100.0


@pytest.mark.parametrize(
    ("face", "outside", "title"),
    [("plate", True, "PLATE: SEEN FROM THE TOP (TUBE SIDE)"), ("plate", False, "PLATE: SEEN FROM THE WIRING SIDE"),
     ("front", True, "FRONT PANEL: SEEN FROM OUTSIDE"), ("rear", False, "REAR PANEL: SEEN FROM INSIDE")],
)  # fmt: skip
def test_the_sheet_says_from_where_it_is_seen(face: str, outside: bool, title: str) -> None:
    root = ElementTree.fromstring(drill_template_svg(*dense(), face, outside=outside).encode())
    heading = next(e for e in root.iter() if e.tag.endswith("text"))
    assert (heading.text, heading.get("font-weight")) == (title, "bold")


@pytest.mark.parametrize("face", FACES)
def test_the_table_has_a_row_for_every_hole(face: str) -> None:
    holes = [h for h in drill_holes(*dense()) if h.face == face]
    root = ElementTree.fromstring(drill_template_svg(*dense(), face).encode())
    rows = {int(e.attrib["data-hole"]): [c.text for c in e] for e in root.iter() if e.get("class") == "row"}
    assert {n: (row[3], row[4], row[5]) for n, row in rows.items()} == {
        h.number: (h.size if h.diameter_mm or h.cutout_mm else "mark", h.tool, h.what) for h in holes
    }


@pytest.mark.parametrize("face", FACES)
def test_hole_labels_stand_clear_of_holes_and_of_one_another(face: str) -> None:
    build, plan, hardware = dense()
    assert build.chassis is not None
    holes = [h for h in drill_holes(build, plan, hardware) if h.face == face]
    spots = {h.number: on_sheet(build.chassis, h, outside=True) for h in holes}
    assert label_overlaps(hole_labels(holes, spots, (0.0, 0.0, *face_size_mm(build.chassis, face)))) == []


@pytest.mark.parametrize("face", FACES)
def test_the_dxf_reads_back_with_the_same_holes_in_millimeters(face: str) -> None:
    build, plan, hardware = dense()
    assert build.chassis is not None
    drawing = ezdxf.read(io.StringIO(drill_dxf(build, plan, hardware, face)))
    assert drawing.header["$INSUNITS"] == 4
    height = face_size_mm(build.chassis, face)[1]
    holes = [h for h in drill_holes(build, plan, hardware) if h.face == face]
    wanted = sorted(
        (x, round(height - y, 2), h.diameter_mm)
        for h in holes
        if h.diameter_mm and not h.cutout_mm
        for x, y in (on_sheet(build.chassis, h, outside=True),)
    )
    space = drawing.modelspace()
    circles = space.query('CIRCLE[layer=="HOLES"]')
    read = sorted((round(c.dxf.center.x, 2), round(c.dxf.center.y, 2), round(2 * c.dxf.radius, 2)) for c in circles)
    assert read == wanted
    assert len(space.query('LWPOLYLINE[layer=="CUTOUTS"]')) == sum(1 for h in holes if h.cutout_mm)
    assert len(space.query('POINT[layer=="MARKS"]')) == sum(1 for h in holes if not h.cutout_mm and not h.diameter_mm)
    assert {t.dxf.text for t in space.query('TEXT[layer=="NUMBERS"]')} == {str(h.number) for h in holes}
    assert not drawing.audit().errors


def test_the_dxf_is_the_same_bytes_twice_and_leaves_no_setting_behind() -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing
    assert drill_dxf(*dense(), "plate") == drill_dxf(*dense(), "plate")
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


@pytest.mark.parametrize("page", ["A4", "A3", "Letter"])
@pytest.mark.parametrize("face", FACES)
def test_every_sheet_fits_its_page_and_carries_both_check_bars(face: str, page: str) -> None:
    for svg in drill_template_sheets(*dense(), face, page=page):
        root = ElementTree.fromstring(svg.encode())
        _, _, width, height = (float(v) for v in root.attrib["viewBox"].split())
        assert (root.get("width"), root.get("height")) == (f"{width:g}mm", f"{height:g}mm")
        assert width <= PAGES_MM[page][0]
        assert height <= PAGES_MM[page][1]
        for axis, name in (("x", "check-bar-x"), ("y", "check-bar-y")):
            (bar,) = [e for e in root.iter() if e.get("id") == name]
            assert float(bar[0].attrib[f"{axis}2"]) - float(bar[0].attrib[f"{axis}1"]) == 100.0


@pytest.mark.parametrize("size", [(600.0, 205.0), (320.0, 190.0), (100.0, 60.0)])
@pytest.mark.parametrize("page", ["A4", "A3", "Letter"])
def test_sheets_cover_the_face_and_overlap(size: tuple[float, float], page: str) -> None:
    cut = tiles(size, page)
    for low, length in ((0, 2), (1, 3)):
        spans = sorted({((t.x, t.y)[low], (t.width, t.height)[length - 2]) for t in cut})
        assert spans[0][0] == 0.0
        assert spans[-1][0] + spans[-1][1] == pytest.approx(size[low], abs=0.05)
        for (start, span), (after, _) in pairwise(spans):
            assert start + span - after == pytest.approx(16.0, abs=0.05)


def test_every_hole_is_measured_on_some_sheet() -> None:
    build, plan, hardware = dense()
    assert build.chassis is not None
    sheets = drill_template_sheets(build, plan, hardware, "plate")
    assert len(sheets) == 4
    written = {e.text for svg in sheets for e in ElementTree.fromstring(svg.encode()).iter() if e.tag.endswith("text")}
    for hole in drill_holes(build, plan, hardware):
        if hole.face == "plate":
            x, y = on_sheet(build.chassis, hole, outside=True)
            assert {f"{x:.1f}", f"{y:.1f}"} <= written


def test_an_unknown_page_is_an_error() -> None:
    with pytest.raises(DocumentError) as error:
        tiles((100.0, 100.0), "A9")
    assert str(error.value) == (
        "no page size A9\n  found:  'A9'\n  wanted: one of A4, A3, Letter\n  do:     choose one of these"
    )


def _texts(svg: str) -> list[str]:
    return [e.text or "" for e in ElementTree.fromstring(svg.encode()).iter() if e.tag.endswith("text")]


def test_a_sheet_says_what_is_assumed_what_is_remembered_and_what_is_marked_from_the_part() -> None:
    holes = [h for h in drill_holes(*dense()) if h.face == "plate"]
    assert before_drilling(holes) == (
        "The wedge is the key of a socket. That its screws stand across the key is assumed: turn your socket on the "
        "mark first.",
        "* Size from memory, read on no sheet: measure your part, hold it to the mark, then drill.",
        "Dashed: center only, no hole pattern is known. Hold the part to the cross and mark its holes from it.",
    )
    assert before_drilling([h for h in holes if h.what == "V1 socket"]) == ()
    for face in FACES:
        for svg in drill_template_sheets(*dense(), face):
            words = _texts(svg)
            here = {int(e.attrib["data-label"].split()[1]) for e in ElementTree.fromstring(svg.encode()).iter()
                    if e.get("data-label")}  # fmt: skip
            on_it = [h for h in drill_holes(*dense()) if h.face == face and h.number in here]
            assert set(before_drilling(on_it)) <= set(words)


def test_sizes_say_whether_they_were_read_or_remembered() -> None:
    origins = {h.what: (h.size, h.origin) for h in drill_holes(*dense())}
    assert origins["V1 socket"] == ("⌀22.2", "a source")
    assert origins["V1 socket fixing, assumed across the key"] == ("⌀3.2", "memory")
    assert origins["strip A foot"] == ("⌀3.5", "memory")
    assert origins["T1 center; mark its fixing holes from the part"] == ("mark from the part", "the part")
    assert origins["C90 can center; mark its holes from the part"] == ("mark from the part", "the part")
    written = [words for svg in drill_template_sheets(*dense(), "plate") for words in _texts(svg)]
    holes = {h.what: h.number for h in drill_holes(*dense()) if h.face == "plate"}
    assert f"{holes['V1 socket']} ⌀22.2" in written
    assert f"{holes['strip A foot']} ⌀3.5*" in written
    assert written.count("mark from the part") >= 2


@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_a_sheet_without_a_hole_is_not_printed(page: str) -> None:
    build, plan, hardware = dense()
    assert build.chassis is not None
    assert len(tiles(face_size_mm(build.chassis, "rear"), page)) == 2
    (sheet,) = drill_template_sheets(build, plan, hardware, "rear", page=page)
    words = _texts(sheet)
    assert any(line.startswith("What is on no sheet has no holes. Chassis upside down") for line in words)
    assert "join here" not in words


@pytest.mark.parametrize("page", ["A4", "Letter"])
@pytest.mark.parametrize("face", FACES)
def test_labels_of_a_sheet_stay_on_it_and_overlap_nothing(face: str, page: str) -> None:
    build, plan, hardware = dense()
    assert build.chassis is not None
    holes = [h for h in drill_holes(build, plan, hardware) if h.face == face]
    spots = {h.number: on_sheet(build.chassis, h, outside=True) for h in holes}
    for tile in tiles(face_size_mm(build.chassis, face), page):
        labelled = hole_labels(holes, spots, tile.window)
        assert label_overlaps(labelled) == []
        assert {p.label.key for p in labelled.placed} == {
            f"hole {h.number}" for h in holes if tile.holds(spots[h.number])
        }
        for placed in labelled.placed:
            left, upper, right, lower = placed.box.bounds()
            assert tile.x <= left <= right <= tile.x + tile.width
            assert tile.y <= upper <= lower <= tile.y + tile.height


@pytest.mark.parametrize(("outside", "toward"), [(True, -1.0), (False, 1.0)])
def test_the_wedge_points_at_the_key_as_the_sheet_is_seen(outside: bool, toward: float) -> None:
    build, plan, hardware = dense()
    turned = replace(build, placements={**build.placements, "V1": Placement((60.0, 45.0), 90.0)})  # key to the right
    hole = next(h for h in drill_holes(turned, plan, hardware) if h.what == "V1 socket")
    svg = drill_template_svg(turned, plan, hardware, "plate", outside=outside)
    (drawn,) = [e for e in ElementTree.fromstring(svg.encode()).iter() if e.get("data-hole") == str(hole.number)
                and e.get("class") == "hole"]  # fmt: skip
    (path,) = [e for e in drawn if e.get("class") == "key"]
    tip = path.attrib["d"].removeprefix("M").split("L")[0].split()
    assert turned.chassis is not None
    x, y = on_sheet(turned.chassis, hole, outside=outside)
    assert float(tip[0]) - x == pytest.approx(toward * (22.2 / 2.0 - 0.6), abs=0.01)
    assert float(tip[1]) == pytest.approx(y, abs=0.01)
