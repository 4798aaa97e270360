"""Which job cards a fault sends the builder back to."""

from __future__ import annotations

from lugwright.bringup.faults.fault import Fault
from lugwright.workorder.progress import solders
from lugwright.workorder.results import Job, WorkOrder


def cards_of(fault: Fault, order: WorkOrder) -> tuple[int, ...]:
    """Return the numbers of the cards its wires, its part or its joints are on, in the order of work."""
    return tuple(job.number for job in order.jobs if _is_on(fault, job))


def do_words(fault: Fault, order: WorkOrder) -> str:
    """Return what to do, and the cards where it stands: ``solder it in (card 31)``."""
    cards = [str(number) for number in cards_of(fault, order)]
    if not cards:
        return fault.do
    return f"{fault.do} ({'card' if len(cards) == 1 else 'cards'} {', '.join(cards)})"


def _is_on(fault: Fault, job: Job) -> bool:
    if fault.wires:
        names = {f"W{number}" for number in fault.wires}
        ends = [lead for lead in job.leads if lead.what in names]
        there = [lead for lead in ends if lead.terminal in fault.terminals]
        return bool(there or (ends and not fault.terminals))
    if fault.fitted:
        return False  # a tube is on no card but that of its socket
    if fault.part in job.parts:
        return True
    return not fault.part and any(key in solders(job) for key in fault.terminals)
