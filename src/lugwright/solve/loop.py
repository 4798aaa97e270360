"""The feedback around an amplifier: its loop gain, found without opening anything.

A feedback resistor does two things at the joint it comes back to: it brings the output's signal there, and it
loads that joint. Only the first makes the loop. So the loop gain is the return ratio of that one current,
admittance times the output's volts, taken as a source of its own; the resistor's load stays on both ends.
With q the current that comes back when 1 A is driven into the joint of the whole, closed amplifier, the return
ratio is -q / (1 + q) and the gain goes down by 1 / (1 + q).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from lugwright.circuit.elements import Capacitor, Element, Resistor, Windings
from lugwright.solve.frequencies import at_reference, crossings_hz, unwound_deg
from lugwright.solve.response import decibels
from lugwright.solve.response_results import LoopGain, Margin
from lugwright.solve.small_signal import Complex, Network
from lugwright.solve.system import Array

LEAST_LOOP = 0.1  # a loop gain that never gets above this is no feedback
_CONTACT_OHM = 1.0  # joints this close belong together


@dataclass(frozen=True)
class FeedbackPath:
    """Parts side by side from the output's joints to one other joint."""

    joint: str
    parts: tuple[str, ...]
    origins: tuple[str, ...]  # the output's end of each part


def output_joints(elements: Iterable[Element], transformers: Iterable[str], ground: str) -> frozenset[str]:
    """Return the joints of output transformers' windings other than the first, with what closed contacts add."""
    wanted, everything = set(transformers), tuple(elements)
    found: set[str] = set()
    for element in everything:
        if isinstance(element, Windings) and element.name in wanted:
            first = element.coils[0].name.rsplit(".", 1)[0]
            found |= {j for c in element.coils if c.name.rsplit(".", 1)[0] != first for j in (c.a, c.b)}
    found.discard(ground)
    grown = True
    while grown:
        size = len(found)
        for element in everything:
            close = isinstance(element, Resistor) and element.ohm < _CONTACT_OHM and element.role == "contact"
            if close and set(element.joints) & found and ground not in element.joints:
                found |= set(element.joints)
        grown = len(found) > size
    return frozenset(found)


def feedback_paths(elements: Iterable[Element], output: frozenset[str], ground: str) -> list[FeedbackPath]:
    """Return every joint that a resistor or capacitor joins to the output, with those parts."""
    found: dict[str, list[tuple[str, str]]] = {}
    for element in elements:
        if not isinstance(element, Resistor | Capacitor) or getattr(element, "role", "part") != "part":
            continue  # contacts, fuses and heaters bring nothing back
        for origin, joint in ((element.a, element.b), (element.b, element.a)):
            if origin in output and joint not in output and joint != ground:
                found.setdefault(joint, []).append((element.name, origin))
    return [
        FeedbackPath(joint, tuple(name for name, _ in parts), tuple(origin for _, origin in parts))
        for joint, parts in found.items()
    ]


def loop_gain(network: Network, paths: Iterable[FeedbackPath]) -> LoopGain | None:
    """Return the strongest feedback among some paths, None when none of them is feedback.

    Parameters
    ----------
    network : Network
        The circuit over a wide band, from far below to far above what is heard; its first setting counts.
    paths : iterable of FeedbackPath
        Where feedback may come back.

    Returns
    -------
    LoopGain or None
        The loop gain is zero-phase where the feedback is purely negative.

    Source
    ------
    H. W. Bode's return ratio (Network Analysis and Feedback Amplifier Design, 1945; from memory), its algebra
    derived at the head of this file.
    """
    system = network.signal.system
    found = list(paths)
    if not found:
        return None
    volts = network.driven([(system.row[path.joint], system.size) for path in found])[:, :, 0]
    ratios = [_return_ratio(network, path, volts[:, k]) for k, path in enumerate(found)]
    peaks = [float(np.max(np.abs(ratio))) for ratio in ratios]
    best = int(np.argmax(peaks))
    if peaks[best] < LEAST_LOOP:
        return None
    return _described(network.hertz, found[best], ratios[best])


def _return_ratio(network: Network, path: FeedbackPath, volts: Complex) -> Complex:
    system = network.signal.system
    coming_back = np.zeros(len(network.hertz), dtype=complex)
    for name, origin in zip(path.parts, path.origins, strict=True):
        row = system.branch_row[name]  # resistors and capacitors lie in the same order as their coupled pairs
        coming_back += network.admittances[row, : len(network.hertz)] * volts[system.row[origin]]
    return np.asarray(-coming_back / (1.0 + coming_back))


def _described(hertz: Array, path: FeedbackPath, ratio: Complex) -> LoopGain:
    gain_db = decibels(ratio)
    phase = unwound_deg(hertz, ratio)
    return LoopGain(
        parts=path.parts,
        origin=path.origins[0],
        joint=path.joint,
        positive=at_reference(hertz, np.real(ratio)) < 0.0,
        reduction_db=at_reference(hertz, decibels(1.0 + ratio)),
        hertz=tuple(map(float, hertz)),
        gain_db=tuple(map(float, gain_db)),
        phase_deg=tuple(map(float, phase)),
        margins=tuple(_margins(hertz, gain_db, phase)),
    )


def _margins(hertz: Array, gain_db: Array, phase: Array) -> list[Margin]:
    def at(frequency: float, values: Array) -> float:
        return float(np.interp(np.log(frequency), np.log(hertz), values))

    found = [Margin(f, phase_deg=180.0 - abs(at(f, phase))) for f in crossings_hz(hertz, gain_db, 0.0)]
    found += [Margin(f, gain_db=-at(f, gain_db)) for f in crossings_hz(hertz, np.abs(phase), 180.0)]
    return sorted(found, key=lambda margin: margin.hertz)


def worst_margins(loop: LoopGain) -> Mapping[str, Margin]:
    """Return the smallest phase margin and the smallest gain margin, where there are any."""
    phases = [m for m in loop.margins if m.phase_deg is not None]
    gains = [m for m in loop.margins if m.gain_db is not None]
    found = {}
    if phases:
        found["phase"] = min(phases, key=lambda m: m.phase_deg or 0.0)
    if gains:
        found["gain"] = min(gains, key=lambda m: m.gain_db or 0.0)
    return found
