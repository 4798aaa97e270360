"""What faults do to an amplifier, solved whole: the direction that anyone who has traced faults knows by heart.

A meter of 10 Mohm stands on the joint named, where the fault would leave it hanging in the air.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import replace

import pytest

from lugwright.circuit.operating import Idle
from lugwright.circuit.rewiring import Bridge, rewired
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle

from .bench import circuit_of, faults
from .one_stage import number_of

METER_OHM = 10e6
STAGE, PAIR = "", "godwit_40"


@functools.cache
def solved(name: str, key: str, meter: str = "") -> Idle:
    circuit = circuit_of(name)
    if not key:
        return read_idle(solve_columns(circuit)[0])
    rewiring = faults(name)[key].rewiring
    if meter:
        rewiring = replace(rewiring, bridges=(*rewiring.bridges, Bridge(meter, "ground", METER_OHM)))
    return read_idle(solve_columns(rewired(circuit, rewiring), [rewiring.edit])[0])


class Against:
    """Readings under a fault (``now``) and in the good build (``was``)."""

    def __init__(self, name: str, key: str, meter: str = "") -> None:
        self.fault, self.good = solved(name, key, meter), solved(name, "")

    def now(self, joint: str) -> float:
        return self.fault.joints[joint].volts

    def was(self, joint: str) -> float:
        return self.good.joints[joint].volts

    def times(self, joint: str) -> float:
        return self.now(joint) / self.was(joint)

    def ripple_times(self, joint: str) -> float:
        return self.fault.joints[joint].ripple_rms_v / self.good.joints[joint].ripple_rms_v

    def same(self, *joints: str, within: float = 0.01) -> bool:
        return all(abs(self.now(j) - self.was(j)) <= within * max(1.0, abs(self.was(j))) for j in joints)

    def amps(self, tube: str) -> float:
        return self.fault.tubes[tube].cathode_a

    def amps_times(self, tube: str) -> float:
        return self.amps(tube) / self.good.tubes[tube].cathode_a


def dead(a: Against) -> bool:
    """Return whether the first section draws nothing: its plate at the supply, its cathode at nothing."""
    return a.now(VK) < 0.01 and a.now(VA) > 0.99 * a.now(BP)


VA, VK, BP = "V1a.plate", "V1a.cathode", "B+1"
W = number_of
# Build, fault, entry, meter on, what is to be seen.
CASES: tuple[tuple[str, str, str, str, Callable[[Against], bool]], ...] = (
    (STAGE, "open R3", "F40", VA, lambda a: a.now(VA) < 30.0 and a.now(VK) < 0.1),
    (STAGE, "decade R3 1e+04", "F41", "", lambda a: a.times(VA) > 1.1 and a.times(VK) > 1.1),
    (STAGE, "decade R3 1e+06", "F42", "", lambda a: a.times(VA) < 0.7 and a.times(VK) < 0.7),
    (STAGE, "open R4", "F43", VK, lambda a: a.now(VA) > 0.95 * a.now(BP) and 1.5 < a.now(VK) < 60.0),
    (STAGE, "shorted R4", "F44", "", lambda a: a.now(VK) < 0.02 and a.times(VA) < 0.85),
    (STAGE, "shorted C1", "F44", "", lambda a: a.now(VK) < 0.1 and a.times(VA) < 0.85),
    (STAGE, "decade R4 150", "F45", "", lambda a: 0.05 < a.now(VK) < 0.5 * a.was(VK) and a.times(VA) < 0.85),
    (STAGE, "decade R4 1.5e+04", "F45", "", lambda a: a.times(VK) > 1.2 and a.times(VA) > 1.1),
    (STAGE, "reversed C1", "F46", "", lambda a: a.times(VK) < 0.85 and a.times(VA) < 1.0),
    (STAGE, "leaky C1", "F46", "", lambda a: 0.8 < a.times(VK) < 1.0),
    (STAGE, "open C1", "F47", "", lambda a: a.same(VA, VK, BP)),
    (STAGE, "no ground R5.1", "F66", "", lambda a: a.times("V1b.plate") < 0.9),
    (STAGE, "leaky C2 1e+07", "F51", "", lambda a: a.now("V1b.grid") > 0.1 and a.times("V1b.plate") < 1.0),
    (STAGE, "leaky C2 1e+06", "F51", "", lambda a: a.times("V1b.plate") < 0.8 and a.times("V1b.cathode") > 1.3),
    (STAGE, "open C2", "F52", "", lambda a: a.same(VA, "V1b.plate", BP)),
    (STAGE, "decade C2 2.2e-09", "F53", "", lambda a: a.same(VA, "V1b.plate", BP)),
    (STAGE, f"missing W{W('T1.heater.3', 'V1.9')}", "F10", "", dead),
    (STAGE, "heater open V1", "F10", "", dead),
    (STAGE, "series V1", "F11", "", lambda a: a.times(VA) > 1.02 and a.times(VK) < 0.95),
    (STAGE, f"missing W{W('T1.heater.2', 'ground.5')}", "F12", "", lambda a: a.same(VA, VK, BP)),
    (STAGE, "dead V1a", "F60", "", lambda a: a.now(VK) < 0.01 and a.times("V1b.plate") < 1.1),
    (STAGE, "weak V1a", "F60", "", lambda a: a.times(VA) > 1.0 and a.times(VK) < 1.0),
    (STAGE, f"missing W{W('T1.hv.1', 'B.1')}", "F20", "",
     lambda a: 0.8 < a.times("B+0") < 0.99 and a.ripple_times("B+0") > 1.5),
    (STAGE, "open C3", "F22", "", lambda a: a.times("B+0") < 0.95 and a.ripple_times("B+0") > 3.0),
    (STAGE, f"missing W{W('T1.hv.2', 'B.4')}", "F07", "", lambda a: a.times("B+0") < 0.1),
    (STAGE, "reversed CR1", "F21", "",
     lambda a: a.times("B+0") < 0.7 and a.fault.mains_rms_a > 1.5 * a.good.mains_rms_a),
    (STAGE, "decade R6 1e+05", "F24", "", lambda a: a.times("B+0") > 1.0 and a.times(BP) < 0.7),
    (STAGE, "decade R6 1e+03", "F24", "", lambda a: a.times("B+0") < 1.0 < a.times(BP)),
    (STAGE, "open R6", "F25", "", lambda a: a.times("B+0") > 1.0 and a.now(BP) < 1.0),
    (STAGE, "open C4", "F26", "", lambda a: a.same(VA, BP, within=0.02) and a.ripple_times(BP) > 3.0),
    (STAGE, "reversed C4", "F23", "", lambda a: a.times(BP) < 0.7),
    (STAGE, "open R9", "F27", "", lambda a: 1.0 <= a.times("B+0") < 1.1),
    (STAGE, "exchanged V1a plate cathode", "F50", "", lambda a: a.now(VK) > 0.3 or a.now(VA) > 0.95 * a.now(BP)),
    (STAGE, "exchanged P1.line P1.neutral", "F02", "", lambda a: a.same(VA, VK, BP)),
    (STAGE, "blown F1", "F05", "", lambda a: abs(a.now("B+0")) < 0.01),
    (STAGE, "bridged A.2 A.3", "F100", "", lambda a: abs(a.now(VA) - a.now(BP)) < 0.1),
    (PAIR, "open R47", "F33", "", lambda a: abs(a.now("bias")) < 5.0 and a.amps_times("V5") > 3.0),
    (PAIR, "open CR3", "F33", "", lambda a: abs(a.now("bias")) < 5.0 and a.amps_times("V5") > 3.0),
    (PAIR, "reversed CR3", "F34", "", lambda a: a.now("bias") > -5.0 and a.amps_times("V6") > 3.0),
    (PAIR, "wiper off R49", "F35", "", lambda a: a.now("bias") < a.was("bias") - 2.0 and a.amps_times("V5") < 0.8),
    (PAIR, "open R43", "F81", "V5.screen", lambda a: a.amps_times("V5") < 0.1 and a.amps_times("V6") > 0.9),
    (PAIR, "open T2.primary.2-3", "F82", "V5.plate", lambda a: a.now("V5.plate") < 60.0 and a.same("B+1", within=0.1)),
    (PAIR, "exchanged T2.primary.1 T2.primary.2", "F83", "", lambda a: a.same("V5.plate", "V6.plate", within=0.05)),
    (PAIR, "exchanged T2.primary.1 T2.primary.3", "F72", "",
     lambda a: a.same("V5.plate", "V6.plate", "B+1", within=0.02)),
    (PAIR, "no load LS1", "F84", "", lambda a: a.same("V5.plate", "V6.plate", "B+1", "bias")),
    (PAIR, "strong V5", "F87", "", lambda a: a.amps_times("V5") > 1.2 > a.amps_times("V6")),
    (PAIR, "left out V5", "F28", "", lambda a: a.times("B+1") > 1.01 and a.amps("V5") < 1e-6),
    (PAIR, "dead V4a", "F88", "", lambda a: a.now("V4a.plate") > 0.97 * a.now("B+3")),
    (PAIR, "type V1 12AT7", "F59", "", lambda a: a.times("V1a.plate") < 0.9 and a.times("V1a.cathode") > 1.1),
    (PAIR, "tap R33 T2.speaker.2", "F74", "", lambda a: a.same("V4a.plate", "V4b.plate", "B+3")),
)  # fmt: skip


@pytest.mark.parametrize(("name", "key", "code", "meter", "seen"), CASES, ids=[f"{c[2]} {c[1]}" for c in CASES])
def test_a_fault_shows_as_it_is_known_to(
    name: str, key: str, code: str, meter: str, seen: Callable[[Against], bool]
) -> None:
    fault = faults(name)[key]
    assert fault.code == code
    assert seen(Against(name, key, meter)), {j: round(v.volts, 2) for j, v in solved(name, key, meter).joints.items()}


def test_half_a_heater_voltage_leaves_a_share_of_the_emission() -> None:
    (section,) = {c.factor for c in faults()["series V1"].rewiring.changes if hasattr(c, "factor")}
    assert 0.1 < section < 0.5
    assert "heater dim V1" in faults()["series V1"].shows
    assert "heater dark V1" in faults()["heater open V1"].shows
