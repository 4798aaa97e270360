"""How the idle of the output tubes is set, where to read it, and how far the bias control reaches."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from lugwright.bringup.bench_points import socket_points
from lugwright.bringup.bias_control import bias_controls, control_words, turned
from lugwright.bringup.fitting import FIXED_BIAS_BELOW_V, output_tubes
from lugwright.bringup.good_builds import running_factors, window
from lugwright.bringup.results import IdleRow, IdleSetting
from lugwright.buildfile.build import GROUND, Build, Part, Tube
from lugwright.circuit.elements import PentodeTube, Resistor
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.solve.idle import solve_beside
from lugwright.solve.many import solve_many
from lugwright.solve.readout import read_idle
from lugwright.solve.solved import Solved

ROTATIONS = (0.0, 0.25, 0.5, 0.75, 1.0)  # shares of a bias control's turn
SENSE_UP_TO_OHM = 12.0  # a cathode resistor this small is there to be read, not to bias
ALIKE = 0.9  # tubes that a control moves by at least this share of the most move with it
REACHES_V = 0.5  # a control that moves no grid by this much is not a bias control
TARGET_SHARES = {False: (0.50, 0.70), True: (0.70, 0.85)}  # fixed bias; True: one tube alone
TARGETS = {
    "fixed bias": "50 to 70 percent of the plate limit, from memory of common practice; start at the cold end",
    "fixed bias, one tube": "70 to 85 percent of the plate limit, from memory of common practice: alone it works in "
    "class A; start at the cold end",
    "cathode bias": "80 to 90 percent of the plate limit, from memory of common practice; set by the cathode resistor",
}


def idle_setting(build: Build, solved: Solved, idle: Idle) -> IdleSetting | None:
    """Return how the idle of the output tubes is set, or None where no output tube is.

    Parameters
    ----------
    build : Build
        The build.
    solved : Solved
        Its circuit solved, all tubes in, full mains.
    idle : Idle
        The idle read from that.

    Returns
    -------
    IdleSetting or None
        One row for each output tube.

    Raises
    ------
    NoIdlePoint
        A position of a bias control, or a draw of the tolerances, has no certified idle point.
    """
    tubes = output_tubes(build)
    if not tubes:
        return None
    grids = {part.name: part.terminal("grid").joint for part in tubes}
    fixed = any(idle.joints[joint].volts < FIXED_BIAS_BELOW_V for joint in grids.values() if joint != GROUND)
    method = "fixed bias" if fixed else "cathode bias"
    shares = _share_windows(build, solved, tubes)
    rows = tuple(_row(solved.system.circuit, part, idle, shares[part.name]) for part in tubes)
    travels = tuple(_travels(build, solved, idle, grids)) if fixed else ()
    target = TARGETS["fixed bias, one tube" if fixed and len(tubes) == 1 else method]
    travel = tuple(row for control in travels for row in control.rows)
    reach = tuple(words for control in travels for words in control.out_of_reach(*TARGET_SHARES[len(tubes) == 1]))
    return IdleSetting(method, rows, travel, target, (*reach, *_cautions(rows, fixed=fixed, travel=bool(travel))))


def _row(circuit: Circuit, part: Part, idle: Idle, shares: tuple[float, float]) -> IdleRow:
    tube = idle.tubes[part.name]
    limit_w = plate_limit_w(part)
    point = next(p for p in socket_points(part) if p.electrode == "cathode")
    sense = _sense_resistor(circuit, point.joint)
    words = f"{point.words} to ground"
    if sense is not None:
        if circuit.ground not in sense.joints:
            words = f"{point.words} to the other end of {sense.name}, not to ground"
        words += f", across {sense.name} ({sense.ohm:g} ohm; the reading includes screen current)"
    reading_mv = None if sense is None else 1e3 * tube.cathode_a * sense.ohm
    return IdleRow(
        tube=part.name,
        cathode_point=words,
        cathode_reading_mv=reading_mv,
        cathode_a=tube.cathode_a,
        plate_a=tube.plate_a,
        screen_a=tube.screen_a,
        plate_to_cathode_v=tube.plate_to_cathode_v,
        plate_w=tube.plate_w,
        plate_limit_w=limit_w,
        share=tube.plate_w / limit_w,
        low_share=min(shares[0], tube.plate_w / limit_w),
        high_share=max(shares[1], tube.plate_w / limit_w),
        cathode_v=idle.joints[point.joint].volts if point.joint != circuit.ground else 0.0,
    )


def plate_limit_w(part: Part) -> float:
    """Return the plate limit of a tube's type. [W]

    Parameters
    ----------
    part : Part
        A tube whose type has a plate limit.

    Returns
    -------
    float
        The limit. [W]

    Source
    ------
    The type's own entry in the catalogue.
    """
    if not isinstance(part.values, Tube):
        raise TypeError(f"{part.name} is a {part.kind}, not a tube")
    return part.values.type.limits["plate_w"].value


def _sense_resistor(circuit: Circuit, cathode: str) -> Resistor | None:
    """Return the small resistor from this cathode alone, to ground or to a bias resistor, where there is one."""
    cathodes = [e.name for e in circuit.elements if isinstance(e, PentodeTube) and e.cathode == cathode]
    if len(cathodes) != 1:
        return None
    small = (e for e in circuit.elements if isinstance(e, Resistor) and e.ohm <= SENSE_UP_TO_OHM and e.role == "part")
    return next((e for e in small if cathode in e.joints and "." not in e.name), None)  # a dot: half of a pot


def _share_windows(build: Build, solved: Solved, tubes: tuple[Part, ...]) -> Mapping[str, tuple[float, float]]:
    """Return between which shares of its plate limit each tube idles, over part values, tubes and mains."""
    many = solve_many(solved, running_factors(build, solved.system.circuit))
    volts, amps = many.tubes.pentode_v[0], many.tubes.pentode_a[0]
    rows = {tube.name: row for row, tube in enumerate(solved.system.pentodes)}
    missing = next((part.name for part in tubes if part.name not in rows), None)
    if missing is not None:
        raise TypeError(f"{missing} has no pentode equations")
    return {p.name: window(volts[rows[p.name]] * amps[rows[p.name]] / plate_limit_w(p)) for p in tubes}


@dataclass(frozen=True)
class _Travel:
    """One bias control from stop to stop: what it does to the tube it moves most."""

    control: str
    tube: str
    rows: tuple[tuple[str, float, float, float], ...]
    shares: tuple[float, ...]  # of the plate limit, at each position

    def out_of_reach(self, least: float, most: float) -> Iterator[str]:
        """Yield words where no position of the control idles the tube within the target."""
        if max(self.shares) < least:
            yield (
                f"{self.control} brings {self.tube} to {max(self.shares):.0%} of its plate limit and no further: the "
                "target is out of its reach. Change the resistors around it, so that the bias gets less negative."
            )
        if min(self.shares) > most:
            yield (
                f"{self.control} leaves {self.tube} at {min(self.shares):.0%} of its plate limit even at its most "
                "negative: the target is out of its reach. Change the resistors around it, so that the bias gets more "
                "negative, before an output tube goes in."
            )


def _travels(build: Build, solved: Solved, idle: Idle, grids: Mapping[str, str]) -> Iterator[_Travel]:
    turns = [(part, share) for part in bias_controls(build, idle) for share in ROTATIONS]
    if not turns:
        return
    edits = [turned(part, rotation=share) for part, share in turns]
    found = [read_idle(column) for column in solve_beside(solved, edits)]
    for part in dict.fromkeys(part for part, _ in turns):
        answers = [(share, i) for (owner, share), i in zip(turns, found, strict=True) if owner is part]
        moved = {
            tube: abs(answers[-1][1].joints[joint].volts - answers[0][1].joints[joint].volts)
            for tube, joint in grids.items()
        }
        most = max(moved.values())
        if most < REACHES_V:
            continue
        together = [name for name in sorted(moved) if moved[name] > ALIKE * most]
        words, tube = f"{control_words(part)} ({', '.join(together)})", together[0]
        limit_w = plate_limit_w(build.part(tube))
        yield _Travel(
            control_words(part),
            tube,
            tuple((words, at, i.joints[grids[tube]].volts, 1e3 * i.tubes[tube].plate_a) for at, i in answers),
            tuple(answer.tubes[tube].plate_w / limit_w for _, answer in answers),
        )


def _cautions(rows: tuple[IdleRow, ...], *, fixed: bool, travel: bool) -> Iterator[str]:
    yield (
        "Idle is read with the amplifier live. Clip the meter on with the plug out and below 60 V measured on every "
        "filter capacitor; one hand in the pocket after that, speaker connected."
    )
    if fixed:
        yield "Start at the most negative bias, turn slowly, wait a minute after each turn: tubes drift as they warm."
    if travel:
        yield "At the least negative end of the control the tubes may run far over their limit: never rest there."
    if any(row.cathode_reading_mv is not None for row in rows):
        yield (
            "The cathode resistor carries screen current too: plate current is the reading less the screen's share, so "
            "a setting by the reading errs to the safe side."
        )
    if any(row.high_share > 1.0 for row in rows):
        names = ", ".join(row.tube for row in rows if row.high_share > 1.0)
        yield f"A strong tube on high mains takes {names} over the plate limit: measure, do not assume."
    yield "A plate that glows red means far too much current: switch off at once."
