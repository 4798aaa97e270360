"""Every output transformer works into a speaker."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Part, Speaker, Transformer
from lugwright.circuit.elements import Resistor
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade

RULE = "speaker-not-joined"
_CONTACT_OHM = 1.0


def speaker_load(case: Case) -> Iterator[Checked]:
    """Yield a doubt when no speaker hangs on an output transformer as its switches and jacks stand."""
    speakers = [part for part, _ in case.parts(Speaker)]
    if not speakers:
        return
    joined = [_reached(case, part) for part in speakers]
    for part, transformer in case.parts(Transformer):
        if transformer.role != "output":
            continue
        ends = [part.terminal(e).joint for winding in transformer.windings[1:] for e in winding.ends]
        if not any(set(ends) & reach for reach in joined):
            yield case.finding(
                RULE, Grade.DOUBT, part,
                what=f"no speaker is joined to {part.name}",
                found=f"{', '.join(p.name for p in speakers)} not reached from {', '.join(ends)}",
                wanted="a speaker on the winding, as the switches stand",
                do="join it, or set the speaker switch; without load the transformer makes voltages that destroy it",
            )  # fmt: skip


def _reached(case: Case, speaker: Part) -> set[str]:
    """Return the joints that closed contacts join to the hot end of a speaker."""
    start = next((t.joint for t in speaker.terminals if t.joint != case.circuit.ground), case.circuit.ground)
    found, waiting = {start}, [start]
    while waiting:
        joint = waiting.pop()
        for element in case.circuit.elements:
            closed = isinstance(element, Resistor) and element.ohm < _CONTACT_OHM
            if closed and joint in element.joints:
                for other in element.joints:
                    if other not in found and other != case.circuit.ground:
                        found.add(other)
                        waiting.append(other)
    return found
