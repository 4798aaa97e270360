"""Every joint dry, and every single lead that the solder never wetted."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.missing_wire import alone

SOLDERED = ("pin", "lug", "foot", "pot", "jack", "can", "panel", "bus")
DO = "heat it until the solder flows, and hold it still"


def dry_joint(case: FaultCase) -> Iterator[Fault]:
    """Yield each joint of two leads or more with none of them held."""
    for key, leads in _joints(case):
        if len(leads) < 2:
            continue
        effect = case.wired.dry(key)
        if effect:
            names = f"{', '.join(leads[:-1])} and {leads[-1]}"
            yield case.fault(
                f"dry {key}", "F99", what=f"the joint of {names} at {case.label(key)} is dry", do=DO, effect=effect,
                terminals=(key,),
            )  # fmt: skip


def cold_lead(case: FaultCase) -> Iterator[Fault]:
    """Yield each lead that touches nothing at its joint."""
    for key, leads in _joints(case):
        for lead in leads:
            effect = case.wired.loose(lead, key)
            if not effect:
                continue
            code = alone(case, effect)
            yield case.fault(
                f"cold {lead} at {key}", code.code if code and lead not in case.wires else "F99",
                what=f"{case.piece_name(lead)} has no contact at {case.label(key)}", do=DO, effect=effect,
                part="" if lead in case.wires else lead.partition(".")[0],
                wires=(case.wires[lead].number,) if lead in case.wires else (), terminals=(key,),
                danger=code.danger if code else "",
            )  # fmt: skip


def _joints(case: FaultCase) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield every soldered terminal with the leads that are soldered to it."""
    for key, terminal in case.plan.terminals.items():
        if terminal.kind in SOLDERED:
            own = case.wired.own_at(key)
            leads = tuple(name for name in case.wired.at[key] if name != own)
            if leads:
                yield key, leads
