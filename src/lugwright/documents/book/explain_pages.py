"""What the plan says of itself: its price, its lugs, the place where it is weakest under each rule."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.documents.book.blocks import Block, Column, Heading, Paragraph, Section, Table
from lugwright.documents.book.records import BookRecords
from lugwright.layout.explain_results import LugCount, TermShare, WorstPlace


def explain_pages(records: BookRecords) -> Section:
    """Return the weakest places of the plan, its lugs, and what it costs."""
    blocks: list[Block] = []
    if records.worst_places:
        blocks += [
            Paragraph(
                "Under each rule the place where this plan comes nearest to breaking it. Look there first when the "
                "amplifier hums, sings or is hard to wire."
            ),
            worst_table(records.worst_places),
        ]
    if records.lug_count is not None:
        blocks += [Heading("Lugs"), Paragraph(lug_words(records.lug_count))]
    if records.plan_terms:
        whole = sum(term.cost for term in records.plan_terms)
        blocks += [
            Heading("What the plan costs"),
            Paragraph(f"{whole:.0f} in all, counted in millimeters of ordinary wire; the planner looks for the least."),
            terms_table(records.plan_terms),
        ]
    return Section("plan", "How good the plan is", tuple(blocks), hands_inside=bool(blocks))


def worst_table(places: tuple[WorstPlace, ...]) -> Table:
    """Return the worst place of every rule."""
    columns = (
        Column("rule", grow=3), Column("worst place", grow=4), Column("found", grow=3), Column("limit", grow=3),
        Column("met"),
    )  # fmt: skip
    return Table(columns, tuple((p.what, p.place, p.found, p.limit, "yes" if p.met else "no") for p in places))


def terms_table(terms: tuple[TermShare, ...]) -> Table:
    """Return the terms of the objective with their weights and reasons."""
    columns = (
        Column("term"), Column("cost", kind="number", digits=0), Column("share", "%", "number", 0),
        Column("weight", grow=3), Column("because", grow=3),
    )  # fmt: skip
    rows = ((t.name, t.cost, 100.0 * t.share, "; ".join([t.weight, *_raised(t.dislikes)]), t.reason) for t in terms)
    return Table(columns, tuple(rows))


def _raised(dislikes: Mapping[str, float]) -> list[str]:
    return [f"{name} times {factor:g}" for name, factor in dislikes.items()]


def lug_words(lugs: LugCount) -> str:
    """Return the lugs in use and to spare."""
    return (
        f"{lugs.used} lugs are used and {lugs.spare} are left for repairs and changes; {lugs.spare_wanted} were "
        f"wanted. No plan of this build does with fewer than {lugs.least} lugs and free pins."
    )
