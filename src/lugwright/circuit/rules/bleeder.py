"""Every filter capacitor is below 60 V a minute after switch-off, in whatever position the switches stand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from lugwright.buildfile.build import Switch
from lugwright.circuit.elements import Capacitor
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.circuit.rules.dc_network import DcNetwork
from lugwright.circuit.rules.discharge import (
    LONGEST_S,
    SAFE_V,
    SAFE_WITHIN_S,
    network_seconds_to_safe_s,
    stored_energy_j,
)
from lugwright.findings import Finding, Grade
from lugwright.quantities import with_unit

RULE = "bleeder-time"
SOURCE = "60 V within 60 s: t = R C ln(V0 / 60 V); 60 V direct is the touch limit of IEC 62368-1, from memory"
_LEAST_F = 1e-6
_LEAK_S = 1e-9


def bleeder(case: Case) -> Iterator[Checked]:
    """Yield the seconds every filter capacitor needs to 60 V with cold tubes, and a finding where it is long."""
    capacitors = [
        e
        for e in case.circuit.elements
        if isinstance(e, Capacitor) and e.farad >= _LEAST_F and _start_v(case, e.name) > SAFE_V
    ]
    if not capacitors:
        return
    closed = _seconds(case, capacitors, frozenset())
    switches = _live_switches(case)
    opened = _seconds(case, capacitors, frozenset(name for names in switches.values() for name in names))
    for capacitor, seconds, worst in zip(capacitors, closed, opened, strict=True):
        seconds, worst = float(seconds), float(worst)
        longest = max(seconds, worst)
        yield Rating(RULE, capacitor.name, "time to 60 V after switch-off", longest, SAFE_WITHIN_S, "s", SOURCE)
        if longest > SAFE_WITHIN_S:
            by_switch = ", ".join(switches) if worst > seconds else ""
            yield _finding(case, capacitor, longest, by_switch)


def _start_v(case: Case, name: str) -> float:
    return max(abs(idle.parts[name].peak_v) for _, idle in case.states)


def _seconds(case: Case, capacitors: list[Capacitor], opened: frozenset[str]) -> list[float]:
    network = DcNetwork(case.circuit, opened=opened, leak_s=_LEAK_S)
    signs = [1.0 if case.cold.parts[c.name].volts >= 0 else -1.0 for c in capacitors]
    start = np.array([s * _start_v(case, c.name) for s, c in zip(signs, capacitors, strict=True)])
    farads = np.array([c.farad for c in capacitors])
    return list(network_seconds_to_safe_s(network.port_resistances_ohm(capacitors), farads, start))


def _live_switches(case: Case) -> dict[str, list[str]]:
    """Return the switches that stand at more than 60 V direct, each with its contacts: the standby switch."""
    return {
        part.name: [e.name for e in case.circuit.elements if e.name.startswith(f"{part.name}.")]
        for part, _ in case.parts(Switch)
        if any(abs(idle.joints[t.joint].volts) > SAFE_V for t in part.terminals for _, idle in case.states)
    }


def _finding(case: Case, capacitor: Capacitor, seconds: float, by_switch: str) -> Finding:
    part = case.build.part(capacitor.name.split(".")[0])
    start_v = _start_v(case, capacitor.name)
    none = seconds >= 0.999 * LONGEST_S
    energy = stored_energy_j(farad=capacitor.farad, volts=start_v)
    finding = case.finding(
        RULE, Grade.DANGER if none else Grade.DOUBT, part,
        what=f"{capacitor.name} {'stays charged' if none else 'stays dangerous for long'} after switch-off",
        found=f"{with_unit(start_v, 'V')} ({energy:.2g} J) with "
        + ("no path that empties it" if none else f"{_minutes(seconds)} to 60 V while the tubes are cold"),
        wanted=f"60 V or less within {SAFE_WITHIN_S:g} s",
        do="put a bleeder resistor across it" if none else "put a bleeder resistor across it, or a smaller one",
        source=SOURCE,
    )  # fmt: skip
    if by_switch:
        return replace(finding, found=f"{finding.found}, with {by_switch} open",
                       do="put a bleeder on its side of the switch")  # fmt: skip
    return finding


def _minutes(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 600.0 else f"{seconds / 60.0:.0f} min"
