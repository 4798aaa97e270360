"""Whether a plan can be built: places, spans, bodies, lugs not overfilled. Shares no code with the planner."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from lugwright.buildfile.build import Build, Capacitor, Diode, Part, Resistor, Thermistor, Tube
from lugwright.findings import Finding
from lugwright.layout.check_joints import fault
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart

LEAST_LEAD_MM, MOST_LEAD_MM = 2.0, 16.0  # straight bare lead each side of a body
ROUNDING_MM = 0.2
DISC_MM = (15.0, 7.0)  # inrush limiter: diameter and length; from memory
FIXED_CAPACITY = {"exit": 1, "bus": 2, "can": 3, "bolt": 4}
SAMPLES = np.linspace(0.0, 1.0, 33)


def check_metal(build: Build, plan: Plan, hardware: Hardware) -> Iterator[Finding]:
    """Yield places that are not the build's, spans and bodies that do not fit, terminals with too many leads."""
    yield from _places(build, plan, hardware)
    yield from _capacities(build, plan, hardware)
    known = [s for s in plan.seats if s.part in build.part_by_name and set(s.terminals) <= set(plan.terminals)]
    for seat in known:
        yield from _span(build.part(seat.part), seat, plan)
        yield from _inside(build, seat, plan)
    yield from _collisions(build, plan, known)


def _places(build: Build, plan: Plan, hardware: Hardware) -> Iterator[Finding]:
    """Yield strip lugs and socket pins that the plan has elsewhere than the build, and lugs it lacks."""
    wanted: dict[str, tuple[float, float]] = {}
    for strip in build.strips:
        pitch, angle = hardware.strips[strip.type].pitch_mm, math.radians(strip.turn)
        for lug in range(strip.lugs):
            wanted[f"{strip.name}.{lug + 1}"] = (
                strip.at[0] + lug * pitch * math.cos(angle), strip.at[1] + lug * pitch * math.sin(angle),
            )  # fmt: skip
    for part in build.parts:
        if isinstance(part.values, Tube) and part.name in build.placements:
            socket, placement = hardware.sockets[part.values.socket], build.placements[part.name]
            for pin in range(1, socket.pin_count + 1):
                angle = math.radians(90.0 - placement.turn - socket.first_pin_deg - (pin - 1) * socket.pin_step_deg)
                radius = socket.pin_circle_mm / 2.0
                wanted[f"{part.name}.{pin}"] = (
                    placement.at[0] + radius * math.cos(angle), placement.at[1] - radius * math.sin(angle),
                )  # fmt: skip
    for key, (x, y) in wanted.items():
        t = plan.terminals.get(key)
        if t is None or math.hypot(t.x_mm - x, t.y_mm - y) > ROUNDING_MM:
            found = f"at {t.x_mm:.1f}, {t.y_mm:.1f} mm" if t else "not in the plan"
            yield fault("terminal-place", key.split(".")[0], f"{key} stands elsewhere in the build", found,
                        f"at {x:.1f}, {y:.1f} mm", "plan again: the build file has changed")  # fmt: skip


def _capacities(build: Build, plan: Plan, hardware: Hardware) -> Iterator[Finding]:
    leads: dict[str, int] = {}
    pairs = [*(seat.terminals for seat in plan.seats), *(wire.terminals for wire in plan.wires)]
    for pair in [*pairs, *((wire.shield,) for wire in plan.wires if wire.shield)]:
        for key in pair:
            leads[key] = leads.get(key, 0) + 1
    for key, count in sorted(leads.items()):
        if key not in plan.terminals:
            yield fault("terminal-unknown", key.split(".")[0], f"something is soldered to {key}", "no such terminal",
                        "a terminal of this build", "plan again")  # fmt: skip
            continue
        t = plan.terminals[key]
        most = _capacity(build, t, hardware)
        if count > most:
            yield fault("terminal-full", t.owner, f"{t.label} has too many leads",
                        f"{count}: {', '.join(plan.leads_at(key))}", f"{most} at most",
                        "give the joint another lug and link the two")  # fmt: skip


def _capacity(build: Build, t: PlanTerminal, hardware: Hardware) -> int:
    strips = {strip.name: strip for strip in build.strips}
    if t.kind in ("lug", "foot"):
        return hardware.strips[strips[t.owner].type].leads_per_lug if t.owner in strips else 0
    if t.kind == "pin":
        values = build.part(t.owner).values
        return (
            hardware.sockets[values.socket].leads_per_pin if isinstance(values, Tube) and _pin_usable(build, t) else 0
        )
    if t.owner in hardware.panel:
        return hardware.panel[t.owner].leads_per_lug
    return 1 if t.key == "chassis.1" else FIXED_CAPACITY.get(t.kind, 0)


def _pin_usable(build: Build, t: PlanTerminal) -> bool:
    """Return False for pins the maker may use inside: unused ones of small bases, and octal pin 1."""
    part, number = build.part(t.owner), int(t.key.split(".")[-1])
    joints = [terminal.joint for terminal in part.terminals if number in terminal.pins]
    if joints:
        return any(joints)
    octal = isinstance(part.values, Tube) and part.values.socket == "octal"
    return octal and number != 1


def _body(part: Part) -> tuple[float, float]:
    values = part.values
    if isinstance(values, Resistor | Capacitor | Diode):
        return values.body.diameter_mm, values.body.length_mm
    return DISC_MM if isinstance(values, Thermistor) else (0.0, 0.0)


def _span(part: Part, seat: SeatedPart, plan: Plan) -> Iterator[Finding]:
    a, b = (plan.terminals[key] for key in seat.terminals)
    span = math.dist((a.x_mm, a.y_mm, a.z_mm), (b.x_mm, b.y_mm, b.z_mm))
    diameter, length = _body(part)
    if (seat.body_diameter_mm, seat.body_length_mm) != (diameter, length):
        yield fault(
            "part-body",
            part.name,
            f"{part.name} has another body in the build",
            f"{seat.body_diameter_mm:g} x {seat.body_length_mm:g} mm in the plan",
            f"{diameter:g} x {length:g} mm",
            "plan again: the build file has changed",
        )
    low, high = length + 2 * LEAST_LEAD_MM, length + 2 * MOST_LEAD_MM
    if abs(span - seat.span_mm) > ROUNDING_MM or not low - ROUNDING_MM <= span <= high + ROUNDING_MM:
        yield fault("part-span", part.name, f"{part.name} does not fit between {a.label} and {b.label}",
                    f"{span:.1f} mm apart, {seat.span_mm:.1f} mm in the plan", f"{low:.1f} to {high:.1f} mm",
                    "move the strip or choose other lugs")  # fmt: skip


def _axis(seat: SeatedPart, plan: Plan) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return points along the body's axis and along the whole line of the leads, in plan."""
    a, b = (np.array((t.x_mm, t.y_mm)) for t in (plan.terminals[key] for key in seat.terminals))
    share = min(1.0, seat.body_length_mm / max(seat.span_mm, 1e-9))
    along = 0.5 + (SAMPLES - 0.5) * share
    return a + along[:, None] * (b - a), a + SAMPLES[:, None] * (b - a)


def _inside(build: Build, seat: SeatedPart, plan: Plan) -> Iterator[Finding]:
    if build.chassis is None:
        return
    body, _ = _axis(seat, plan)
    radius, chassis = seat.body_diameter_mm / 2.0, build.chassis
    sides = body.min(axis=0) >= 0.0, body.max(axis=0) <= (chassis.width_mm, chassis.depth_mm)
    if not (np.all(sides) and radius <= seat.z_mm <= chassis.height_mm - radius):
        yield fault("body-outside", seat.part, f"the body of {seat.part} reaches out of the chassis",
                    f"axis {seat.z_mm:.1f} mm above the plate, {seat.body_diameter_mm:.1f} mm thick",
                    f"inside {chassis.width_mm:g} x {chassis.depth_mm:g} x {chassis.height_mm:g} mm",
                    "choose other lugs, or a smaller part")  # fmt: skip


def _collisions(build: Build, plan: Plan, seats: list[SeatedPart]) -> Iterator[Finding]:
    lines = [_axis(seat, plan) for seat in seats]
    for i, one in enumerate(seats):
        for k in range(i + 1, len(seats)):
            two = seats[k]
            if _far_apart(lines[i][1], lines[k][1], one, two):
                continue
            reach = (one.body_diameter_mm + two.body_diameter_mm) / 2.0
            gap = np.sqrt(((lines[i][0][:, None] - lines[k][0][None]) ** 2).sum(axis=2)).min()
            if math.hypot(float(gap), one.z_mm - two.z_mm) < reach - ROUNDING_MM:
                yield fault("bodies-touch", one.part, f"the bodies of {one.part} and {two.part} run into each other",
                            f"axes {math.hypot(float(gap), one.z_mm - two.z_mm):.1f} mm apart", f"{reach:.1f} mm",
                            "put one on a higher layer or other lugs")  # fmt: skip
            elif one.layer == two.layer and _cross(plan, one, two):
                yield fault(
                    "leads-cross",
                    one.part,
                    f"bare leads of {one.part} and {two.part} cross on one layer",
                    f"both on layer {one.layer}",
                    "one over the other",
                    "put one on a higher layer",
                )
    yield from _over_bus(build, plan, seats)
    for can in sorted({t.owner for t in plan.terminals.values() if t.kind == "can"}):
        yield from _into_can(plan, seats, can)


def _far_apart(a: NDArray[np.float64], b: NDArray[np.float64], one: SeatedPart, two: SeatedPart) -> bool:
    reach = (one.body_diameter_mm + two.body_diameter_mm) / 2.0
    return bool(np.any(a.min(axis=0) > b.max(axis=0) + reach) or np.any(b.min(axis=0) > a.max(axis=0) + reach))


def _over_bus(build: Build, plan: Plan, seats: list[SeatedPart]) -> Iterator[Finding]:
    """Yield parts of the lowest layer whose bare leads cross a bare bus."""
    for seat in seats:
        owners = {plan.terminals[key].owner for key in seat.terminals}
        for bus in build.buses:
            pieces = itertools.pairwise(np.array(point) for point in bus.points)
            if (
                seat.layer == 1
                and bus.name not in owners
                and any(_lines_cross(*_ends(plan, seat), p, q) for p, q in pieces)
            ):
                yield fault(
                    "lead-over-bus",
                    seat.part,
                    f"bare leads of {seat.part} lie on {bus.name}",
                    "lowest layer",
                    "a layer higher, or lugs on one side of the bus",
                    "plan again",
                )


def _ends(plan: Plan, seat: SeatedPart) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    a, b = (plan.terminals[key] for key in seat.terminals)
    return np.array((a.x_mm, a.y_mm)), np.array((b.x_mm, b.y_mm))


def _cross(plan: Plan, one: SeatedPart, two: SeatedPart) -> bool:
    """Return whether two lead lines cross strictly between their ends (no shared terminal)."""
    if set(one.terminals) & set(two.terminals):
        return False
    return _lines_cross(*_ends(plan, one), *_ends(plan, two))


def _lines_cross(
    p: NDArray[np.float64], q: NDArray[np.float64], r: NDArray[np.float64], s: NDArray[np.float64]
) -> bool:
    matrix = np.array([q - p, r - s]).T
    if abs(np.linalg.det(matrix)) < 1e-9:
        return False
    share = np.linalg.solve(matrix, r - p)
    return bool(np.all(share > 1e-6) and np.all(share < 1.0 - 1e-6))


def _into_can(plan: Plan, seats: list[SeatedPart], can: str) -> Iterator[Finding]:
    """Yield bodies that lie over the middle of a can's lugs, where its wafer stands up."""
    lugs = [t for t in plan.terminals.values() if t.owner == can]
    middle = np.array((sum(t.x_mm for t in lugs) / len(lugs), sum(t.y_mm for t in lugs) / len(lugs)))
    height = max(t.z_mm for t in lugs)
    for seat in seats:
        body, _ = _axis(seat, plan)
        low = seat.z_mm - seat.body_diameter_mm / 2.0
        if float(np.hypot(*(body - middle).T).min()) < 2.0 and low < height:
            yield fault("body-in-can", seat.part, f"the body of {seat.part} runs into can {can}",
                        f"{low:.1f} mm above the plate", f"above {height:.1f} mm", "choose other lugs")  # fmt: skip
