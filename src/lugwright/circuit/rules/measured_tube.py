"""A tube computed from its own readings: every figure of the build then holds for that tube only."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Tube
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade

RULE = "measured-tube"


def measured_tube(case: Case) -> Iterator[Checked]:
    """Yield a note for each tube with figures of its own."""
    for part, tube in case.parts(Tube):
        if tube.measured:
            figures = [
                f"section {letter}: emission {specimen.emission:g}" if letter else f"emission {specimen.emission:g}"
                for letter, specimen in sorted(tube.measured.items())
            ]
            yield case.finding(
                RULE, Grade.NOTE, part,
                what=f"{part.name} is computed as one measured {tube.type.name}, not as an average one",
                found=", ".join(figures),
                wanted=f"that very tube in the socket of {part.name}",
                do="take the measured figures out, or write those of the new tube, when another goes in; set the "
                "idle again",
            )  # fmt: skip
