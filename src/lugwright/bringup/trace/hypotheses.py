"""Faults that do the same to every reading are one hypothesis: found before anything is solved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from lugwright.bringup.faults.fault import Fault
from lugwright.circuit.edits import ScaleValue, SetValue
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Rewiring

GOOD_BUILD = 0  # the place of the good build among the hypotheses

Fingerprint = tuple[object, ...]


@dataclass(frozen=True)
class Hypothesis:
    """One state the build may be in; the good build has no faults."""

    faults: tuple[Fault, ...]
    rewiring: Rewiring
    stands: Mapping[str, str] = field(default_factory=dict)
    fingerprint: Fingerprint = ()

    @property
    def odds(self) -> float:
        """Return how often builders make one of its faults."""
        return sum(fault.odds for fault in self.faults)


def hypotheses_of(circuit: Circuit, faults: Iterable[Fault]) -> tuple[Hypothesis, ...]:
    """Return the good build and then every group of faults that no reading can tell apart, likeliest fault first."""
    known = {*circuit.joints, circuit.ground}
    groups: dict[Fingerprint, list[Fault]] = {}
    for fault in faults:
        groups.setdefault((*fingerprint(fault.rewiring, fault.stands, known), fault.shows), []).append(fault)
    found = [Hypothesis((), Rewiring(""))]
    for key, group in groups.items():
        group.sort(key=lambda fault: (-fault.odds, fault.key))
        found.append(Hypothesis(tuple(group), group[0].rewiring, group[0].stands, key[:-1]))
    return tuple(found)


def together(circuit: Circuit, first: Hypothesis, second: Hypothesis) -> Hypothesis:
    """Return both at once; joints that the second makes keep clear of those that the first makes."""
    known = {*circuit.joints, circuit.ground}
    taken = {m.to for m in first.rewiring.moved} | set(first.stands.values())
    made = {m.to for m in second.rewiring.moved} | set(second.stands.values())
    names = {joint: f"{joint}, too" for joint in (made & taken) - known}
    stands = {key: names.get(joint, joint) for key, joint in second.stands.items()}
    return Hypothesis(
        (*first.faults, *second.faults),
        first.rewiring + _renamed(second.rewiring, names),
        {**first.stands, **stands},
    )


def _renamed(rewiring: Rewiring, names: Mapping[str, str]) -> Rewiring:
    return replace(
        rewiring,
        moved=tuple(replace(m, to=names.get(m.to, m.to)) for m in rewiring.moved),
        bridges=tuple(replace(b, a=names.get(b.a, b.a), b=names.get(b.b, b.b)) for b in rewiring.bridges),
    )


def fingerprint(rewiring: Rewiring, stands: Mapping[str, str], known: set[str]) -> Fingerprint:
    """Return what is the same for two rewirings that differ only in the names of the joints they make."""
    moved = sorted(rewiring.moved, key=lambda m: (m.element, m.end))
    new: dict[str, str] = {}
    for joint in (*(m.to for m in moved), *(joint for _, joint in sorted(stands.items()))):
        if joint not in known:
            new.setdefault(joint, f"new {len(new)}")
    bridges = sorted((*sorted((new.get(b.a, b.a), new.get(b.b, b.b))), b.ohm) for b in rewiring.bridges)
    return (
        tuple(sorted((str(type(c)), c.element, c.field, _figure(c)) for c in rewiring.changes)),
        tuple((m.element, m.end, new.get(m.to, m.to)) for m in moved),
        tuple(bridges),
        tuple(sorted((key, new.get(joint, joint)) for key, joint in stands.items())),
    )


def _figure(change: SetValue | ScaleValue) -> float:
    return change.value if isinstance(change, SetValue) else change.factor
