"""Remembered shortcuts that mislead, each with what it would cost in this very build."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.currents import AMMETER_OHM
from lugwright.bringup.idle.stage import OutputTube, Stage
from lugwright.bringup.idle_results import Target
from lugwright.circuit.operating import Idle

WORTH_W = 0.05  # a difference that shows in a figure


def misleading(stage: Stage, at: AtEdit, cold: Idle, target: Target) -> tuple[str, ...]:
    """Return the shortcuts that would mislead here, in words with figures of the first output tube."""
    tube = stage.tubes[0]
    words = [*_screen(tube, at), *_to_ground(tube, at), *_seventy(tube, at, target), *_unloaded(tube, at, cold)]
    return (*words, *_one_ohm(tube), *_limit(tube), *_shunt(tube, at))


def _screen(tube: OutputTube, at: AtEdit) -> Iterator[str]:
    now = at.idle.tubes[tube.name]
    seems_w = now.cathode_a * now.plate_to_cathode_v
    if tube.read_over is not None and seems_w - now.plate_w > WORTH_W:
        yield (
            f"Cathode current is no plate current: {1e3 * now.cathode_a:.1f} mA at the cathode of {tube.name} are "
            f"{1e3 * now.plate_a:.1f} mA of plate and {1e3 * now.screen_a:.1f} mA of screen. Taken for plate current "
            f"they would make {seems_w:.1f} W of a plate that turns {now.plate_w:.1f} W into heat."
        )


def _to_ground(tube: OutputTube, at: AtEdit) -> Iterator[str]:
    now = at.idle.tubes[tube.name]
    cathode_v = at.volts(tube.cathode, "ground")
    seems_w = (now.plate_to_cathode_v + cathode_v) * now.plate_a
    if seems_w - now.plate_w > WORTH_W:
        yield (
            f"Plate volts count from plate to cathode: {now.plate_to_cathode_v:.0f} V at {tube.name}. To ground the "
            f"meter shows {now.plate_to_cathode_v + cathode_v:.0f} V, and {seems_w:.1f} W would come out for "
            f"{now.plate_w:.1f} W."
        )


def _seventy(tube: OutputTube, at: AtEdit, target: Target) -> Iterator[str]:
    if target.most <= 0.70:
        return
    yield (
        f"The rule of 70 percent is for pairs in fixed bias, whose plates heat up with signal. Here ({target.kind}) "
        f"idle is the hottest the plates get: {target.least:.0%} to {target.most:.0%} is usual, and 70 % would only "
        "cost power and add distortion."
    )


def _unloaded(tube: OutputTube, at: AtEdit, cold: Idle) -> Iterator[str]:
    loaded_v = at.idle.joints[tube.feed].volts
    unloaded_v = cold.joints[tube.feed].volts if tube.feed in cold.joints else loaded_v
    if unloaded_v > 1.02 * loaded_v:
        yield (
            f"B+ sags under load: {tube.feed} stands at {unloaded_v:.0f} V with cold tubes and at {loaded_v:.0f} V at "
            f"idle, and moves with every turn. A current worked out from the {unloaded_v:.0f} V comes out "
            f"{1.0 - loaded_v / unloaded_v:.0%} too low: read volts and current of the same moment."
        )


def _one_ohm(tube: OutputTube) -> Iterator[str]:
    if tube.sense is None:
        return
    ohm, name = tube.sense.ohm, tube.sense.name
    if abs(ohm - 1.0) < 0.01:
        yield (
            f"1 mV is 1 mA only over 1 ohm (brown black gold). A 10 ohm resistor (brown black black) at {name} would "
            "show ten times as much. And a meter with two leads reads 1 ohm as 1.1 ohm and more: go by the printed "
            "value."
        )
    else:
        yield f"{name} is {ohm:g} ohm: 1 mA shows as {ohm:g} mV, not as 1 mV."


def _limit(tube: OutputTube) -> Iterator[str]:
    if tube.rating_system == "design-center":
        yield (
            f"The limit of {tube.plate_limit_w:g} W is a design-center figure: it leaves room for mains and parts that "
            "are off. Where a later sheet prints a higher, design-maximum figure, that one leaves none: do not take 70 "
            "percent of it."
        )
    elif tube.rating_system:
        yield (
            f"The limit of {tube.plate_limit_w:g} W is a {tube.rating_system} figure: it leaves no room for high mains "
            "or for a part that is off. Stay in the lower half of the band where the mains is often high."
        )


def _shunt(tube: OutputTube, at: AtEdit) -> Iterator[str]:
    if tube.primary is None:
        return
    past = AMMETER_OHM / (AMMETER_OHM + tube.primary.ohm)
    yield (
        f"No ammeter across the output winding: the meter stands at {at.idle.joints[tube.feed].volts:.0f} V, one slip "
        f"to ground shorts the supply through it, and beside {tube.primary.ohm:g} ohm of copper a meter of "
        f"{AMMETER_OHM:g} ohm misses {past:.0%} of the current. The volts over {tube.primary.name} tell the same, and "
        "safer."
    )
