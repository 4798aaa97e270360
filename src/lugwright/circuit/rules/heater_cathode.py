"""The insulation between heater and cathode stands what lies across it."""

from __future__ import annotations

from collections.abc import Iterator
from operator import itemgetter

from lugwright.buildfile.build import Part, Tube
from lugwright.circuit.operating import Idle, Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "heater-cathode-volts"


def heater_cathode(case: Case) -> Iterator[Checked]:
    """Yield the volts between heater and cathode of every tube, warm and cold, and a fault above the limit."""
    for part, tube in case.parts(Tube):
        limit = tube.type.limits.get("heater_cathode_v")
        if limit is None or tube.type.heater.is_cathode:
            continue
        volts, state, cathode = max(
            (
                (_across_v(idle, part, terminal.joint), words, str(terminal))
                for words, idle in case.states
                for terminal in part.terminals
                if terminal.name == "cathode"
            ),
            key=itemgetter(0),
        )
        yield Rating(RULE, part.name, f"heater to cathode, {state}", volts, limit.value, "V", str(limit.source))
        if volts > limit.value:
            yield case.finding(
                RULE, Grade.FAULT, part,
                what=f"too much between heater and cathode of {part.name} {state}",
                found=f"{with_unit(volts, 'V')} peak between the heater and {cathode}",
                wanted=f"at most {with_unit(limit.value, 'V')} ({tube.type.name})",
                do="lift the heater winding on a direct voltage nearer to the cathode, or use a winding of its own",
                source=str(limit.source),
            )  # fmt: skip


def _across_v(idle: Idle, part: Part, cathode: str) -> float:
    """Return the largest peak between either heater pin and a cathode."""
    peaks = []
    for name in ("heater1", "heater2"):
        heater = idle.joints[part.terminal(name).joint]
        peaks.append(abs(idle.joints[cathode].volts - heater.volts) + 0.5 * heater.ripple_peak_to_peak_v)
    return max(peaks)
