"""What is wrong or worth knowing once currents and watts are worked out."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.bringup.idle.currents import Taken
from lugwright.bringup.idle.ohms import leads_in_it, measured_ohms
from lugwright.bringup.idle.turning import Control
from lugwright.bringup.idle_results import Match, OtherWay, Target, TubeAtIdle
from lugwright.findings import Finding, Grade

APART = 0.20  # of the mean: more is no pair
LEFT_OVER = 4.0  # standard deviations of a reading that the others contradict
OUT_OF_BAND = 1.0  # times the spread of the type
# Bands from which on no health of a tube explains it. A cathode resistor holds the current together: one that is 5
# percent off looks like a tube that is 15 percent off.
FAR_OUT = {"fixed": 2.0, "cathode": 3.0}
DISAGREE = 1.5  # times the uncertainty of both
_BY = "Ohm's law and the fitted circuit"


def verdicts(taken: Taken, tubes: tuple[TubeAtIdle, ...], others: tuple[OtherWay, ...], target: Target,
             match: Match | None, controls: tuple[Control, ...]) -> Iterator[Finding]:  # fmt: skip
    """Yield findings, tube by tube, then of the pair and of the readings."""
    for tube in (t for t in tubes if t.read):
        turn = _what_to_turn(taken, tubes, tube, target, controls)
        yield from _heat(tube, target, turn, doubtful=_doubtful(taken, tube))
        yield from _screen_heat(tube)
        yield from _strength(taken, tube)
    if match is not None and match.apart > APART and not any(len(c.tubes) == 1 for c in controls):
        yield _unmatched(match)
    yield from _together(tubes)
    yield from _contradictions(taken)
    yield from _ways_apart(tubes, others)
    yield from _leads(taken)
    yield from _ammeter(taken)


def fits(taken: Taken) -> bool:
    """Return whether this circuit, with tubes in any health, can show these currents."""
    far = (_far_out(taken, t.name) for t in taken.stage.tubes)
    return taken.fit.settled and not any(far) and not any(abs(left) > LEFT_OVER for left in _currents(taken).values())


def _currents(taken: Taken) -> dict[str, float]:
    """Return what is left over of the readings that tell a cathode current."""
    told = ("cathode", "cathode to ground", "adapter")
    return {r.said: taken.fit.left[r.said] for r in taken.all if r.what in told and r.said in taken.fit.left}


def _times(taken: Taken) -> float:
    return FAR_OUT["fixed" if taken.stage.fixed else "cathode"]


def _far_out(taken: Taken, name: str) -> bool:
    return _off_band(taken, name) > _times(taken)


def _off_band(taken: Taken, name: str) -> float:
    """Return how far a tube is off the average of its type, in bands of that type."""
    return abs(math.log(taken.fit.strength(name))) / math.log1p(taken.stage.tube(name).spread)


def _what_to_turn(
    taken: Taken, tubes: tuple[TubeAtIdle, ...], tube: TubeAtIdle, target: Target, controls: tuple[Control, ...]
) -> tuple[str, str]:
    """Return what makes a tube cooler, and what makes it hotter."""
    if not taken.stage.fixed:
        return "a larger cathode resistor", "a smaller cathode resistor"
    together = next(({t.name for t in c.tubes} for c in controls if tube.tube in {t.name for t in c.tubes}), set())
    hottest = max((t.share.value for t in tubes if t.tube in together), default=0.0)
    if hottest >= target.least:
        return "turn the bias more negative", "one control sets them all and the hottest comes first: fit a better pair"
    return "turn the bias more negative", "turn the bias less negative, slowly"


def _doubtful(taken: Taken, tube: TubeAtIdle) -> bool:
    """Return whether a tube's figures are contradicted: then nothing is said of its being cold."""
    read = (r for r in taken.all if r.tube == tube.tube and r.said in taken.fit.left)
    return _far_out(taken, tube.tube) or any(abs(taken.fit.left[r.said]) > LEFT_OVER for r in read)


def _heat(tube: TubeAtIdle, target: Target, turn: tuple[str, str], *, doubtful: bool) -> Iterator[Finding]:
    cooler, hotter = turn
    found = f"{tube.plate_w.value:.1f} W of {tube.plate_limit_w:g} W, {tube.share.value:.0%} +/- {tube.share.off:.0%}"
    wanted = f"{target.least:.0%} to {target.most:.0%} ({target.kind})"
    if tube.share.value > 1.0:
        yield Finding(rule="idle-over-limit", grade=Grade.FAULT, part=tube.tube, source=_BY, found=found, wanted=wanted,
                      what=f"{tube.tube} idles over its plate limit", do=f"{cooler} now")  # fmt: skip
    elif tube.share.value > target.most:
        yield Finding(rule="idle-off-target", grade=Grade.DOUBT, part=tube.tube, source=_BY, found=found, wanted=wanted,
                      what=f"{tube.tube} idles hotter than usual", do=cooler)  # fmt: skip
    elif tube.share.value + tube.share.off / 2.0 < target.least and not doubtful:
        yield Finding(rule="idle-off-target", grade=Grade.NOTE, part=tube.tube, source=_BY, found=found, wanted=wanted,
                      what=f"{tube.tube} idles colder than usual", do=hotter)  # fmt: skip


def _screen_heat(tube: TubeAtIdle) -> Iterator[Finding]:
    if tube.screen_limit_w is not None and tube.screen_w > tube.screen_limit_w:
        yield Finding(
            rule="idle-screen-over-limit", grade=Grade.FAULT, part=tube.tube, source=_BY,
            what=f"the screen of {tube.tube} is over its limit", found=f"{tube.screen_w:.1f} W",
            wanted=f"at most {tube.screen_limit_w:g} W",
            do="read the volts over the screen resistor; is the plate lead joined?",
        )  # fmt: skip


def _strength(taken: Taken, tube: TubeAtIdle) -> Iterator[Finding]:
    spread = taken.stage.tube(tube.tube).spread
    off = _off_band(taken, tube.tube)
    if off <= OUT_OF_BAND:
        return
    words = f"{tube.strength:.0%} of what the average of its type draws at these volts"
    if _far_out(taken, tube.tube):
        yield Finding(
            rule="idle-no-fit", grade=Grade.FAULT, part=tube.tube, source=_BY,
            what=f"{tube.tube} fits no setting of this circuit", found=words,
            wanted=f"within {spread:.0%}, worn or strong within {_times(taken):g} times that",
            do=f"{_where_to_look(taken, tube.tube)}; then put all your readings to lugwright trace",
        )  # fmt: skip
    else:
        yield Finding(
            rule="idle-tube-out-of-band", grade=Grade.NOTE, part=tube.tube, source=_BY,
            what=f"{tube.tube} is {'stronger' if tube.strength > 1.0 else 'weaker'} than its type's band", found=words,
            wanted=f"within {spread:.0%}",
            do=_where_to_look(taken, tube.tube),
        )  # fmt: skip


def _where_to_look(taken: Taken, name: str) -> str:
    """Return what tells a tube from what is around it."""
    stage = taken.stage
    if not stage.fixed:
        return (
            f"read {stage.tube(name).pin('grid')}: it belongs at 0 V, and volts there come through a leaking coupling "
            "capacitor; measure the cathode resistor"
        )
    if len(stage.tubes) == 1:
        return "read the grid volts too: they tell a tube from a bias that is off"
    return f"plug out; swap {name} with another: what moves along is the tube, what stays is its socket and its bias"


def _unmatched(match: Match) -> Finding:
    amps = ", ".join(f"{name} {1e3 * a:.1f} mA" for name, a in zip(match.tubes, match.plate_a, strict=True))
    return Finding(
        rule="idle-unmatched", grade=Grade.DOUBT, part=match.tubes[0], source=_BY,
        what="the output tubes are no pair", found=f"{amps}: {match.apart:.0%} apart",
        wanted=f"within {APART:.0%}; bought pairs are within 10 %",
        do="swap the tubes: if the difference stays with the sockets, look at the bias of each grid; else fit a pair",
    )  # fmt: skip


def _together(tubes: tuple[TubeAtIdle, ...]) -> Iterator[Finding]:
    names = [tube.tube for tube in tubes if tube.read and not tube.alone]
    if names:
        yield Finding(
            rule="idle-read-together", grade=Grade.NOTE, part=names[0], source=_BY,
            what=f"{' and '.join(names)} were read together: how alike they are nobody knows yet",
            found=tubes[0].cathode_from, wanted="a reading of each tube's own current",
            do=f"read the volts over each half of the output winding too, B+ to plate: {names[-1]} primary = 2.87 V",
        )  # fmt: skip


def _contradictions(taken: Taken) -> Iterator[Finding]:
    for said, left in taken.fit.left.items():
        if abs(left) > LEFT_OVER:
            reading = next(r for r in taken.all if r.said == said)
            yield Finding(
                rule="idle-reading-contradicted", grade=Grade.DOUBT, part=reading.tube, source=_BY,
                what=f"{reading.tube} {reading.what} does not fit the other readings",
                found=f"{said}, {abs(left):.0f} times what meter and parts explain",
                wanted="readings that one circuit can show",
                do="read it once more, with the right pin and range; if it stays so, put all your readings to "
                "lugwright trace",
            )  # fmt: skip


def _ways_apart(tubes: tuple[TubeAtIdle, ...], others: tuple[OtherWay, ...]) -> Iterator[Finding]:
    for other in others:
        tube = next(t for t in tubes if t.tube == other.tube)
        apart = abs(tube.plate_a.value - other.plate_a.value)
        if apart > DISAGREE * math.hypot(tube.plate_a.off, other.plate_a.off):
            yield Finding(
                rule="idle-ways-apart", grade=Grade.DOUBT, part=tube.tube, source=_BY,
                what=f"two ways to the plate current of {tube.tube} disagree",
                found=f"{1e3 * tube.plate_a.value:.1f} mA ({tube.plate_from}), {1e3 * other.plate_a.value:.1f} mA "
                f"({other.method})",
                wanted=f"within {1e3 * math.hypot(tube.plate_a.off, other.plate_a.off):.1f} mA",
                do="plug out, measure the ohms each was read over; a screen that draws too much shows here too",
            )  # fmt: skip


def _leads(taken: Taken) -> Iterator[Finding]:
    for path in taken.stage.paths:
        reading = measured_ohms(path, taken.all)
        measured = path.ohm if reading is None else reading.value
        if leads_in_it(path, measured):
            printed = path.printed_ohm
            yield Finding(
                rule="idle-lead-resistance", grade=Grade.DOUBT, part=path.name, source="two-wire ohms, as owners found",
                what=f"the ohms of {path.name} may hold the leads of the meter",
                found=f"{measured:g} ohm for {printed:g} ohm +/- {path.printed_tolerance:.0%}",
                wanted="two leads add 0.1 ohm and more: a tenth of the current",
                do=f"touch the tips together, take off what shows; until then {printed:g} ohm counts",
            )  # fmt: skip


def _ammeter(taken: Taken) -> Iterator[Finding]:
    for reading in taken.all:
        if reading.what == "shunt":
            yield Finding(
                rule="idle-ammeter-across-winding", grade=Grade.DANGER, part=reading.tube, source="from memory",
                what=f"an ammeter was put across the winding of {reading.tube}", found=reading.said,
                wanted="volts, read over a resistor or over the winding",
                do="not again: the whole meter stands at B+, a slip to ground shorts the supply through it, and it "
                "reads low by what stays in the winding. Read the volts over the winding with the same two clips",
            )  # fmt: skip
