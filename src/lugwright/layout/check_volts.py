"""Working volts of joints for the check of a plan. Shares no code with the planner."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Build, Fuse, Inlet, Switch, Thermistor, Transformer

NEUTRAL_GROUND = (GROUND, CHASSIS, EARTH)


@dataclass(frozen=True)
class Volts:
    """DC volts, rms volts of windings, and the joints on the mains side."""

    dc: Mapping[str, float]
    rms: Mapping[str, float]
    mains: frozenset[str]

    def between_v(self, a: str, b: str) -> float:
        """Return the largest working voltage two joints can have against each other.

        Parameters
        ----------
        a, b : str
            Joints.

        Returns
        -------
        float
            DC difference plus both rms parts. [V]

        Source
        ------
        Derived below: two alternating joints are taken as swinging against each other.
        """
        steady = abs(self.dc.get(a, 0.0) - self.dc.get(b, 0.0))
        return steady + self.rms.get(a, 0.0) + self.rms.get(b, 0.0)


def volts_of(build: Build, joint_volts: Mapping[str, float]) -> Volts:
    """Return the working volts of a build's joints."""
    mains = _mains_side(build)
    rms = dict.fromkeys(mains, build.mains_v)
    for part in build.parts:
        if not isinstance(part.values, Transformer) or part.values.role != "power":
            continue
        joint_of = {t.name: t.joint for t in part.terminals}
        for winding in part.values.windings:
            joints = [joint_of.get(end, "") for end in winding.ends]
            if mains & set(joints):
                continue
            whole = sum(winding.turns)
            tap = joints.index(GROUND) if GROUND in joints else None
            for place, joint in enumerate(joints):
                low, high = sorted((place, tap)) if tap is not None else (0, len(winding.turns))
                if joint and joint not in NEUTRAL_GROUND:
                    rms[joint] = max(rms.get(joint, 0.0), sum(winding.turns[low:high]) if tap is not None else whole)
    dc = {joint: volts for joint, volts in joint_volts.items() if joint not in mains}
    return Volts(dc, rms, frozenset(mains))


def _mains_side(build: Build) -> set[str]:
    """Return the joints between the inlet and the transformer's primary."""
    edges: list[set[str]] = []
    reached: set[str] = set()
    for part in build.parts:
        if isinstance(part.values, Inlet):
            reached |= {t.joint for t in part.terminals if t.name in ("line", "neutral") and t.joint}
        elif isinstance(part.values, Fuse | Thermistor):
            edges.append({t.joint for t in part.terminals if t.joint})
        elif isinstance(part.values, Switch):
            for pole in range(1, part.values.poles + 1):
                edges.append({t.joint for t in part.terminals if t.joint and t.name.startswith(f"{pole}.")})
        elif isinstance(part.values, Transformer) and part.values.role == "power":
            for winding in part.values.windings:
                names = set(winding.ends)
                edges.append({t.joint for t in part.terminals if t.joint and t.name in names})
    for _ in range(len(edges) + 1):
        for edge in edges:
            if edge & reached:
                reached |= edge
    return reached - set(NEUTRAL_GROUND)
