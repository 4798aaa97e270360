"""The signs of a build as things to be looked for: from which step of the first power-up on, and what it costs."""

from __future__ import annotations

from lugwright.bringup.fitting import COLD, NO_LAMP, ONE_TUBE, rectifier_tubes
from lugwright.bringup.lamp_reading import BEHIND, LAMP, WORDS
from lugwright.bringup.reading_words import SIGN
from lugwright.bringup.signs import Sign, signs_of
from lugwright.bringup.trace.bench import FINAL, OHMS, SIGNAL, TraceBench
from lugwright.bringup.trace.records import Probe
from lugwright.bringup.trace.sign_rates import RATES

LAMP_S = 20.0  # to plug the limiter in and wait until it has settled
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


def lamps_of(bench: TraceBench) -> tuple[Probe, ...]:
    """Return the limiter lamp in every step that is taken behind it.

    Parameters
    ----------
    bench : TraceBench
        The build.

    Returns
    -------
    tuple of Probe
        In the order of the steps; ``step`` is the step without its lamp.
    """
    keys = [key for key in bench.steps if key not in (OHMS, SIGNAL, *NO_LAMP) and not key.startswith(ONE_TUBE)]
    behind = [key for key in keys if not (key == FINAL and COLD in keys)]
    return tuple(lamp_of(key) for key in behind)


def lamp_of(key: str) -> Probe:
    """Return the limiter lamp in one step as a probe."""
    return Probe(key.removesuffix(BEHIND), LAMP, LAMP, LAMP, WORDS, LAMP_S, 0.0)


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
