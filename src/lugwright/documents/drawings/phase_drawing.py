"""The wiring side for one kind of work: what it brings in full, what is there before in light, the rest not yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lugwright.documents.drawings.wiring_side import WiringSide, wiring_side_svg
from lugwright.workorder.results import Job, WorkOrder


@dataclass(frozen=True)
class PhaseDrawing:
    """The whole chassis after one kind of work."""

    phase: str  # "heaters"
    svg: str


def phase_drawings(side: WiringSide, order: WorkOrder) -> tuple[PhaseDrawing, ...]:
    """Return a drawing for each kind of work that brings parts or wires, in the order of the work.

    What had to wait for a later card still belongs to the work it is part of.
    """
    phases = dict.fromkeys(job.phase for job in order.jobs if _brought(job))
    brought = {phase: _of_phase(order.jobs, phase) for phase in phases}
    everything = {*(f"W{w.number}" for w in side.plan.wires), *(b.part.name for b in side.bodies)}
    everything |= {bus.name for bus in side.build.buses}
    found, there = [], set[str]()
    for phase, names in brought.items():
        new = names - there
        there |= names
        title = f"{side.build.title}: {phase}"
        svg = wiring_side_svg(side, only=new, hidden=everything - there, told=_told(phase), title=title)
        found.append(PhaseDrawing(phase, svg))
    return tuple(found)


def _told(phase: str) -> str:
    return f"{phase.upper()} in full, what is there before in light. "


def _of_phase(jobs: Sequence[Job], phase: str) -> set[str]:
    return {name for job in jobs if job.phase == phase for name in _brought(job)}


def _brought(job: Job) -> set[str]:
    """Return the parts and wires that a card brings, those with leads on it, and buses."""
    return {*(lead.what for lead in job.leads), *job.buses}
