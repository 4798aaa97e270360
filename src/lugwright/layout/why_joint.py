"""Why a joint is where it is: its fixed terminals, its lugs, its wires."""

from __future__ import annotations

from lugwright.layout.board import FREE
from lugwright.layout.explain_results import Choice, Why
from lugwright.layout.objective import WIRE_WEIGHT
from lugwright.layout.standing import Standing
from lugwright.layout.why_lug import lug_choices
from lugwright.layout.why_words import listed

SHOWN = 3
BUS_KINDS = ("bus", "foot", "bolt")


def why_joint(standing: Standing, joint: str) -> Why:
    """Return what carries a joint, what draws it there, and where its lugs could be instead."""
    plan = standing.plan
    at = [t for t in plan.terminals.values() if t.joint == joint and (t.kind not in BUS_KINDS or plan.leads_at(t.key))]
    chosen = [t for t in at if standing.board.joint_at[standing.place[t.key]] == FREE]
    wires = [w for w in plan.wires if w.joint == joint]
    kind = standing.board.facts[standing.joint[joint]].name
    weight = WIRE_WEIGHT.get(kind, 1.0)
    length = sum(w.length_mm for w in wires)
    here = [f"{joint} is a joint of class {kind}; a millimeter of its wire counts {weight:g}."]
    given = [t.label for t in at if t not in chosen]
    if given:
        here.append(f"The build has it on {listed(given)}.")
    here.append(
        f"The plan has put it on {listed(t.label for t in chosen)}." if chosen else "It needs no lug of a strip."
    )
    here.append(
        f"{len(wires)} wires join it together, {length:.0f} mm in all."
        if len(wires) > 1
        else f"W{wires[0].number} joins it together, {length:.0f} mm."
        if wires
        else "No wire is needed to join it together."
    )
    pulls = [f"{t.label} holds {listed(plan.leads_at(t.key)) or 'nothing yet'}." for t in at]
    choices = [
        Choice(f"{choice.place} instead of {t.label}", choice.more, choice.because)
        for t in chosen
        for choice in lug_choices(standing, t.key)
        if choice.more is not None
    ]
    choices.sort(key=lambda choice: choice.more or 0.0)
    return Why(joint, tuple(here), tuple(pulls), tuple(choices[:SHOWN]))
