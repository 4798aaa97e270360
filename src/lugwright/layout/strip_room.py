"""Why strips cannot be placed, and what would help."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.buildfile.build import Build, OpenStrip, Strip
from lugwright.errors import PlanError
from lugwright.layout.board import BODY_KINDS
from lugwright.layout.shortage import lugs_wanted
from lugwright.layout.strip_space import WALL_MM
from lugwright.layout.strip_trial import Trial

MOST_PARTS = 400  # a search over more would take minutes
# The least stretch of plate that takes a strip of three lugs at 9.5 mm, walls on all sides.
LEAST_WIDE_MM, LEAST_DEEP_MM = 2.0 * WALL_MM + 2.0 * 9.5, 2.0 * WALL_MM


def hanging_parts(build: Build) -> int:
    """Return how many parts hang by two leads."""
    return sum(isinstance(part.values, BODY_KINDS) for part in build.parts)


def raise_if_too_many(build: Build) -> None:
    """Raise PlanError for a build too large to find strips for."""
    count = hanging_parts(build)
    if count > MOST_PARTS:
        raise PlanError(
            what="too many parts to find strips for",
            found=f"{count} parts with two leads",
            wanted=f"{MOST_PARTS} or fewer",
            do="write the strips and the bus under [strips] and [bus]",
        )


def raise_if_no_room(build: Build, lugs: int, trial: Trial) -> None:
    """Raise PlanError when not even so many lugs, all over the free area, would do."""
    if trial.whole:
        return
    least = lugs_wanted(trial.bench.board)
    if not lugs:
        raise PlanError(
            what="no room for a terminal strip",
            found=f"on {_size(build)} no three lugs in a row stand clear of walls, sockets, cans and panel parts",
            wanted=f"{LEAST_WIDE_MM:.0f} x {LEAST_DEEP_MM:.0f} mm of plate with nothing on, over or just beside it",
            do="make the chassis larger, or move what stands on it together",
        )
    if least > lugs:
        raise PlanError(
            what="too little room for terminal strips",
            found=f"{lugs} lugs fit into the free area of {_size(build)}",
            wanted=f"at least {least}: one for every joint whose parts have no pin, pot lug or bus to go to",
            do="make the chassis larger, or move what stands on it together",
        )
    raise PlanError(
        what="no strips found on which everything fits",
        found=f"{_left_over(trial)} with {lugs} lugs all over the free area of {_size(build)}",
        wanted="a seat for every part",
        do="make the chassis larger, or move what stands on it together",
    )


def raise_if_not_all_stand(build: Build, wanted: Sequence[OpenStrip], strips: Sequence[Strip]) -> None:
    """Raise PlanError for the first strip the builder names that found no place."""
    standing = {strip.name for strip in strips}
    for strip in wanted:
        if strip.name not in standing:
            lugs = f"its {strip.lugs} lugs" if strip.lugs else "three lugs"
            raise PlanError(
                what=f"no room for strip {strip.name}",
                found=f"nowhere on {_size(build)} do {lugs} in a row and a foot stand clear",
                wanted="a place clear of walls, sockets, cans, leads, panel parts and other strips",
                do="make it shorter, say nothing of its lugs and feet, or make room for it",
            )


def raise_if_too_few(wanted: Sequence[OpenStrip], trial: Trial) -> None:
    """Raise PlanError when the strips the builder names do not suffice, wherever they stand."""
    if not wanted or trial.whole:
        return
    raise PlanError(
        what=f"strips {', '.join(strip.name for strip in trial.build.strips)} are not enough, wherever they stand",
        found=f"{_left_over(trial)} with {len(trial.leads)} lugs",
        wanted="a seat for every part",
        do="leave another strip open (X = {}), or take [strips] out to have as many as the build needs",
    )


def _left_over(trial: Trial) -> str:
    bench = trial.bench
    left = ", ".join(bench.board.parts[part].name for part in bench.unplaced())
    joints = ", ".join(bench.board.joints[joint] for joint in bench.broken())
    found = [f"no seat for {left}"] if left else []
    return "; ".join([*found, f"no free place to wire joint {joints} whole"] if joints else found)


def _size(build: Build) -> str:
    chassis = build.chassis
    return f"a plate of {chassis.width_mm:g} x {chassis.depth_mm:g} mm" if chassis else "no chassis"
