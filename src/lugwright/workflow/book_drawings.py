"""Everything in the book that shows the metal and the circuit. It knows no log and computes nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from lugwright.buildfile.build import Build, Tube
from lugwright.circuit.operating import Idle
from lugwright.documents.book.records import StageDrawing, WiringSheet
from lugwright.documents.drawings.card_drawing import card_drawings
from lugwright.documents.drawings.circuit_stage import stage_svgs
from lugwright.documents.drawings.drill_plan import Hole, drill_holes, faces
from lugwright.documents.drawings.drill_sheets import drill_template_sheets
from lugwright.documents.drawings.layer_drawing import LayerDrawing, layer_drawings
from lugwright.documents.drawings.phase_drawing import PhaseDrawing, phase_drawings
from lugwright.documents.drawings.plate_curves import PlateChart, plate_charts
from lugwright.documents.drawings.socket_detail import socket_detail_svg
from lugwright.documents.drawings.strip_detail import strip_detail_svg
from lugwright.documents.drawings.wiring_side import wiring_side, wiring_side_sheets
from lugwright.kept_answers import KeptAnswers, kept_answers, kept_property
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import Plan
from lugwright.solve.results import PlateCurves
from lugwright.workorder.results import WorkOrder

PAPERS = {"A4": ("A4", "A3"), "Letter": ("Letter", "Tabloid")}


@dataclass(frozen=True)
class Inside:
    """What is drawn of one wiring side."""

    wiring: tuple[WiringSheet, ...]
    cards: Mapping[int, tuple[str, ...]]  # of each job card
    phases: tuple[PhaseDrawing, ...]  # after each kind of work
    layers: tuple[LayerDrawing, ...]


@dataclass(frozen=True, eq=False)
class BookDrawings:
    """The drawings of a build for one paper; each is made when it is first asked for."""

    paper: str
    build: Build
    plan: Plan
    hardware: Hardware
    work_order: WorkOrder
    idle: Idle
    curves: tuple[PlateCurves, ...]

    @cached_property
    def kept(self) -> KeptAnswers:
        """Return where the drawings of the wiring side are kept for the next run: placing their labels takes long."""
        return kept_answers((self.paper, self.build, self.plan, self.hardware, self.work_order))

    @kept_property
    def inside(self) -> Inside:
        """Return the drawings of the wiring side."""
        side = wiring_side(self.build, self.plan, self.hardware, papers=PAPERS[self.paper], order=self.work_order)
        return Inside(
            wiring=tuple(WiringSheet(side.paper, svg) for svg in wiring_side_sheets(side)),
            cards=card_drawings(side, self.work_order),
            phases=phase_drawings(side, self.work_order),
            layers=layer_drawings(side),
        )

    @cached_property
    def stages(self) -> tuple[StageDrawing, ...]:
        """Return the circuit of each stage."""
        return tuple(StageDrawing(d.stage, d.title, d.svg) for d in stage_svgs(self.build, self.idle))

    @cached_property
    def drill_sheets(self) -> tuple[str, ...]:
        """Return the drill template of every face, in sheets."""
        sheets = [drill_template_sheets(self.build, self.plan, self.hardware, face, page=self.paper)
                  for face in faces(self.build)]  # fmt: skip
        return tuple(sheet for face in sheets for sheet in face)

    @cached_property
    def holes(self) -> tuple[Hole, ...]:
        """Return every hole to drill."""
        return drill_holes(self.build, self.plan, self.hardware)

    @cached_property
    def plates(self) -> tuple[PlateChart, ...]:
        """Return the plate curves of the tubes."""
        return plate_charts(self.curves)

    @cached_property
    def strips(self) -> Mapping[str, str]:
        """Return each strip, enlarged."""
        return {
            strip.name: strip_detail_svg(self.build, self.plan, self.hardware, strip.name, self.work_order)
            for strip in self.build.strips
        }

    @cached_property
    def sockets(self) -> Mapping[str, str]:
        """Return each socket, enlarged."""
        return {
            part.name: socket_detail_svg(self.build, self.plan, self.hardware, part.name, self.work_order)
            for part in self.build.parts
            if isinstance(part.values, Tube)
        }
