"""From a plan to the order of work."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from lugwright.buildfile.build import Build
from lugwright.layout.results import Plan
from lugwright.workorder.broken import broken_sentences
from lugwright.workorder.cautions import CAUTIONS, FEEDBACK_AND_CHART
from lugwright.workorder.covers import Precedence, precedences
from lugwright.workorder.cut_list import cut_rows, reel_totals_mm
from lugwright.workorder.in_words import in_bench_order
from lugwright.workorder.job_cards import wiring_cards
from lugwright.workorder.mechanical import metalwork_cards, mounting_cards
from lugwright.workorder.phases import CHECK, FEEDBACK
from lugwright.workorder.precedence import Sequence, in_order
from lugwright.workorder.results import Job, WorkOrder
from lugwright.workorder.units import units

_LAST_LOOK = (
    "Go over the wiring with the wire list and a marker: every wire, every lead, every lug; then once more from the "
    "drawing.",
    "Look for strands, blobs, cold joints and leads that lean on a neighbor; turn the chassis over and shake it.",
    "No tube in any socket, no fuse in its holder, plug out: now the ohms chart, from its first row to its last.",
    "Only when every reading lies in its window: the power-up charts, step by step.",
)


def work_order(build: Build, plan: Plan) -> WorkOrder:
    """Return the job cards, the cut list, and what precedence had to be given up."""
    all_units = units(build, plan)
    rules = precedences(build, plan, all_units)
    sequence = in_order(all_units, rules)
    broken = _really_broken(sequence)
    wiring = wiring_cards(build, plan, sequence, rules=rules, broken=broken)
    last = [card for card in wiring if card.phase == FEEDBACK]
    cards = [
        *metalwork_cards(build),
        *mounting_cards(build),
        *(card for card in wiring if card.phase != FEEDBACK),
        _check_card(*_feedback_clipped(last)),
        *last,
    ]
    rows = cut_rows(plan)
    jobs = tuple(replace(card, number=number) for number, card in enumerate(cards, start=1))
    return WorkOrder(jobs, rows, reel_totals_mm(rows), broken_sentences(broken), as_laid(plan, jobs))


def as_laid(plan: Plan, jobs: Iterable[Job]) -> dict[int, tuple[str, ...]]:
    """Return what each wire lies over when the cards are done: of two wires that cross, the later one is over."""
    order = {number: k for k, number in enumerate(number for job in jobs for number in job.wires)}
    crossing = {frozenset((f"W{w.number}", lower)) for w in plan.wires for lower in w.lies_over}
    found = {}
    for wire in plan.wires:
        name, mine = f"W{wire.number}", order.get(wire.number, 0)
        others = [w for w in plan.wires if frozenset((name, f"W{w.number}")) in crossing]
        over = [f"W{w.number}" for w in others if order.get(w.number, 0) < mine]
        wires = {f"W{w.number}" for w in others}
        found[wire.number] = (*(lower for lower in wire.lies_over if lower not in wires), *in_bench_order(over))
    return found


def _really_broken(sequence: Sequence) -> tuple[Precedence, ...]:
    """Return what was given up and, in the order found, is in fact not kept; a wire bends without a word."""
    position = {unit.name: index for index, unit in enumerate(sequence.units)}
    return tuple(
        rule
        for rule in sorted(sequence.given_up, key=lambda r: (r.first, r.then))
        if position[rule.first] > position[rule.then] and not rule.bends
    )


def _feedback_clipped(last: list[Job]) -> tuple[str, ...]:
    """Return what is joined by clips for the ohms chart: the chart is worked out for the amplifier as it will be."""
    if not last:
        return ()
    leads = [lead for card in last for lead in card.leads]
    names = dict.fromkeys(lead.what for lead in leads)
    joined = [f"{name} to {' and '.join(lead.label for lead in leads if lead.what == name)}" for name in names]
    return (FEEDBACK_AND_CHART.format(what=", ".join(joined)),)


def _check_card(*more: str) -> Job:
    text = (*_LAST_LOOK[:2], *more, *_LAST_LOOK[2:])
    return Job(
        number=0, phase=CHECK, title="Last look before the meter", text=text, parts=(), wires=(), leads=(),
        solder=(), waits=(), covers=(), cautions=CAUTIONS[CHECK],
    )  # fmt: skip
