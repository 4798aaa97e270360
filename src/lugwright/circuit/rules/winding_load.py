"""No winding of a power transformer carries more than it is rated for."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Lamp, Part, Transformer, Tube, Winding
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

HEATER_RULE, SUPPLY_RULE, WHOLE_RULE = "heater-winding-load", "supply-winding-load", "transformer-load"
# A winding made for one tube gives it a little more where hardly anything else loads its transformer.
DOUBT_UP_TO = 1.05  # times its rating
REMEDIES = {
    HEATER_RULE: "use a transformer with a stronger winding, or fewer tubes on this one",
    SUPPLY_RULE: "use a transformer with a stronger winding; the RMS current is 1.2 to 2.3 times the direct current",
}
A_LITTLE = "after an hour, plug out, feel the transformer: too hot for a hand wants a stronger winding"
SOURCE = "rating of the winding as the build file states it"


def winding_load(case: Case) -> Iterator[Checked]:
    """Yield the current of every rated secondary, and a fault for each that is overloaded."""
    for part, transformer in case.parts(Transformer):
        if transformer.role == "power":
            for winding in transformer.windings[1:]:
                yield from _winding(case, part, winding)
            yield from _whole(case, part, transformer)


def _winding(case: Case, part: Part, winding: Winding) -> Iterator[Checked]:
    name = f"{part.name}.{winding.name}"
    rule, what = (HEATER_RULE, "heater load") if name in case.of_build(_heating) else (SUPPLY_RULE, "winding current")
    if winding.amps is None:
        yield case.finding(
            "winding-rating-unknown", Grade.NOTE, part,
            what=f"{name} has no stated rating, its load was not checked",
            found=f"{with_unit(case.idle.windings[name].rms_a, 'A')} at idle",
            wanted="amps of the winding, from the maker's label",
            do=f"write amps for winding {winding.name} of {part.name}",
        )  # fmt: skip
        return
    load_a = max(idle.windings[name].rms_a for _, idle in case.states)
    yield Rating(rule, name, f"{what}, RMS", load_a, winding.amps, "A", SOURCE)
    if load_a > winding.amps:
        little = load_a <= DOUBT_UP_TO * winding.amps
        yield case.finding(
            rule, Grade.DOUBT if little else Grade.FAULT, part,
            what=f"winding {name} is overloaded{' a little' if little else ''}",
            found=f"{with_unit(load_a, 'A')} RMS",
            wanted=f"at most {with_unit(winding.amps, 'A')}",
            do=A_LITTLE if little else REMEDIES[rule],
            source=SOURCE,
        )  # fmt: skip


def _whole(case: Case, part: Part, transformer: Transformer) -> Iterator[Checked]:
    """Yield the volt-amperes of all secondaries together, where each of them has a rating."""
    rated_va = load_va = 0.0
    for winding in transformer.windings[1:]:
        if winding.amps is None:
            return
        rms_v = max(idle.windings[f"{part.name}.{winding.name}"].rms_v for _, idle in case.states)
        rated_va += rms_v * winding.amps
        load_va += rms_v * max(idle.windings[f"{part.name}.{winding.name}"].rms_a for _, idle in case.states)
    if rated_va > 0.0:
        yield Rating(WHOLE_RULE, part.name, "volt-amperes of all secondaries", load_va, rated_va, "VA", SOURCE)


def _heating(case: Case) -> set[str]:
    """Return the windings that heat."""
    return {
        f"{part.name}.{winding.name}"
        for part, transformer in case.parts(Transformer)
        for winding in transformer.windings[1:]
        if _heats(case, part, winding)
    }


def _heats(case: Case, part: Part, winding: Winding) -> bool:
    """Return whether heaters or lamps stand directly on the winding."""
    joints = {part.terminal(end).joint for end in winding.ends}
    return any(
        terminal.joint in joints and (isinstance(user.values, Lamp) or terminal.name.startswith("heater"))
        for user in case.build.parts
        if isinstance(user.values, Tube | Lamp)
        for terminal in user.terminals
    )
