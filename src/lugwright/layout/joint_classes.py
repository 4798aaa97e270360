"""What each joint carries: its class (mains, heater, B+, plate, grid ...) and its working volts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from lugwright.buildfile.build import (
    CHASSIS,
    EARTH,
    GROUND,
    Bond,
    Build,
    Can,
    Capacitor,
    Choke,
    Fuse,
    Inlet,
    Part,
    Speaker,
    Switch,
    Tank,
    Terminal,
    Thermistor,
    Transformer,
    Tube,
    Winding,
)

# What a joint may be; "output plate" and "screen" wires are of kind plate and B+.
CLASSES = (
    "earth", "ground", "mains", "B+", "heater", "speaker", "screen", "output plate", "plate", "grid", "cathode",
    "bias", "signal",
)  # fmt: skip
KIND_OF_CLASS = {name: name for name in CLASSES} | {"output plate": "plate", "screen": "B+"}
B_PLUS_MIN_V = 100.0  # an electrolytic rated above this sits on a B+ joint
BIAS_MAX_V = -5.0


@dataclass(frozen=True)
class JointFacts:
    """Class and volts of a joint; ``ac_v`` is the rms part that swings about ``dc_v``."""

    name: str  # its class
    dc_v: float
    ac_v: float
    joint: str = ""


def working_v(a: JointFacts, b: JointFacts) -> float:
    """Return the largest working voltage between two joints.

    Parameters
    ----------
    a, b : JointFacts
        The two joints.

    Returns
    -------
    float
        DC difference plus both rms parts, as if they swung against each other. [V]

    Source
    ------
    Derived below: the phase between two windings is not known here, so the worst is taken.
    """
    return abs(a.dc_v - b.dc_v) + a.ac_v + b.ac_v


def joint_facts(build: Build, joint_volts: Mapping[str, float]) -> dict[str, JointFacts]:
    """Return class and volts of every joint of the build."""
    classes = joint_classes(build, joint_volts)
    ac_v = _alternating_v(build, classes)
    return {
        joint: JointFacts(
            classes[joint],
            0.0 if classes[joint] == "mains" else joint_volts.get(joint, 0.0),
            ac_v.get(joint, 0.0),
            joint,
        )
        for joint in build.joints
    }


def joint_classes(build: Build, joint_volts: Mapping[str, float]) -> dict[str, str]:
    """Return the class of every joint; where several fit, the first in the order of `CLASSES` counts."""
    sets: dict[str, set[str]] = {
        "earth": {EARTH, CHASSIS},
        "ground": {GROUND},
        "mains": _mains_joints(build),
        "heater": _heater_joints(build),
        "speaker": _speaker_joints(build),
        "B+": _b_plus_joints(build),
        "screen": _electrode_joints(build, "screen"),
        "output plate": _output_plate_joints(build),
        "plate": _electrode_joints(build, "plate"),
        "grid": _electrode_joints(build, "grid"),
        "cathode": _electrode_joints(build, "cathode"),
        "bias": _bias_joints(build, joint_volts),
    }
    return {j: next((name for name in CLASSES if j in sets.get(name, ())), "signal") for j in build.joints}


def _electrode_joints(build: Build, electrode: str) -> set[str]:
    return {t.joint for part in _tubes(build) for t in part.terminals if t.name == electrode and t.joint}


def _tubes(build: Build) -> Iterator[Part]:
    return (part for part in build.parts if isinstance(part.values, Tube))


def _windings(build: Build, *roles: str) -> Iterator[tuple[Part, Winding, dict[str, str]]]:
    """Yield (transformer, winding, joint of each end) for transformers of these roles."""
    for part in build.parts:
        if isinstance(part.values, Transformer) and part.values.role in roles:
            joints = {t.name: t.joint for t in part.terminals}
            for winding in part.values.windings:
                yield part, winding, {end: joints.get(end, "") for end in winding.ends}


def _mains_joints(build: Build) -> set[str]:
    """Return everything that the mains reaches before the transformer isolates it."""
    reached = {
        t.joint
        for p in build.parts
        if isinstance(p.values, Inlet)
        for t in p.terminals
        if t.name != "earth" and t.joint
    }
    groups = _contacts(build)
    groups += [{joint for joint in ends.values() if joint} for _, _, ends in _windings(build, "power")]
    return _closure(reached, groups) - {GROUND, CHASSIS, EARTH}


def _contacts(build: Build) -> list[set[str]]:
    """Return the joints that a fuse, a thermistor or one pole of a switch joins."""
    return [{t.joint for t in pole if t.joint} for part in build.parts for pole in contact_poles(part)]


def _behind_contacts(build: Build, joints: set[str]) -> set[str]:
    """Return the joints and what fuses and switches carry on from them, as far as ground."""
    ends = {GROUND, CHASSIS, EARTH}
    return _closure(joints - ends, [group - ends for group in _contacts(build)])


def contact_poles(part: Part) -> list[tuple[Terminal, ...]]:
    """Return the terminals that a fuse, a thermistor or each pole of a switch joins; none for any other part."""
    if isinstance(part.values, Fuse | Thermistor):
        return [part.terminals]
    poles: dict[str, list[Terminal]] = {}
    if isinstance(part.values, Switch):
        for terminal in part.terminals:
            poles.setdefault(terminal.name.split(".")[0], []).append(terminal)
    return [tuple(terminals) for terminals in poles.values()]


def _closure(start: set[str], groups: list[set[str]]) -> set[str]:
    reached, grew = set(start), bool(start)
    while grew:
        grew = False
        for group in groups:
            if group & reached and not group <= reached:
                reached |= group
                grew = True
    return reached


def heater_pairs(build: Build) -> list[tuple[str, str]]:
    """Return the joint pairs that feed heaters, in order of the tubes that use them."""
    pairs: dict[tuple[str, str], None] = {}
    for part in _tubes(build):
        sides = heater_sides(part)
        if sides:
            first, second = sorted({t.joint for t in sides})
            pairs[(first, second)] = None
    return list(pairs)


def heater_sides(part: Part) -> list[Terminal]:
    """Return the heater terminals of a tube when they stand on exactly two joints, else nothing."""
    terminals = [t for t in part.terminals if t.name.startswith("heater") and t.joint]
    return terminals if len({t.joint for t in terminals}) == 2 else []


def _heater_joints(build: Build) -> set[str]:
    joints = {t.joint for part in _tubes(build) for t in part.terminals if t.name.startswith("heater") and t.joint}
    for _, _, ends in _windings(build, "power"):
        at = {joint for joint in ends.values() if joint}
        if at & joints and not at & _mains_start(build):
            joints |= at
    return joints - {GROUND, CHASSIS, EARTH}


def _mains_start(build: Build) -> set[str]:
    return {t.joint for p in build.parts if isinstance(p.values, Inlet) for t in p.terminals if t.joint}


def _speaker_joints(build: Build) -> set[str]:
    """Return what carries speaker current, and what drives the springs; what comes back from them is a signal."""
    driven = [t for p in build.parts if isinstance(p.values, Speaker | Tank) for t in p.terminals if t.name != "out"]
    joints = {t.joint for t in driven if t.joint}
    for part, winding, ends in _windings(build, "output"):
        if isinstance(part.values, Transformer) and winding is not part.values.windings[0]:
            joints |= {joint for joint in ends.values() if joint}
    return joints - {GROUND, CHASSIS, EARTH}


def _b_plus_joints(build: Build) -> set[str]:
    joints: set[str] = set()
    for part in build.parts:
        values = part.values
        if isinstance(values, Capacitor) and values.polar and values.volts >= B_PLUS_MIN_V:
            joints.add(part.terminal("1").joint)
        elif isinstance(values, Can) and values.volts >= B_PLUS_MIN_V:
            joints |= {t.joint for t in part.terminals if t.name != "minus"}
        elif isinstance(values, Choke):
            joints |= {t.joint for t in part.terminals}
        elif isinstance(values, Tube) and values.type.kind == "rectifier":
            joints |= {t.joint for t in part.terminals if t.name.startswith(("plate", "cathode"))}
    for _, winding, ends in _windings(build, "power"):
        if sum(winding.turns) > B_PLUS_MIN_V and not set(ends.values()) & _mains_start(build):
            joints |= _behind_contacts(build, {joint for joint in ends.values() if joint})
    return {j for j in joints if j} - {GROUND, CHASSIS, EARTH}


def _output_plate_joints(build: Build) -> set[str]:
    plates = _electrode_joints(build, "plate")
    return {joint for _, _, ends in _windings(build, "output") for joint in ends.values() if joint in plates}


def _bias_joints(build: Build, joint_volts: Mapping[str, float]) -> set[str]:
    bias_parts = {name for stage in build.stages if stage.duty == "bias" for name in stage.parts}
    joints = {
        joint
        for joint, terminals in build.joints.items()
        if bias_parts and all(t.part in bias_parts for t in terminals)
    }
    # A winding that is neither mains nor heater nor B+ feeds the bias: its hum has no business in a signal either.
    windings = {joint for _, _, ends in _windings(build, "power") for joint in ends.values() if joint}
    return joints | windings | {joint for joint, volts in joint_volts.items() if volts <= BIAS_MAX_V}


def _alternating_v(build: Build, classes: Mapping[str, str]) -> dict[str, float]:
    """Return the rms volts of joints that swing with the mains: mains wiring and power transformer windings."""
    found = {joint: build.mains_v for joint, name in classes.items() if name == "mains"}
    for _, winding, ends in _windings(build, "power"):
        names = list(winding.ends)
        at = [sum(winding.turns[:k]) for k in range(len(names))]
        zero = next((at[k] for k, end in enumerate(names) if ends[end] == GROUND), None)
        for place, end in zip(at, names, strict=True):
            joint = ends[end]
            if joint in ("", GROUND, CHASSIS, EARTH) or classes.get(joint) == "mains":
                continue
            swing = abs(place - zero) if zero is not None else at[-1]
            for reached in _behind_contacts(build, {joint}):
                found[reached] = max(found.get(reached, 0.0), swing)
    return found


def planned_terminals(build: Build) -> Iterable[Terminal]:
    """Return the terminals of parts inside the chassis, bonds left out."""
    return (
        t
        for part in build.parts
        if not isinstance(part.values, Speaker | Tank | Bond)
        for t in part.terminals
        if t.joint
    )
