"""A limit nobody has published is not invented: the book says which checks were not made."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Part, Tube
from lugwright.circuit.elements import VacuumDiode
from lugwright.circuit.rules.case import Case, Checked
from lugwright.circuit.rules.grid_circuit import is_cathode_biased
from lugwright.circuit.rules.tube_volts import cold_limit
from lugwright.findings import Grade

RULE = "limit-unknown"
_WORDS = {
    "plate_w": "plate watts", "screen_w": "screen watts", "plate_v": "plate volts", "screen_v": "screen volts",
    "plate_cold_v": "cold plate volts", "screen_cold_v": "cold screen volts", "cathode_a": "cathode current",
    "heater_cathode_v": "heater-to-cathode volts", "grid_ohm_fixed": "grid circuit with fixed bias",
    "grid_ohm_self": "grid circuit with cathode bias", "inverse_v": "inverse volts", "output_a": "direct current",
    "plate_peak_a": "peak plate current", "reservoir_f": "first capacitor", "supply_ohm": "resistance before a plate",
}  # fmt: skip
_RECTIFIER = ("inverse_v", "output_a", "plate_peak_a", "reservoir_f", "supply_ohm")


def unknown_limits(case: Case) -> Iterator[Checked]:
    """Yield one note for each tube type with limits that could not be checked."""
    wanted: dict[str, tuple[Part, Tube, set[str]]] = {}
    rectifiers = {e.name.split(".")[0] for e in case.circuit.elements if isinstance(e, VacuumDiode)}
    for part, tube in case.parts(Tube):
        keys = set(_RECTIFIER) if part.name in rectifiers else _amplifier_keys(case, part, tube)
        if not tube.type.heater.is_cathode:
            keys.add("heater_cathode_v")
        first = wanted.setdefault(tube.type.name, (part, tube, set()))
        first[2].update(keys)
    for name, (part, tube, keys) in wanted.items():
        missing = [_WORDS[key] for key in _WORDS if key in keys and key not in tube.type.limits]
        if missing:
            yield case.finding(
                RULE, Grade.NOTE, part,
                what=f"{len(missing)} limit{'s' if len(missing) > 1 else ''} of the {name} could not be checked",
                found=f"no figure for {', '.join(missing)}",
                wanted="the figure from a maker's sheet",
                do=f"look it up, and add it to the data file of the {name}",
            )  # fmt: skip


def _amplifier_keys(case: Case, part: Part, tube: Tube) -> set[str]:
    keys = {"plate_w", "plate_v", "cathode_a"}
    for section in tube.type.sections:
        cold = case.cold.tubes.get(f"{part.name}{section.letter}")
        if cold is None:
            continue
        keys.add("grid_ohm_self" if is_cathode_biased(case, part, section.letter) else "grid_ohm_fixed")
        if cold_limit(tube, "plate", cold.plate_to_cathode_v) is None:
            keys.add("plate_cold_v")
        if cold.screen_to_cathode_v is not None:
            keys |= {"screen_w", "screen_v"}
            if cold_limit(tube, "screen", cold.screen_to_cathode_v) is None:
                keys.add("screen_cold_v")
    return keys
