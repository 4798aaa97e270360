"""A rectifier tube is spared: first capacitor, peak and mean current, inverse volts, resistance before it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lugwright.buildfile.build import Part, Transformer, Tube
from lugwright.catalogue.records import Figure
from lugwright.circuit.elements import Capacitor, VacuumDiode
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import MAINS_HIGH, Case, Checked
from lugwright.findings import Finding, Grade
from lugwright.quantities import with_unit

RESERVOIR_RULE, PEAK_RULE, OUTPUT_RULE = "rectifier-reservoir", "rectifier-peak-current", "rectifier-output-current"
INVERSE_RULE, SUPPLY_RULE = "rectifier-inverse-volts", "rectifier-supply-resistance"
RESERVOIR_LEAST_F = 1e-6  # a smaller capacitor only takes the kick of a choke


def rectifier_tube(case: Case) -> Iterator[Checked]:
    """Yield every limit of every rectifier tube, and a fault for each that is passed."""
    for part, tube in case.parts(Tube):
        plates = case.elements(part, VacuumDiode)
        if plates:
            yield from _currents(case, part, tube, plates)
            yield from _surroundings(case, part, tube, plates)


def _currents(case: Case, part: Part, tube: Tube, plates: Sequence[VacuumDiode]) -> Iterator[Checked]:
    idles = [case.idle.parts[p.name] for p in plates]
    both = [idle.parts[p.name] for _, idle in case.states for p in plates]
    rows = (
        (PEAK_RULE, "plate_peak_a", "peak current of a plate", max(p.peak_a for p in idles), "A",
         "more resistance in each plate lead, or a smaller first capacitor"),
        (OUTPUT_RULE, "output_a", "direct current", sum(p.amps for p in idles), "A",
         "use a stronger rectifier, or draw less"),
        (INVERSE_RULE, "inverse_v", "inverse volts, mains +10 %", MAINS_HIGH * max(p.inverse_v for p in both), "V",
         "use a type that stands more, or a winding with fewer volts"),
    )  # fmt: skip
    for rule, key, what, value, unit, do in rows:
        limit = tube.type.limits.get(key)
        if limit is not None:
            yield Rating(rule, part.name, what, value, limit.value, unit, str(limit.source))
            if value > limit.value:
                yield _fault(case, part, tube, rule, what, value, limit, unit, do)


def _surroundings(case: Case, part: Part, tube: Tube, plates: Sequence[VacuumDiode]) -> Iterator[Checked]:
    reservoir_f = sum(
        e.farad for e in case.circuit.elements if isinstance(e, Capacitor) and plates[0].cathode in (e.a, e.b)
    )
    limit = tube.type.limits.get("reservoir_f")
    if limit is not None:
        yield Rating(RESERVOIR_RULE, part.name, "first capacitor", reservoir_f, limit.value, "F", str(limit.source))
        if reservoir_f > limit.value * 1.001:
            yield _fault(
                case, part, tube, RESERVOIR_RULE, "first capacitor", reservoir_f, limit, "F",
                "use a smaller first capacitor; smooth behind a resistor or choke instead",
            )  # fmt: skip
    if reservoir_f >= RESERVOIR_LEAST_F:
        yield from _supply(case, part, tube, plates)


def _supply(case: Case, part: Part, tube: Tube, plates: Sequence[VacuumDiode]) -> Iterator[Checked]:
    plate = min(plates, key=lambda p: supply_resistance_ohm(case, p.anode))
    volts = case.cold.joints[plate.anode].ripple_rms_v
    limit = supply_limit(tube, volts)
    if limit is None:
        return
    ohm = supply_resistance_ohm(case, plate.anode)
    yield Rating(SUPPLY_RULE, part.name, "resistance before a plate", ohm, limit.value, "Ω", str(limit.source), True)
    if ohm < limit.value:
        yield case.finding(
            SUPPLY_RULE, Grade.FAULT, part,
            what=f"too little resistance before the plates of {part.name}",
            found=f"{with_unit(ohm, 'Ω')} in one plate, winding and primary counted",
            wanted=f"at least {with_unit(limit.value, 'Ω')} at {with_unit(volts, 'V')} ({tube.type.name})",
            do=f"put {with_unit(limit.value - ohm, 'Ω')} or more in each plate lead",
            source=str(limit.source),
        )  # fmt: skip


def supply_limit(tube: Tube, plate_rms_v: float) -> Figure | None:
    """Return the least resistance before a plate: of the published row at these volts or the next above."""
    rows = sorted((row["plate_rms_v"], row["supply_ohm"]) for row in tube.type.supply_rows if "supply_ohm" in row)
    general = tube.type.limits.get("supply_ohm")
    ohm = next((r for volts, r in rows if volts >= plate_rms_v), None)
    if ohm is None or general is None:
        return general
    return Figure(ohm, general.source)


def supply_resistance_ohm(case: Case, plate: str) -> float:
    """Return the resistance that charges the reservoir through one plate.

    Parameters
    ----------
    case : Case
        The build.
    plate : str
        Joint of the plate. [-]

    Returns
    -------
    float
        Half winding, resistors in the lead, and the primary's own as the winding sees it. [ohm]

    Source
    ------
    from memory: rectifier sheets, Rt = Rs + n^2 Rp per plate.
    """
    ohm = case.blocked_network.resistance_to_ground_ohm(plate)
    for part, transformer in case.parts(Transformer):
        if transformer.role != "power":
            continue
        primary = transformer.windings[0]
        for winding in transformer.windings[1:]:
            joints = [part.terminal(end).joint for end in winding.ends]
            for joint, turns in ((joints[0], winding.turns[0]), (joints[-1], winding.turns[-1])):
                if _feeds(case, joint, plate):
                    ratio = turns / sum(primary.turns)
                    return ohm + ratio * ratio * sum(primary.ohms)
    return ohm


def _feeds(case: Case, end: str, plate: str) -> bool:
    """Return whether a winding end reaches a plate directly or through resistors only."""
    reached, waiting = {plate}, [plate]
    while waiting:
        joint = waiting.pop()
        for part in case.build.parts:
            if part.kind == "resistor" and joint in (ends := [t.joint for t in part.terminals]):
                fresh = [e for e in ends if e not in reached and e != case.circuit.ground]
                reached.update(fresh)
                waiting.extend(fresh)
    return end in reached


def _fault(
    case: Case, part: Part, tube: Tube, rule: str, what: str, value: float, limit: Figure, unit: str, do: str
) -> Finding:
    return case.finding(
        rule, Grade.FAULT, part,
        what=f"rectifier {part.name}: {what} above its limit",
        found=with_unit(value, unit),
        wanted=f"at most {with_unit(limit.value, unit)} ({tube.type.name})",
        do=do,
        source=str(limit.source),
    )  # fmt: skip
