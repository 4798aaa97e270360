"""What only the whole file shows: loose ends, floating grids, electrodes that share a joint."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping
from itertools import combinations

from lugwright.buildfile import build as b
from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Build, Part, Terminal
from lugwright.buildfile.danger_checks import check_dangers
from lugwright.buildfile.joints import Joints, looks_like_terminal
from lugwright.buildfile.locate import KeyPath
from lugwright.buildfile.mistakes import Mistakes
from lugwright.buildfile.torn import TornParts
from lugwright.findings import Grade

_MAY_STAY_ALONE = {"heater_tap", "tip_switch"}
_STANDS_SOMEWHERE = (b.Tube, b.Pot, b.Transformer, b.Choke, b.Jack, b.Switch, b.Fuse, b.Lamp, b.Inlet, b.Can)


def check_build(
    build: Build,
    joints: Joints,
    paths: Mapping[str, KeyPath],
    unused: Mapping[str, tuple[str, ...]],
    mistakes: Mistakes,
    torn: TornParts,
) -> None:
    """Add a finding for everything that is wrong with the build as a whole.

    Where some part could not be read, floating grids are not looked for; loose ends only where it is sure
    where all parts end.
    """
    if not torn.written:
        _ground(build, mistakes)
        _floating_grids(build, paths, unused, mistakes)
    if torn.all_ends_known:
        _loose_ends(build, joints, paths, unused, mistakes, torn)
    _both_ends_alike(build, paths, mistakes)
    _electrodes(build, paths, mistakes)
    _electrodes_together(build, paths, unused, mistakes)
    check_dangers(build, paths, mistakes)
    _places(build, paths, mistakes)


def _ground(build: Build, mistakes: Mistakes) -> None:
    if GROUND not in build.joints:
        mistakes.add(
            "no-ground",
            ("build",),
            what="the circuit has no ground",
            found="no part ends on ground",
            wanted='a joint named "ground", against which all voltages are measured',
            do="name the 0 V joint ground",
        )


def _loose_ends(
    build: Build,
    joints: Joints,
    paths: Mapping[str, KeyPath],
    unused: Mapping[str, tuple[str, ...]],
    mistakes: Mistakes,
    torn: TornParts,
) -> None:
    several = [joint for joint, terminals in build.joints.items() if len(terminals) > 1]
    meets_torn = torn.joints(joints)
    for part_name, joint, where in torn.ends_alone(joints):
        _used_once(part_name, part_name, joint, where, several, mistakes)
    for joint, terminals in build.joints.items():
        terminal = terminals[0]
        part = build.part(terminal.part)
        if len(terminals) > 1 or terminal.name in _MAY_STAY_ALONE or terminal.section in unused.get(part.name, ()):
            continue
        if joint in (GROUND, CHASSIS, EARTH) or joint in meets_torn:
            continue
        if isinstance(part.values, b.Transformer) and looks_like_terminal(joint):
            continue
        if isinstance(part.values, b.Tube):
            mistakes.add(
                "unused-electrode",
                paths[part.name],
                part=part.name,
                what=f"{terminal} is joined to nothing",
                found=f"no part ends on {terminal}",
                wanted="a joint for every electrode",
                do=f"end a part on {terminal}, join it, or mark the section unused",
            )
            continue
        if joint not in joints.terminals and looks_like_terminal(joint):
            continue  # named already as a terminal that is not there
        where = _end_path(joints.path_of(joint) or paths[part.name], build, terminal)
        _used_once(str(terminal), part.name, joint, where, several, mistakes)


def _used_once(what: str, part: str, joint: str, where: KeyPath, several: list[str], mistakes: Mistakes) -> None:
    close = mistakes.nearest(joint, several)
    mistakes.add(
        "joint-used-once",
        where,
        part=part,
        what=f"{what} ends on {joint!r}, and nothing else does",
        found=joint,
        wanted="a joint where at least two terminals meet",
        do=f"write {close!r}" if close else "end another part there, or correct the name",
    )


def _end_path(path: KeyPath, build: Build, terminal: Terminal) -> KeyPath:
    names = [t.name for t in build.part(terminal.part).terminals]
    return (*path, "ends", names.index(terminal.name)) if terminal.name in names else path


def _both_ends_alike(build: Build, paths: Mapping[str, KeyPath], mistakes: Mistakes) -> None:
    for part in build.parts:
        if isinstance(part.values, b.Pot | b.Tube | b.Transformer | b.Jack | b.Switch | b.Tank | b.Can | b.Bridge):
            continue
        if len(part.terminals) == 2 and part.terminals[0].joint == part.terminals[1].joint:
            bad = isinstance(part.values, b.Fuse | b.Bond)
            mistakes.add(
                "both-ends-alike",
                (*paths[part.name], "ends"),
                part=part.name,
                grade=Grade.FAULT if bad else Grade.DOUBT,
                what=f"{part.name}: both ends are on one joint",
                found=part.terminals[0].joint,
                wanted="two joints",
                do="correct one of the ends",
            )


def _floating_grids(
    build: Build, paths: Mapping[str, KeyPath], unused: Mapping[str, tuple[str, ...]], mistakes: Mistakes
) -> None:
    reached = _joints_with_dc_path(build)
    for part in build.parts:
        for terminal in part.terminals:
            if terminal.name != "grid" or terminal.section in unused.get(part.name, ()):
                continue
            if len(build.joints[terminal.joint]) > 1 and terminal.joint not in reached:
                mistakes.add(
                    "floating-grid",
                    paths[part.name],
                    part=part.name,
                    what=f"{terminal} has no way to ground",
                    found="only capacitors or open ends lead away from it",
                    wanted="a grid leak: a resistor to ground, to the bias or to its cathode resistor",
                    do=f'add a resistor such as "1M" from {terminal} to ground',
                )


def _joints_with_dc_path(build: Build) -> set[str]:
    """Return the joints from which direct current can flow to ground without passing a tube."""
    neighbors: dict[str, set[str]] = {}
    for one, two in _conducting_pairs(build):
        neighbors.setdefault(one, set()).add(two)
        neighbors.setdefault(two, set()).add(one)
    reached, queue = {GROUND}, deque([GROUND])
    while queue:
        for other in neighbors.get(queue.popleft(), ()):
            if other not in reached:
                reached.add(other)
                queue.append(other)
    return reached


def _conducting_pairs(build: Build) -> Iterator[tuple[str, str]]:
    for part in build.parts:
        yield from _pairs_of(part)


def _pairs_of(part: Part) -> Iterator[tuple[str, str]]:
    joints = {terminal.name: terminal.joint for terminal in part.terminals}
    values = part.values
    if isinstance(values, b.Resistor | b.Choke | b.Fuse | b.Lamp | b.Thermistor | b.Bond | b.Speaker | b.Diode):
        first, second = part.terminals
        yield first.joint, second.joint
    elif isinstance(values, b.Pot):
        yield joints["1"], joints["2"]
        yield joints["2"], joints["3"]
    elif isinstance(values, b.Transformer):
        for winding in values.windings:
            yield from zip([joints[e] for e in winding.ends], [joints[e] for e in winding.ends[1:]], strict=False)
    elif isinstance(values, b.Bridge):
        yield from ((joints["minus"], joints[x]) for x in ("ac1", "ac2", "plus"))
    elif isinstance(values, b.Tank):
        yield joints["in"], joints["in_ground"]
        yield joints["out"], joints["out_ground"]
    elif isinstance(values, b.Jack):
        if not values.isolated:
            yield joints["sleeve"], CHASSIS
        if values.switched and not values.plug_in:
            yield joints["tip"], joints["tip_switch"]
    elif isinstance(values, b.Switch):
        for name, joint in joints.items():
            if not name.endswith("common"):
                yield joint, joints[f"{name.split('.')[0]}.common"]


def _electrodes(build: Build, paths: Mapping[str, KeyPath], mistakes: Mistakes) -> None:
    for part in build.parts:
        for terminal in part.terminals:
            if isinstance(part.values, b.Tube) and terminal.name in ("plate", "screen") and terminal.joint == GROUND:
                mistakes.add(
                    "plate-on-ground",
                    paths[part.name],
                    part=part.name,
                    what=f"{terminal} is on ground",
                    found="ground",
                    wanted="a joint with B+ behind a load",
                    do="correct the ends that name it",
                )


def _electrodes_together(
    build: Build, paths: Mapping[str, KeyPath], unused: Mapping[str, tuple[str, ...]], mistakes: Mistakes
) -> None:
    for part in build.parts:
        if not isinstance(part.values, b.Tube):
            continue
        for one, two in combinations(part.terminals, 2):
            alike = one.section == two.section and one.joint == two.joint and not set(one.pins) & set(two.pins)
            if alike and one.section not in unused.get(part.name, ()) and {one.name, two.name} in _NEVER_TOGETHER:
                mistakes.add(
                    "electrodes-together",
                    paths[part.name],
                    grade=Grade.DOUBT,
                    part=part.name,
                    what=f"{one} and {two} are one joint",
                    found=one.joint,
                    wanted="a joint for each electrode",
                    do="correct the ends that name them, or mark the section unused",
                )


_NEVER_TOGETHER = (
    {"plate", "grid"},
    {"plate", "cathode"},
    {"grid", "cathode"},
    {"grid", "screen"},
    {"screen", "cathode"},
)


def _places(build: Build, paths: Mapping[str, KeyPath], mistakes: Mistakes) -> None:
    if build.chassis is None:
        return
    for part in build.parts:
        if isinstance(part.values, _STANDS_SOMEWHERE) and part.name not in build.placements:
            mistakes.add(
                "no-place",
                paths[part.name],
                grade=Grade.NOTE,
                part=part.name,
                what=f"{part.name} has no place on the chassis",
                found="no entry under [place]",
                wanted=f"{part.name} = {{ at = [x, y] }}",
                do="add its place to have the wiring planned",
            )
    if not any(isinstance(part.values, b.Speaker) for part in build.parts):
        mistakes.add(
            "no-speaker",
            ("build",),
            grade=Grade.NOTE,
            what="no speaker is described",
            found="no LS part",
            wanted="LS1 = { ohm = 8, watts = 30, ends = [...] }",
            do="add the load the output transformer works into",
        )
