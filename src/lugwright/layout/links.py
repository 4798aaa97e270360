"""What has to be wired: pairs of terminals with their class, and which of them are twisted together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Build, Switch, Transformer
from lugwright.layout.joint_classes import JointFacts, heater_pairs
from lugwright.layout.results import PlanTerminal
from lugwright.layout.wire_choice import wire_class

# Hot and dirty wires first: the clean ones then keep away from them.
ROUTE_ORDER = (
    "mains", "earth", "heater", "B+", "screen", "ground", "output plate", "speaker", "bias", "plate", "cathode",
    "signal", "grid",
)  # fmt: skip
MAINS_APART_MM = 90.0  # two mains wires of a switch that part farther than this are not twisted


@dataclass(frozen=True)
class Link:
    """Two terminals to be wired. ``bond``: the Bond part it is; ``twist``: its pair; ``name``: its class."""

    joint: str
    terminals: tuple[str, str]
    twist: str
    bond: str
    name: str = ""


def links_in_order(
    build: Build, links: Sequence[Link], facts: Mapping[str, JointFacts], terminals: Mapping[str, PlanTerminal]
) -> list[Link]:
    """Return the links with class and twist, in the order in which they are laid."""
    named = [replace(link, name=_class_of(link, facts, terminals)) for link in _none_alone(links)]
    twisted = _mains(build, _heaters(build, _output_leads(build, named, terminals), terminals), terminals)
    return sorted(twisted, key=lambda k: (ROUTE_ORDER.index(k.name), k.twist, k.joint, k.terminals))


def _none_alone(links: Sequence[Link]) -> list[Link]:
    """Return the links, one that was laid in a pair and is alone now free for another partner."""
    strands = Counter(link.twist for link in links)
    return [replace(link, twist="") if strands[link.twist] == 1 else link for link in links]


def _class_of(link: Link, facts: Mapping[str, JointFacts], terminals: Mapping[str, PlanTerminal]) -> str:
    ends = [facts.get(terminals[key].joint) for key in link.terminals]
    return wire_class(facts[link.joint], next((f for f in ends if f and f.joint != link.joint), None))


def _heaters(build: Build, links: list[Link], terminals: Mapping[str, PlanTerminal]) -> list[Link]:
    """Return the links, heater wires that run between the same two owners twisted together."""
    found = {link: link for link in links}
    for one, two in heater_pairs(build):
        sides: dict[tuple[str, ...], dict[str, Link]] = {}
        for link in links:
            owners = tuple(sorted(terminals[key].owner for key in link.terminals))
            if not link.twist and link.joint in (one, two) and owners[0] != owners[1]:
                sides.setdefault(owners, {}).setdefault(link.joint, link)
        for owners, pair in sorted(sides.items()):
            if len(pair) == 2:
                found.update((k, replace(k, twist=f"{owners[0]}-{owners[1]} {one}")) for k in pair.values())
    return [found[link] for link in links]


def _mains(build: Build, links: list[Link], terminals: Mapping[str, PlanTerminal]) -> list[Link]:
    """Return the links, the two mains wires that run side by side from a switch twisted together."""
    found = {link: link for link in links}
    free = [k for k in links if k.name == "mains" and not k.twist and not k.bond]
    switches = {part.name for part in build.parts if isinstance(part.values, Switch)}
    for switch in sorted(switches):
        ends = [(link, _other_end(link, switch, terminals)) for link in free]
        here = [(link, end) for link, end in ends if end is not None]
        for one, at in here:
            for two, to in here:
                near = abs(at.x_mm - to.x_mm) + abs(at.y_mm - to.y_mm) <= MAINS_APART_MM
                loose = not found[one].twist and not found[two].twist
                if one.terminals < two.terminals and one.joint != two.joint and near and loose:
                    name = f"{switch}-{' and '.join(sorted({at.owner, to.owner}))} mains"
                    found[one], found[two] = replace(one, twist=name), replace(two, twist=name)
    return [found[link] for link in links]


def _other_end(link: Link, owner: str, terminals: Mapping[str, PlanTerminal]) -> PlanTerminal | None:
    """Return where a wire from an owner ends, None when it is not one from there to something else."""
    ends = [terminals[key] for key in link.terminals]
    here = [t.owner == owner for t in ends]
    return ends[here.index(False)] if sum(here) == 1 else None


def _output_leads(build: Build, links: list[Link], terminals: Mapping[str, PlanTerminal]) -> list[Link]:
    """Return the links, the primary leads of an output transformer twisted together as they leave it."""
    found = {link: link for link in links}
    for part in build.parts:
        if isinstance(part.values, Transformer) and part.values.role == "output":
            primary = {f"{part.name}.{end}" for end in part.values.windings[0].ends}
            leads = [link for link in links if not link.twist and primary & set(link.terminals)]
            if len({link.joint for link in leads}) == len(leads) > 1:
                found.update((link, replace(link, twist=f"{part.name} primary")) for link in leads)
    return [found[link] for link in links]
