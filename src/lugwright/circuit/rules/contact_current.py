"""No switch contact carries more than it is rated for."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Switch
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "contact-current"
SOURCE = "rating of the switch as the build file states it"


def contact_current(case: Case) -> Iterator[Checked]:
    """Yield the largest contact current of every switch, and a fault above its rating."""
    for part, switch in case.parts(Switch):
        contacts = [name for name in case.idle.parts if name.startswith(f"{part.name}.")]
        if not contacts:
            continue
        amps = max(idle.parts[name].rms_a for _, idle in case.states for name in contacts)
        yield Rating(RULE, part.name, "contact current, RMS", amps, switch.amps, "A", SOURCE)
        if amps > switch.amps:
            yield case.finding(
                RULE, Grade.FAULT, part,
                what=f"the contacts of switch {part.name} carry too much",
                found=f"{with_unit(amps, 'A')} RMS",
                wanted=f"at most {with_unit(switch.amps, 'A')}",
                do="use a stronger switch",
                source=SOURCE,
            )  # fmt: skip
