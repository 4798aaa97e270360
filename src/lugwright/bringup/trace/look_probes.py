"""The signs of a build as things to be looked for: from which step of the first power-up on, and what it costs."""

from __future__ import annotations

from lugwright.bringup.fitting import rectifier_tubes
from lugwright.bringup.reading_words import SIGN
from lugwright.bringup.signs import Sign, signs_of
from lugwright.bringup.trace.bench import FINAL, SIGNAL, TraceBench
from lugwright.bringup.trace.records import Probe
from lugwright.bringup.trace.sign_rates import RATES

HEARD_WITH_SIGNAL = ("silent", "faint", "backward")


def looks_of(bench: TraceBench) -> tuple[Probe, ...]:
    """Return every sign of a build as a probe; its red tip is the sign's name.

    Parameters
    ----------
    bench : TraceBench
        The build.

    Returns
    -------
    tuple of Probe
        In the order of `signs_of`.
    """
    return tuple(look_of(bench, sign) for sign in signs_of(bench.build))


def look_of(bench: TraceBench, sign: Sign) -> Probe:
    """Return one sign as a probe."""
    return Probe(_step(bench, sign), sign.name, "", SIGN, sign.name, RATES[sign.kind].seconds, 0.0)


def _step(bench: TraceBench, sign: Sign) -> str:
    """Return the first step in which a sign may show itself."""
    steps = list(bench.steps)
    last = FINAL if FINAL in steps else steps[-1]
    if sign.kind in HEARD_WITH_SIGNAL:
        return SIGNAL if SIGNAL in steps else last
    if sign.kind == "hot":
        first = "rectifier" if rectifier_tubes(bench.build) else "no tubes"
        return first if first in steps else last
    if sign.kind.startswith("heater"):
        return next((key for key in steps if sign.part in bench.steps[key].fitted and key != SIGNAL), last)
    return last
