"""Tables of the metal and the wire: holes, lugs, wires, lengths to cut, jobs."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.bringup.results import HeaterAtSocket
from lugwright.buildfile.build import Build
from lugwright.documents.book.blocks import Cell, Column, Table
from lugwright.documents.drawings.drill_plan import Hole
from lugwright.documents.drawings.lug_rows import LugRow, lug_rows, soldered_on
from lugwright.layout.results import Plan
from lugwright.workorder.results import Job, WorkOrder


def holes_table(holes: Sequence[Hole]) -> Table:
    """Return every hole, seen from inside, with what makes it."""
    columns = (
        Column("face"), Column("no.", kind="number", digits=0), Column("x", "mm", "number", 1),
        Column("y", "mm", "number", 1), Column("size", "mm"), Column("size from"), Column("tool", grow=2),
        Column("what", grow=3),
    )  # fmt: skip
    return Table(
        columns, tuple((h.face, float(h.number), h.x_mm, h.y_mm, h.size, h.origin, h.tool, h.what) for h in holes)
    )  # fmt: skip


def lugs_table(build: Build, plan: Plan, owners: Sequence[str], order: WorkOrder | None = None) -> Table:
    """Return what is soldered to each lug, pin and bolt of some owners, and on which card; one row a lead."""
    columns = (
        Column("lug", grow=2), Column("electrode", grow=1), Column("joint", grow=2), Column("card"),
        Column("lead", in_book=False), Column("goes in", grow=5),
    )  # fmt: skip
    cards = soldered_on(order)
    rows: list[tuple[Cell, ...]] = []
    for owner in owners:
        for row in lug_rows(build, plan, owner, cards):
            if row.leads or plan.terminals[row.terminal].kind != "bus":
                rows += _lug(row)
    return Table(columns, tuple(rows))


def _lug(row: LugRow) -> list[tuple[Cell, ...]]:
    head = (row.label, row.electrode, row.joint, "" if row.card is None else str(row.card))
    if not row.leads:
        return [(*head, "", "" if row.joint else "spare")]
    return [(*head, lead.what, lead.words) for lead in row.leads]


def other_owners(build: Build, plan: Plan) -> tuple[str, ...]:
    """Return who else has terminals besides strips and sockets: pots, jacks, cans, buses, bolts; in plan order."""
    strips = {strip.name for strip in build.strips}
    found = dict.fromkeys(t.owner for t in plan.terminals.values() if t.kind not in ("pin", "exit"))
    return tuple(owner for owner in found if owner not in strips)


def wires_table(plan: Plan, order: WorkOrder | None = None) -> Table:
    """Return every wire with its ends, type, color and lengths, and what it lies over once the cards are done."""
    over = order.over if order else {}
    columns = (
        Column("wire"), Column("kind"), Column("from", grow=2), Column("to", grow=2), Column("joint", grow=2),
        Column("type"), Column("color"), Column("cut", "mm", "number", 0),
        Column("strip from", "mm", "number", 0), Column("strip to", "mm", "number", 0), Column("twist", grow=2),
        Column("braid to", grow=2), Column("lies over", grow=3),
    )  # fmt: skip
    rows = tuple(
        (f"W{w.number}", w.kind, plan.terminals[w.terminals[0]].label, plan.terminals[w.terminals[1]].label, w.joint,
         "its own lead" if w.type == "lead" else w.type, w.color, w.length_mm, *w.strip_mm, w.twist,
         plan.terminals[w.shield].label if w.shield else "", ", ".join(over.get(w.number, w.lies_over)))
        for w in plan.wires
    )  # fmt: skip
    return Table(columns, rows)


def heaters_table(heaters: tuple[HeaterAtSocket, ...]) -> Table:
    """Return the heater volts at every socket and what the wires take."""
    columns = (
        Column("tube"), Column("nominal", "V", "number", 1), Column("at the pins", "V", "number", 2),
        Column("off by", "%", "number", 1), Column("lost in the wires", "mV", "number", 0),
    )  # fmt: skip
    return Table(
        columns,
        tuple((h.tube, h.nominal_v, h.volts, 100.0 * (h.volts / h.nominal_v - 1.0), 1e3 * h.drop_v) for h in heaters),
    )


def cut_table(order: WorkOrder) -> Table:
    """Return wires of one type and color to be cut to one length."""
    columns = (
        Column("type", grow=3), Column("color", grow=2), Column("cut", "mm", "number", 0),
        Column("count", kind="number", digits=0), Column("strip", "mm", "number", 0),
        Column("strip other end", "mm", "number", 0), Column("jacket off", grow=2),
        Column("wires", grow=3), Column("twist", grow=2),
    )  # fmt: skip
    rows = tuple(
        (
            r.type,
            r.color,
            r.length_mm,
            float(len(r.wires)),
            *r.strip_mm,
            f"{r.jacket_mm[0]:g} / {r.jacket_mm[1]:g} mm" if any(r.jacket_mm) else "",
            ", ".join(f"W{n}" for n in r.wires),
            r.twist,
        )
        for r in order.cut_list
    )
    return Table(columns, rows)


def totals_table(order: WorkOrder) -> Table:
    """Return how much wire of each type and color is needed in all."""
    columns = (Column("type", grow=2), Column("color", grow=1), Column("in all", "mm", "number", 0))
    return Table(columns, tuple(order.totals_mm))


def jobs_table(order: WorkOrder) -> Table:
    """Return every lead of every job; a job without leads has one row."""
    columns = tuple(
        Column(name)
        for name in ("job", "phase", "title", "what", "lead", "terminal", "solder", "text", "cautions")
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for job in order.jobs:
        head = (str(job.number), job.phase, job.title)
        tail = (" ".join(job.text), " ".join(job.cautions))
        rows += [(*head, lead.what, lead.lead, lead.label, lead.solder, *tail) for lead in job.leads]
        if not job.leads:
            rows.append((*head, "", "", "", "", *tail))
    return Table(columns, tuple(rows))


def leads_table(job: Job) -> Table:
    """Return the leads of one job in the order they go in."""
    columns = (Column("what"), Column("lead"), Column("goes in", grow=3), Column("solder", grow=2))
    return Table(columns, tuple((lead.what, lead.lead, lead.label, lead.solder) for lead in job.leads))
