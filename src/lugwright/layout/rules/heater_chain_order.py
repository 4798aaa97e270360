"""The heater chain comes to the nearest tube first and ends at the input tube, which then carries the least current."""

from __future__ import annotations

from collections import deque

from lugwright.buildfile.build import Tube
from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.rules.case import Case, Judged, told

RULE = "heater-chain-order"


def heater_chain_order(case: Case) -> Judged:
    """Return where the tube of the first stage stands in the chain of twisted heater pairs."""
    beside = _pairs(case)
    tubes = {part.name for part in case.build.parts if isinstance(part.values, Tube)}
    chained = sorted(tubes & set(beside))
    if len(chained) < 2:
        return Judged()
    first_stage = {name: index for index, stage in enumerate(case.build.stages) for name in stage.parts}
    tube = min(chained, key=lambda name: (first_stage.get(name, len(case.build.stages)), name))
    away = _away(beside, [name for name in beside if name not in tubes] or chained[-1:])
    behind = sorted(name for name in chained if away.get(name, 0) > away.get(tube, 0))
    found = f"{', '.join(behind)} behind it" if behind else f"{len(chained)} tubes, none behind it"
    worst = WorstPlace(RULE, "input tube in the heater chain", tube, found, "the last one", not behind)
    return told(
        worst, Grade.DOUBT, part=tube, what=f"heater current of other tubes runs past the input tube {tube}",
        found=found, wanted="the input tube at the end of the chain",
        do="plan again, or feed the heaters from the other end", source="common practice: input tube last in the chain",
    )  # fmt: skip


def _pairs(case: Case) -> dict[str, set[str]]:
    """Return what each part is joined with by twisted heater pairs."""
    beside: dict[str, set[str]] = {}
    for wire in case.plan.wires:
        if wire.kind == "heater" and wire.twist:
            one, two = (case.plan.terminals[key].owner for key in wire.terminals)
            beside.setdefault(one, set()).add(two)
            beside.setdefault(two, set()).add(one)
    return beside


def _away(beside: dict[str, set[str]], start: list[str]) -> dict[str, int]:
    """Return over how many pairs each part is reached from where the chain is fed."""
    away = dict.fromkeys(start, 0)
    queue = deque(sorted(start))
    while queue:
        here = queue.popleft()
        for there in sorted(beside[here] - set(away)):
            away[there] = away[here] + 1
            queue.append(there)
    return away
