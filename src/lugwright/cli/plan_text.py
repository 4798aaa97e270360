"""The plan as plain tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.cli.printing import table
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from lugwright.bringup.results import HeaterAtSocket
    from lugwright.cli.reports import PlanReport
    from lugwright.layout.explain_results import LugCount, TermShare, WorstPlace
    from lugwright.layout.results import Move, Plan


def report_text(report: PlanReport) -> str:
    """Return everything the command prints, the tables in order."""
    tables = [plan_text(report.plan), heater_text(report.heaters)]
    tables += [objective_text(report.objective), lugs_text(report.lugs), worst_text(report.worst_places)]
    tables += [moves_text(report.moves), unsolder_text(report.to_unsolder)]
    return "\n\n".join([*(text for text in tables if text), f"written to {report.file}"])


def moves_text(moves: tuple[Move, ...]) -> str:
    """Return what is not as in the plan before, and why; nothing when all is."""
    if not moves:
        return ""
    moved = sum(1 for move in moves if move.kind == "part" and move.before and move.after)
    rows = ((move.what, move.before or "-", move.after or "-", move.why) for move in moves)
    said = f"Changed against the plan before: {moved} parts moved."
    return f"{said}\n\n{table(('what', 'was', 'is', 'because'), rows)}"


def unsolder_text(to_unsolder: tuple[str, ...]) -> str:
    """Return what has to come out before this plan can be built."""
    lines = [f"  {text}" for text in to_unsolder]
    head = "Unsolder first, and tick it off (lugwright tick FILE --undo --lead ...):"
    return "\n".join([head, *lines]) if lines else ""


def objective_text(terms: tuple[TermShare, ...]) -> str:
    """Return what the plan costs, term by term."""
    rows = (
        (
            term.name,
            f"{term.cost:.0f}",
            f"{term.share:.0%}",
            "; ".join(
                [term.weight, *(f"{name} times {factor:g}, as disliked" for name, factor in term.dislikes.items())]
            ),
            term.reason,
        )
        for term in terms
    )
    whole = sum(term.cost for term in terms)
    said = f"The plan costs {whole:.0f}, counted in millimeters of ordinary wire:"
    return f"{said}\n\n{table(('term', 'cost', 'share', 'weight', 'because'), rows, right='lrr')}"


def lugs_text(lugs: LugCount) -> str:
    """Return the lugs in use and to spare."""
    return (
        f"Lugs: {lugs.used} used, {lugs.spare} spare (wanted: {lugs.spare_wanted}). "
        f"No plan of this build does with fewer than {lugs.least} lugs and free pins."
    )


def worst_text(places: tuple[WorstPlace, ...]) -> str:
    """Return for every layout rule where the plan comes nearest to breaking it."""
    rows = ((p.what, p.place, p.found, p.limit, "" if p.met else "no") for p in places)
    return table(("rule", "worst place", "found", "limit", "met"), rows)


def heater_text(heaters: tuple[HeaterAtSocket, ...]) -> str:
    """Return the heater volts at every socket as a plain table; nothing where no chain is planned."""
    rows = (
        (h.tube, with_unit(h.nominal_v, "V"), with_unit(h.volts, "V"), f"{h.volts / h.nominal_v - 1.0:+.1%}",
         with_unit(h.drop_v, "V"))
        for h in heaters
    )  # fmt: skip
    head = ("tube", "heater", "at the socket", "off by", "lost in the wires")
    return table(head, rows, right="lrrrr") if heaters else ""


def plan_text(plan: Plan) -> str:
    """Return lugs and wires as plain tables."""
    lugs = (
        (terminal.label, terminal.joint, ", ".join(plan.leads_at(key)))
        for key, terminal in plan.terminals.items()
        if plan.leads_at(key)
    )
    wires = (
        (
            f"W{wire.number}",
            wire.joint,
            plan.terminals[wire.terminals[0]].label,
            plan.terminals[wire.terminals[1]].label,
            wire.type,
            wire.color,
            f"{wire.length_mm:.0f} mm",
            wire.twist or (f"braid to {plan.terminals[wire.shield].label}" if wire.shield else ""),
        )
        for wire in plan.wires
    )
    head = ("wire", "joint", "from", "to", "type", "color", "length", "twist, braid")
    total_m = sum(wire.length_mm for wire in plan.wires) / 1000.0
    return "\n\n".join(
        [
            f"{plan.build}: {len(plan.seats)} parts seated, {len(plan.wires)} wires ({total_m:.1f} m), "
            f"{len(plan.spare_lugs)} lugs to spare",
            table(("lug", "joint", "leads"), lugs),
            table(head, wires, right="llllllr"),
            *(f"note: {text}" for text in plan.notes),
        ]
    )
