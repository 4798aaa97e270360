"""Plates and screens stay below their watts."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Part, Tube
from lugwright.catalogue.records import Figure
from lugwright.circuit.operating import Rating, TubeIdle
from lugwright.circuit.power_tubes import power_tubes
from lugwright.circuit.rules.case import Case, Checked
from lugwright.circuit.rules.grid_circuit import is_cathode_biased
from lugwright.findings import Finding, Grade
from lugwright.quantities import with_unit

PLATE_RULE, SCREEN_RULE, COLD_RULE = "plate-watts", "screen-watts", "idle-cold"
CATHODE_BIAS_SHARE, FIXED_BIAS_SHARE = 0.90, 0.75
COLD_SHARE = 0.30  # an output tube below this is as good as cut off around the zero of the signal
_COOLER = {True: "use a larger cathode resistor", False: "make its bias more negative"}
SHARE_SOURCE = "idle at 90 % with cathode bias, 75 % with fixed bias: bench practice, quoted from builders' pages"
COLD_SOURCE = "our own mark, well below the 50 to 70 % of common practice"


def plate_heat(case: Case) -> Iterator[Checked]:
    """Yield the plate heat of every section, and a finding above its limit or above a wise idle."""
    outputs = power_tubes(case.build)
    for part, tube, letter, idle in case.sections():
        limit = tube.type.limits.get("plate_w")
        if limit is not None:
            yield from _judged(case, part, tube, letter, idle, PLATE_RULE, idle.plate_w, limit)
            if part in outputs and idle.screen_to_cathode_v is not None and idle.plate_w < COLD_SHARE * limit.value:
                yield _cold(case, part, letter, share=idle.plate_w / limit.value)


def _cold(case: Case, part: Part, letter: str, *, share: float) -> Finding:
    by_cathode = is_cathode_biased(case, part, letter)
    return case.finding(
        COLD_RULE, Grade.DOUBT, part,
        what=f"{part.name}{letter} idles cold",
        found=f"{share:.0%} of its plate limit",
        wanted=f"{COLD_SHARE:.0%} or more: below, soft notes are rough (crossover distortion)",
        do="use a smaller cathode resistor" if by_cathode else "make its bias less negative",
        source=COLD_SOURCE,
    )  # fmt: skip


def screen_heat(case: Case) -> Iterator[Checked]:
    """Yield the screen heat of every pentode, and a finding above its limit."""
    for part, tube, letter, idle in case.sections():
        limit = tube.type.limits.get("screen_w")
        if limit is not None and idle.screen_to_cathode_v is not None:
            yield from _judged(case, part, tube, letter, idle, SCREEN_RULE, idle.screen_w, limit)


def _judged(
    case: Case, part: Part, tube: Tube, letter: str, idle: TubeIdle, rule: str, heat_w: float, limit: Figure
) -> Iterator[Checked]:
    name, where = f"{part.name}{letter}", "plate" if rule == PLATE_RULE else "screen"
    yield Rating(rule, name, f"{where} heat", heat_w, limit.value, "W", str(limit.source))
    by_cathode, screened = is_cathode_biased(case, part, letter), idle.screen_to_cathode_v is not None
    wise = CATHODE_BIAS_SHARE if by_cathode else FIXED_BIAS_SHARE
    if heat_w > limit.value:
        yield case.finding(
            rule, Grade.FAULT, part,
            what=f"the {where} of {name} is overloaded",
            found=f"{with_unit(heat_w, 'W')} ({heat_w / limit.value:.0%})",
            wanted=f"at most {limit.value:g} W ({tube.type.name})",
            do=f"{_COOLER[by_cathode]}, or make its {'screen' if screened else 'plate'} volts lower",
            source=str(limit.source),
        )  # fmt: skip
    elif rule == PLATE_RULE and screened and heat_w > wise * limit.value:
        yield case.finding(
            rule, Grade.DOUBT, part,
            what=f"{name} idles hot",
            found=f"{with_unit(heat_w, 'W')} of {limit.value:g} W ({heat_w / limit.value:.0%})",
            wanted=f"at most {wise:.0%} with {'cathode' if by_cathode else 'fixed'} bias",
            do=_COOLER[by_cathode],
            source=SHARE_SOURCE,
        )  # fmt: skip
