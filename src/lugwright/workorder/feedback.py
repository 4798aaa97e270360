"""Which lead closes the feedback loop: it goes in last, because its sign is unknown until tested."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Build, Transformer
from lugwright.layout.results import Plan, SeatedPart

_SIGNAL_DUTIES = frozenset({"inverter", "driver", "gain", "input", "tone"})
_COMMON = frozenset({GROUND, CHASSIS, EARTH})


def feedback_ends(build: Build, plan: Plan) -> Mapping[str, str]:
    """Return what closes a loop from the speaker winding, and the terminal where it closes.

    The wire (``W12``) that alone joins a feedback part to the speaker winding keeps that end off until last;
    where the part sits on the winding's own lug, the whole part (``R33``) waits.
    """
    speaker = _speaker_joints(build)
    return dict(_closing_end(plan, seat, end) for seat, end in _feedback_seats(build, plan, speaker))


def _speaker_joints(build: Build) -> frozenset[str]:
    joints = set()
    for part in build.parts:
        if isinstance(part.values, Transformer) and part.values.role == "output":
            primary = part.values.windings[0].name
            joints |= {t.joint for t in part.terminals if t.name.rpartition(".")[0] != primary}
    return frozenset(joints - _COMMON)


def _feedback_seats(build: Build, plan: Plan, speaker: frozenset[str]) -> list[tuple[SeatedPart, int]]:
    """Return seated parts between the speaker winding and a signal stage, with the end at the winding."""
    duty = {name: stage.duty for stage in build.stages for name in stage.parts}
    found = []
    for seat in plan.seats:
        joints = [plan.terminals[key].joint for key in seat.terminals]
        for end in (0, 1):
            far = joints[1 - end]
            if joints[end] not in speaker or far in speaker or far in _COMMON:
                continue
            others = [t.part for t in build.joints.get(far, ()) if t.part != seat.part]
            if any(duty.get(name, "") in _SIGNAL_DUTIES for name in others):
                found.append((seat, end))
    return found


def _closing_end(plan: Plan, seat: SeatedPart, end: int) -> tuple[str, str]:
    key = seat.terminals[end]
    wires = [wire for wire in plan.wires if key in wire.terminals]
    seated_there = [other for other in plan.seats if key in other.terminals]
    alone = len(wires) == 1 and len(seated_there) == 1 and plan.terminals[key].kind in ("lug", "pin")
    return (f"W{wires[0].number}" if alone and not wires[0].twist else seat.part), key
