"""Which tubes stand in their sockets at each stage of the first power-up, as edits of the one circuit."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.bringup.bench_points import tubes_of
from lugwright.bringup.good_builds import sections_of
from lugwright.buildfile.build import Build, Part, Transformer, Tube
from lugwright.catalogue.records import PentodeLaw, RectifierLaw
from lugwright.circuit.edits import Edit, SetValue, opened, pulled
from lugwright.circuit.network import Circuit

OUTPUT_TUBE_FROM_W = 9.0  # plate limit; smaller pentodes are not output tubes
FIXED_BIAS_BELOW_V = -1.0
LAMPS_W = ((30.0, 40.0), (60.0, 60.0))  # mains power at idle up to this: this lamp
LARGEST_LAMP_W = 100.0
AS_SET = Edit("")  # controls as in the build file
NO_LAMP = ("heaters", "bias")  # stages that are not taken behind the limiter lamp
ONE_TUBE, COLD = "output tube ", "all tubes cold"  # keys of stages


@dataclass(frozen=True)
class Stage:
    """One stage of the first power-up: the tubes that are in, and the edit that leaves the others out."""

    key: str  # "heaters", "no tubes", "rectifier", "bias", "small tubes", "output tube V5", "all tubes cold", ...
    fitted: tuple[str, ...]
    edit: Edit


def rectifier_tubes(build: Build) -> tuple[Part, ...]:
    """Return the vacuum rectifiers."""
    return tuple(
        p for p in tubes_of(build) if isinstance(p.values, Tube) and isinstance(p.values.type.law, RectifierLaw)
    )


def output_tubes(build: Build) -> tuple[Part, ...]:
    """Return the pentodes and beam tubes of at least 9 W whose plate ends on an output transformer."""
    joints = {
        t.joint
        for part in build.parts
        if isinstance(part.values, Transformer) and part.values.role == "output"
        for t in part.terminals
    }
    return tuple(p for p in tubes_of(build) if _is_large_pentode(p) and p.terminal("plate").joint in joints)


def tube_out(circuit: Circuit, tube: str) -> Edit:
    """Return the edit that takes a tube out of its socket: no section conducts and its heater is gone."""
    gone = pulled(tube, sections_of(circuit, tube))
    for name in socket_elements(circuit, tube):
        gone = Edit(gone.name, (*gone.changes, *opened(name).changes))
    return gone


def socket_elements(circuit: Circuit, tube: str) -> tuple[str, ...]:
    """Return what leaves the socket with a tube besides its sections: the heater and its joint to the cathode."""
    return tuple(
        e.name for e in circuit.elements if e.name.startswith(f"{tube}.heater") or e.name == f"{tube}.cathode-heater2"
    )


def rectifiers_alone(build: Build, circuit: Circuit) -> Edit:
    """Return the edit that leaves only the rectifier tubes in."""
    return _without(circuit, "", _names(tubes_of(build)), _names(rectifier_tubes(build)))


def stages_of(build: Build, circuit: Circuit, *, fixed_bias: bool, cold_bias: Edit = AS_SET) -> tuple[Stage, ...]:
    """Return the stages in order; those that this amplifier has nothing for are left out.

    ``cold_bias`` turns the bias controls to their most negative end: output tubes go in there, and "all tubes" has
    them as the build file says.
    """
    every, rectifiers = _names(tubes_of(build)), _names(rectifier_tubes(build))
    outputs = _names(output_tubes(build))
    small = tuple(name for name in every if name not in outputs and name not in rectifiers)
    plan: list[tuple[str, tuple[str, ...], Edit]] = [("no tubes", (), Edit("")), ("heaters", (), Edit(""))]
    plan += [("rectifier", rectifiers, Edit(""))] if rectifiers else []
    plan += [("bias", rectifiers, Edit(""))] if fixed_bias else []
    plan += [("small tubes", (*rectifiers, *small), Edit(""))] if small and outputs else []
    if len(outputs) > 1:
        plan += [(f"{ONE_TUBE}{name}", (*rectifiers, *small, name), cold_bias) for name in outputs]
    plan += [(COLD, every, cold_bias)] if cold_bias.changes and outputs else []
    plan += [("all tubes", every, Edit(""))] if every else []
    return tuple(
        Stage(key, names, Edit(key, (*_without(circuit, key, every, names).changes, *turn.changes)))
        for key, names, turn in plan
    )


def _names(parts: tuple[Part, ...]) -> tuple[str, ...]:
    return tuple(part.name for part in parts)


def limiter(build: Build, *, mains_w: float) -> tuple[float, Edit]:
    """Return the limiter lamp's rated power and the edit that puts it into the line lead. [W]

    Parameters
    ----------
    build : Build
        Its ``lamp_limiter_w``, where the build file states one, goes first.
    mains_w : float
        Power from the mains at idle without a lamp. [W]

    Returns
    -------
    tuple of float and Edit
        The lamp. [W]

    Source
    ------
    From memory of workshop practice: 40 to 60 W for a small amplifier, 100 W for a large one.
    """
    chosen = next((lamp for limit, lamp in LAMPS_W if mains_w < limit), LARGEST_LAMP_W)
    watts = float(build.nominal.get("lamp_limiter_w", chosen))
    lamp = (SetValue("limiter", "lamp_w", watts), SetValue("limiter", "lamp_v", build.mains_v))
    return watts, Edit(f"{watts:.0f} W lamp", lamp)


def _without(circuit: Circuit, key: str, every: tuple[str, ...], fitted: tuple[str, ...]) -> Edit:
    changes = [c for name in every if name not in fitted for c in tube_out(circuit, name).changes]
    return Edit(key, tuple(changes))


def _is_large_pentode(part: Part) -> bool:
    if not isinstance(part.values, Tube) or not isinstance(part.values.type.law, PentodeLaw):
        return False
    limit = part.values.type.limits.get("plate_w")
    return limit is not None and limit.value >= OUTPUT_TUBE_FROM_W
