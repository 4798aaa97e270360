"""Currents and watts of each output tube from its readings, with their uncertainty; what was not read is computed.

Plate current is taken from the volts over its half of the output primary, or from the cathode current less the
screen's: whichever is surer. Uncertainties are limits, taken as even within them and added as squares; what is
printed is twice the standard deviation.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lugwright.bringup.idle.fit import Fitted
from lugwright.bringup.idle.ohms import EVEN, SCREEN_SPREAD, as_read, ohms_of
from lugwright.bringup.idle.readings import IdleReading
from lugwright.bringup.idle.stage import OutputTube, Stage
from lugwright.bringup.idle_results import Figure, OtherWay, TubeAtIdle

SHARED = "its part of"
COMPUTED, BY_CATHODE = "computed, not read", "cathode current less the screen's"
COMPUTED_V = 0.03  # of volts that were not read
AMMETER_OHM = 6.5  # of a hand meter on its milliampere range: 2 to 11, as owners have measured them
AMMETER_OFF_OHM = 4.5


@dataclass(frozen=True)
class Taken:
    """The readings of a stage with the circuit fitted to them."""

    stage: Stage
    fit: Fitted
    readings: Mapping[tuple[str, str], IdleReading]  # (tube, what)

    @property
    def all(self) -> tuple[IdleReading, ...]:
        """Return the readings."""
        return tuple(self.readings.values())

    def read(self, tube: OutputTube, what: str) -> IdleReading | None:
        """Return a reading of this tube, or of another that is read at the same two points."""
        own = self.readings.get((tube.name, what))
        if own is not None or what not in ("cathode", "cathode to ground", "primary", "B+"):
            return own
        same = (r for r in self.readings.values() if r.what == what and (r.red, r.black) == _ends(tube, what))
        return next(same, None)


def _ends(tube: OutputTube, what: str) -> tuple[str, str] | None:
    if what == "primary":
        return (tube.primary.high, tube.primary.low) if tube.primary else None
    if what == "B+":
        return tube.feed, "ground"
    return tube.cathode, tube.read_low if what == "cathode" else "ground"


def quotient(volts: Figure, ohms: Figure) -> Figure:
    """Return a current from volts over ohms, their uncertainties added as squares."""
    value = volts.value / ohms.value
    return Figure(value, math.hypot(volts.off / ohms.value, value * ohms.share_off))


def product(one: Figure, other: Figure) -> Figure:
    """Return a power from volts and amperes, their uncertainties added as squares."""
    value = one.value * other.value
    return Figure(value, math.hypot(one.off * other.value, other.off * one.value))


def less(one: Figure, other: Figure) -> Figure:
    """Return a difference, the uncertainties added as squares."""
    return Figure(one.value - other.value, math.hypot(one.off, other.off))


def times(figure: Figure, share: float) -> Figure:
    """Return a figure multiplied with a number that is sure."""
    return Figure(figure.value * share, figure.off * share)


def tube_at_idle(taken: Taken, tube: OutputTube) -> TubeAtIdle:
    """Return currents, watts and share of the limit of one tube."""
    at = taken.fit.at.idle.tubes[tube.name]
    cathode, cathode_from = _cathode(taken, tube)
    screen, screen_from = _screen(taken, tube, cathode)
    ways = list(_plate_ways(taken, tube, cathode, screen))
    plate_a, plate_from = min(ways, key=lambda way: way[0].share_off)
    volts, volts_from = _plate_volts(taken, tube)
    plate_w = product(volts, plate_a)
    limit = tube.plate_limit_w
    screen_v = at.screen_to_cathode_v or 0.0
    return TubeAtIdle(
        tube=tube.name, cathode_a=cathode, cathode_from=cathode_from, screen_a=screen, screen_from=screen_from,
        plate_a=plate_a, plate_from=plate_from, plate_to_cathode_v=volts, plate_v_from=volts_from, plate_w=plate_w,
        plate_limit_w=limit, share=times(plate_w, 1.0 / limit), screen_w=screen_v * screen.value,
        screen_limit_w=tube.limits.get("screen_w"), strength=taken.fit.strength(tube.name),
        read=(cathode_from, plate_from) != (COMPUTED, BY_CATHODE), alone=_alone(tube, cathode_from, plate_from),
    )  # fmt: skip


def _alone(tube: OutputTube, cathode_from: str, plate_from: str) -> bool:
    """Return whether what was read is the current of this tube alone."""
    if plate_from != BY_CATHODE:
        return tube.primary is not None and len(tube.primary.tubes) == 1
    return not cathode_from.startswith(SHARED)


def other_ways(taken: Taken, tube: OutputTube, chosen: str) -> Iterator[OtherWay]:
    """Yield the plate current by the methods that are not gone by."""
    cathode, _ = _cathode(taken, tube)
    screen, _ = _screen(taken, tube, cathode)
    for amps, words in _plate_ways(taken, tube, cathode, screen):
        if words != chosen:
            yield OtherWay(tube.name, words, amps)


def _share_of(taken: Taken, tube: OutputTube, names: Sequence[str], of: str) -> float:
    """Return which part of a current that several tubes share is this tube's, by the fitted circuit."""
    amps = {name: getattr(taken.fit.at.idle.tubes[name], of) for name in names}
    whole = sum(amps.values())
    return float(amps[tube.name] / whole) if whole else 1.0 / len(amps)


def _cathode(taken: Taken, tube: OutputTube) -> tuple[Figure, str]:
    """Return plate and screen current together, and where it was read."""
    adapter = taken.read(tube, "adapter")
    if adapter is not None:
        return as_read(adapter), "socket adapter"
    for what, path in (("cathode", tube.read_over), ("cathode to ground", tube.bias if tube.sense is None else None)):
        reading = taken.read(tube, what)
        if reading is not None and path is not None:
            whole = quotient(as_read(reading), ohms_of(path, taken.all))
            share = _share_of(taken, tube, path.tubes, "cathode_a")
            words = f"volts over {path.name}"
            return times(whole, share), words if len(path.tubes) == 1 else f"{SHARED} the volts over {path.name}"
    at = taken.fit.at.idle.tubes[tube.name]
    return Figure(at.cathode_a, 2.0 * EVEN * tube.spread * at.cathode_a), COMPUTED


def _screen(taken: Taken, tube: OutputTube, cathode: Figure) -> tuple[Figure, str]:
    reading = taken.read(tube, "screen resistor")
    if reading is not None and tube.screen_resistor is not None:
        return quotient(
            as_read(reading), ohms_of(tube.screen_resistor, taken.all)
        ), f"volts over {tube.screen_resistor.name}"
    at = taken.fit.at.idle.tubes[tube.name]
    screen_a = cathode.value * at.screen_a / at.cathode_a if at.cathode_a > 0.0 else 0.0
    return Figure(screen_a, 2.0 * EVEN * SCREEN_SPREAD * screen_a), "the type's law"


def _plate_ways(taken: Taken, tube: OutputTube, cathode: Figure, screen: Figure) -> Iterator[tuple[Figure, str]]:
    yield less(cathode, screen), BY_CATHODE
    if tube.primary is None:
        return
    share = _share_of(taken, tube, tube.primary.tubes, "plate_a")
    reading = taken.read(tube, "primary")
    ohms = ohms_of(tube.primary, taken.all)
    if reading is not None:
        yield times(quotient(as_read(reading), ohms), share), f"volts over {tube.primary.name}"
    shunt = taken.read(tube, "shunt")
    if shunt is not None:
        past = 1.0 + AMMETER_OHM / ohms.value  # what flows through the winding beside the meter
        amps = shunt.value * past * share
        off = math.hypot(2.0 * EVEN * shunt.off, 2.0 * EVEN * AMMETER_OFF_OHM / ohms.value * amps)
        yield Figure(amps, off), f"ammeter across {tube.primary.name}"


def _plate_volts(taken: Taken, tube: OutputTube) -> tuple[Figure, str]:
    direct = taken.read(tube, "plate to cathode")
    if direct is not None:
        return as_read(direct), "read plate to cathode"
    at = taken.fit.at
    to_ground = taken.read(tube, "plate")
    if to_ground is not None:
        cathode_v = _cathode_v(taken, tube)
        words = "read to ground" if abs(cathode_v) < 1.0 else f"read to ground, less {cathode_v:.1f} V at the cathode"
        return Figure(to_ground.value - cathode_v, 2.0 * EVEN * to_ground.off), words
    fed = taken.read(tube, "B+")
    drop = at.volts(tube.feed, tube.cathode) - at.idle.tubes[tube.name].plate_to_cathode_v
    if fed is not None:
        value = fed.value - _cathode_v(taken, tube) - drop
        return Figure(value, 2.0 * EVEN * math.hypot(fed.off, 0.1 * drop)), "B+ read, less the winding's drop"
    volts = at.idle.tubes[tube.name].plate_to_cathode_v
    return Figure(volts, 2.0 * EVEN * COMPUTED_V * volts), COMPUTED


def _cathode_v(taken: Taken, tube: OutputTube) -> float:
    """Return what the cathode stands at, as read or else as computed. [V]"""
    what = "cathode to ground" if tube.sense else "cathode"
    read = taken.read(tube, what)
    return read.value if read is not None else taken.fit.at.volts(tube.cathode, "ground")
