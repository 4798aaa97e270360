"""Which other values of a part can be tried on a page, in the words of ``--set``."""

from __future__ import annotations

from typing import Any

from lugwright.buildfile.build import Can, Capacitor, Choke, Jack, Part, Pot, Resistor, Speaker, Switch, Tube
from lugwright.quantities import E24, Kind, rkm

DECADES = 1  # up and down from the value in the build file
E12 = E24[::2]


def trials(part: Part) -> list[dict[str, Any]]:
    """Return what of a part can be tried: what to call it, how it stands, and the steps of a slider or the choices."""
    values = part.values
    match values:
        case Pot():
            turn = {"set": part.name, "label": values.label or "turn", "how": "turn", "at": values.setting}
            return [{**turn, "taper": values.taper}, _steps(part.name, "track", values.ohm, "ohm")]
        case Resistor():
            return [_steps(part.name, "", values.ohm, "ohm")]
        case Capacitor():
            return [_steps(part.name, "", values.farad, "farad")]
        case Can():
            return [
                _steps(f"{part.name}.{chr(ord('a') + k)}", f"section {chr(ord('a') + k)}", farad, "farad")
                for k, farad in enumerate(values.farads)
            ]
        case Choke():
            return [_steps(part.name, "", values.henry, "henry")]
        case Speaker():
            return [_steps(part.name, "", values.ohm, "ohm")]
        case Switch():
            return [_choice(part.name, values.label, values.position, values.positions)]
        case Jack() if values.switched:
            return [_choice(part.name, values.label, "plugged" if values.plug_in else "empty", ("plugged", "empty"))]
        case Tube():
            return [{"set": part.name, "label": "type", "how": "text", "at": values.type.name}]
    return []


def _choice(name: str, label: str, at: str, choices: tuple[str, ...]) -> dict[str, Any]:
    return {"set": name, "label": label, "how": "choice", "at": at, "choices": list(choices)}


def _steps(name: str, label: str, value: float, kind: Kind) -> dict[str, Any]:
    texts = e12_steps(value, kind)
    return {"set": name, "label": label, "how": "steps", "at": rkm(value, kind), "steps": texts}


def e12_steps(value: float, kind: Kind) -> list[str]:
    """Return the preferred values within a decade up and down, and the value itself among them, rising.

    Parameters
    ----------
    value : float
        The value in the build file. [ohm, F, H]
    kind : {"ohm", "farad", "henry"}
        What it is.

    Returns
    -------
    list of str
        As the build file writes them. [-]

    Source
    ------
    IEC 60063, series E12, from memory.
    """
    reach = 10.0**DECADES * (1.0 + 1e-9)
    powers = (10.0**k for k in range(-13, 10))
    near = {
        rkm(f * power, kind): f * power for power in powers for f in E12 if value / reach <= f * power <= value * reach
    }
    near[rkm(value, kind)] = value
    return sorted(near, key=lambda text: near[text])
