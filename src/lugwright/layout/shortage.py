"""Why a plan cannot be made, and the smallest change that would help."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from lugwright.buildfile.build import Build
from lugwright.errors import NoWholePlan, PlanError
from lugwright.layout.board import BODY_KINDS, FREE, Board, Hanging
from lugwright.layout.objective import MAX_LEAD_MM, MIN_LEAD_MM
from lugwright.layout.results import PlanTerminal
from lugwright.layout.search import Bench

LINK_ENDS = 2  # of the wire that links a lug to the rest of its joint
CROWDED_LUGS = 4
LID_AIR_MM = 1.0
MOST_PARTS = 500  # twice the largest amplifier that plans are made and measured for
LUGS_PER_PART = 0.8  # free lugs for each part held by its leads, of generated amplifiers that could be planned


def raise_if_hopeless(build: Build, board: Board) -> None:
    """Raise NoWholePlan when counting alone shows that no plan exists."""
    wanted, given = lugs_wanted(board), int((board.joint_at == FREE).sum())
    if wanted > given:
        usual = math.ceil(LUGS_PER_PART * len(board.parts))
        raise NoWholePlan(
            what="too few strip lugs",
            found=f"{given} free lugs and free pins, on {len(build.strips)} strips ({_strip_list(build)})",
            wanted=f"at least {wanted}: one for every joint whose parts have no pin, pot lug or bus to go to"
            f"{_crowded_words(board)}; about {usual} are usual for {len(board.parts)} parts",
            do=f"add a strip with {max(wanted, usual) - given} more free lugs, or make strips longer",
            lacks={build.strips[0].name if build.strips else "": max(wanted, usual) - given},
        )
    for part, seats in zip(board.parts, board.seats, strict=True):
        if not len(seats.first):
            raise _no_span(build, board, part)


def raise_if_too_many(build: Build) -> None:
    """Raise PlanError when there are more parts than a search could seat while the builder waits."""
    hanging = sum(isinstance(part.values, BODY_KINDS) for part in build.parts)
    if hanging > MOST_PARTS:
        raise PlanError(
            what="too many parts to plan",
            found=f"{hanging} parts held by their leads",
            wanted=f"{MOST_PARTS} or fewer on one chassis",
            do="divide the build over several chassis, each with a build file of its own",
        )


def raise_if_outside(build: Build, terminals: Mapping[str, PlanTerminal]) -> None:
    """Raise PlanError when something stands outside the chassis."""
    chassis = build.chassis
    if chassis is None:
        raise PlanError(
            what="no chassis to plan on",
            found="the build file has no [chassis]",
            wanted="inside = [width, depth, height] in millimeters, and a place for every part that stands on it",
            do="add [chassis], [place] and [strips] to the build file",
        )
    for t in terminals.values():
        if not (0.0 <= t.x_mm <= chassis.width_mm and 0.0 <= t.y_mm <= chassis.depth_mm):
            raise PlanError(
                what=f"{t.owner} stands outside the chassis",
                found=f"{t.label} at x {t.x_mm:.0f}, y {t.y_mm:.0f} mm",
                wanted=f"x 0 to {chassis.width_mm:.0f}, y 0 to {chassis.depth_mm:.0f} mm",
                do=f"move or turn {t.owner} in the build file, or make the chassis larger",
            )


def lugs_wanted(board: Board) -> int:
    """Return the least number of free lugs any plan needs: for joints without a terminal, or with leads too many."""
    return sum(_lugs_by_joint(board).values())


def _lugs_by_joint(board: Board) -> dict[int, int]:
    """Return how many free lugs each joint needs at least: one more takes leads, and the two ends of its link."""
    room: dict[int, int] = {}
    for index, t in enumerate(board.terminals):
        if board.joint_at[index] >= 0 and t.kind != "exit" and t.capacity > 0:
            joint = int(board.joint_at[index])
            room[joint] = room.get(joint, 0) + t.capacity
    most = max((t.capacity for t in board.terminals if t.kind == "lug"), default=LINK_ENDS + 1)
    leads: dict[int, int] = {}
    for part in board.parts:
        for joint in part.joints:
            leads[joint] = leads.get(joint, 0) + 1
    found = {}
    for joint, count in leads.items():
        over = count - room.get(joint, most)
        more = math.ceil(max(0, over) / max(1, most - LINK_ENDS))
        found[joint] = more + (joint not in room)
    return found


def _crowded_words(board: Board) -> str:
    """Return which joint needs most lugs, where one needs more than another usually does."""
    joint, count = max(_lugs_by_joint(board).items(), key=lambda item: (item[1], -item[0]))
    if count < CROWDED_LUGS:
        return ""
    leads = sum(part.joints.count(joint) for part in board.parts)
    return f", {count} of them for {board.joints[joint]} with its {leads} leads"


def _no_span(build: Build, board: Board, part: Hanging) -> PlanError:
    if part.is_bond:
        return NoWholePlan(
            parts=(part.name,),
            what=f"bond {part.name} has no point to start or end at",
            found=f"{' and '.join(board.joints[j] for j in part.joints)} have no free terminal on the chassis",
            wanted="a bus point, a strip foot or a bolt on each side",
            do="add a ground bus, or a strip with a foot near the inlet",
        )
    low, high = part.length_mm + 2.0 * MIN_LEAD_MM, part.length_mm + 2.0 * MAX_LEAD_MM
    held = [_holders(board, joint) for joint in part.joints]
    apart = [math.hypot(a[0] - b[0], a[1] - b[1]) for a in held[0] for b in held[1] if a != b]
    nearest = min((d for d in apart), key=lambda d: max(low - d, d - high), default=None)
    if nearest is not None and low <= nearest <= high and build.chassis is not None:
        lid = _lid_wanted_mm(board, part)
        if lid > build.chassis.height_mm:
            return _too_flat(build.chassis.height_mm, lid, part)
    found = "no terminal for one of its joints" if nearest is None else f"the best pair is {nearest:.0f} mm apart"
    return NoWholePlan(
        parts=(part.name,),
        what=f"{part.name} fits between no two points",
        found=f"between {board.joints[part.joints[0]]} and {board.joints[part.joints[1]]} {found}",
        wanted=f"two points {low:.0f} to {high:.0f} mm apart (body {part.length_mm:.0f} mm and its leads)",
        do=f"move a strip with two free lugs so that it stands {low:.0f} to {high:.0f} mm from the other end",
    )


def _lid_wanted_mm(board: Board, part: Hanging) -> float:
    """Return how high the chassis has to be for a part on the lowest of the terminals it could go to."""
    low = [
        min(t.z_mm for i, t in enumerate(board.terminals) if board.joint_at[i] in (joint, FREE) and t.capacity > 0)
        for joint in part.joints
    ]
    return max(low) + part.diameter_mm + LID_AIR_MM


def _too_flat(height_mm: float, wanted_mm: float, part: Hanging) -> PlanError:
    return PlanError(
        what=f"the chassis is too flat for {part.name}",
        found=f"{height_mm:g} mm high inside",
        wanted=f"{wanted_mm:.0f} mm or more: its lugs, its body of {part.diameter_mm:g} mm, and air above",
        do="make the chassis higher",
    )


def _holders(board: Board, joint: int) -> list[tuple[float, float]]:
    return [
        (t.x_mm, t.y_mm)
        for index, t in enumerate(board.terminals)
        if board.joint_at[index] in (joint, FREE) and t.kind != "exit" and t.capacity > 0
    ]


def raise_if_unfinished(build: Build, bench: Bench) -> None:
    """Raise NoWholePlan when the search left a part over or a joint in pieces."""
    left, broken = bench.unplaced(), bench.broken()
    if not left and not broken:
        return
    board = bench.board
    spare = int((bench.joint_at == FREE).sum())
    parts = tuple(board.parts[p].name for p in left)
    joints = tuple(board.joints[j] for j in broken)
    found = [f"no seat for {', '.join(parts)}"] if left else []
    found += [f"no free place to wire joint {', '.join(joints)} whole"] if broken else []
    lacks = _lacks(build, bench, left, broken)
    names = list(lacks)
    raise NoWholePlan(
        what="no whole plan found",
        found="; ".join([*found, f"{_lugs(spare)} left free elsewhere{_too_near_words(bench, left, broken)}"]),
        wanted="; ".join(
            f"about {count} more lug{'s' if count > 1 else ''} at strip {name}" for name, count in lacks.items()
        )
        or "strips to seat parts on",
        do=f"make strip {' or '.join(names)} longer, or stand a strip of {max(3, len(left) + 2)} lugs there"
        if names
        else "add strips: this build has none",
        parts=parts,
        joints=joints,
        lacks=lacks,
    )


def _lugs(count: int) -> str:
    return f"{count} lug" if count == 1 else f"{count} lugs"


def _too_near_words(bench: Bench, left: list[int], broken: list[int]) -> str:
    """Return how many of the free lugs stand too near others for the volts of every joint that wants one."""
    wanting = sorted({*broken, *(joint for part in left for joint in bench.board.parts[part].joints)})
    count = sum(
        all(not bench.may_carry(lug, joint) and (joint, lug) not in bench.board.barred for joint in wanting)
        for lug in np.flatnonzero(bench.joint_at == FREE).tolist()
    )
    return f" ({count} too near others for the volts)" if count else ""


def _lacks(build: Build, bench: Bench, left: list[int], broken: list[int]) -> dict[str, int]:
    """Return about how many lugs which strip lacks: one for each part left over and each joint in pieces."""
    found: dict[str, int] = {}
    wanting = [min(bench.board.parts[part].joints, key=lambda j: _terminals_of(bench, j)) for part in left]
    for joint in (*wanting, *broken):
        name = _nearest_strip(build, bench, joint)
        if name:
            found[name] = found.get(name, 0) + 1
    return found


def _terminals_of(bench: Bench, joint: int) -> int:
    """Return on how many terminals a joint is."""
    return int((bench.joint_at == joint).sum())


def _nearest_strip(build: Build, bench: Bench, joint: int) -> str:
    """Return the strip nearest to where a joint is used."""
    at = [t for i, t in enumerate(bench.board.terminals) if bench.joint_at[i] == joint and t.kind != "bus"]
    lugs = [t for t in bench.board.terminals if t.kind in ("lug", "foot")]
    if not lugs:
        return ""
    x = sum(t.x_mm for t in at) / len(at) if at else 0.0
    y = sum(t.y_mm for t in at) / len(at) if at else 0.0
    return min(lugs, key=lambda t: (abs(t.x_mm - x) + abs(t.y_mm - y), t.key)).owner


def _strip_list(build: Build) -> str:
    return ", ".join(f"{strip.name} {strip.lugs - len(strip.feet)}" for strip in build.strips) or "none"
