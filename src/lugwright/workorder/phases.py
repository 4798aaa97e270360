"""The phases of the work, from bare metal to the last lead, and which part or wire belongs to which."""

from __future__ import annotations

from lugwright.buildfile.build import CHASSIS, EARTH, Build, Part, Stage
from lugwright.layout.results import Plan, SeatedPart, Wire

METALWORK, MOUNTING = "metalwork", "mounting"
EARTH_AND_MAINS, HEATERS, B_PLUS, BIAS, GROUND_BUS = "earth and mains", "heaters", "B+", "bias", "ground"
CONTROLS, OUTPUT, DRIVER, SIGNAL, INPUT = "controls", "output", "driver", "signal", "input"
FEEDBACK, CHECK = "feedback", "check"

PHASES = (
    METALWORK, MOUNTING, EARTH_AND_MAINS, HEATERS, B_PLUS, BIAS, GROUND_BUS, CONTROLS, OUTPUT, DRIVER, SIGNAL, INPUT,
    CHECK, FEEDBACK,
)  # fmt: skip
RANK = {phase: rank for rank, phase in enumerate(PHASES)}

TITLES = {
    EARTH_AND_MAINS: "Earth and mains",
    HEATERS: "Heaters",
    B_PLUS: "B+ supply",
    BIAS: "Bias supply",
    GROUND_BUS: "Ground",
    CONTROLS: "Controls, jacks, switches",
    OUTPUT: "Output stage",
    DRIVER: "Driver and inverter",
    SIGNAL: "Signal",
    INPUT: "Input stage",
    FEEDBACK: "Feedback lead",
}

_DUTY = {
    "mains": EARTH_AND_MAINS,
    "heater": HEATERS,
    "supply": B_PLUS,
    "bias": BIAS,
    "output": OUTPUT,
    "inverter": DRIVER,
    "driver": DRIVER,
    "input": INPUT,
}
_WIRE_KIND = {
    "mains": EARTH_AND_MAINS,
    "earth": EARTH_AND_MAINS,
    "heater": HEATERS,
    "B+": B_PLUS,
    "bias": BIAS,
    "ground": GROUND_BUS,
    "speaker": OUTPUT,
}
# From the output stage on the work goes against the signal: the input is handled least.
_AGAINST_THE_SIGNAL = frozenset({OUTPUT, DRIVER, SIGNAL, INPUT})
_PANEL_KINDS = frozenset({"pot", "jack", "panel"})


def stage_phase(stage: Stage) -> str:
    """Return the phase in which the parts of a stage go in."""
    return _DUTY.get(stage.duty, SIGNAL)


def stage_of(build: Build, part: Part) -> int:
    """Return the index of a part's stage; the number of stages when it belongs to none."""
    for index, stage in enumerate(build.stages):
        if part.name in stage.parts or stage.name == part.stage:
            return index
    return len(build.stages)


def seat_slot(build: Build, plan: Plan, seat: SeatedPart) -> tuple[str, int]:
    """Return phase and stage index of a seated part."""
    stage = stage_of(build, build.part(seat.part))
    if all(plan.terminals[key].kind in _PANEL_KINDS for key in seat.terminals):
        return CONTROLS, stage
    return (stage_phase(build.stages[stage]) if stage < len(build.stages) else SIGNAL), stage


def wire_slot(build: Build, plan: Plan, wire: Wire) -> tuple[str, int]:
    """Return phase and stage index of a wire: by its kind, else by what it joins."""
    stages = sorted({stage_of(build, build.part(t.part)) for t in build.joints.get(wire.joint, ())})
    if wire.kind in _WIRE_KIND:
        return _WIRE_KIND[wire.kind], (stages or [len(build.stages)])[0]
    known = [stage for stage in stages if stage < len(build.stages)]
    slots = [(RANK[stage_phase(build.stages[stage])], stage) for stage in known]
    if any(plan.terminals[key].kind in _PANEL_KINDS for key in wire.terminals):
        return CONTROLS, (known or [len(build.stages)])[0]
    rank, stage = min(slots, key=lambda slot: stage_order(*slot), default=(RANK[SIGNAL], len(build.stages)))
    return PHASES[rank], stage


def stage_order(rank: int, stage: int) -> tuple[int, int]:
    """Return the sorting key of a stage within its phase: with the signal, from the output on against it."""
    return rank, (-stage if PHASES[rank] in _AGAINST_THE_SIGNAL else stage)


def is_earth_bond(build: Build, wire: Wire) -> bool:
    """Return whether a wire belongs to the protective earth: it goes in before everything else."""
    if wire.joint == EARTH or wire.kind == "earth":
        return True
    ends = {t.joint for t in build.part(wire.bond).terminals} if wire.bond in build.part_by_name else set()
    return ends == {EARTH, CHASSIS}


def is_ground_bond(build: Build, wire: Wire) -> bool:
    """Return whether a wire is the one place where ground meets the metal."""
    if wire.bond not in build.part_by_name:
        return False
    ends = {t.joint for t in build.part(wire.bond).terminals}
    return CHASSIS in ends and EARTH not in ends
