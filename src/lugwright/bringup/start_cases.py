"""Other ways to start the same build: standby closed late, silicon in place of the rectifier tube."""

from __future__ import annotations

from dataclasses import replace

from lugwright.buildfile.build import Build, Switch
from lugwright.circuit.edits import Edit, pulled
from lugwright.circuit.elements import PentodeTube, TriodeTube
from lugwright.circuit.heated import heated_parts
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.circuit.starting import Start
from lugwright.errors import ChangeError
from lugwright.solve.cold_start import Standby, silicon_instead, solve_start, standby_switches
from lugwright.solve.idle import solve_idle


def standing_by(build: Build, circuit: Circuit, idle: Idle, cold: Idle, closed_at_s: float) -> Start:
    """Return the start with the standby switch closed late.

    Raises
    ------
    ChangeError
        No switch of the build opens the supply.
    """
    contacts = {
        part.name: [e.name for e in circuit.elements if e.name.startswith(f"{part.name}.")]
        for part in build.parts
        if isinstance(part.values, Switch)
    }
    found = standby_switches(idle, contacts)
    if not found:
        count = len(contacts)
        raise ChangeError(
            what="there is no standby switch to open",
            found=f"{count} switch{'es' * (count != 1)}, and none carries the direct current of the supply",
            wanted="a switch in the center tap or in the B+ line",
            do="leave --standby out",
        )
    name = next(iter(found))
    standby = Standby(name, found[name], closed_at_s)
    return solve_start(circuit, heated_parts(build, circuit), idle, cold, standby=standby)


def with_silicon(build: Build, circuit: Circuit) -> Start:
    """Return the start with silicon in place of every rectifier tube.

    Raises
    ------
    ChangeError
        The build has no rectifier tube.
    """
    heated = heated_parts(build, circuit)
    if not any(tube.rectifier for tube in heated.tubes):
        raise ChangeError(
            what="there is no rectifier tube to replace",
            found="silicon rectifiers only",
            wanted="a build with a rectifier tube",
            do="leave --silicon out",
        )
    changed, cooler = silicon_instead(circuit, heated)
    sections = tuple(e.name for e in changed.elements if isinstance(e, TriodeTube | PentodeTube))
    idle, cold = solve_idle(changed, [Edit("as built"), pulled("cold tubes", sections)])
    return replace(solve_start(changed, cooler, idle, cold), how="silicon in place of the rectifier tube")
