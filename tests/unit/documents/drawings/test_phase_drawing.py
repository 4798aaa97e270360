"""The chassis after each kind of work: new things in full, earlier ones in light, later ones not there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from lugwright.documents.drawings.phase_drawing import PhaseDrawing, phase_drawings
from lugwright.documents.drawings.wiring_side import WiringSide, wiring_side
from lugwright.workorder.results import Job, LeadIn, WorkOrder

from .dense_plan import dense


def job(number: int, phase: str, parts: int, wires: int, buses: tuple[str, ...] = ()) -> Job:
    """Return a card that brings the first parts and wires of the dense plan, up to some of each."""
    _, plan, _ = dense()
    leads = [
        LeadIn(f"W{w.number}", "", key, plan.terminals[key].label, "wait")
        for w in plan.wires[:wires]
        for key in w.terminals
    ]
    leads += [
        LeadIn(s.part, name, key, plan.terminals[key].label, "wait")
        for s in plan.seats[:parts]
        for name, key in zip(s.lead_names, s.terminals, strict=True)
    ]
    names = tuple(s.part for s in plan.seats[:parts])
    numbers = tuple(w.number for w in plan.wires[:wires])
    return Job(number, phase, "some", (), names, numbers, tuple(leads), (), (), (), (), (), buses)


BUS = dense()[0].buses[0].name
HEATERS, GROUND = job(2, "heaters", 0, 3), job(3, "ground", 0, 6, (BUS,))
SIGNAL, LATE = job(4, "signal", 4, 6), job(5, "heaters", 1, 3)
ORDER = WorkOrder((job(1, "mounting", 0, 0), HEATERS, GROUND, SIGNAL), (), (), (), {})


@pytest.fixture(scope="module")
def side() -> WiringSide:
    return wiring_side(*dense(), order=ORDER)


@pytest.fixture(scope="module")
def drawn(side: WiringSide) -> tuple[PhaseDrawing, ...]:
    return phase_drawings(side, ORDER)


@pytest.fixture(scope="module")
def roots(drawn: tuple[PhaseDrawing, ...]) -> Mapping[str, ElementTree.Element]:
    return {one.phase: ElementTree.fromstring(one.svg.encode()) for one in drawn}


def marked(root: ElementTree.Element, name: str) -> set[str]:
    return {e.attrib[name] for e in root.iter() if name in e.attrib}


def faded(root: ElementTree.Element) -> set[str]:
    """Return the wires in light."""
    return {
        e.attrib["data-wire"]
        for e in root.iter()
        if "data-wire" in e.attrib and {"#c4c4c4"} & {stroke.get("stroke") for stroke in e}
    }


def test_there_is_a_drawing_for_each_kind_of_work_that_brings_something(drawn: tuple[PhaseDrawing, ...]) -> None:
    assert [one.phase for one in drawn] == ["heaters", "ground", "signal"]


def test_what_is_new_is_full_what_is_there_light_and_what_follows_missing(
    roots: Mapping[str, ElementTree.Element],
) -> None:
    _, plan, _ = dense()
    first, later = ({f"W{w.number}" for w in plan.wires[a:b]} for a, b in ((0, 3), (3, 6)))
    parts = {s.part for s in plan.seats[:4]}
    assert marked(roots["heaters"], "data-wire") == first
    assert faded(roots["heaters"]) == set()
    assert marked(roots["ground"], "data-wire") == first | later
    assert faded(roots["ground"]) == first
    assert faded(roots["signal"]) == first | later
    seated = {s.part for s in plan.seats}
    assert marked(roots["ground"], "data-part") & seated == set()
    assert marked(roots["signal"], "data-part") & seated == parts


def test_the_bus_is_drawn_and_named_when_it_is_there(roots: Mapping[str, ElementTree.Element]) -> None:
    for phase, there in (("heaters", False), ("ground", True), ("signal", True)):
        (layer,) = [e for e in roots[phase].iter() if e.get("id") == "bus"]
        assert bool(list(layer)) is there
        (labels,) = [e for e in roots[phase].iter() if e.get("id") == "labels"]
        assert (f"bus {BUS}" in marked(labels, "data-label")) is there


def test_the_words_below_say_what_is_in_full(roots: Mapping[str, ElementTree.Element]) -> None:
    said = " ".join(e.text or "" for e in roots["heaters"].iter() if e.tag.endswith("text"))
    assert "HEATERS in full, what is there before in light. WIRING SIDE: open side up" in said
    titles = (e.text for e in roots["heaters"].iter() if e.tag.endswith("title"))
    assert next(titles) == f"{dense()[0].title}: heaters"


def test_what_had_to_wait_belongs_to_its_own_kind_of_work(side: WiringSide) -> None:
    drawn = phase_drawings(side, replace(ORDER, jobs=(*ORDER.jobs, LATE)))
    assert [one.phase for one in drawn] == ["heaters", "ground", "signal"]
    first = dense()[1].seats[0].part
    assert first in marked(ElementTree.fromstring(drawn[0].svg.encode()), "data-part")
