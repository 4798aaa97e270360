"""Returns meet the ground bus in stage order, so that no stage's current flows through an earlier stage's ground."""

from __future__ import annotations

import itertools

from lugwright.findings import Finding, Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.results import PlanTerminal
from lugwright.layout.rules.case import Case, Judged

TOLERANCE_MM = 40.0  # two stages that share a socket may land on neighboring points
SUPPLY_DUTIES = ("supply", "mains", "heater", "bias")


def bus_order(case: Case) -> Judged:
    """Return the return that lands farthest on the wrong side of a later stage's."""
    found = [
        (bus.name, places, _worst(places)) for bus in case.build.buses if len(places := _places(case, bus.name)) > 1
    ]
    if not found:
        return Judged()
    bus, places, (beyond, part, other) = max(found, key=lambda item: item[2][0])
    worst = WorstPlace(
        "bus-order", "return farthest out of stage order",
        f"{part} and {other} on {bus}" if part else f"{bus}, {len(places)} returns in order",
        f"{beyond:.0f} mm beyond a later stage", f"{TOLERANCE_MM:.0f} mm or less", beyond <= TOLERANCE_MM,
    )  # fmt: skip
    return Judged(worst, tuple(_finding(name, at) for name, _, at in found if at[0] > TOLERANCE_MM))


def _finding(bus: str, at: tuple[float, str, str]) -> Finding:
    return Finding(
        rule="bus-order", grade=Grade.DOUBT, part=at[1], what=f"returns meet {bus} out of stage order",
        found=f"{at[1]} lands {at[0]:.0f} mm beyond {at[2]} of a later stage",
        wanted="stage order from the input to the supply",
        do="move the strip that carries one of them, or the bus points it may use",
        source="common practice: bus from input end to supply end, grounds in stage order",
    )  # fmt: skip


def _places(case: Case, bus: str) -> list[tuple[int, float, str]]:
    """Return (stage, place along the bus from the input jack's end, part) of every lead soldered straight to it."""
    points = [t for t in case.plan.terminals.values() if t.owner == bus]
    jack = next((t for t in case.plan.terminals.values() if t.kind == "jack"), None)
    if points and jack is not None and _apart(points[-1], jack) < _apart(points[0], jack):
        points.reverse()
    along, at = 0.0, {}
    for one, two in itertools.pairwise([*points, *points[-1:]]):
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
