"""The ohms chart in the order a chassis is checked: mains side, heaters, B+, bias, grounds, signal."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from lugwright.bringup.look_list import mains_joints
from lugwright.bringup.results import Reading
from lugwright.buildfile.build import GROUND, Build, Transformer

SECTIONS = ("mains side", "heaters", "B+", "bias", "grounds", "signal")
SHORT = "a short on B+ takes rectifier, fuse and transformer with it"
UNBIASED = "an output grid without its path to the bias lets its tube run away"


@dataclass(frozen=True)
class _Joints:
    """What the joints of a build are there for."""

    mains: frozenset[str]
    heaters: frozenset[str]
    supply: frozenset[str]
    bias: frozenset[str]
    output_grids: frozenset[str]

    def section(self, joint: str) -> str:
        """Return the section a joint is read in."""
        if joint == GROUND:
            return "grounds"
        for name, joints in (("mains side", self.mains), ("heaters", self.heaters), ("B+", self.supply),
                             ("bias", self.bias)):  # fmt: skip
            if joint in joints:
                return name
        return "signal"


def in_sections(build: Build, readings: Iterable[Reading], output_grids: Iterable[str]) -> tuple[Reading, ...]:
    """Return the readings section by section, each in the order it was in, those that guard B+ and bias marked."""
    joints = _joints(build, frozenset(output_grids))
    marked = [_marked(reading, joints) for reading in readings]
    return tuple(sorted(marked, key=lambda r: SECTIONS.index(r.section)))


def _marked(reading: Reading, joints: _Joints) -> Reading:
    guards = ""
    if reading.point.startswith("B+") and reading.black == GROUND:
        guards = SHORT
    elif reading.joint in joints.output_grids and "(grid" in reading.point:
        guards = UNBIASED
    return replace(reading, section=joints.section(reading.joint), guards=guards)


def _joints(build: Build, output_grids: frozenset[str]) -> _Joints:
    def of_duty(duty: str) -> set[str]:
        stages = {stage.name for stage in build.stages if stage.duty == duty}
        return {t.joint for p in build.parts if p.stage in stages for t in p.terminals}

    heaters = {t.joint for p in build.parts for t in p.terminals if t.name.startswith("heater")}
    supply = {joint for joint in build.joints if joint.startswith("B+")}
    for part in build.parts:
        if isinstance(part.values, Transformer) and part.values.role == "power":
            for winding in part.values.windings:
                ends = {part.terminal(end).joint for end in winding.ends}
                if not ends & heaters and winding.name != "primary" and not ends & of_duty("bias"):
                    supply |= ends
    mains = mains_joints(build) | {"earth", "chassis"}
    plain = {GROUND, *mains}
    return _Joints(
        frozenset(mains - {GROUND}),
        frozenset(heaters - plain),
        frozenset((supply | of_duty("supply")) - plain - heaters),
        frozenset((of_duty("bias") | output_grids) - plain - heaters - supply),
        output_grids,
    )
