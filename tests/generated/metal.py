"""A chassis made to the measure of a circuit: what stands where, strips of lugs enough, a bus between them."""

from __future__ import annotations

import bisect
import math
import random
from dataclasses import dataclass, field

from lugwright.buildfile.build import (
    Build,
    Can,
    Capacitor,
    Choke,
    Diode,
    Fuse,
    Inlet,
    Jack,
    Lamp,
    Part,
    Pot,
    Resistor,
    Switch,
    Thermistor,
    Transformer,
    Tube,
)

# Free lugs for each part held by its leads, by their number: least for which plans were found, plus a tenth.
FREE_LUGS = ((12, 1.0), (25, 0.8), (112, 0.64), (256, 0.61))
MARGIN = 1.1
PITCH_MM = 9.5
ROWS_MM = (100.0, 138.0, 172.0)  # the wiring rows behind the sockets; the bus runs between the first two
BUS_MM, TUBE_MM, PANEL_MM = 119.0, 62.0, 31.0
DEPTH_MM, HEIGHT_MM, EDGE_MM, APART_MM = 215.0, 64.0, 14.0, 14.0
MOST_ON_TWO_ROWS, LEAST_COLUMN_MM = 11, 58.0
FRONT_APART_MM, REAR_APART_MM = 28.0, 28.0
HANGING = (Resistor, Capacitor, Diode, Thermistor)
HOLDING = (Tube, Pot, Jack, Can, Fuse, Switch, Lamp, Inlet)
PART_SHARE = 0.4  # lugs for each part, besides one for each joint without any other place
HIGH_AC_LUGS = 2  # more for each lead of the high-voltage winding: no other joint may stand beside it


@dataclass
class Column:
    """A slice of the chassis from rear to front: at most one thing on its plate, strips, panel parts."""

    plate: list[Part] = field(default_factory=list)
    hanging: list[Part] = field(default_factory=list)
    need: float = 0.0  # its share of the lugs
    front: list[Part] = field(default_factory=list)
    rear: list[Part] = field(default_factory=list)
    strips: list[int] = field(default_factory=list)  # lugs of the strip on each row
    width_mm: float = 0.0
    left_mm: float = 0.0


def free_lugs_wanted(hanging: int) -> int:
    """Return how many free lugs so many parts are given."""
    counts = [math.log(count) for count, _ in FREE_LUGS]
    shares = [share for _, share in FREE_LUGS]
    x = math.log(max(1, hanging))
    k = min(max(bisect.bisect(counts, x), 1), len(counts) - 1)
    along = min(1.0, max(0.0, (x - counts[k - 1]) / (counts[k] - counts[k - 1])))
    return math.ceil(hanging * MARGIN * (shares[k - 1] + along * (shares[k] - shares[k - 1])) - 1e-9)


def metal_text(build: Build, seed: int, *, lug_share: float = 1.0) -> str:
    """Return [chassis], [place], [strips] and [bus] for a circuit; ``lug_share`` scales the lugs it is given."""
    rng = random.Random(seed + 1_000_003)
    columns = _columns(build, rng)
    hanging = sum(isinstance(part.values, HANGING) for part in build.parts)
    wanted = math.ceil(free_lugs_wanted(hanging) * lug_share) + HIGH_AC_LUGS * len(_high_ac(build))
    _give_strips(columns, wanted)
    left = EDGE_MM
    for column in columns:
        column.left_mm, column.width_mm = left, math.ceil(_width_mm(column))
        left += column.width_mm
    lines = ["", "[chassis]", f"inside = [{left:g}, {DEPTH_MM:g}, {HEIGHT_MM:g}]", "[place]"]
    lines += [line for column in columns for line in _places(column, rng)]
    lines.append("[strips]")
    names = iter(f"{a}{b}" for a in "ABCDEFGHKLMNPQ" for b in range(1, 5))
    for column in columns:
        x = column.left_mm + APART_MM / 2.0
        for row, lugs in zip(ROWS_MM, column.strips, strict=False):
            if lugs:
                lines.append(f"{next(names)} = {{ lugs = {lugs}, foot = {lugs // 2 + 1}, at = [{x:g}, {row:g}] }}")
    ends = [c.left_mm + APART_MM / 2.0 + (max(c.strips) - 1) * PITCH_MM for c in columns if c.strips]
    points = f"[[{2.0 * EDGE_MM:g}, {BUS_MM:g}], [{max(ends):g}, {BUS_MM:g}]]"
    lines += ["[bus]", f"ground = {{ points = {points}, height = 14 }}", ""]
    return "\n".join(lines)


def _columns(build: Build, rng: random.Random) -> list[Column]:
    """Return a column for each socket, then supply, transformers, mains; parts join the column of their stage."""
    columns: list[Column] = []
    at_tube: dict[str, Column] = {}
    for part in build.parts:
        if isinstance(part.values, Tube):
            at_tube[part.name] = Column([part])
            columns.append(at_tube[part.name])
    supply, heavy, mains = Column(), [], Column()
    here = columns[0]
    for stage in build.stages:
        parts = [build.part(name) for name in stage.parts]
        near = [at_tube[t.part] for p in parts for j in p.terminals for t in _at(build, j.joint) if t.part in at_tube]
        if stage.duty in ("supply", "bias", "heater"):
            here = supply
        elif near and stage.duty in ("gain", "inverter", "output", "input"):
            here = near[0]
        for part in parts:
            heavy += _stand(part, mains if stage.duty == "mains" else here, mains)
    _share_out(build, [*columns, supply])
    rng.shuffle(heavy)
    return [*columns, supply, *(Column([part]) for part in heavy), mains]


def _at(build: Build, joint: str):
    return build.joints.get(joint, ()) if joint not in ("", "ground", "heater 1", "heater 2") else ()


def _stand(part: Part, here: Column, mains: Column) -> list[Part]:
    """Put a part where its kind goes; return it when it wants a column of its own."""
    values = part.values
    if isinstance(values, HANGING):
        here.hanging.append(part)
    elif isinstance(values, Pot):
        here.front.append(part)
    elif isinstance(values, Jack):
        (here.front if part.stage.startswith("jack") else here.rear).append(part)
    elif isinstance(values, Switch | Lamp):
        mains.front.append(part)
    elif isinstance(values, Fuse | Inlet):
        mains.rear.append(part)
    elif isinstance(values, Transformer) and values.role == "power":
        mains.plate.append(part)
    elif isinstance(values, Transformer | Choke | Can):
        return [part]
    return []


def _share_out(build: Build, columns: list[Column]) -> None:
    """Let each column need a lug for every joint of its parts that has nowhere else to go, and some for the rest."""
    held = {t.joint for part in build.parts if isinstance(part.values, HOLDING) for t in part.terminals} | {"ground"}
    joints: dict[str, list[Column]] = {}
    for column in columns:
        column.need = PART_SHARE * len(column.hanging)
        for part in column.hanging:
            for terminal in part.terminals:
                joints.setdefault(terminal.joint, []).append(column)
    for joint, at in joints.items():
        if joint not in held:
            room = 1.0 + HIGH_AC_LUGS * (joint in _high_ac(build))
            max(at, key=lambda column: sum(other is column for other in at)).need += room


def _high_ac(build: Build) -> set[str]:
    """Return the ends of the B+ winding that lead to diodes."""
    ends = {t.joint for t in build.part("T1").terminals if t.name.startswith("hv.")} - {"ground"}
    return {
        joint for joint in ends if not any(isinstance(build.part(t.part).values, Tube) for t in build.joints[joint])
    }


def _give_strips(columns: list[Column], wanted: int) -> None:
    """Share the free lugs out by parts, each column on two rows, on three where it needs many."""
    need = sum(column.need for column in columns)
    given = 0.0
    for column in columns:
        share = wanted * column.need / max(1.0, need) + given
        free = math.ceil(share - 1e-9) if column.hanging else 0
        given = share - free
        if free <= 0:
            continue
        rows = 2 if free <= MOST_ON_TWO_ROWS else 3
        each = [free // rows + (k < free % rows) for k in range(rows)]
        column.strips = [lugs + 1 if lugs else 0 for lugs in each]


def _width_mm(column: Column) -> float:
    if any(isinstance(p.values, Transformer) and p.values.role == "power" for p in column.plate):
        return max(110.0, FRONT_APART_MM * len(column.front) + 20.0, 40.0 * len(column.rear) + 20.0)
    strips = APART_MM + max(column.strips) * PITCH_MM if column.strips else 0.0
    panels = max(FRONT_APART_MM * len(column.front), REAR_APART_MM * len(column.rear))
    return max(LEAST_COLUMN_MM, strips, panels + 4.0)


def _places(column: Column, rng: random.Random) -> list[str]:
    middle = column.left_mm + column.width_mm / 2.0
    lines = []
    for part in column.plate:
        if isinstance(part.values, Tube):
            y, turn = TUBE_MM, 180 if part.values.socket != "octal" else 0
            turn += rng.choice((-20, 0, 0, 20))
        elif isinstance(part.values, Transformer) and part.values.role == "power":
            y, turn = 85.0, 90
            middle = column.left_mm + column.width_mm - 55.0
        else:
            y, turn = (60.0, 0) if isinstance(part.values, Can) else (132.0, 180)
        lines.append(f"{part.name} = {{ at = [{middle:g}, {y:g}], turn = {turn} }}")
    for panel, parts in (("front", column.front), ("rear", column.rear)):
        step = column.width_mm / max(1, len(parts))
        for k, part in enumerate(parts):
            x = column.left_mm + (k + 0.5) * step
            lines.append(f'{part.name} = {{ panel = "{panel}", at = [{x:g}, {PANEL_MM:g}] }}')
    return lines
