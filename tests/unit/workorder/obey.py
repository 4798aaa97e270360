"""Do exactly what the cards say, and see what has been wired when the last one is done."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from lugwright.buildfile.build import Build
from lugwright.layout.results import Plan
from lugwright.workorder.results import WorkOrder

MELTED = "melt the joint and add it"


@dataclass
class Bench:
    """What stands on the bench: which leads are in which terminal, which terminals are soldered."""

    leads: dict[str, list[str]] = field(default_factory=dict)
    soldered: Counter[str] = field(default_factory=Counter)
    too_late: list[str] = field(default_factory=list)  # leads for a terminal soldered already, or melted unsoldered
    wrong_count: list[str] = field(default_factory=list)  # "still to come" that did not come true


def obey(build: Build, plan: Plan, order: WorkOrder) -> Bench:
    """Execute every card literally; the plan is asked only for the kind of a terminal."""
    bench = Bench()
    promised: dict[str, int] = {}
    for job in order.jobs:
        label = {lead.label: lead.terminal for lead in job.leads}
        melted = {lead.terminal for lead in job.leads if lead.solder == MELTED}
        for lead in job.leads:
            if bool(bench.soldered[lead.terminal]) != (lead.solder == MELTED):
                bench.too_late.append(f"card {job.number}: {lead.what} to {lead.label}")
            bench.leads.setdefault(lead.terminal, []).append(lead.what)
            if lead.terminal in promised:
                promised[lead.terminal] -= 1
        for text in job.solder:
            key = label[text]
            if key not in melted:
                bench.soldered[key] += 1
            if promised.pop(key, 0):
                bench.wrong_count.append(text)
        for text in job.waits:
            words, _, rest = text.rpartition(" (")
            count = int(rest.split()[0])
            if promised.get(label[words], count) != count:
                bench.wrong_count.append(text)
            promised[label[words]] = count
    bench.wrong_count += sorted(key for key, count in promised.items() if count)
    return bench


def joints_built(build: Build, plan: Plan, order: WorkOrder, bench: Bench) -> set[frozenset[str]]:
    """Return what is joined with what: groups of ``R3.1``, ``V1.3`` (terminals of parts and fixed points).

    A wire joins its two terminals, a part joins nothing, a bus joins its points, feet and bolts share the metal, a
    tube joins the pins of one electrode.
    """
    group: dict[str, str] = {}

    def top(name: str) -> str:
        while group.setdefault(name, name) != name:
            name = group[name]
        return name

    ends: dict[str, list[str]] = {}
    for job in order.jobs:
        for lead in job.leads:
            if lead.lead:
                group[top(f"part {lead.what}.{_plain(build, lead.what, lead.lead)}")] = top(lead.terminal)
            else:
                ends.setdefault(lead.what, []).append(lead.terminal)
    bonds = {f"W{w.number}" for w in plan.wires if w.bond}
    for what, terminals in ends.items():
        assert len(terminals) == 2, f"{what} has ends {terminals}"
        if what not in bonds:
            group[top(terminals[0])] = top(terminals[1])
    for terminal in plan.terminals.values():
        if terminal.kind == "bus":
            group[top(terminal.key)] = top(f"bus {terminal.owner}")
        if terminal.joint == "chassis":
            group[top(terminal.key)] = top("the metal")
    for part in build.parts:
        for electrode in part.terminals:
            for pin in electrode.pins[1:]:
                group[top(f"{part.name}.{pin}")] = top(f"{part.name}.{electrode.pins[0]}")
    members: dict[str, set[str]] = {}
    for name in list(group):
        members.setdefault(top(name), set()).add(name)
    return {frozenset(names) for names in members.values()}


def _plain(build: Build, part: str, lead: str) -> str:
    if lead == "braid":
        return lead
    names = {t.name for t in build.part(part).terminals}
    return lead if lead in names else {"+": "1", "-": "2", "cathode (band)": "cathode"}[lead]


def joints_wanted(build: Build, plan: Plan) -> dict[str, set[str]]:
    """Return per joint of the build the points the plan gives it: part leads, braids, fixed terminals that exist."""
    wanted = {"ground": {f"part W{wire.number}.braid" for wire in plan.wires if wire.shield}}
    seated = {seat.part for seat in plan.seats}
    for joint, terminals in build.joints.items():
        for terminal in terminals:
            if terminal.part in seated:
                wanted.setdefault(joint, set()).add(f"part {terminal.part}.{terminal.name}")
            elif terminal.pins:
                keys = {f"{terminal.part}.{pin}" for pin in terminal.pins}
                wanted.setdefault(joint, set()).update(keys & set(plan.terminals))
            elif f"{terminal.part}.{terminal.name}" in plan.terminals:
                wanted.setdefault(joint, set()).add(f"{terminal.part}.{terminal.name}")
    return wanted


def check_joints(build: Build, plan: Plan, order: WorkOrder) -> None:
    """Hold what the cards built against the joints of the build: nothing open, nothing joined that is not one joint."""
    built = joints_built(build, plan, order, obey(build, plan, order))
    wanted = joints_wanted(build, plan)
    for joint, points in wanted.items():
        if len(points) > 1:
            assert any(points <= group for group in built), f"{joint}: {sorted(points)} not in one group"
    for group in built:
        touched = sorted(joint for joint, points in wanted.items() if points & group)
        assert len(touched) <= 1, f"{touched} joined by {sorted(group)}"


def check_solder(build: Build, plan: Plan, order: WorkOrder) -> None:
    """Each used terminal is soldered once, with its last lead, and before the check if it is in use by then."""
    bench = obey(build, plan, order)
    used = {key for key in bench.leads if plan.terminals[key].kind != "exit"}
    assert dict(bench.soldered) == dict.fromkeys(used, 1)
    assert (bench.too_late, bench.wrong_count) == ([], [])


def check_only_feedback_after_check(order: WorkOrder, ends: Mapping[str, str]) -> None:
    """After the check card nothing but the feedback ends, before it everything else, every joint of it soldered."""
    (check,) = (index for index, job in enumerate(order.jobs) if job.phase == "check")
    before, after = order.jobs[:check], order.jobs[check + 1 :]
    assert all(job.phase == "feedback" for job in after)
    assert not any(job.phase == "feedback" for job in before)
    assert {lead.what for job in after for lead in job.leads} == set(ends)
    assert {name for job in after for name in job.parts} == {name for name in ends if not name.startswith("W")}
    assert not any(job.wires for job in after)
    early = {(lead.what, lead.terminal) for job in before for lead in job.leads}
    assert not early & set(ends.items())
    soldered = {text for job in before for text in job.solder}
    in_use = {lead.label for job in before for lead in job.leads if "no solder" not in lead.solder}
    assert soldered == in_use
