"""The catalogue entries one build needs: sockets, strips, panel parts, wire."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.buildfile.build import Build, Fuse, Inlet, Jack, Lamp, Part, Pot, Speaker, Switch, Tube
from lugwright.catalogue.records import PanelPart, SocketType, StripType, WireType

STRIP_TYPE = "strip 9.5"  # of strips whose number is left open
SWITCHES = ((1, 2), (2, 2), (1, 12), (2, 6), (3, 4), (4, 3))  # poles and positions there are, smallest first


@dataclass(frozen=True)
class Hardware:
    """Catalogue entries by name; ``panel`` is by part designator."""

    sockets: Mapping[str, SocketType]
    strips: Mapping[str, StripType]
    panel: Mapping[str, PanelPart]
    wires: tuple[WireType, ...]


def hardware_for(build: Build) -> Hardware:
    """Return the catalogue entries of everything the build fits; CatalogueError for an unknown one."""
    from lugwright.catalogue import load

    sockets = sorted({part.values.socket for part in build.parts if isinstance(part.values, Tube)})
    strips = sorted(_strip_types(build))
    names = {part.name: name for part in build.parts if (name := panel_part_name(build, part))}
    return Hardware(
        sockets={name: load.socket_type(name) for name in sockets},
        strips={name: load.strip_type(name) for name in strips},
        panel={part: load.panel_part(name) for part, name in names.items()},
        wires=tuple(load.wire_types()),
    )


def _strip_types(build: Build) -> set[str]:
    types = {strip.type for strip in build.strips} | {strip.type for strip in build.left_open.strips}
    return types | {STRIP_TYPE} if build.left_open.any_strips else types


def panel_part_name(build: Build, part: Part) -> str:
    """Return the catalogue name of the panel part, "" for a part that stands on no panel."""
    values = part.values
    if isinstance(values, Pot):
        return "pot" if values.switch_closed is None else "pot with switch"
    if isinstance(values, Jack):
        return _jack_name(build, part, values)
    if isinstance(values, Switch):
        throws = len(values.positions)
        fits = [size for size in SWITCHES if size[0] >= values.poles and size[1] >= throws]
        poles, positions = fits[0] if fits else (values.poles, throws)
        return f"switch {poles} pole {positions} position"
    plain = {Fuse: "fuse holder", Lamp: "pilot lamp", Inlet: "mains inlet"}
    return plain.get(type(values), "")


def _jack_name(build: Build, part: Part, jack: Jack) -> str:
    fed = [build.part(t.part).values for t in build.joints.get(part.terminal("tip").joint, ())]
    if any(isinstance(values, Speaker) for values in fed) and not jack.switched:
        return "speaker jack"
    return ("isolated " if jack.isolated else "") + ("switched jack" if jack.switched else "jack")
