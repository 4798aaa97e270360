"""What binds the planner: parts held at terminals, joints held on lugs, by a wish or by solder."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from lugwright.buildfile.build import Build
from lugwright.errors import PlanError
from lugwright.layout.results import PlanTerminal

Ends = tuple[str, str]  # keys of the terminals of both leads; "" where one is free


@dataclass(frozen=True)
class Hold:
    """The pairs of terminals a part may hang between, and what holds it, in words."""

    ends: tuple[Ends, ...]
    why: str


@dataclass(frozen=True)
class Holds:
    """Everything that binds one plan. ``lugs``: terminal -> (joint, what holds it there)."""

    parts: Mapping[str, Hold] = field(default_factory=dict)
    lugs: Mapping[str, tuple[str, str]] = field(default_factory=dict)


@dataclass(frozen=True)
class Refusal:
    """Why something that was asked for cannot be."""

    what: str
    found: str
    wanted: str
    do: str


def raise_refusals(refusals: Sequence[Refusal]) -> None:
    """Raise all refusals as one PlanError; nothing when there are none."""
    if len(refusals) == 1:
        one = refusals[0]
        raise PlanError(what=one.what, found=one.found, wanted=one.wanted, do=one.do)
    if refusals:
        raise PlanError(
            what=f"{len(refusals)} things that were asked for cannot be",
            found="; ".join(f"{one.what}: {one.found}" for one in refusals),
            wanted="; ".join(dict.fromkeys(one.wanted for one in refusals)),
            do="; ".join(dict.fromkeys(one.do for one in refusals)),
        )


def spread_out(
    build: Build, terminals: Mapping[str, PlanTerminal], holds: Holds
) -> tuple[dict[str, tuple[str, str]], tuple[str, ...]]:
    """Return every lug that the holds give a joint, and the parts that no pair of their terminals suits.

    A part held at a free lug puts its own joint there; that may settle which way round another part hangs.
    """
    lugs = dict(holds.lugs)
    left = {name: list(hold.ends) for name, hold in holds.parts.items()}
    grew = True
    while grew:
        grew = False
        for name, options in left.items():
            joints = _joints(build, name)
            options[:] = [ends for ends in options if _suits(terminals, lugs, ends, joints)]
            for side in (0, 1):
                keys = {ends[side] for ends in options}
                (key,) = keys if len(keys) == 1 else ("",)
                if key and not terminals[key].joint and key not in lugs:
                    lugs[key] = joints[side], holds.parts[name].why
                    grew = True
    return lugs, tuple(name for name, options in left.items() if not options)


def _joints(build: Build, name: str) -> Ends:
    one, two = build.part(name).terminals[:2]
    return one.joint, two.joint


def _suits(
    terminals: Mapping[str, PlanTerminal], lugs: Mapping[str, tuple[str, str]], ends: Ends, joints: Ends
) -> bool:
    return all(
        not key or held_joint(terminals, lugs, key) in ("", joint) for key, joint in zip(ends, joints, strict=True)
    )


def held_joint(terminals: Mapping[str, PlanTerminal], lugs: Mapping[str, tuple[str, str]], key: str) -> str:
    """Return the joint a terminal carries whatever is planned, "" when it is free."""
    return terminals[key].joint or lugs.get(key, ("", ""))[0]


def with_held_joints(
    terminals: Mapping[str, PlanTerminal], lugs: Mapping[str, tuple[str, str]]
) -> dict[str, PlanTerminal]:
    """Return the terminals, held lugs carrying their joints."""
    return {key: replace(t, joint=held_joint(terminals, lugs, key)) for key, t in terminals.items()}


def unsuited(
    build: Build,
    terminals: Mapping[str, PlanTerminal],
    lugs: Mapping[str, tuple[str, str]],
    name: str,
    ends: Ends,
) -> Iterator[str]:
    """Yield, for each terminal that carries another joint than the part has there, what it carries and why."""
    joints = _joints(build, name)
    held = [key for key in ends if key and held_joint(terminals, lugs, key)]
    for key in [key for key in held if held_joint(terminals, lugs, key) not in joints] or held:
        why = lugs[key][1] if key in lugs else ""
        yield f"{terminals[key].label} carries {held_joint(terminals, lugs, key)}{f' ({why})' if why else ''}"


def allowed_rows(
    hold: Hold,
    points: Sequence[PlanTerminal],
    ends: tuple[NDArray[np.int64], NDArray[np.int64]],
    joints: tuple[int, int],
    joint_at: NDArray[np.int64],
) -> NDArray[np.bool_]:
    """Return which pairs of terminals a hold allows, each free or on its joint."""
    place = {t.key: i for i, t in enumerate(points)}
    allowed = np.zeros(len(ends[0]), dtype=np.bool_)
    for keys in hold.ends:
        here = np.ones(len(ends[0]), dtype=np.bool_)
        for key, side in zip(keys, ends, strict=True):
            here &= side == place[key] if key else True
        allowed |= here
    for side, joint in zip(ends, joints, strict=True):
        allowed &= (joint_at[side] == joint) | (joint_at[side] < 0)
    return allowed
