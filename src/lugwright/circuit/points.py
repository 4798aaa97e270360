"""Points a person names: a joint, or a terminal such as ``V1a.plate``; where a signal goes in and comes out."""

from __future__ import annotations

import difflib

from lugwright.buildfile.build import Build, Jack, Part, Pot, Speaker
from lugwright.circuit.edits import OPEN_OHM, Edit, SetValue
from lugwright.circuit.pot_taper import pot_halves_ohm
from lugwright.errors import NoSuchPoint


def joint_of(build: Build, name: str) -> str:
    """Return the joint a name stands for.

    Raises
    ------
    NoSuchPoint
        Neither a joint nor a terminal has that name; the message offers the nearest.
    """
    if name in build.joints:
        return name
    terminals = {str(t): t.joint for part in build.parts for t in part.terminals}
    if name in terminals:
        return terminals[name]
    near = difflib.get_close_matches(name, [*build.joints, *terminals], n=1, cutoff=0.5)
    raise NoSuchPoint(
        what=f"there is no point {name!r}",
        found="neither a joint nor a terminal of that name",
        wanted="a joint such as B+1 or a terminal such as V1a.plate",
        do=f"did you mean {near[0]}?" if near else "lugwright parts lists the terminals",
    )


def input_jack(build: Build) -> Part | None:
    """Return the jack a guitar goes into first: of the first input stage, else the first switched one."""
    jacks = [part for part in build.parts if isinstance(part.values, Jack)]
    inputs = {stage.name for stage in build.stages if stage.duty == "input"}
    return next((j for j in jacks if j.stage in inputs), next((j for j in jacks if _switched(j)), None))


def speaker(build: Build) -> Part | None:
    """Return the first speaker."""
    return next((part for part in build.parts if isinstance(part.values, Speaker)), None)


def plugged(build: Build, joint: str) -> Edit:
    """Return the edit that opens the contacts of the jacks whose tip is this joint, as a plug does."""
    opened = (
        SetValue(f"{part.name}.tip-tip_switch", "ohm", OPEN_OHM)
        for part in build.parts
        if isinstance(part.values, Jack) and _switched(part) and part.terminal("tip").joint == joint
    )
    return Edit("", tuple(opened))


def turned(build: Build, name: str, rotation: float) -> Edit:
    """Return the edit that turns a pot, named by designator or label, to a share of its rotation.

    Raises
    ------
    NoSuchPoint
        There is no such pot, or the rotation is not between 0 and 1.
    """
    pots = {part.name: part for part in build.parts if isinstance(part.values, Pot)}
    named = {**{p.values.label.casefold(): p for p in pots.values() if isinstance(p.values, Pot)}, **pots}
    part = named.get(name) or named.get(name.casefold())
    if part is None or not isinstance(part.values, Pot):
        raise NoSuchPoint(
            what=f"there is no knob {name!r}",
            found=", ".join(f"{p.name} {p.values.label}" for p in pots.values() if isinstance(p.values, Pot)) or "none",
            wanted="a pot's designator or its label",
            do="use one of those found",
        )
    if not 0.0 <= rotation <= 1.0:
        raise NoSuchPoint(
            what=f"{name} cannot be turned that far",
            found=f"{rotation:g}",
            wanted="a share of its rotation, 0 to 1, clockwise",
            do="0.5 is halfway",
        )
    low, high = pot_halves_ohm(ohm=part.values.ohm, taper=part.values.taper, rotation=rotation)
    changes = (SetValue(f"{part.name}.1-2", "ohm", low), SetValue(f"{part.name}.2-3", "ohm", high))
    return Edit(f"{part.values.label or part.name} {rotation:g}", changes)


def _switched(part: Part) -> bool:
    return isinstance(part.values, Jack) and part.values.switched
