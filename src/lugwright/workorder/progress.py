"""How far the work is: job cards against what the log says is in, soldered and checked."""

from __future__ import annotations

from collections.abc import Iterable

from lugwright.layout.results import Plan
from lugwright.log.state import Bench, wire_key
from lugwright.workorder.results import CardProgress, Job, LeadIn, OpenJoint, Progress, WorkOrder

DONE, BEGUN, OPEN = "done", "begun", "open"


def lead_name(plan: Plan, lead: LeadIn) -> str:
    """Return the name a part's lead has in the plan, "" for a wire: cards call it by its color or sign."""
    seat = next((s for s in plan.seats if s.part == lead.what), None)
    return "" if seat is None else seat.lead_names[seat.terminals.index(lead.terminal)]


def solders(job: Job) -> tuple[str, ...]:
    """Return the keys of the terminals that a card solders."""
    closing = ("solder now", "bolt down now", "melt the joint")
    return tuple(dict.fromkeys(lead.terminal for lead in job.leads if lead.solder.startswith(closing)))


def is_in(plan: Plan, bench: Bench, lead: LeadIn) -> bool:
    """Return whether a lead of a card is where the card says."""
    name = lead_name(plan, lead)
    if name:
        return bench.is_in(lead.what, name, lead.terminal)
    wire = next(w for w in plan.wires if f"W{w.number}" == lead.what)
    return bench.is_in("", "", lead.terminal, wire_key(wire.terminals))


def progress(plan: Plan, order: WorkOrder, bench: Bench, serial: str) -> Progress:
    """Return what is done and what is left."""
    cards = tuple(_card(plan, job, bench) for job in order.jobs)
    joints = {key for job in order.jobs for key in solders(job)}
    leads = [lead for card in cards for lead in card.leads]
    return Progress(
        serial=serial,
        last=bench.last,
        cards=cards,
        next_card=next((card.number for card in cards if card.state != DONE), 0),
        leads_in=sum(leads),
        leads=len(leads),
        soldered=len(joints & bench.soldered.keys()),
        joints=len(joints),
        half_done=tuple(_half_done(plan, order.jobs, bench)),
        reopened=_reopened(plan, order.jobs, bench),
    )


def _card(plan: Plan, job: Job, bench: Bench) -> CardProgress:
    leads = tuple(is_in(plan, bench, lead) for lead in job.leads)
    soldered = tuple(key in bench.soldered for key in solders(job))
    checked = bench.cards.get((job.phase, job.title), ("", ()))[1]
    lines = () if leads else tuple(line in checked for line in job.text)
    every = (*leads, *soldered, *lines)
    state = DONE if all(every) and every else BEGUN if any(every) else OPEN
    return CardProgress(job.number, job.phase, job.title, state, leads, soldered, lines)


def _half_done(plan: Plan, jobs: Iterable[Job], bench: Bench) -> list[OpenJoint]:
    there: dict[str, list[str]] = {}
    to_come: dict[str, list[str]] = {}
    labels: dict[str, str] = {}
    for job in jobs:
        for lead in job.leads:
            labels[lead.terminal] = lead.label
            name = f"{lead.what} {lead.lead}".strip()
            if is_in(plan, bench, lead):
                there.setdefault(lead.terminal, []).append(name)
            else:
                to_come.setdefault(lead.terminal, []).append(f"{name} (card {job.number})")
    return [
        OpenJoint(labels[key], tuple(names), tuple(to_come.get(key, ())))
        for key, names in there.items()
        if key not in bench.soldered and plan.terminals[key].kind != "exit"
    ]


def _reopened(plan: Plan, jobs: Iterable[Job], bench: Bench) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(
            lead.label
            for job in jobs
            for lead in job.leads
            if lead.terminal in bench.soldered
            and not is_in(plan, bench, lead)
            and not lead.solder.startswith("melt the joint")
        )
    )
