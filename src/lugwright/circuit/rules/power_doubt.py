"""A tube type whose published rows are too few promises no power: the book says so."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Part, Tube
from lugwright.circuit.power_tubes import power_tubes
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade

RULE = "power-unproven"


def power_doubt(case: Case) -> Iterator[Checked]:
    """Yield one note for each tube type whose law promises no power, or no supply volts under load."""
    doubtful: dict[str, tuple[Part, Tube, str]] = {}
    powerful = power_tubes(case.build)
    for part, tube in case.parts(Tube):
        if tube.type.power_doubt and (part in powerful or tube.type.kind == "rectifier"):
            doubtful.setdefault(tube.type.name, (part, tube, tube.type.power_doubt))
    for name, (part, tube, doubt) in doubtful.items():
        supply = tube.type.kind == "rectifier"
        yield case.finding(
            RULE, Grade.NOTE, part,
            what=f"the law of the {name} promises {'no supply volts under load' if supply else 'no power'}",
            found=doubt,
            wanted="rows of a maker's sheet that pin it down",
            do="rely on its heater, pins and limits, and measure the rest; or add rows to its data file and fit it",
        )  # fmt: skip
