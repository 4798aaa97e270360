"""Protective earth: from the inlet's earth pin to everything metal that a hand can touch."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from lugwright.bringup.results import Reading
from lugwright.buildfile.build import CHASSIS, EARTH, Build, Choke, Inlet, Jack, Part, Pot, Switch, Transformer

BOND_OHM = 0.1  # leads zeroed; from memory of safety tests of earthed devices
SLEEVE_OHM = 0.2  # through the circuit's ground and its bond
INSULATED_FROM_OHM = 20e6  # where the simplest hand meters end, from memory
FAR = "chassis.far"
_METAL = (Transformer, Choke, Pot, Switch)
CLOSED = "fuse in, mains switch on"
DEADLY = "a wire that comes loose inside makes this metal live"
LIVE = "the metal is live as soon as the plug is in"


def earth_readings(build: Build) -> tuple[Reading, ...]:
    """Return the readings of the earth bond, and those that show the mains clear of the metal."""
    return tuple(
        reading for part in build.parts if isinstance(part.values, Inlet) for reading in _readings(build, part)
    )


def metal_places(build: Build) -> Iterator[tuple[str, str]]:
    """Yield the key and the words of every place on the metal that a hand can touch, beside the sleeves of jacks."""
    yield FAR, "the far corner of the chassis"
    for part in build.parts:
        if isinstance(part.values, _METAL):
            yield f"{part.name}.metal", _metal_of(part)


def _readings(build: Build, inlet: Part) -> Iterator[Reading]:
    pin = f"{inlet.name} earth pin"
    red = f"{inlet.name}.earth"
    note = "leads zeroed; scrape through paint and lacquer, here and below"
    yield replace(_bond(f"{pin} to bare chassis metal beside the earth bolt", red, CHASSIS, BOND_OHM), note=note)
    for key, words in metal_places(build):
        yield _bond(f"{pin} to {words}", red, key, BOND_OHM)
    for part in build.parts:
        if isinstance(part.values, Jack):
            yield _bond(f"{pin} to the sleeve of {part.name}", red, f"{part.name}.sleeve", SLEEVE_OHM)
    for name in ("line", "neutral"):
        yield Reading(
            f"{inlet.name} {name} to {inlet.name} earth, {CLOSED}", EARTH, "ohms",
            math.inf, INSULATED_FROM_OHM, math.inf, "ohm", "nothing at all between the mains and the metal",
            red=f"{inlet.name}.{name}", black=red, at=CLOSED, guards=LIVE, deadly=True,
        )  # fmt: skip


def _metal_of(part: Part) -> str:
    label = getattr(part.values, "label", "")
    what = "core"
    if isinstance(part.values, Pot):
        what = "shaft"
    elif isinstance(part.values, Switch):
        what = "lever or bushing"
    return f"the {what} of {part.name} {label}".strip()


def _bond(words: str, red: str, black: str, most_ohm: float) -> Reading:
    return Reading(
        words, EARTH, "ohms", 0.0, 0.0, most_ohm, "ohm",
        red=red, black=black, guards=DEADLY, deadly=True,
    )  # fmt: skip
