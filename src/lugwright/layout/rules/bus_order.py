"""Returns meet the ground bus in stage order, so that no stage's current flows through an earlier stage's ground."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from lugwright.findings import Finding, Grade
from lugwright.layout.results import PlanTerminal
from lugwright.layout.rules.case import Case

TOLERANCE_MM = 40.0  # two stages that share a socket may land on neighboring points
SUPPLY_DUTIES = ("supply", "mains", "heater", "bias")


def bus_order(case: Case) -> Iterator[Finding]:
    """Yield the return that lands farthest on the wrong side of a later stage's."""
    for bus in case.build.buses:
        places = _places(case, bus.name)
        if len(places) < 2:
            continue
        worst = _worst(places)
        if worst[0] > TOLERANCE_MM:
            yield Finding(
                rule="bus-order", grade=Grade.DOUBT, part=worst[1], what=f"returns meet {bus.name} out of stage order",
                found=f"{worst[1]} lands {worst[0]:.0f} mm beyond {worst[2]} of a later stage",
                wanted="stage order from the input to the supply",
                do="move the strip that carries one of them, or the bus points it may use",
                source="common practice: bus from input end to supply end, grounds in stage order",
            )  # fmt: skip


def _places(case: Case, bus: str) -> list[tuple[int, float, str]]:
    """Return (stage, place along the bus from the input jack's end, part) of every lead soldered straight to it."""
    points = [t for t in case.plan.terminals.values() if t.owner == bus]
    jack = next((t for t in case.plan.terminals.values() if t.kind == "jack"), None)
    if jack is not None and _apart(points[-1], jack) < _apart(points[0], jack):
        points.reverse()
    along, at = 0.0, {}
    for one, two in itertools.pairwise([*points, points[-1]]):
        at[one.key] = along
        along += _apart(one, two)
    stages = [stage for stage in case.build.stages if stage.duty not in SUPPLY_DUTIES]
    number = {name: index for index, stage in enumerate(stages) for name in stage.parts}
    return [
        (number[seat.part], at[key], seat.part)
        for seat in case.plan.seats
        for key in seat.terminals
        if key in at and seat.part in number
    ]


def _apart(one: PlanTerminal, two: PlanTerminal) -> float:
    return abs(one.x_mm - two.x_mm) + abs(one.y_mm - two.y_mm)


def _worst(places: list[tuple[int, float, str]]) -> tuple[float, str, str]:
    worst = (0.0, "", "")
    for stage, at, name in places:
        for other_stage, other_at, other in places:
            if stage < other_stage and at - other_at > worst[0]:
                worst = (at - other_at, name, other)
    return worst
