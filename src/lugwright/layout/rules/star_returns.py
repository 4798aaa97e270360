"""Every return of a star has a wire of its own: no current of one stage runs through the return of another."""

from __future__ import annotations

from lugwright.findings import Finding, Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.results import Wire
from lugwright.layout.rules.case import Case, Judged

RULE = "star-returns"
ONE_PART = ("jack", "pot", "panel")


def star_returns(case: Case) -> Judged:
    """Return the wire that takes a return to another one instead of to the star; the charging loop closes on itself."""
    stars = {star.joint: star.name for star in case.build.stars}
    if not stars:
        return Judged()
    wires = [wire for wire in case.plan.wires if wire.joint in stars and not wire.bond]
    shared = [wire for wire in wires if not _lands(case, wire, stars[wire.joint])]
    what, limit = "returns without a wire of their own", "none"
    if not shared:
        place = ", ".join(stars.values())
        return Judged(WorstPlace(RULE, what, place, f"{len(wires)} wires, each to the star", limit, met=True))
    names = ", ".join(f"W{wire.number}" for wire in shared)
    one, two = (case.label(key) for key in shared[0].terminals)
    finding = Finding(
        rule=RULE, grade=Grade.DOUBT, part=f"W{shared[0].number}",
        what=f"{one} and {two} share their way to star {stars[shared[0].joint]}", found=names,
        wanted="a wire to the star from each", do="give the star more lugs",
        source="common practice: one wire per return, so that no stage's current raises another's ground",
    )  # fmt: skip
    return Judged(WorstPlace(RULE, what, names, f"{len(shared)} of {len(wires)} wires", limit, met=False), (finding,))


def _lands(case: Case, wire: Wire, star: str) -> bool:
    ends = [case.plan.terminals[key] for key in wire.terminals]
    if any(end.owner == star for end in ends):
        return True
    charging = any(end.kind == "exit" for end in ends)
    return charging or (ends[0].owner == ends[1].owner and ends[0].kind in ONE_PART)
