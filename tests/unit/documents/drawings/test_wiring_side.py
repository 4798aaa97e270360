"""The wiring side: everything of the plan is on it, nothing covers a label, the same bytes every time."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest

from lugwright.buildfile.build import Placement, Switch, Terminal
from lugwright.documents.drawings.colors import INK, inks, mark
from lugwright.documents.drawings.geometry import Box, Point, boxes_overlap, point_in_box, segments_cross
from lugwright.documents.drawings.labels import label_overlaps
from lugwright.documents.drawings.svg import CAP_HEIGHT
from lugwright.documents.drawings.terminal_points import terminal_box, terminal_points
from lugwright.documents.drawings.twists import twisted_routes
from lugwright.documents.drawings.wire_tracks import TRACK_MM
from lugwright.documents.drawings.wires import wire_markup
from lugwright.documents.drawings.wiring_side import (
    PAPER_MM,
    WiringSide,
    paper_for,
    terminal_text,
    window_around,
    wiring_side,
    wiring_side_sheets,
    wiring_side_svg,
)
from lugwright.errors import DocumentError
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.results import Plan, PlanTerminal
from lugwright.workorder.results import Job, WorkOrder

from .dense_plan import dense


@pytest.fixture(scope="module")
def side() -> WiringSide:
    return wiring_side(*dense())


@pytest.fixture(scope="module")
def root(side: WiringSide) -> ElementTree.Element:
    return ElementTree.fromstring(wiring_side_svg(side).encode())


def marked(root: ElementTree.Element, name: str) -> list[str]:
    return [element.attrib[name] for element in root.iter() if name in element.attrib]


def group_of(root: ElementTree.Element, name: str) -> ElementTree.Element:
    (found,) = [element for element in root.iter() if element.get("id") == name]
    return found


def words(root: ElementTree.Element) -> Iterator[str]:
    return (element.text or "" for element in root.iter() if element.tag.endswith("text"))


def test_every_wire_is_drawn_once_with_its_joint(root: ElementTree.Element) -> None:
    _, plan, _ = dense()
    drawn = {e.attrib["data-wire"]: e.attrib["data-joint"] for e in root.iter() if "data-wire" in e.attrib}
    assert drawn == {f"W{w.number}": w.joint for w in plan.wires}
    assert len(marked(root, "data-wire")) == len(plan.wires)


def test_every_wire_has_its_number_on_it(root: ElementTree.Element) -> None:
    _, plan, _ = dense()
    tags = [e for e in group_of(root, "labels") if "wire-tag" in e.get("class", "")]
    numbers = {word for tag in tags for word in words(tag)}
    assert numbers == {str(w.number) for w in plan.wires}


def test_every_seated_part_is_drawn_with_its_name(root: ElementTree.Element) -> None:
    _, plan, _ = dense()
    names = {s.part for s in plan.seats}
    assert names <= set(marked(root, "data-part"))
    written = {word.split(" ")[0] for word in words(group_of(root, "labels"))}
    assert names <= written


def test_everything_bolted_down_has_its_name(root: ElementTree.Element) -> None:
    build, _, _ = dense()
    written = {word.split(" ")[0] for word in words(group_of(root, "labels"))}
    assert set(build.placements) | {s.name for s in build.strips} <= written


def test_every_terminal_but_unused_bus_points_is_drawn(root: ElementTree.Element) -> None:
    _, plan, _ = dense()
    wanted = {key for key, t in plan.terminals.items() if t.kind != "bus" or plan.leads_at(key)}
    assert set(marked(root, "data-terminal")) == wanted


def test_no_label_covers_a_label_a_lug_or_another_part(side: WiringSide) -> None:
    assert len(side.labelled.placed) > 70
    assert label_overlaps(side.labelled) == []


def test_the_check_would_see_a_label_pushed_onto_a_body(side: WiringSide) -> None:
    body = next(o for o in side.labelled.obstacles if o.key == "part C5")
    first = next(p for p in side.labelled.placed if p.label.key == "R10")
    moved = replace(first, box=replace(first.box, x=body.box.x, y=body.box.y))
    pushed = replace(side.labelled, placed=(*(p for p in side.labelled.placed if p is not first), moved))
    assert "label R10 on part C5" in label_overlaps(pushed)


def test_the_same_bytes_come_out_twice() -> None:
    assert wiring_side_svg(wiring_side(*dense())) == wiring_side_svg(wiring_side(*dense()))


def test_wires_run_side_by_side_and_never_on_one_another(side: WiringSide) -> None:
    for (one, a), (two, b) in combinations(sorted(side.routes.items()), 2):
        for p, q in pairwise(a):
            for r, s in pairwise(b):
                for level in (0, 1):
                    if p[level] == q[level] and r[level] == s[level]:
                        over = min(max(p[1 - level], q[1 - level]), max(r[1 - level], s[1 - level])) - max(
                            min(p[1 - level], q[1 - level]), min(r[1 - level], s[1 - level]))  # fmt: skip
                        near = abs(p[level] - r[level])
                        assert over < 4.0 or near > TRACK_MM - 0.01, f"W{one} on W{two}"


def test_a_wire_starts_and_ends_at_its_terminals(side: WiringSide) -> None:
    for wire in side.plan.wires:
        ends = tuple(side.points[key] for key in wire.terminals)
        assert (side.routes[wire.number][0], side.routes[wire.number][-1]) == ends


def test_low_wires_lie_under_parts_and_upper_wires_over_them(side: WiringSide, root: ElementTree.Element) -> None:
    order = [e.get("id") for e in root if e.get("class") == "layer"]
    assert order == ["metal", "strips", "low-wires", "bus", "parts-1", "upper-wires", "parts-2", "terminals", "labels"]
    upper = set(marked(group_of(root, "upper-wires"), "data-wire"))
    assert {f"W{w.number}" for w in side.plan.wires if w.lies_over} <= upper
    assert {"W19", "W20", "W21", "W22"} <= set(marked(group_of(root, "low-wires"), "data-wire"))


def test_the_wire_laid_later_is_drawn_over_the_earlier_one_wherever_they_cross() -> None:
    build, plan, hardware = dense()
    numbers = [w.number for w in plan.wires]
    for laid in (numbers, numbers[::-1]):
        job = Job(1, "signal", "all", (), (), tuple(laid), (), (), (), (), ())
        side = wiring_side(build, plan, hardware, order=WorkOrder((job,), (), (), (), {}))
        root = ElementTree.fromstring(wiring_side_svg(side).encode())
        drawn = [e for e in root.iter() if "data-wire" in e.attrib or "data-over" in e.attrib]
        place = {e.attrib["data-wire"]: k for k, e in enumerate(drawn) if "data-wire" in e.attrib}
        patched = {(e.attrib["data-over"], e.attrib["data-under"]) for e in drawn if "data-over" in e.attrib}
        bodies = [b.box for b in side.bodies if b.seat.layer == 1]
        count = 0
        for (one, a), (two, b) in combinations(side.routes.items(), 2):
            for at in meetings(a, b):
                upper, lower = (one, two) if laid.index(one) > laid.index(two) else (two, one)
                over = place[f"W{upper}"] > place[f"W{lower}"] or (f"W{upper}", f"W{lower}") in patched
                assert over or any(point_in_box(at, box) for box in bodies), f"W{upper} over W{lower}"
                count += 1
        assert count > 10


def meetings(one: Sequence[Point], two: Sequence[Point]) -> Iterator[Point]:
    """Yield where two lines cross, away from their ends: found by halving one of two pieces that cross."""
    for a, b in pairwise(one):
        for c, d in pairwise(two):
            if segments_cross(a, b, c, d):
                low, high = a, b
                for _ in range(30):
                    middle = ((low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0)
                    low, high = (low, middle) if segments_cross(low, middle, c, d) else (middle, high)
                if min(math.dist(low, p) for p in (one[0], one[-1], two[0], two[-1])) > 1.3:
                    yield low


def test_wires_of_one_class_stand_in_groups_of_their_own(root: ElementTree.Element) -> None:
    _, plan, _ = dense()
    kind = {f"W{w.number}": w.kind for w in plan.wires}
    groups = [e for e in root.iter() if e.get("class") == "wires"]
    assert len({e.attrib["id"] for e in groups}) == len(groups) > 1
    for one in groups:
        assert {kind[name] for name in marked(one, "data-wire")} == {one.attrib["data-kind"]}


def test_plain_colors_can_be_told_apart_in_gray() -> None:
    def gray(ink: str) -> int:
        red, green, blue = (int(ink[k : k + 2], 16) for k in (1, 3, 5))
        return round((299 * red + 587 * green + 114 * blue) / 1000)

    looks = [(gray(ink), mark(name)) for name, ink in INK.items()]
    for (one, dashes), (two, other) in combinations(looks, 2):
        assert abs(one - two) >= 40 or (dashes or ("", ""))[1] != (other or ("", ""))[1]
    for ink, (tone, _) in ((INK[name], found) for name in INK if (found := mark(name))):
        assert abs(gray(ink) - gray(tone)) >= 60
    assert mark("green-yellow") is None


def test_the_caption_names_every_color_and_holds_a_rule(root: ElementTree.Element) -> None:
    _, plan, _ = dense()
    foot = group_of(root, "caption")
    assert {w.color for w in plan.wires} <= set(words(foot))
    assert any(e.get("x1") and abs(float(e.attrib["x2"]) - float(e.attrib["x1"])) == 50.0 for e in foot)


def test_no_label_lies_on_a_frame(side: WiringSide) -> None:
    assert any(obstacle.key.startswith("frame ") for obstacle in side.labelled.obstacles)


def test_a_job_shows_its_own_in_full_and_the_rest_gray(side: WiringSide) -> None:
    svg = wiring_side_svg(side, only={"R4", "W9"})
    root = ElementTree.fromstring(svg.encode())
    assert set(marked(root, "data-wire")) == {f"W{w.number}" for w in side.plan.wires}
    tags = {e.attrib["data-label"] for e in group_of(root, "labels") if "wire-tag" in e.get("class", "")}
    assert {tag.split(" ")[0] for tag in tags} == {"W9"}
    strokes = {e.get("stroke") for g in root.iter() if g.get("data-wire") == "W10" for e in g}
    assert strokes == {"#fff", "#c4c4c4", "#e6e6e6"}
    assert "R4" in {word.split(" ")[0] for word in words(group_of(root, "labels"))}
    assert "R10" not in {word.split(" ")[0] for word in words(group_of(root, "labels"))}


def test_a_large_chassis_is_cut_into_sheets_of_true_size() -> None:
    build, plan, hardware = dense()
    assert build.chassis is not None
    wide = wiring_side(replace(build, chassis=replace(build.chassis, width_mm=600.0)), plan, hardware)
    assert (wide.paper, wide.scale, len(wide.sheets)) == ("A3", 1.0, 2)
    assert label_overlaps(wide.labelled) == []
    first, second = (ElementTree.fromstring(svg.encode()) for svg in wiring_side_sheets(wide))
    left, right = ([float(v) for v in root.attrib["viewBox"].split()] for root in (first, second))
    assert left[0] + left[2] - right[0] == pytest.approx(20.0, abs=0.02)
    assert right[0] + right[2] == pytest.approx(wide.box[0] + wide.box[2], abs=0.02)
    assert any(word.startswith("Sheet 2 of 2") for word in words(second))


def test_a_deep_chassis_is_drawn_smaller_with_text_of_the_same_size_on_paper() -> None:
    build, plan, hardware = dense()
    assert build.chassis is not None
    deep = wiring_side(replace(build, chassis=replace(build.chassis, depth_mm=260.0)), plan, hardware)
    assert (deep.paper, len(deep.sheets)) == ("A3", 1)
    assert 0.7 < deep.scale < 0.95
    tag = next(p for p in deep.labelled.placed if p.label.key == "W1")
    assert tag.label.size * deep.scale == pytest.approx(2.75)


def test_a_small_chassis_goes_on_a4() -> None:
    assert paper_for(250.0, 170.0) == ("A4", 1.0, 1)
    assert paper_for(350.0, 250.0) == ("A3", 1.0, 1)
    assert paper_for(440.0, 250.0) == ("A3", 0.909, 1)
    assert paper_for(558.0, 240.0) == ("A3", 1.0, 2)


@pytest.mark.parametrize("papers", [("A4",), ("Letter",), ("Letter", "Tabloid")])
def test_the_drawing_fits_the_papers_at_hand(papers: tuple[str, ...]) -> None:
    side = wiring_side(*dense(), papers=papers)
    assert side.paper in papers
    assert label_overlaps(side.labelled) == []
    width, height = PAPER_MM[side.paper]
    for svg in wiring_side_sheets(side):
        root = ElementTree.fromstring(svg.encode())
        assert float(root.attrib["width"].removesuffix("mm")) <= width + 0.5
        assert float(root.attrib["height"].removesuffix("mm")) <= height + 0.5


def test_what_is_not_there_yet_can_be_left_out(side: WiringSide) -> None:
    root = ElementTree.fromstring(wiring_side_svg(side, only={"R4"}, hidden={"C5", "W9"}).encode())
    assert "W9" not in marked(root, "data-wire")
    assert "C5" not in marked(root, "data-part")
    assert "W10" in marked(root, "data-wire")


def test_the_window_of_a_job_holds_its_parts_and_labels(side: WiringSide) -> None:
    x, y, width, height = window_around(side, {"R4", "W9"})
    for point in (*side.routes[9], side.points["A.3"], side.points["C.3"]):
        assert x < point[0] < x + width
        assert y < point[1] < y + height
    assert width < side.box[2] / 2.0
    assert window_around(side, {"nothing"}) == side.box


def test_twisted_wires_change_sides_an_even_number_of_times_and_not_under_a_tag() -> None:
    _, plan, _ = dense()
    pair = tuple(replace(w, twist="pair") if w.number in (1, 2) else w for w in plan.wires)
    routes = {1: ((0.0, 0.0), (60.0, 0.0)), 2: ((0.0, 2.1), (60.0, 2.1))}
    lone = replace(plan, wires=pair[:2])
    free = twisted_routes(lone, routes, [])
    assert {y for _, y in free[1]} == {0.0, 2.1}
    assert (free[1][-1], free[2][-1]) == ((60.0, 0.0), (60.0, 2.1))
    assert len(free[1]) % 2 == 1
    tagged = twisted_routes(lone, routes, [Box(30.0, 0.0, 4.0, 3.0)])
    under = [p for p in tagged[1] if 28.0 < p[0] < 32.0]
    assert under == []
    assert [p for p in tagged[1] if p[0] > 32.0 and p[1] == 2.1]


def test_of_three_twisted_wires_the_outer_two_change_sides_across_the_middle_one() -> None:
    _, plan, _ = dense()
    three = tuple(replace(w, number=k, twist="three") for k, w in enumerate(plan.wires[:3], start=1))
    routes = {k: ((0.0, y), (60.0, y)) for k, y in ((1, 2.1), (2, 0.0), (3, 4.2))}
    drawn = twisted_routes(replace(plan, wires=three), routes, [])
    assert drawn[1] == routes[1]
    assert {y for number in (2, 3) for _, y in drawn[number]} == {0.0, 4.2}
    assert len(drawn[2]) == len(drawn[3]) > 6


@pytest.mark.parametrize("panel", ["left", "right"])
def test_parts_on_side_panels_have_their_band_and_their_name(panel: str) -> None:
    build, plan, hardware = dense()
    moved = replace(build, placements={**build.placements, "S1": Placement((100.0, 30.0), panel=panel)})
    plan = replace(plan, terminals={**plan.terminals, **fixed_terminals(moved)})
    side = wiring_side(moved, plan, hardware)
    root = ElementTree.fromstring(wiring_side_svg(side).encode())
    assert panel in marked(root, "data-panel")
    name = next(p for p in side.labelled.placed if p.label.key == "name S1")
    assert (name.box.x < 0) if panel == "left" else (name.box.x > 320.0)
    assert label_overlaps(side.labelled) == []


@pytest.mark.parametrize(("poles", "positions"), [(1, 2), (2, 2), (4, 3), (1, 12)])
@pytest.mark.parametrize("panel", ["front", "rear", "left", "right"])
def test_every_lug_of_a_switch_can_be_told_apart(poles: int, positions: int, panel: str) -> None:
    build, _, _ = dense()
    throws = [f"{p}.{t}" for p in range(1, poles + 1) for t in ("common", *range(1, positions + 1))]
    values = Switch(poles, tuple("abcdefghijkl"[:positions]), "a", "switch", 250.0, 3.0)
    lugs = tuple(Terminal("S1", name, name) for name in throws)
    parts = tuple(replace(p, values=values, terminals=lugs) if p.name == "S1" else p for p in build.parts)
    moved = replace(build, parts=parts, placements={**build.placements, "S1": Placement((100.0, 30.0), 0.0, panel)})
    plan = Plan("", fixed_terminals(moved), (), (), (), {})
    points = terminal_points(moved, plan)
    boxes = [terminal_box(t, points[key], 2.2) for key, t in plan.terminals.items() if t.owner == "S1"]
    assert len(boxes) == poles * (positions + 1)
    assert not any(boxes_overlap(a, b) for a, b in combinations(boxes, 2))


def test_a_shielded_wire_is_drawn_with_its_braid() -> None:
    _, plan, _ = dense()
    wire = replace(plan.wires[0], type="24 AWG shielded")
    plain, braid = wire_markup(plan.wires[0], ((0, 0), (9, 0))), wire_markup(wire, ((0, 0), (9, 0)))
    assert "#d9d9d9" in braid
    combed = wire_markup(wire, ((0, 0), (9, 0)), braid_to=(2.0, 6.0))
    assert combed.count("L2 6") == 3
    assert "#d9d9d9" not in plain


def test_a_build_without_a_chassis_says_what_to_add() -> None:
    build, plan, hardware = dense()
    with pytest.raises(DocumentError) as error:
        wiring_side(replace(build, chassis=None), plan, hardware)
    assert str(error.value) == (
        "nothing to draw on\n"
        "  found:  Dense & <crowded> states no chassis\n"
        "  wanted: the inside measures of the chassis\n"
        "  do:     add [chassis] with inside = [width, depth, height] in mm"
    )


@pytest.mark.parametrize(
    ("color", "ink", "stripe"),
    [("red", "#d21f1f", None), ("green-yellow", "#1f8f3a", "#f5d90a"), ("red/yellow", "#d21f1f", "#f5d90a"),
     ("bare", "#c9c2b4", None)],
)  # fmt: skip
def test_two_colored_wires_have_a_stripe(color: str, ink: str, stripe: str | None) -> None:
    assert inks(color) == (ink, stripe)


def test_numbers_in_terminals_are_2_mm_high_on_paper_and_pins_of_a_socket_do_not_touch() -> None:
    assert terminal_text(1.0) * CAP_HEIGHT >= 2.0
    assert terminal_text(0.9) * 0.9 * CAP_HEIGHT >= 2.0
    pin = PlanTerminal("V1.1", "V1", "pin", 0.0, 0.0, 10.0, "", 3, "V1 pin 1")
    assert terminal_box(pin, (0.0, 0.0), terminal_text(0.5)).height < 11.89 * math.sin(math.radians(18.0))


def test_a_leader_ends_beside_a_terminal_and_not_on_its_number(side: WiringSide) -> None:
    size = terminal_text(side.scale)
    discs = [
        terminal_box(terminal, side.points[key], size)
        for key, terminal in side.plan.terminals.items()
        if terminal.kind not in ("exit", "bolt") and (terminal.kind != "bus" or side.plan.leads_at(key))
    ]
    pointers = [placed.pointer for placed in side.labelled.placed if placed.pointer]
    assert len(pointers) > 5
    assert [p for p in pointers if any(point_in_box(p, disc) for disc in discs)] == []


def test_a_wire_that_lies_wholly_under_a_part_still_has_its_number() -> None:
    build, plan, hardware = dense()
    ends = [plan.terminals[key] for key in ("D.7", "D.8")]
    route = tuple((t.x_mm, t.y_mm, t.z_mm) for t in ends)
    hidden = replace(plan.wires[0], number=99, terminals=("D.7", "D.8"), route=route, lies_over=(), twist="")
    seats = tuple(replace(s, body_length_mm=14.0, body_diameter_mm=8.0) if s.part == "CR1" else s for s in plan.seats)
    labelled = wiring_side(build, replace(plan, wires=(*plan.wires, hidden), seats=seats), hardware).labelled
    assert label_overlaps(labelled) == []
    assert any(placed.label.key == "W99" for placed in labelled.placed)
