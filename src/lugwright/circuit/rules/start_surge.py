"""No electrolytic capacitor is swung above its surge voltage while the amplifier starts."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Can, Capacitor, Part
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.capacitor_volts import pieces
from lugwright.circuit.rules.case import MAINS_HIGH, Checked
from lugwright.circuit.rules.start_case import StartCase
from lugwright.circuit.rules.supply_arithmetic import surge_v
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "start-surge"
SOURCE = "surge voltage 1.15 times the rated one up to 315 V, 1.10 above, from memory: IEC 60384-4"


def start_surge(judged: StartCase) -> Iterator[Checked]:
    """Yield the highest volts of every electrolytic while starting, and a fault above its surge voltage."""
    for part in judged.case.build.parts:
        values = part.values
        if isinstance(values, Can) or (isinstance(values, Capacitor) and values.polar):
            for name in pieces(part):
                yield from _piece(judged, part, name, values.volts)


def _piece(judged: StartCase, part: Part, name: str, rated_v: float) -> Iterator[Checked]:
    course = judged.start.capacitor(name)
    peak_v, limit_v = course.peak_v * MAINS_HIGH, surge_v(rated_v)
    yield Rating(RULE, name, "highest volts while starting, mains +10 %", peak_v, limit_v, "V", SOURCE)
    if peak_v > limit_v:
        yield judged.case.finding(
            RULE, Grade.FAULT, part,
            what=f"capacitor {name} is overcharged while the amplifier starts",
            found=f"{with_unit(peak_v, 'V')} {with_unit(course.peak_s, 's')} after switch-on, mains 10 % high",
            wanted=f"at most {with_unit(limit_v, 'V')}, the surge voltage of a {with_unit(rated_v, 'V')} part",
            do="use a part with a higher rating, a rectifier that warms up slowly, or more resistance before it",
            source=SOURCE,
        )  # fmt: skip
