"""What was measured against what is marked, labelled and stated: where they are too far apart to be believed."""

from __future__ import annotations

from lugwright.bringup.measured_windings import turns_on_mains, winding_of
from lugwright.buildfile.build import Build, Capacitor, Part, Pot, Resistor, Transformer, Tube
from lugwright.catalogue.load import tube_type
from lugwright.errors import CatalogueError
from lugwright.findings import Finding, Grade
from lugwright.log.measured_bodies import AsBuiltBody
from lugwright.log.state import Bench
from lugwright.quantities import with_unit

MAINS_WITHIN = 0.10  # of the stated mains; beyond, another tap of the primary is meant
TURNS_WITHIN = 0.07  # of a label's volts, which are often told under load
COPPER_WITHIN = 0.30  # of the stated ohms; shorted turns and wrong leads are farther off
_SOURCE = "the log of the build"
_AGAIN = "measure it once more with one lead out; if it stays so, swap it, or write what it is into the file"


def doubts_of(build: Build, bench: Bench, subject: str) -> list[Finding]:
    """Return what is to be doubted of one thing that was measured or fitted."""
    if (measured := bench.as_built.get(subject)) is not None:
        body = measured.body
        part = build.part_by_name.get(body.part)
        found = _mains(build, body) if part is None else _winding(build, part, body) or _marked(part, subject, body)
        return [found] if found is not None else []
    return doubts_of_tube(build, bench, subject)


def doubts_of_tube(build: Build, bench: Bench, subject: str) -> list[Finding]:
    """Return that a tube is of another type than its socket is wired for, or than the build file says."""
    tube = bench.tubes.get(subject.removesuffix(" tube"))
    part = build.part_by_name.get(tube.body.socket) if tube is not None else None
    if tube is None or part is None or not isinstance(part.values, Tube) or tube.body.type == part.values.type.name:
        return []
    found = f"{tube.body.type}, fitted on {tube.time[:10]}"
    if _pins(tube.body.type) != part.values.type.terminals():
        return [
            Finding(
                rule="tube-does-not-fit", grade=Grade.FAULT, part=part.name, place=part.place, source=_SOURCE,
                what=f"the socket of {part.name} is not wired for the tube in it",
                found=found,
                wanted=f"{part.values.type.name}, or a type with the same pins",
                do="take it out before anything is switched on; or change the file, plan again and rewire the socket",
            )
        ]  # fmt: skip
    return [
        _doubt(
            "other-tube-fitted", part,
            what=f"{part.name} is another type than the build file says",
            found=found,
            wanted=part.values.type.name,
            do="predictions are of the tube that is in: fit the other one, or change the file",
        )
    ]  # fmt: skip


def _pins(kind: str) -> object:
    try:
        return tube_type(kind).terminals()
    except CatalogueError:
        return None


def _mains(build: Build, body: AsBuiltBody) -> Finding | None:
    low, high = (build.mains_v * share for share in (1.0 - MAINS_WITHIN, 1.0 + MAINS_WITHIN))
    if low <= body.value <= high:
        return None
    return Finding(
        rule="mains-off",
        grade=Grade.FAULT,
        what=f"the mains measure {_off(body.value, build.mains_v)} what the build file states",
        found=f"{body.value:g} V",
        wanted=f"{low:.0f} V to {high:.0f} V",
        do="look which tap of the primary is wired, and what mains it is for, before the plug goes in",
        source=_SOURCE,
    )


def _winding(build: Build, part: Part, body: AsBuiltBody) -> Finding | None:
    """Return that a winding is far from its label: shorted turns, other leads, another transformer."""
    values = part.values
    winding = winding_of(values, body.ends) if isinstance(values, Transformer) else None
    if winding is None:
        return None
    first, last = sorted(winding.ends.index(end) for end in body.ends)
    ohms = body.of == "winding ohm"
    stated = sum((winding.ohms if ohms else winding.turns)[first:last])
    within, unit = (COPPER_WITHIN, "Ω") if ohms else (TURNS_WITHIN, "V")
    value = body.value
    if not ohms and body.at_mains_v and isinstance(values, Transformer):
        primary = next(w for w in values.windings if w.name == "primary")
        value *= turns_on_mains(primary, mains_v=build.mains_v) / body.at_mains_v
    if abs(value / stated - 1.0) <= within:
        return None
    return _doubt(
        "winding-off", part,
        what=f"{part.name} {winding.name} measures {_off(value, stated)} what is stated of it",
        found=with_unit(value, unit) + ("" if ohms else ", counted for the stated mains"),
        wanted=f"{with_unit(stated * (1.0 - within), unit)} to {with_unit(stated * (1.0 + within), unit)}",
        do="look whether these are its leads and nothing is connected to them; then write what it is into the file",
    )  # fmt: skip


def _marked(part: Part, subject: str, body: AsBuiltBody) -> Finding | None:
    """Return that a part is farther off than it is marked."""
    values = part.values
    if not isinstance(values, Resistor | Pot | Capacitor):
        return None
    marked, unit = (values.farad, "F") if isinstance(values, Capacitor) else (values.ohm, "Ω")
    low, high = marked * (1.0 - values.tolerance), marked * (1.0 + values.tolerance)
    if low <= body.value * (1.0 + body.accuracy) and body.value * (1.0 - body.accuracy) <= high:
        return None
    return _doubt(
        "measured-off-its-mark", part,
        what=f"{subject} measures {_off(body.value, marked)} what it is marked",
        found=with_unit(body.value, unit),
        wanted=f"{with_unit(low, unit)} to {with_unit(high, unit)}",
        do=_AGAIN,
    )  # fmt: skip


def _off(value: float, stated: float) -> str:
    return f"{abs(value / stated - 1.0):.1%} {'above' if value > stated else 'below'}"


def _doubt(rule: str, part: Part, *, what: str, found: str, wanted: str, do: str) -> Finding:
    return Finding(
        rule=rule, grade=Grade.DOUBT, part=part.name, place=part.place, what=what, found=found, wanted=wanted, do=do,
        source=_SOURCE,
    )  # fmt: skip
