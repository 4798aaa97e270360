"""What the fuses see when the first filter capacitor shorts."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import Capacitor, Resistor
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.errors import NoIdlePoint
from lugwright.solve.idle import solve_idle

_FILTER_F = 1e-6
_SHORT_S = 1.0  # leak of a shorted capacitor: an ohm


def shorted_supply_a(circuit: Circuit, idle: Idle) -> Mapping[str, float]:
    """Return the current of every fuse with the filter capacitor at the highest volts shorted.

    Parameters
    ----------
    circuit : Circuit
        The circuit of the build.
    idle : Idle
        Its idle.

    Returns
    -------
    mapping of str to float
        RMS by fuse; empty without such a capacitor, or where the shorted circuit has no certified point. [A]

    Valid
    -----
    A short of one ohm, tubes warm, steady.

    Source
    ------
    `solve_idle` of the circuit with that leak.
    """
    filters = [e for e in circuit.elements if isinstance(e, Capacitor) and e.farad >= _FILTER_F]
    if not filters:
        return {}
    first = max(filters, key=lambda c: idle.parts[c.name].volts)
    try:
        shorted = solve_idle(circuit, [Edit(f"{first.name} shorted", (SetValue(first.name, "leak_s", _SHORT_S),))])[0]
    except NoIdlePoint:
        return {}
    return {
        e.name: shorted.parts[e.name].rms_a for e in circuit.elements if isinstance(e, Resistor) and e.role == "fuse"
    }
