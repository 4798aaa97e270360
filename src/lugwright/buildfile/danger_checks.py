"""What can hurt: mains on metal, metal without earth, a supply shorted to 0 V. Never silenced."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping

from lugwright.buildfile import build as b
from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Build, Part
from lugwright.buildfile.locate import KeyPath
from lugwright.buildfile.mistakes import Mistakes
from lugwright.findings import Grade

_METAL = (GROUND, CHASSIS, EARTH)
_PASSES_ON = (b.Fuse, b.Bond, b.Choke, b.Lamp, b.Thermistor, b.Speaker)
_IN_MAINS_LEAD = (b.Fuse, b.Thermistor, b.Lamp)
Link = tuple[str, str, Part]


def check_dangers(build: Build, paths: Mapping[str, KeyPath], mistakes: Mistakes) -> None:
    """Add a finding for everything in the build that can hurt."""
    for part in build.parts:
        if isinstance(part.values, b.Inlet):
            _mains(build, part, paths, mistakes)
            _earth(build, part, paths, mistakes)
            _mains_short(build, part, paths, mistakes)
            _switched_off(build, part, paths, mistakes)
    _supply_shorts(build, paths, mistakes)


def _mains(build: Build, inlet: Part, paths: Mapping[str, KeyPath], mistakes: Mistakes) -> None:
    for name in ("line", "neutral"):
        start = inlet.terminal(name).joint
        for joint, part in _reached([start], list(_mains_links(build)), first=inlet).items():
            if joint in _METAL:
                mistakes.add(
                    "mains-on-metal",
                    paths[part.name],
                    grade=Grade.DANGER,
                    part=part.name,
                    what=f"the mains {name} is joined to {joint}",
                    found=f"{part.name} brings it to {joint}",
                    wanted="mains that meet nothing but fuse, switch and primary: what a hand touches would be live",
                    do=f"correct the ends of {part.name}",
                )


def _mains_short(build: Build, inlet: Part, paths: Mapping[str, KeyPath], mistakes: Mistakes) -> None:
    """Add a danger where copper and closed contacts alone lead from the line to the neutral."""
    links = [link for link in _mains_leads(build, closed_only=True) if not isinstance(link[2].values, b.Lamp)]
    part = _reached([inlet.terminal("line").joint], links, first=inlet).get(inlet.terminal("neutral").joint)
    if part is not None:
        mistakes.add(
            "mains-shorted",
            paths[part.name],
            grade=Grade.DANGER,
            part=part.name,
            what="the mains line is joined to the neutral",
            found=f"{part.name} closes the way from {inlet.name}, and no winding lies in it",
            wanted="the primary between them",
            do=f"correct the ends of {part.name}, or of the primary",
        )


def _mains_links(build: Build) -> Iterator[Link]:
    """Return what carries mains on: fuses, switches in any position, and whole windings."""
    yield from _mains_leads(build, closed_only=False)
    for part in build.parts:
        yield from _winding_sections(part)


def _mains_leads(build: Build, *, closed_only: bool) -> Iterator[Link]:
    for part in build.parts:
        if isinstance(part.values, _IN_MAINS_LEAD):
            yield part.terminals[0].joint, part.terminals[1].joint, part
        yield from _contacts(part, closed_only=closed_only)


def _switched_off(build: Build, inlet: Part, paths: Mapping[str, KeyPath], mistakes: Mistakes) -> None:
    """Add a doubt where the mains reach a power transformer in another position of a switch, but not in this one."""
    primaries = {
        part.terminal(end).joint
        for part in build.parts
        if isinstance(part.values, b.Transformer) and part.values.role == "power"
        for end in part.values.windings[0].ends
    }
    for name in ("line", "neutral"):
        start = [inlet.terminal(name).joint]
        reached = [_reached(start, list(_mains_leads(build, closed_only=c)), first=inlet) for c in (True, False)]
        if primaries & reached[0].keys() or not primaries & reached[1].keys():
            continue
        joint = min(primaries & reached[1].keys())
        switch = reached[1][joint]
        if isinstance(switch.values, b.Switch):
            mistakes.add(
                "switched-off",
                paths[switch.name],
                grade=Grade.DOUBT,
                part=switch.name,
                what="the amplifier is switched off in this file",
                found=f'{switch.name} stands at "{switch.values.position}"',
                wanted=f"the position that joins the {name} to the primary, to compute an amplifier at work",
                do=f"write that position for {switch.name}; as it stands, no number here is one to check or set it by",
            )
            return


def _earth(build: Build, inlet: Part, paths: Mapping[str, KeyPath], mistakes: Mistakes) -> None:
    bonds = ({t.joint for t in part.terminals} for part in build.parts if isinstance(part.values, b.Bond))
    earth = inlet.terminal("earth").joint
    if earth == EARTH and any(ends == {EARTH, CHASSIS} for ends in bonds):
        return
    lost = earth != EARTH
    mistakes.add(
        "no-earth-bond",
        paths[inlet.name],
        grade=Grade.DANGER,
        part=inlet.name,
        what="the metal is not bonded to the protective earth",
        found=f"the earth contact of {inlet.name} is on {earth!r}" if lost else "no bond between earth and chassis",
        wanted='earth = "earth" and W1 = { purpose = "protective earth", ends = ["earth", "chassis"] }',
        do="correct the earth contact" if lost else "add the bond: without it a fault makes the metal live",
    )


def _supply_shorts(build: Build, paths: Mapping[str, KeyPath], mistakes: Mistakes) -> None:
    links = list(_low_ohm_links(build))
    start = [joint for joint in _METAL if joint in build.joints]
    for joint, part in _reached(start, links, first=None).items():
        if joint.startswith("B+"):
            mistakes.add(
                "supply-shorted",
                paths[part.name],
                grade=Grade.DANGER,
                part=part.name,
                what=f"{part.name} shorts {joint}",
                found=" to ".join(terminal.joint for terminal in part.terminals),
                wanted=f"no way from {joint} to 0 V through copper alone",
                do=f"take {part.name} out, or correct its ends",
            )


def _low_ohm_links(build: Build) -> Iterator[Link]:
    for part in build.parts:
        if isinstance(part.values, _PASSES_ON):
            yield part.terminals[0].joint, part.terminals[1].joint, part
        yield from _contacts(part, closed_only=True)
        yield from _winding_sections(part)


def _contacts(part: Part, *, closed_only: bool) -> Iterator[Link]:
    if not isinstance(part.values, b.Switch):
        return
    closed = str(part.values.positions.index(part.values.position) + 1)
    joints = {terminal.name: terminal.joint for terminal in part.terminals}
    for name, joint in joints.items():
        pole, _, throw = name.partition(".")
        if throw != "common" and (throw == closed or not closed_only):
            yield joint, joints[f"{pole}.common"], part


def _winding_sections(part: Part) -> Iterator[Link]:
    if isinstance(part.values, b.Transformer):
        joints = {terminal.name: terminal.joint for terminal in part.terminals}
        for winding in part.values.windings:
            for one, two in zip(winding.ends, winding.ends[1:], strict=False):
                yield joints[one], joints[two], part


def _reached(start: Iterable[str], links: list[Link], *, first: Part | None) -> dict[str, Part]:
    """Return each joint reached from the start, with the part that brings one there; never beyond metal."""
    neighbors: dict[str, list[tuple[str, Part]]] = {}
    for one, two, part in links:
        neighbors.setdefault(one, []).append((two, part))
        neighbors.setdefault(two, []).append((one, part))
    queue = deque(start)
    seen = set(queue)
    by_part = {joint: first for joint in queue if first is not None}
    while queue:
        joint = queue.popleft()
        if first is not None and joint in _METAL:
            continue
        for other, part in neighbors.get(joint, ()):
            if other not in seen:
                seen.add(other)
                by_part[other] = part
                queue.append(other)
    return by_part
