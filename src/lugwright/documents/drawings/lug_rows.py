"""What goes in each lug and pin, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.buildfile.build import Build, Tube
from lugwright.documents.drawings.bodies import short_value
from lugwright.layout.results import Plan, PlanTerminal
from lugwright.workorder.results import WorkOrder

_LEAD_WORDS = {"anode": "anode", "cathode": "cathode (band)", "plus": "+", "minus": "−"}


@dataclass(frozen=True)
class LugLead:
    """One lead or wire end in a lug. ``color`` is empty for a part's lead."""

    what: str  # R3, W12
    words: str
    color: str
    far: str  # key of the terminal at the other end


@dataclass(frozen=True)
class LugRow:
    """One lug or pin and everything soldered to it."""

    terminal: str
    label: str
    joint: str
    electrode: str  # of a socket pin
    leads: tuple[LugLead, ...]
    card: int | None = None  # the job card that solders it

    @property
    def when(self) -> str:
        """Return when it is soldered, in words."""
        return "" if self.card is None else f"soldered on card {self.card}"


def lug_rows(build: Build, plan: Plan, owner: str, cards: Mapping[str, int] | None = None) -> tuple[LugRow, ...]:
    """Return every lug of a strip or pin of a socket in order, with its leads.

    ``cards`` says which job card solders a terminal, as `soldered_on` returns it.
    """
    electrodes, known = _electrodes(build, owner), cards or {}
    return tuple(
        LugRow(key, t.label, t.joint, electrodes.get(key, ""), _leads(build, plan, key), known.get(key))
        for key, t in plan.terminals.items()
        if t.owner == owner
    )


def soldered_on(order: WorkOrder | None) -> dict[str, int]:
    """Return the number of the card that solders each terminal."""
    jobs = order.jobs if order else ()
    return {lead.terminal: job.number for job in jobs for lead in job.leads if " now" in lead.solder}


def _leads(build: Build, plan: Plan, key: str) -> tuple[LugLead, ...]:
    found = []
    for seat in plan.seats:
        for index, end in enumerate(seat.terminals):
            if end == key:
                far = seat.terminals[1 - index]
                part = build.part(seat.part)
                value = short_value(part)
                lead = _lead_words(build, seat.part, seat.lead_names[index])
                words = f"{seat.part}{' ' + value if value else ''} {lead}, to {far_words(plan.terminals[far])}"
                found.append(LugLead(seat.part, words, "", far))
    for wire in plan.wires:
        for index, end in enumerate(wire.terminals):
            if end == key:
                far = wire.terminals[1 - index]
                words = f"W{wire.number} {wire.color} to {far_words(plan.terminals[far])}"
                found.append(LugLead(f"W{wire.number}", words, wire.color, far))
        if wire.shield == key:
            found.append(LugLead(f"W{wire.number}", f"W{wire.number} braid", "", wire.terminals[0]))
    return tuple(found)


def _lead_words(build: Build, name: str, lead: str) -> str:
    part = build.part(name)
    polar = getattr(part.values, "polar", False)
    if polar:
        return "+" if lead == "1" else "−"
    return _LEAD_WORDS.get(lead, f"lead {lead}")


def far_words(terminal: PlanTerminal) -> str:
    """Return a terminal in few words: ``A lug 4`` for ``strip A lug 4``."""
    return terminal.label.removeprefix("strip ").replace(" (foot)", " foot")


def _electrodes(build: Build, owner: str) -> Mapping[str, str]:
    part = build.part_by_name.get(owner)
    if part is None or not isinstance(part.values, Tube):
        return {}
    found = {}
    for terminal in part.terminals:
        words = f"{terminal.section} {terminal.name.replace('_', ' ')}".strip()
        found.update({f"{owner}.{pin}": words for pin in terminal.pins})
    return found
