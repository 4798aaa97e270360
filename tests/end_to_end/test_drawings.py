"""The wiring side of every build: nothing on it covers anything else, and it can be read on paper."""

from __future__ import annotations

import math
from collections import Counter
from itertools import combinations
from xml.etree import ElementTree

import pytest

from lugwright.buildfile.build import Choke, Transformer, Tube
from lugwright.documents.drawings.card_drawing import card_drawings
from lugwright.documents.drawings.card_names import labels_by_thing, names_in
from lugwright.documents.drawings.drill_plan import drill_holes, face_size_mm
from lugwright.documents.drawings.geometry import boxes_overlap
from lugwright.documents.drawings.labels import label_overlaps
from lugwright.documents.drawings.svg import CAP_HEIGHT
from lugwright.documents.drawings.terminal_points import terminal_box
from lugwright.documents.drawings.wiring_side import PAPER_MM, WiringSide, terminal_text, wiring_side
from lugwright.workflow import Opened

LEAST_CAPITALS_MM = 2.0


@pytest.fixture(scope="module")
def side(planned: Opened) -> WiringSide:
    return wiring_side(planned.build, planned.plan, planned.hardware, order=planned.work_order)


def test_no_label_covers_a_label_a_lug_a_frame_or_another_part(side: WiringSide) -> None:
    assert len(side.labelled.placed) > 60
    assert label_overlaps(side.labelled) == []


def test_every_word_and_number_is_2_mm_high_on_paper(side: WiringSide) -> None:
    sizes = [placed.label.size for placed in side.labelled.placed]
    for size in (*sizes, terminal_text(side.scale)):
        assert round(size * side.scale * CAP_HEIGHT, 2) >= LEAST_CAPITALS_MM


def test_the_sheets_fit_their_paper(side: WiringSide) -> None:
    width, height = PAPER_MM[side.paper]
    for _, _, wide, high in side.sheets:
        assert wide * side.scale <= width + 0.5
        assert high * side.scale <= height + 0.5


def test_every_card_with_leads_is_drawn_with_all_it_names(planned: Opened, side: WiringSide) -> None:
    drawings, labels = card_drawings(side, planned.work_order), labels_by_thing(side)
    size = terminal_text(side.scale)
    for job in planned.work_order.jobs:
        if not job.leads:
            continue
        named: set[str] = set()
        for svg in drawings[job.number]:
            x, y, width, height = (float(v) for v in ElementTree.fromstring(svg.encode()).attrib["viewBox"].split())
            placed = names_in(side, job, (x, y, x + width, y + height), labels)
            named |= {p.label.key.removeprefix("name ").split(" ")[0] for p in placed}
            discs = [terminal_box(side.plan.terminals[k.terminal], side.points[k.terminal], size) for k in job.leads]
            boxes = [p.box for p in placed]
            assert not [1 for one, two in combinations(boxes, 2) if boxes_overlap(one, two)], job.number
            assert not [p.label.key for p in placed for disc in discs if boxes_overlap(p.box, disc)], job.number
        assert named >= {lead.what for lead in job.leads}, job.number
        kinds = {side.plan.terminals[lead.terminal] for lead in job.leads}
        assert named >= {t.label.split(" ")[0] if t.kind == "bolt" else t.owner for t in kinds}, job.number


def test_no_hole_is_missing_and_none_runs_into_another(planned: Opened) -> None:
    build, plan, hardware = planned.build, planned.plan, planned.hardware
    wanted: Counter[str] = Counter()
    for name in build.placements:
        values = build.part(name).values
        if isinstance(values, Tube):
            wanted[name] = 3  # the socket and its two screws
        elif isinstance(values, Transformer | Choke):
            wanted[name] = 2  # its place, marked from the part, and the grommet of its leads
        elif name in hardware.panel:
            wanted[name] = 1 + len(hardware.panel[name].extra_holes)
        else:
            wanted[name] = 1
    wanted.update({strip.name: len(strip.feet) for strip in build.strips if strip.feet})
    wanted.update(key for key, terminal in plan.terminals.items() if terminal.kind == "bolt")
    holes = drill_holes(build, plan, hardware)
    assert Counter(hole.owner for hole in holes) == wanted
    assert all(hole.tool and hole.size for hole in holes)
    chassis = build.chassis
    assert chassis is not None
    for hole in holes:
        width, height = face_size_mm(chassis, hole.face)
        assert 0.0 < hole.x_mm < width
        assert 0.0 < hole.y_mm < height
    round_ones = [hole for hole in holes if hole.diameter_mm]
    for one, two in combinations(round_ones, 2):
        if one.face == two.face:
            apart = math.dist((one.x_mm, one.y_mm), (two.x_mm, two.y_mm))
            assert apart > (one.diameter_mm + two.diameter_mm) / 2.0, f"{one.what} runs into {two.what}"


def test_every_transformer_lead_comes_through_a_grommet(planned: Opened) -> None:
    holes = {h.owner: h for h in drill_holes(planned.build, planned.plan, planned.hardware) if "grommet" in h.what}
    exits = [t for t in planned.plan.terminals.values() if t.kind == "exit"]
    assert exits
    assert {t.owner for t in exits} == set(holes)
