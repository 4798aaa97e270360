"""Job cards as they stand at the bench: by which name each lead is ticked, and since when it is in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.documents.drawings.card_drawing import card_drawings
from lugwright.layout.results import Plan
from lugwright.log.state import Bench, wire_key
from lugwright.workflow.opened import Opened
from lugwright.workflow.ticking import where_it_stands, wire_ends
from lugwright.workflow.wiring import side_of
from lugwright.workorder.progress import lead_name, solders
from lugwright.workorder.results import CardProgress, Job, LeadIn, WorkOrder

MOST_DRAWN = 4  # builds whose cards stay drawn
_DRAWN: list[tuple[WorkOrder, Mapping[int, tuple[str, ...]]]] = []


@dataclass(frozen=True)
class LeadNow:
    """A lead of a card. ``name`` is what `lugwright tick --lead` takes, ``since`` when it went in, "" before that."""

    name: str  # "R3.1", "W12.2"
    lead: LeadIn
    since: str


@dataclass(frozen=True)
class JointNow:
    """A joint that a card solders, and since when it is."""

    terminal: str
    label: str
    since: str


@dataclass(frozen=True)
class CardNow:
    """A card with everything of it that can be ticked; ``checked`` is when the whole of it was."""

    job: Job
    progress: CardProgress
    leads: tuple[LeadNow, ...]
    joints: tuple[JointNow, ...]
    checked: str


def cards_now(opened: Opened) -> tuple[CardNow, ...]:
    """Return every card as it stands.

    Raises
    ------
    LogError
        There is no plan, or the build file has changed since.
    """
    progress = where_it_stands(opened)
    plan, bench = opened.plan, opened.bench_log.bench
    jobs = zip(opened.work_order.jobs, progress.cards, strict=True)
    return tuple(_card(plan, bench, job, card) for job, card in jobs)


def card_drawing(opened: Opened, number: int) -> tuple[str, ...]:
    """Return the drawings of a card as SVG, left to right; none for a card without leads."""
    for kept, drawn in _DRAWN:
        if kept is opened.work_order:
            return drawn.get(number, ())
    drawn = card_drawings(side_of(opened), opened.work_order)
    _DRAWN.append((opened.work_order, drawn))
    del _DRAWN[:-MOST_DRAWN]
    return drawn.get(number, ())


def _card(plan: Plan, bench: Bench, job: Job, progress: CardProgress) -> CardNow:
    labels: Mapping[str, str] = {lead.terminal: lead.label for lead in job.leads}
    joints = tuple(JointNow(key, labels[key], bench.soldered.get(key, "")) for key in solders(job))
    checked = bench.cards.get((job.phase, job.title), ("", ()))[0]
    return CardNow(job, progress, tuple(_lead(plan, bench, lead) for lead in job.leads), joints, checked)


def _lead(plan: Plan, bench: Bench, lead: LeadIn) -> LeadNow:
    if name := lead_name(plan, lead):
        there = bench.leads.get((lead.what, name))
        since = there.time if there is not None and there.terminal == lead.terminal else ""
        return LeadNow(f"{lead.what}.{name}", lead, since)
    wire = next(w for w in plan.wires if f"W{w.number}" == lead.what)
    laid = bench.wires.get(wire_key(wire.terminals))
    end = next(name for name, key in wire_ends(wire).items() if key == lead.terminal)
    return LeadNow(f"{lead.what}.{end}", lead, laid.ends.get(lead.terminal, "") if laid else "")
