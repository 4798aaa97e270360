"""Strips and sockets enlarged: every lug with everything that goes in it."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

from lugwright.documents.drawings.lug_rows import lug_rows, soldered_on
from lugwright.documents.drawings.socket_detail import socket_detail_svg
from lugwright.documents.drawings.strip_detail import strip_detail_svg
from lugwright.workorder.results import Job, LeadIn, WorkOrder

from .dense_plan import dense


def written(svg: str) -> list[str]:
    return [e.text or "" for e in ElementTree.fromstring(svg.encode()).iter() if e.tag.endswith("text")]


def test_a_lug_lists_parts_with_their_lead_and_wires_with_their_color() -> None:
    build, plan, _ = dense()
    (row,) = [r for r in lug_rows(build, plan, "A") if r.terminal == "A.2"]
    assert [lead.words for lead in row.leads] == [
        "R3 47k lead 1, to C lug 2",
        "R11 47k lead 2, to V1 pin 1",
        "W9 red to R101 lug 3",
    ]


def test_polar_parts_name_their_ends() -> None:
    build, plan, _ = dense()
    leads = [lead.words for owner in ("A", "C", "D") for row in lug_rows(build, plan, owner) for lead in row.leads]
    assert "C5 22µ +, to C lug 5" in leads
    assert "C5 22µ −, to A lug 3" in leads
    assert "CR1 anode, to D lug 8" in leads
    assert "CR1 cathode (band), to D lug 7" in leads


def test_every_lead_at_every_strip_and_socket_is_on_its_drawing() -> None:
    build, plan, hardware = dense()
    for owner in ("A", "B", "C", "D"):
        words = written(strip_detail_svg(build, plan, hardware, owner))
        for row in lug_rows(build, plan, owner):
            assert len(row.leads) == len(plan.leads_at(row.terminal))
            assert all(lead.words in words for lead in row.leads)
    for owner in ("V1", "V2", "V3"):
        words = written(socket_detail_svg(build, plan, hardware, owner))
        for row in lug_rows(build, plan, owner):
            assert all(lead.words in words for lead in row.leads)


def test_leads_stand_on_the_side_they_come_from() -> None:
    build, plan, hardware = dense()
    root = ElementTree.fromstring(strip_detail_svg(build, plan, hardware, "A").encode())
    anchors = {e.text: e.get("text-anchor") for e in root.iter() if e.tag.endswith("text")}
    assert anchors["R3 47k lead 1, to C lug 2"] == "end"  # from the front: left of a strip that stands on end
    assert anchors["R11 47k lead 2, to V1 pin 1"] == "start"
    assert {"← toward front", "toward rear →"} <= set(anchors)


def test_pins_name_their_electrode_and_empty_ones_say_so() -> None:
    build, plan, hardware = dense()
    words = written(socket_detail_svg(build, plan, hardware, "V1"))
    assert {"1 a plate", "2 a grid", "9 heater tap"} <= set(words)
    assert "1 not used" in written(socket_detail_svg(build, plan, hardware, "V3"))


def test_a_lug_says_its_joint_and_the_card_that_solders_it() -> None:
    build, plan, hardware = dense()
    leads = (
        LeadIn("R3", "1", "A.2", "strip A lug 2", "wait (1 still to come)"),
        LeadIn("R11", "2", "V1.1", "V1 pin 1 (plate a)", "solder now (all 3 in)"),
    )
    jobs = tuple(Job(k, "signal", "", (), (), (), leads, (), (), (), ()) for k in (7,))
    last = Job(9, "signal", "", (), (), (), (replace(leads[0], solder="solder now (all 3 in)"),), (), (), (), ())
    order = WorkOrder((*jobs, last), (), (), ())
    assert soldered_on(order) == {"V1.1": 7, "A.2": 9}
    joint = plan.terminals["A.2"].joint
    assert f"[{joint}] soldered on card 9" in written(strip_detail_svg(build, plan, hardware, "A", order))
    assert "1 a plate, soldered on card 7" in written(socket_detail_svg(build, plan, hardware, "V1", order))


def test_lists_never_run_into_one_another() -> None:
    build, plan, hardware = dense()
    for svg in (socket_detail_svg(build, plan, hardware, "V2"), strip_detail_svg(build, plan, hardware, "A")):
        places: dict[str, list[float]] = {"start": [], "end": []}
        for e in ElementTree.fromstring(svg.encode()).iter():
            if e.tag.endswith("text") and e.get("text-anchor") in places:
                places[e.attrib["text-anchor"]].append(float(e.attrib["y"]))
        for heights in places.values():
            gaps = [b - a for a, b in zip(sorted(heights), sorted(heights)[1:], strict=False)]
            assert min(gaps) > 2.3


def test_details_are_the_same_bytes_twice() -> None:
    build, plan, hardware = dense()
    assert strip_detail_svg(build, plan, hardware, "A") == strip_detail_svg(build, plan, hardware, "A")
    assert socket_detail_svg(build, plan, hardware, "V3") == socket_detail_svg(build, plan, hardware, "V3")
