"""Where everything that stands still can be soldered to: pins, lugs, exits, bus points, bolts."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.buildfile.build import (
    CHASSIS,
    EARTH,
    Bridge,
    Build,
    Bus,
    Can,
    Choke,
    Inlet,
    Part,
    Placement,
    Star,
    Strip,
    Transformer,
    Tube,
)
from lugwright.catalogue.records import PanelPart, StripType
from lugwright.errors import PlanError
from lugwright.layout.hardware import Hardware, hardware_for
from lugwright.layout.results import PlanTerminal

BUS_STEP_MM = 10.0
BUS_CAPACITY = 2
STAR_CIRCLE_MM = 20.0  # solder lugs of 10 mm about one screw; from memory
CAN_CAPACITY = 3
CAN_CIRCLE_MM = 16.0  # twist-lock can: section lugs on a small circle; from memory: can makers' drawings
CAN_LUG_HEIGHT_MM = 9.0
EXIT_STEP_MM = 3.0
EXIT_HEIGHT_MM = 2.0
EXIT_MARGIN_MM = 6.0
# From the center of the part to the grommet its leads come through; common sizes, from memory.
EXIT_OFFSET_MM = {"power": 34.0, "output": 28.0, "interstage": 20.0, "reverb": 18.0, "choke": 24.0}
BOLT_OFFSET_MM = 18.0
BOLT_HEIGHT_MM = 4.0
BOLT_CAPACITY = 4


def fixed_terminals(build: Build, hardware: Hardware | None = None) -> dict[str, PlanTerminal]:
    """Return every terminal that stands still, by key; lugs of strips have no joint yet.

    Parts that stand outside the chassis (speaker, tank) and two-lead parts have none.
    """
    hardware = hardware or hardware_for(build)
    found: dict[str, PlanTerminal] = {}
    for part in build.parts:
        for terminal in _part_terminals(build, part, hardware):
            found[terminal.key] = terminal
    for strip in build.strips:
        found.update((t.key, t) for t in _strip_lugs(strip, hardware.strips[strip.type]))
    for bus in build.buses:
        found.update((t.key, t) for t in _bus_points(bus))
    for star in build.stars:
        found.update((t.key, t) for t in _star_lugs(star))
    found.update((t.key, t) for t in _bolts(build, found))
    return {key: _rounded(terminal) for key, terminal in found.items()}


def _rounded(t: PlanTerminal) -> PlanTerminal:
    x, y, z = (round(v, 1) + 0.0 for v in (t.x_mm, t.y_mm, t.z_mm))
    return PlanTerminal(t.key, t.owner, t.kind, x, y, z, t.joint, t.capacity, t.label)


def _part_terminals(build: Build, part: Part, hardware: Hardware) -> Iterator[PlanTerminal]:
    if part.name in hardware.panel:
        yield from _panel_lugs(build, part, hardware.panel[part.name])
    elif isinstance(part.values, Tube):
        yield from _pins(part, part.values, hardware, _standing(build, part))
    elif isinstance(part.values, Can | Bridge):
        yield from _can_lugs(part, _standing(build, part))
    elif isinstance(part.values, Transformer | Choke):
        yield from _exits(build, part, _standing(build, part))


def _standing(build: Build, part: Part) -> Placement:
    placement = build.placements.get(part.name)
    if placement is None:
        raise PlanError(
            what=f"no place for {part.name}",
            found=f"{part.name} ({part.kind}) has no entry under [place]",
            wanted="where it stands on the chassis",
            do=f"add {part.name} = {{ at = [x, y] }} under [place]",
        )
    return placement


def _pins(part: Part, tube: Tube, hardware: Hardware, placement: Placement) -> Iterator[PlanTerminal]:
    socket = hardware.sockets[tube.socket]
    joints: dict[int, str] = {}
    for terminal in part.terminals:
        for pin in terminal.pins:
            joints[pin] = terminal.joint or joints.get(pin, "")  # a filament and its cathode share a pin
    radius = socket.pin_circle_mm / 2.0
    for pin in range(1, socket.pin_count + 1):
        angle = math.radians(placement.turn + socket.first_pin_deg + (pin - 1) * socket.pin_step_deg)
        x, y = placement.at[0] + radius * math.sin(angle), placement.at[1] - radius * math.cos(angle)
        joint = joints.get(pin, "")
        usable = bool(joint) or (pin not in joints and _is_free_pin(socket.pin_count, pin))
        yield PlanTerminal(
            f"{part.name}.{pin}", part.name, "pin", x, y, socket.lug_height_mm, joint,
            socket.leads_per_pin if usable else 0, f"{part.name} pin {pin}",
        )  # fmt: skip


def _is_free_pin(pin_count: int, pin: int) -> bool:
    """Return whether a pin the tube does not use may serve as a tie point.

    Noval and 7-pin makers use such pins inside ("internal connection"), and octal pin 1 is the metal
    shell or base sleeve: only the other octal pins are free. From memory: base drawings.
    """
    return pin_count == 8 and pin != 1


def _panel_lugs(build: Build, part: Part, row: PanelPart) -> Iterator[PlanTerminal]:
    placement = _standing(build, part)
    kind = {"pot": "pot", "jack": "jack"}.get(part.kind, "panel")
    for terminal in part.terminals:
        if terminal.name not in row.lugs:
            raise PlanError(
                what=f"{part.name} has no lug for {terminal}",
                found=f"{row.name} has lugs {', '.join(row.lugs)}",
                wanted=f"a lug named {terminal.name}",
                do=f"choose another panel part for {part.name}, or leave {terminal} unjoined",
            )
        x, y, z = _panel_point(build, placement, row.lugs[terminal.name])
        capacity = row.leads_per_lug if terminal.joint else 0
        label = f"{part.name} {'lug ' if kind == 'pot' else ''}{terminal.name.replace('_', ' ')}"
        yield PlanTerminal(f"{part.name}.{terminal.name}", part.name, kind, x, y, z, terminal.joint, capacity, label)


def _panel_point(build: Build, placement: Placement, lug: tuple[float, float, float]) -> tuple[float, float, float]:
    """Return a lug's place; seen from inside, "right" is -x at the front, +x at the rear, -y left, +y right."""
    along, out, up = lug
    at, z = placement.at[0], placement.at[1] + up
    chassis = build.chassis
    width, depth = (chassis.width_mm, chassis.depth_mm) if chassis else (0.0, 0.0)
    if placement.panel == "front":
        return at - along, depth - out, z
    if placement.panel == "left":
        return out, at - along, z
    if placement.panel == "right":
        return width - out, at + along, z
    if placement.panel == "rear":
        return at + along, out, z
    return placement.at[0] + along, placement.at[1], out


def _can_lugs(part: Part, placement: Placement) -> Iterator[PlanTerminal]:
    names = sorted(dict.fromkeys(t.name for t in part.terminals))
    step = 2.0 * math.pi / len(names)
    for index, name in enumerate(names):
        angle = math.radians(placement.turn) + index * step
        x = placement.at[0] + CAN_CIRCLE_MM / 2.0 * math.sin(angle)
        y = placement.at[1] - CAN_CIRCLE_MM / 2.0 * math.cos(angle)
        joint = part.terminal(name).joint
        yield PlanTerminal(
            f"{part.name}.{name}", part.name, "can", x, y, CAN_LUG_HEIGHT_MM, joint,
            CAN_CAPACITY if joint else 0, f"{part.name} lug {name}",
        )  # fmt: skip


def _exits(build: Build, part: Part, placement: Placement) -> Iterator[PlanTerminal]:
    values = part.values
    role = values.role if isinstance(values, Transformer) else "choke"
    turn = math.radians(placement.turn)
    out_x, out_y = -math.sin(turn), math.cos(turn)
    offset = EXIT_OFFSET_MM.get(role, 24.0)
    colors = _lead_colors(part)
    middle = (len(part.terminals) - 1) / 2.0
    for index, terminal in enumerate(part.terminals):
        along = (index - middle) * EXIT_STEP_MM
        x = placement.at[0] + out_x * offset + out_y * along
        y = placement.at[1] + out_y * offset - out_x * along
        if build.chassis:
            x = min(max(x, EXIT_MARGIN_MM), build.chassis.width_mm - EXIT_MARGIN_MM)
            y = min(max(y, EXIT_MARGIN_MM), build.chassis.depth_mm - EXIT_MARGIN_MM)
        color = colors.get(terminal.name, "")
        label = f"{part.name} {color or terminal.name} lead"
        yield PlanTerminal(
            f"{part.name}.{terminal.name}", part.name, "exit", x, y, EXIT_HEIGHT_MM, terminal.joint,
            1 if terminal.joint else 0, label,
        )  # fmt: skip


def _lead_colors(part: Part) -> dict[str, str]:
    if not isinstance(part.values, Transformer):
        return {}
    return {
        end: color for winding in part.values.windings for end, color in zip(winding.ends, winding.colors, strict=False)
    }


def _strip_lugs(strip: Strip, row: StripType) -> Iterator[PlanTerminal]:
    turn = math.radians(strip.turn)
    for lug in range(1, strip.lugs + 1):
        along = (lug - 1) * row.pitch_mm
        x, y = strip.at[0] + along * math.cos(turn), strip.at[1] + along * math.sin(turn)
        foot = lug in strip.feet
        yield PlanTerminal(
            f"{strip.name}.{lug}", strip.name, "foot" if foot else "lug", x, y, row.lug_height_mm,
            CHASSIS if foot else "", row.leads_per_lug, f"strip {strip.name} lug {lug}{' (foot)' if foot else ''}",
        )  # fmt: skip


def _bus_points(bus: Bus) -> Iterator[PlanTerminal]:
    for index, (x, y) in enumerate(bus_positions(bus), start=1):
        yield PlanTerminal(
            f"{bus.name}.{index}", bus.name, "bus", x, y, bus.height_mm, bus.joint, BUS_CAPACITY,
            f"{bus.name} point {index}",
        )  # fmt: skip


def bus_positions(bus: Bus) -> list[tuple[float, float]]:
    """Return the solder points of a bus, about every 10 mm from its first point to its last."""
    positions = [bus.points[0]]
    for (x0, y0), (x1, y1) in zip(bus.points, bus.points[1:], strict=False):
        steps = max(1, round(math.hypot(x1 - x0, y1 - y0) / BUS_STEP_MM))
        positions += [(x0 + (x1 - x0) * k / steps, y0 + (y1 - y0) * k / steps) for k in range(1, steps + 1)]
    return positions


def _star_lugs(star: Star) -> Iterator[PlanTerminal]:
    for lug in range(1, star.lugs + 1):
        angle = 2.0 * math.pi * (lug - 1) / star.lugs
        x, y = star.at[0] + STAR_CIRCLE_MM / 2.0 * math.sin(angle), star.at[1] - STAR_CIRCLE_MM / 2.0 * math.cos(angle)
        yield PlanTerminal(
            f"{star.name}.{lug}", star.name, "bus", x, y, star.height_mm, star.joint, BUS_CAPACITY,
            f"star {star.name} lug {lug}",
        )  # fmt: skip


def _bolts(build: Build, found: dict[str, PlanTerminal]) -> Iterator[PlanTerminal]:
    """Yield the earth bolt near the inlet, and a bolt for the circuit's own bond to the metal."""
    if build.chassis is None or CHASSIS not in build.joints:
        return
    inlets = [part for part in build.parts if isinstance(part.values, Inlet)]
    earth = found.get(f"{inlets[0].name}.earth") if inlets else None
    if earth is not None and EARTH in build.joints:
        x, y = _inward(build, earth.x_mm, earth.y_mm)
        yield PlanTerminal("chassis.1", "chassis", "bolt", x, y, BOLT_HEIGHT_MM, CHASSIS, 1, "earth bolt")
    ends = _bond_ends(build, found)
    if ends:
        x, y = _inward(build, *ends[0])
        yield PlanTerminal("chassis.2", "chassis", "bolt", x, y, BOLT_HEIGHT_MM, CHASSIS, BOLT_CAPACITY, "bond bolt")


def _inward(build: Build, x: float, y: float) -> tuple[float, float]:
    """Return a point a bolt's distance away, toward the middle of the plate."""
    chassis = build.chassis
    width, depth = (chassis.width_mm, chassis.depth_mm) if chassis else (0.0, 0.0)
    return (x + BOLT_OFFSET_MM if x < width / 2.0 else x - BOLT_OFFSET_MM), (y + 8.0 if y < depth / 2.0 else y - 8.0)


def _bond_ends(build: Build, found: dict[str, PlanTerminal]) -> list[tuple[float, float]]:
    """Return where the ground bus ends, the end nearest an input jack first."""
    jacks = [t for t in found.values() if t.kind == "jack"]
    ends = [point for bus in build.buses for point in (bus.points[0], bus.points[-1])]
    ends += [star.at for star in build.stars]
    ends = ends or [(t.x_mm, t.y_mm) for t in jacks[:1]]
    if jacks:
        first = jacks[0]
        ends.sort(key=lambda p: (math.hypot(p[0] - first.x_mm, p[1] - first.y_mm), p))
    return ends
