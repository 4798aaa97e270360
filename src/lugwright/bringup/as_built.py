"""The build as it stands on the bench: measured values in place of the stated ones, with the meter's accuracy."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from lugwright.bringup.as_built_doubts import doubts_of, doubts_of_tube
from lugwright.bringup.measured_windings import measured_ohms, measured_turns, winding_of
from lugwright.buildfile.build import Build, Can, Capacitor, Choke, Part, Pot, Resistor, Switch, Transformer, Tube
from lugwright.buildfile.part_words import value_words
from lugwright.catalogue.load import tube_type
from lugwright.circuit.tubes.measured_emission import measured_specimen
from lugwright.errors import CatalogueError
from lugwright.findings import Finding
from lugwright.log.measured_bodies import AsBuiltBody, SettingBody, TubeFittedBody
from lugwright.log.state import Bench

MAINS = "mains"
MAINS_WANDER = 0.01  # assumed: how far the mains move within the hour after they were read


@dataclass(frozen=True)
class AsBuilt:
    """The build with what was measured; ``unused`` says why a value of the log is not in it."""

    build: Build
    used: tuple[str, ...] = ()
    unused: Mapping[str, str] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()


class Unused(Exception):
    """A measured value that cannot be used for this build."""


def as_built(build: Build, bench: Bench, *, keep: frozenset[str] = frozenset()) -> AsBuilt:
    """Return the build with every measured value, fitted tube and setting of the log in it.

    Parameters
    ----------
    build : Build
        As its file states it.
    bench : Bench
        What the log says of one copy.
    keep : frozenset of str
        Parts that stay as stated: values that are tried out.

    Returns
    -------
    AsBuilt
        The build, and what of the log is in it. The mains may be off by the meter's accuracy and 1 percent of
        their own, a measured part by the meter's accuracy alone.

    Valid
    -----
    A value counts as long as the build file states of the part what it stated when it was measured.

    Source
    ------
    The log.
    """
    used: list[str] = []
    unused: dict[str, str] = {}
    findings: list[Finding] = []
    now = build
    for subject, apply in _all_of(bench):
        name = subject.split(" ")[0].split(".")[0]
        try:
            if name in keep:
                raise Unused(f"{name} is tried out with another value")
            now = apply(build, now)
        except Unused as why:
            unused[subject] = str(why)
            findings += doubts_of_tube(build, bench, subject)
        else:
            used.append(subject)
            findings += doubts_of(build, bench, subject)
    return AsBuilt(now, tuple(used), unused, tuple(findings))


def _all_of(bench: Bench) -> list[tuple[str, Callable[[Build, Build], Build]]]:
    """Return everything that changes a build, by what it is about, in the order in which it was written down."""
    found: list[tuple[str, str, Callable[[Build, Build], Build]]] = []
    found += [(each.time, subject, partial(_measured, each.body)) for subject, each in bench.as_built.items()]
    found += [(each.time, f"{socket} tube", partial(_fitted, each.body)) for socket, each in bench.tubes.items()]
    found += [(each.time, f"{name} setting", partial(_set, each.body)) for name, each in bench.settings.items()]
    return [(subject, apply) for _, subject, apply in sorted(found, key=lambda each: each[0])]


def stated_words(build: Build, body: AsBuiltBody) -> str:
    """Return what a build file says of what is measured: a measured value belongs to that alone."""
    if body.of == "mains volts":
        return f"{build.mains_v:g} V"
    part = build.part_by_name.get(body.part)
    if part is None:
        return ""
    if isinstance(part.values, Transformer) and body.ends:
        winding = winding_of(part.values, body.ends)
        if winding is not None:
            turns, ohms = (" + ".join(f"{x:g}" for x in row) for row in (winding.turns, winding.ohms))
            return f"{winding.name} {turns} {'V' if part.values.role == 'power' else 'turns'}, {ohms} ohm"
    return value_words(part.values)


def _measured(body: AsBuiltBody, stated: Build, now: Build) -> Build:
    words = stated_words(stated, body)
    if not words:
        raise Unused(f"{body.part} is no longer in the build")
    if body.stated and body.stated != words:
        raise Unused(f"measured when the build file said {body.stated}, now it says {words}")
    if body.of == "mains volts":
        spread = math.hypot(body.accuracy, MAINS_WANDER)
        return replace(now, mains_v=body.value, mains_spread=spread)
    part = now.part(body.part)
    apply = _APPLIED.get((body.of, type(part.values)))
    if apply is None:
        raise Unused(f"{body.part} is {value_words(part.values)}: {body.of} says nothing of it")
    return _with_part(now, part, apply(stated, part.values, body))


def _with_part(build: Build, part: Part, values: Any) -> Build:
    parts = tuple(replace(each, values=values) if each.name == part.name else each for each in build.parts)
    return replace(build, parts=parts)


def _ohmic(stated: Build, values: Resistor | Pot, body: AsBuiltBody) -> Resistor | Pot:
    return replace(values, ohm=body.value, tolerance=body.accuracy)


def _capacitor(stated: Build, values: Capacitor, body: AsBuiltBody) -> Capacitor:
    return replace(values, farad=body.value, tolerance=body.accuracy)


def _can(stated: Build, values: Can, body: AsBuiltBody) -> Can:
    at = ord(body.ends[0]) - ord("a") if body.ends and len(body.ends[0]) == 1 else -1
    if not 0 <= at < len(values.farads):
        raise Unused(f"{body.part} has no section {''.join(body.ends)}")
    return replace(values, farads=tuple(body.value if k == at else f for k, f in enumerate(values.farads)))


def _choke(stated: Build, values: Choke, body: AsBuiltBody) -> Choke:
    return replace(values, ohm=body.value, copper_spread=body.accuracy)


def _windings(stated: Build, values: Transformer, body: AsBuiltBody) -> Transformer:
    found = measured_ohms if body.of == "winding ohm" else measured_turns
    windings = found(values, body, mains_v=stated.mains_v)
    if windings is None:
        raise Unused(f"{body.part} has no winding from {' to '.join(body.ends)}")
    return replace(values, windings=windings)


_APPLIED: Mapping[tuple[str, type[Any]], Callable[[Build, Any, AsBuiltBody], Any]] = {
    ("ohm", Resistor): _ohmic,
    ("ohm", Pot): _ohmic,
    ("ohm", Choke): _choke,
    ("farad", Capacitor): _capacitor,
    ("farad", Can): _can,
    ("winding ohm", Transformer): _windings,
    ("unloaded volts", Transformer): _windings,
}


def _fitted(body: TubeFittedBody, stated: Build, now: Build) -> Build:
    part = now.part_by_name.get(body.socket)
    if part is None or not isinstance(part.values, Tube):
        raise Unused(f"{body.socket} is no longer a tube of the build")
    values = part.values
    try:
        kind = tube_type(body.type)
    except CatalogueError:
        raise Unused(f"the type {body.type} is not known") from None
    if kind.name != values.type.name:
        if kind.terminals() != values.type.terminals():
            raise Unused(f"{kind.name} has other pins than {values.type.name}")
        values = replace(values, type=kind, measured={})
    elif not body.measured:
        raise Unused("it is of the type of the build file, and nothing was measured of it")
    measured = dict(values.measured)
    for one in body.measured:
        specimen = measured_specimen(
            kind.law, measured.get(one.section), plate_a=one.plate_a, plate_v=one.plate_v, grid_v=one.grid_v,
            screen_v=one.screen_v,
        )  # fmt: skip
        if specimen is None:
            raise Unused(f"{kind.name} draws nothing at the volts it was measured at, or has no law")
        measured[one.section] = specimen
    return _with_part(now, part, replace(values, measured=measured))


def _set(body: SettingBody, stated: Build, now: Build) -> Build:
    part = now.part_by_name.get(body.control)
    if part is not None and isinstance(part.values, Pot) and body.share is not None:
        return _with_part(now, part, replace(part.values, setting=body.share))
    if part is not None and isinstance(part.values, Switch) and body.position in part.values.positions:
        return _with_part(now, part, replace(part.values, position=body.position))
    raise Unused(f"{body.control} has no position {body.position!r}")
