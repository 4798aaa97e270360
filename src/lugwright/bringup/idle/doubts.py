"""Readings no figure may be worked out from: nothing, the wrong way round, a resistor open, far too much current."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.ohms import ohms_of
from lugwright.bringup.idle.readings import IdleReading
from lugwright.bringup.idle.stage import OutputTube, Path, Stage
from lugwright.findings import Finding, Grade

NOTHING = 0.02  # of what is expected: that tube draws nothing
FAR_OVER = 1.5  # times the plate limit: switch off
OPEN_OHM_V = 1.0  # over a small resistor: it is open, no tube draws an ampere
TENTH_FROM_OHM = 5.0  # nobody fits a tenth of an ohm by mistake for one
DECADE = (7.0, 14.0)  # times what is expected: a resistor of ten times its value, or a tenth
SOURCE = "the readings, by Ohm's law"
TRACE = "if it stays so, pull the plug and put all your readings to lugwright trace"


def raw_doubts(stage: Stage, at: AtEdit, readings: Sequence[IdleReading]) -> tuple[Finding, ...]:
    """Return what is wrong with the readings as they stand; worst first comes switching off."""
    found = []
    over = [(tube, r, path) for r in readings for tube, path in _read_over(stage, r)]
    dead = [(tube, r) for tube, r, path in over if abs(r.value) < NOTHING * abs(at.volts(r.red, r.black))]
    for tube, r, path in over:
        if (tube, r) not in dead:
            found += list(_far_off(tube, r, path, at, readings, fixed=stage.fixed))
    found += list(_nothing(stage, dead, len({r.said for _, r, _ in over})))
    found += list(_decade(over, at))
    return tuple(found)


def _read_over(stage: Stage, reading: IdleReading) -> Iterator[tuple[OutputTube, Path | None]]:
    """Yield tube and resistor of a reading that tells a cathode current."""
    if reading.what in ("cathode", "cathode to ground", "adapter"):
        tube = stage.tube(reading.tube)
        sensed = reading.what == "cathode" and reading.unit == "V"
        yield tube, tube.read_over if sensed else tube.bias if reading.unit == "V" else None


def _cathode_a(reading: IdleReading, path: Path | None, readings: Sequence[IdleReading]) -> float:
    """Return the current a reading stands for, of one of the tubes it flows from. [A]"""
    if path is None:
        return reading.value if reading.unit == "A" else 0.0
    return reading.value / ohms_of(path, readings).value / len(path.tubes)


def _before_power(tube: OutputTube, *, fixed: bool) -> str:
    if fixed:
        return (
            "pull the plug; before power goes on again, every output tube out and the bias volts read at "
            f"{tube.pin('grid')}"
        )
    return (
        f"pull the plug; then with {tube.name} out read {tube.pin('grid')}: volts there come through a leaking "
        "coupling capacitor"
    )


def _far_off(
    tube: OutputTube, r: IdleReading, path: Path | None, at: AtEdit, readings: Sequence[IdleReading], *, fixed: bool
) -> Iterator[Finding]:
    if r.value < 0.0:
        yield Finding(
            rule="idle-reading-negative", grade=Grade.FAULT, part=tube.name, source=SOURCE,
            what=f"{tube.name} reads negative at its cathode", found=r.said,
            wanted="a reading above zero: current flows from the cathode to ground",
            do=f"turn the leads of the meter: black to ground, red to {tube.pin('cathode')}; {TRACE}",
        )  # fmt: skip
        return
    if path is not None and path is tube.sense and r.value > OPEN_OHM_V * max(path.ohm, 1.0):
        yield Finding(
            rule="idle-resistor-open", grade=Grade.FAULT, part=path.name, source=SOURCE,
            what=f"{path.name} is open or not joined", found=f"{r.said}: volts where millivolts belong",
            wanted=f"about {1e3 * at.volts(r.red, r.black):.0f} mV over {path.ohm:g} ohm",
            do=f"switch off, plug out, wait, measure below 60 V; then read {path.name} with the ohmmeter",
        )  # fmt: skip
        return
    plate_v = next((x.value for x in readings if x.tube == tube.name and x.what.startswith("plate")), None)
    volts = plate_v or at.idle.tubes[tube.name].plate_to_cathode_v
    watts = _cathode_a(r, path, readings) * volts
    if watts > FAR_OVER * tube.plate_limit_w:
        yield Finding(
            rule="idle-switch-off", grade=Grade.DANGER, part=tube.name, source=SOURCE,
            what=f"{tube.name} draws far too much: switch off now",
            found=f"{r.said}: about {watts:.0f} W at its plate", wanted=f"at most {tube.plate_limit_w:g} W",
            do=_before_power(tube, fixed=fixed),
        )  # fmt: skip


def _nothing(stage: Stage, dead: Sequence[tuple[OutputTube, IdleReading]], count: int) -> Iterator[Finding]:
    if not dead:
        return
    found = ", ".join(r.said for _, r in dead)
    if (len(dead) == count and count > 1) or len(stage.tubes) == 1:
        yield Finding(
            rule="idle-no-current", grade=Grade.FAULT, part=dead[0][0].name, source=SOURCE,
            what="no output tube draws current", found=found, wanted="millivolts or volts at every cathode",
            do="heaters lit and a minute warm? standby closed? meter on DC volts, black on ground? B+ at the plates? "
            + TRACE,
        )  # fmt: skip
        return
    for tube, r in dead:
        yield Finding(
            rule="idle-no-current", grade=Grade.FAULT, part=tube.name, source=SOURCE,
            what=f"{tube.name} draws no current and the others do", found=r.said,
            wanted="about what its neighbor reads",
            do=f"plug out; swap {tube.name} with its neighbor: what moves along is the tube, what stays is its socket "
            "(heater, screen, plate lead, cathode resistor): then put all your readings to lugwright trace",
        )  # fmt: skip


def _decade(over: Sequence[tuple[OutputTube, IdleReading, Path | None]], at: AtEdit) -> Iterator[Finding]:
    """Yield a word on resistors of another decade, where every tube reads about ten times what it should."""
    sensed = [(tube, r, path) for tube, r, path in over if path is not None and path is tube.sense]
    ratios = [r.value / at.volts(r.red, r.black) for _, r, _ in sensed]
    if not ratios:
        return
    high = all(DECADE[0] < ratio < DECADE[1] for ratio in ratios)
    low = sensed[0][2].ohm > TENTH_FROM_OHM and all(DECADE[0] * ratio < 1.0 < DECADE[1] * ratio for ratio in ratios)
    if high or low:
        path = sensed[0][2]
        other = path.ohm * (10.0 if high else 0.1)
        yield Finding(
            rule="idle-resistor-decade", grade=Grade.DOUBT, part=path.name, source=SOURCE,
            what=f"the readings are about {'ten times' if high else 'a tenth of'} what they should be",
            found=", ".join(r.said for _, r, _ in sensed),
            wanted=f"{path.ohm:g} ohm at the cathodes, as in the build file",
            do=f"plug out, look at the bands of {path.name}: 1 ohm is brown black gold, 10 ohm brown black black; with "
            f"{other:g} ohm write that into the build file",
        )  # fmt: skip
