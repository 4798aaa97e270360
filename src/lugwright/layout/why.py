"""Why is it there: the answer for a part, a joint, a wire or a terminal of a plan."""

from __future__ import annotations

import re
from dataclasses import replace
from difflib import get_close_matches

from lugwright.buildfile.build import Build
from lugwright.errors import NoSuchSubject
from lugwright.layout.explain_results import Why
from lugwright.layout.frozen import Frozen
from lugwright.layout.lug_plan import NOTHING_YET
from lugwright.layout.results import Plan
from lugwright.layout.standing import Standing
from lugwright.layout.why_joint import why_joint
from lugwright.layout.why_lug import why_lug
from lugwright.layout.why_part import why_part
from lugwright.layout.why_wire import why_wire


def why(standing: Standing, subject: str, *, frozen: Frozen = NOTHING_YET) -> Why:
    """Return why something of a plan sits where it does.

    Parameters
    ----------
    standing : Standing
        The finished plan put up again; it answers any number of questions and stands afterwards as before.
    subject : str
        A part with two leads, a joint, a wire (W12) or a terminal (A.4, V1.3, "strip A lug 4").
    frozen : Frozen, optional
        What is soldered and laid already.

    Returns
    -------
    Why
        Sentences, and the next best places with what they would cost more.

    Raises
    ------
    NoSuchSubject
        The plan has no such thing.
    """
    name = _known(standing.build, standing.plan, subject)
    answer = _answer(standing, name)
    soldered = _soldered(frozen, name)
    return replace(answer, here=(*answer.here, soldered)) if soldered else answer


def _answer(standing: Standing, name: str) -> Why:
    if re.fullmatch(r"W[0-9]+", name) and any(f"W{w.number}" == name for w in standing.plan.wires):
        return why_wire(standing, int(name[1:]))
    if any(seat.part == name for seat in standing.plan.seats):
        return why_part(standing, name)
    return why_joint(standing, name) if name in standing.joint else why_lug(standing, name)


def _soldered(frozen: Frozen, name: str) -> str:
    """Return that something is in already, "" when it is not."""
    if any(part == name for part, _, _ in frozen.leads):
        return "It is in already: soldered work stays, and another place is for when you take it out."
    if name in frozen.soldered:
        return "It is soldered already, and keeps what it holds."
    if any(f"W{wire.number}" == name for wire in frozen.wires):
        return "It is laid already, and stays as it runs."
    return ""


def _known(build: Build, plan: Plan, subject: str) -> str:
    """Return the name of a part, joint, wire or terminal as the plan writes it."""
    names = [*(s.part for s in plan.seats), *(f"W{w.number}" for w in plan.wires), *build.joints, *plan.terminals]
    labels = {t.label: t.key for t in plan.terminals.values()}
    if subject in names:
        return subject
    if subject in labels:
        return labels[subject]
    near = get_close_matches(subject, [*names, *labels], n=1, cutoff=0.6)
    part = build.part_by_name.get(subject)
    raise NoSuchSubject(
        what=f"the plan has no {subject}" if part is None else f"{subject} has no place that the plan chose",
        found=f"{subject} is a {part.kind}; the build file says where it stands" if part else f'--why "{subject}"',
        wanted="a part with two leads, a joint, a wire such as W12, or a terminal such as A.4",
        do=f"ask for {near[0]}" if near and part is None else "ask for one of its terminals or joints"
        if part is not None else "look the name up in what plan prints",
    )  # fmt: skip
