"""Records of a whole book, made up around the crowded chassis of the drawing tests."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

from lugwright.bringup.results import IdleRow, IdleSetting, OhmsChart, Reading, Step
from lugwright.buildfile.build import Build, Resistor, Tube
from lugwright.circuit.operating import Certificate, Idle, JointIdle, PartIdle, Rating, TubeIdle, WindingIdle
from lugwright.documents.book.records import BookRecords, StageDrawing, Unconfirmed, WiringSheet
from lugwright.documents.drawings.drill_plan import drill_holes, faces
from lugwright.documents.drawings.drill_sheets import drill_template_sheets
from lugwright.documents.drawings.socket_detail import socket_detail_svg
from lugwright.documents.drawings.strip_detail import strip_detail_svg
from lugwright.documents.drawings.svg import circle, document
from lugwright.documents.drawings.wiring_side import wiring_side, wiring_side_sheets
from lugwright.findings import Finding, Grade, Place
from lugwright.layout.results import Plan
from lugwright.sources import Source
from lugwright.workorder.results import CutRow, Job, LeadIn, WorkOrder

from ..drawings.dense_plan import dense

CERTIFICATE = Certificate(True, "B+1", 2e-13, 1e-11, 1e-9, 20.0, 20.0, 7, "Newton")
WIRING_PAPERS = {"A4": ("A4", "A3"), "Letter": ("Letter", "Tabloid")}


def _idle(build: Build) -> Idle:
    joints = {name: JointIdle(10.0 + k, 0.01 * k, 0.03 * k) for k, name in enumerate(build.joints)}
    joints["B+1"] = JointIdle(423.45, 1.25, 3.5)
    parts = {
        p.name: PartIdle(p.name, p.name, -12.5, 1.5e-3, 1.6e-3, 2e-3, 15.0, 0.0, 0.019)
        for p in build.parts
        if isinstance(p.values, Resistor)
    }
    tubes = {
        f"{p.name}{s.letter}": TubeIdle(f"{p.name}{s.letter}", p.name, 187.6, -1.43, None, 1.1e-3, 0.0, 0.0, 0.206, 0.0,
                                        1.6e-3, 62e3)
        for p in build.parts
        if isinstance(p.values, Tube)
        for s in p.values.type.sections
    }  # fmt: skip
    windings = {"T1.hv": WindingIdle("T1.hv", 551.0, 0.081, 0.42, 0.1)}
    return Idle(joints, parts, tubes, windings, 0.41, 48.2, None, None, CERTIFICATE)


def _order(plan: Plan) -> WorkOrder:
    jobs = []
    for number, start in enumerate(range(0, len(plan.seats), 4), start=1):
        seats = plan.seats[start : start + 4]
        wires = plan.wires[(number - 1) * 2 : number * 2]
        leads = tuple(
            LeadIn(s.part, n, t, plan.terminals[t].label, "solder now (all 3 in)" if k else "wait")
            for s in seats
            for k, (n, t) in enumerate(zip(s.lead_names, s.terminals, strict=True))
        )
        jobs.append(Job(number, "signal", f"Signal: part {number}", ("Bend the leads.", "Slip sleeving on."),
                        tuple(s.part for s in seats), tuple(w.number for w in wires), leads,
                        (leads[0].label,), (f"{leads[1].label} (1 to come)",), ("R1",),
                        ("Smooth round solder, no strand standing out.",) if number % 3 == 0 else ()))  # fmt: skip
    cuts = tuple(CutRow(w.type, w.color, w.length_mm, w.strip_mm, (w.number,), w.twist) for w in plan.wires[:6])
    return WorkOrder(tuple(jobs), cuts, (("22", "red", 1240.0),), ("R5 goes in before the wire it lies over",))


def _ohms(plan: Plan) -> OhmsChart:
    rows = [
        Reading(t.label, t.joint, "ohms to ground", math.inf if k % 5 == 0 else 1e3 * (k + 1), 900.0 * (k + 1),
                math.inf if k % 5 == 0 else 1100.0 * (k + 1), "ohm", "rises slowly" if k % 7 == 0 else "")
        for k, t in enumerate(plan.terminals.values())
        if t.kind in ("pin", "lug")
    ]  # fmt: skip
    return OhmsChart("a digital meter, 0.5 V across the leads", tuple(rows))


def _steps() -> tuple[Step, ...]:
    readings = (
        Reading("V1 pin 1 (plate)", "V1a.plate", "V dc", 312.0, 290.0, 330.0, "V"),
        Reading("V3 pin 5 (grid)", "V3.grid", "V dc", -42.5, -46.0, -39.0, "V", "before output tubes"),
    )
    stop = ("the lamp stays bright for more than 3 s", "anything smells, smokes or hums loudly")
    return tuple(
        Step(n, title, mains, ("Clip the black lead to ground.", "Plug in, switch on."), stop,
             ("One hand in a pocket.",), readings, 0.12, "dim glow, 31 V across it" if "lamp" in mains else "")
        for n, (title, mains) in enumerate(
            [("No tubes", "through the 60 W lamp"), ("No tubes", "full mains"), ("All tubes", "full mains")], start=1)
    )  # fmt: skip


def _setting() -> IdleSetting:
    row = IdleRow("V3", "R41, V3 pin 8", 32.0, 32e-3, 30e-3, 2e-3, 420.0, 12.6, 14.0, 0.9, 0.7, 0.97, 0.032)
    return IdleSetting("fixed bias", (row,), (("R49", 0.5, -42.0, 30.1), ("R49", 1.0, -55.0, 8.2)),
                       "60 to 70 % of the plate's limit", ("Bias before output tubes.",))  # fmt: skip


def _ratings() -> tuple[Rating, ...]:
    return (
        Rating("resistor-watts", "R3", "heat", 0.101, 1.0, "W", "maker's sheet"),
        Rating("winding-current", "T1.hv", "current, rms", 0.081, 0.1, "A"),
        Rating("supply-ohm", "V5", "resistance per plate", 150.0, 120.0, "Ω", at_least=True),
    )


def _findings() -> tuple[Finding, ...]:
    return (
        Finding("grid-lead", Grade.DOUBT, "long grid wire at V1", "W3 is 85 mm", "under 60 mm", "move V1 to J1", "V1"),
        Finding("resistor-watts", Grade.FAULT, "R3 too small", "1.4 W", "at most 1 W", "use 3 W", "R3",
                Place("dense.toml", 41)),
    )  # fmt: skip


@cache
def sample() -> BookRecords:
    """Return records for every section of the book."""
    build, plan, hardware = dense()
    wiring = {}
    for paper, papers in WIRING_PAPERS.items():
        side = wiring_side(build, plan, hardware, papers=papers)
        wiring[paper] = tuple(WiringSheet(side.paper, svg) for svg in wiring_side_sheets(side))
    drill = {
        paper: tuple(s for f in faces(build) for s in drill_template_sheets(build, plan, hardware, f, page=paper))
        for paper in WIRING_PAPERS
    }
    stage = document([circle((60.0, 40.0), 20.0)], box=(0.0, 0.0, 120.0, 80.0))
    return BookRecords(
        build=build, findings=_findings(), idle=_idle(build), ratings=_ratings(), plan=plan, work_order=_order(plan),
        ohms_chart=_ohms(plan), steps=_steps(), idle_setting=_setting(),
        stage_drawings=(StageDrawing("all", "All", stage),), wiring_sheets=wiring,
        strip_drawings={s.name: strip_detail_svg(build, plan, hardware, s.name) for s in build.strips},
        socket_drawings={v: socket_detail_svg(build, plan, hardware, v) for v in ("V1", "V2", "V3")},
        drill_sheets=drill, holes=drill_holes(build, plan, hardware),
        unconfirmed=(
            Unconfirmed("tubes", "6V6GT", ("V3",), "plate heat 12 W", Source("maker's sheet", read="memory")),
        ),
    )  # fmt: skip


def renamed(title: str) -> BookRecords:
    """Return the records with another title of the build."""
    return replace(sample(), build=replace(sample().build, title=title))
