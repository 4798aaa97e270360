"""A small edit of a planned amplifier is a small change of its plan."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from lugwright.buildfile.build import Build, Capacitor, Part, Resistor, Transformer, Tube
from lugwright.errors import PlanError
from lugwright.layout.checker import check_plan
from lugwright.layout.joint_classes import joint_classes
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.plan_file import plan_to_text
from lugwright.layout.resettle import MOST_PUSHED
from lugwright.layout.results import Plan
from lugwright.workflow import open_build

EXAMPLES = Path(__file__).parents[2] / "examples"
DEMOS = ("dunlin_5", "curlew_18")
SEED = 7
# Of 20 parts added to each demo, 10 removed from it, 10 made a third larger: how many other parts may move for one.
# Added: as many as may be pushed aside before the whole plan would be searched again. Removed: a resistor left alone
# with a grid is a grid stopper from then on, and goes onto the pin.
# It may push others aside there, as a new part does.
MOST_MOVED = {"added": MOST_PUSHED, "removed": MOST_PUSHED, "larger": 1}


@cache
def planned(name: str) -> tuple[Build, Mapping[str, float], Plan]:
    """Return a demo build, its volts and its plan."""
    opened = open_build(EXAMPLES / f"{name}.toml")
    return opened.written, opened.joint_volts, plan_lugs(opened.written, joint_volts=opened.joint_volts)


def with_part(build: Build, like: Part, a: str, b: str) -> Build:
    """Return the build with a part like another between two joints."""
    ends = tuple(replace(t, part="R999", joint=j) for t, j in zip(like.terminals, (a, b), strict=True))
    joints = {j: list(ts) for j, ts in build.joints.items()}
    for end in ends:
        joints.setdefault(end.joint, []).append(end)
    stages = tuple(replace(s, parts=(*s.parts, "R999")) if s.name == like.stage else s for s in build.stages)
    parts = (*build.parts, replace(like, name="R999", terminals=ends))
    return replace(build, parts=parts, stages=stages, joints={j: tuple(ts) for j, ts in joints.items()})


def without(build: Build, name: str) -> Build:
    """Return the build without a part."""
    joints = {j: tuple(t for t in ts if t.part != name) for j, ts in build.joints.items()}
    stages = tuple(replace(s, parts=tuple(p for p in s.parts if p != name)) for s in build.stages)
    parts = tuple(p for p in build.parts if p.name != name)
    return replace(build, parts=parts, stages=stages, joints={j: ts for j, ts in joints.items() if ts})


def larger(build: Build, name: str) -> Build:
    """Return the build with a part a third longer and thicker."""
    values = build.part(name).values
    assert isinstance(values, Resistor | Capacitor)
    body = replace(values.body, length_mm=1.3 * values.body.length_mm, diameter_mm=1.3 * values.body.diameter_mm)
    parts = tuple(replace(p, values=replace(values, body=body)) if p.name == name else p for p in build.parts)
    return replace(build, parts=parts)


def edits(name: str, what: str) -> Iterator[tuple[str, Build]]:
    """Yield the edits of a demo, with what they are called."""
    build, volts, plan = planned(name)
    rng = random.Random(SEED)
    movable = [p for p in build.parts if isinstance(p.values, Resistor | Capacitor) and len(p.terminals) == 2]
    if what == "added":
        classes = joint_classes(build, volts)
        near = {t.joint for p in build.parts if isinstance(p.values, Resistor | Capacitor | Tube) for t in p.terminals}
        wound = {t.joint for p in build.parts if isinstance(p.values, Transformer) for t in p.terminals} - {"ground"}
        near -= wound  # a wire from a high winding needs more insulation than hook-up wire has: the check says so
        joints = [j for j in build.joints if j in near and classes[j] not in ("mains", "earth") and j != "chassis"]
        for _ in range(20):
            like, (a, b) = rng.choice(movable), rng.sample(joints, 2)
            yield f"like {like.name} from {a} to {b}", with_part(build, like, a, b)
    else:
        edit = without if what == "removed" else larger
        seated = [p.name for p in movable if p.name in {s.part for s in plan.seats}]
        for part in rng.sample(seated, 10):
            yield part, edit(build, part)


@pytest.mark.parametrize("what", MOST_MOVED)
@pytest.mark.parametrize("name", DEMOS)
def test_a_part_more_less_or_larger_moves_hardly_another(name: str, what: str) -> None:
    build, volts, plan = planned(name)
    old = {s.part: s.terminals for s in plan.seats}
    found = {f.rule for f in check_plan(build, plan, joint_volts=volts)}
    counts = []
    for words, edited in edits(name, what):
        try:
            new = plan_lugs(edited, joint_volts=volts, previous=plan)
        except PlanError as error:
            pytest.fail(f"{words}: {error}")
        moved = {s.part for s in new.seats if old.get(s.part, s.terminals) != s.terminals} - {words}
        assert len(moved) <= MOST_MOVED[what], f"{words} moves {sorted(moved)}"
        assert {f.rule for f in check_plan(edited, new, joint_volts=volts)} <= found, words
        counts.append(len(moved))
    assert sorted(counts)[len(counts) // 2] == 0


@pytest.mark.parametrize("name", DEMOS)
def test_other_values_change_no_byte_but_the_fingerprint(name: str) -> None:
    build, volts, plan = planned(name)
    parts = tuple(
        replace(p, values=replace(p.values, ohm=1.2 * p.values.ohm)) if isinstance(p.values, Resistor) else p
        for p in build.parts
    )
    moved_volts = {joint: value + 2.0 if value > 20.0 else value for joint, value in volts.items()}
    new = plan_lugs(replace(build, parts=parts), joint_volts=moved_volts, previous=plan)
    assert new.fingerprint != plan.fingerprint
    assert plan_to_text(replace(new, fingerprint="")) == plan_to_text(replace(plan, fingerprint=""))
