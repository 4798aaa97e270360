"""The drawing on a card: what it brings in full, what is there in light lines, all it names found on it."""

from __future__ import annotations

from itertools import combinations
from xml.etree import ElementTree

import pytest

from lugwright.documents.drawings.card_drawing import card_drawings
from lugwright.documents.drawings.card_names import labels_by_thing, names_in
from lugwright.documents.drawings.card_regions import MOST_HIGH_MM, MOST_WIDE_MM, inside, windows
from lugwright.documents.drawings.geometry import boxes_overlap
from lugwright.documents.drawings.terminal_points import terminal_box
from lugwright.documents.drawings.wiring_side import WiringSide, terminal_text, wiring_side
from lugwright.workorder.results import Job, LeadIn, WorkOrder

from .dense_plan import dense


def _job(number: int, parts: tuple[str, ...], wires: tuple[int, ...], buses: tuple[str, ...] = ()) -> Job:
    _, plan, _ = dense()
    leads = [LeadIn(f"W{w.number}", "", key, plan.terminals[key].label, "wait")
             for w in plan.wires if w.number in wires for key in w.terminals]  # fmt: skip
    seats = [s for s in plan.seats if s.part in parts]
    leads += [LeadIn(s.part, name, key, plan.terminals[key].label, "wait")
              for s in seats for name, key in zip(s.lead_names, s.terminals, strict=True)]  # fmt: skip
    return Job(number, "signal", "some", (), parts, wires, tuple(leads), (), (), (), (), (), buses)


@pytest.fixture(scope="module")
def order() -> WorkOrder:
    _, plan, _ = dense()
    wires = [w.number for w in plan.wires]
    parts = [s.part for s in plan.seats]
    bus = dense()[0].buses[0].name
    jobs = [_job(1, (), (), (bus,)), _job(2, (), tuple(wires[:4])), _job(3, tuple(parts[:3]), tuple(wires[4:6]))]
    return WorkOrder(tuple(jobs), (), (), (), {})


@pytest.fixture(scope="module")
def side(order: WorkOrder) -> WiringSide:
    return wiring_side(*dense(), order=order)


def roots(side: WiringSide, order: WorkOrder, number: int) -> list[ElementTree.Element]:
    return [ElementTree.fromstring(svg.encode()) for svg in card_drawings(side, order)[number]]


def marked(some: list[ElementTree.Element], name: str) -> set[str]:
    return {e.attrib[name] for root in some for e in root.iter() if name in e.attrib}


def test_a_card_shows_all_it_brings_and_every_terminal_it_names(side: WiringSide, order: WorkOrder) -> None:
    for job in order.jobs[1:]:
        some = roots(side, order, job.number)
        assert marked(some, "data-wire") >= {f"W{number}" for number in job.wires}
        assert marked(some, "data-part") == set(job.parts)
        assert marked(some, "data-terminal") == {lead.terminal for lead in job.leads}


def test_every_wire_part_and_owner_has_its_name_in_the_drawing(side: WiringSide, order: WorkOrder) -> None:
    for job in order.jobs[1:]:
        named = {label.split(" ")[0] for label in marked(roots(side, order, job.number), "data-label")}
        assert named >= {*job.parts, *(f"W{number}" for number in job.wires)}
        words = {e.text for root in roots(side, order, job.number) for e in root.iter() if e.tag.endswith("text")}
        owners = {side.plan.terminals[lead.terminal] for lead in job.leads}
        assert words >= {t.label if t.kind == "bolt" else t.owner for t in owners}


def test_a_window_holds_its_terminals_whole(side: WiringSide, order: WorkOrder) -> None:
    size = terminal_text(side.scale)
    for job in order.jobs[1:]:
        boxes = [terminal_box(side.plan.terminals[k.terminal], side.points[k.terminal], size) for k in job.leads]
        views = [[float(v) for v in root.attrib["viewBox"].split()] for root in roots(side, order, job.number)]
        frames = [(x, y, x + width, y + height) for x, y, width, height in views]
        for box in boxes:
            assert any(inside(box.bounds(), frame) for frame in frames)


def test_no_name_in_a_card_covers_a_name_or_a_terminal(side: WiringSide, order: WorkOrder) -> None:
    size, labels, count = terminal_text(side.scale), labels_by_thing(side), 0
    for job in order.jobs[1:]:
        for root in roots(side, order, job.number):
            x, y, width, height = (float(v) for v in root.attrib["viewBox"].split())
            placed = names_in(side, job, (x, y, x + width, y + height), labels)
            count += len(placed)
            assert not [1 for one, two in combinations(placed, 2) if boxes_overlap(one.box, two.box)]
            for key in {lead.terminal for lead in job.leads}:
                disc = terminal_box(side.plan.terminals[key], side.points[key], size)
                assert not [p.label.key for p in placed if boxes_overlap(p.box, disc)]
    assert count > 10


def test_what_earlier_cards_brought_is_there_in_light_lines_and_nothing_of_later_ones(
    side: WiringSide, order: WorkOrder
) -> None:
    first, second, third = (card_drawings(side, order)[number] for number in (1, 2, 3))
    assert len(first) == 1
    assert not any('class="part"' in svg for svg in second)
    strokes = ['stroke="#b4b4b4" stroke-width="0.8"' in svg for svg in (*second, *third)]
    assert not any(strokes[: len(second)])
    assert any(strokes[len(second) :])
    assert any('stroke-width="1.8"' in svg for svg in (*second, *third))  # the bus of card 1


def test_the_same_bytes_come_out_twice(side: WiringSide, order: WorkOrder) -> None:
    assert card_drawings(side, order) == card_drawings(side, order)


def test_windows_hold_what_is_wanted_and_are_no_larger_than_a_card_takes() -> None:
    near = [(0.0, 0.0, 4.0, 4.0), (30.0, 0.0, 34.0, 4.0)]
    assert windows(near, 1.0) == [(-9.0, -9.0, 43.0, 13.0)]
    far = [(0.0, 0.0, 4.0, 4.0), (400.0, 0.0, 404.0, 4.0), (0.0, 150.0, 4.0, 154.0)]
    assert windows(far, 1.0) == [(-9.0, -9.0, 13.0, 13.0), (-9.0, 141.0, 13.0, 163.0), (391.0, -9.0, 413.0, 13.0)]
    many = [(13.0 * k, 7.0 * (k % 9), 13.0 * k + 4.0, 7.0 * (k % 9) + 4.0) for k in range(30)]
    for window in windows(many, 0.9):
        assert (window[2] - window[0]) * 0.9 <= MOST_WIDE_MM
        assert (window[3] - window[1]) * 0.9 <= MOST_HIGH_MM
