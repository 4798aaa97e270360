"""How far eyes and ears are believed: how often a sign that is there is told, and one that is not.

None of these figures was counted: they are impressions, written down once so that they can be argued with.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.bringup.trace.normal_law import below
from lugwright.bringup.trace.records import Array


@dataclass(frozen=True)
class Rate:
    """Chances of a yes."""

    told: float  # where the sign is there
    invented: float  # where it is not
    why: str
    seconds: float  # it takes to find out


RATES = {
    "heater dark": Rate(0.90, 0.03, "a getter or daylight hides a heater that glows", 5.0),
    "heater dim": Rate(0.60, 0.05, "the eye compares, it does not measure", 8.0),
    "heater bright": Rate(0.70, 0.03, "tubes of two makers do not glow alike", 8.0),
    "red plate": Rate(0.80, 0.02, "it takes a minute and a dark room; light of the heater falls on the plate", 20.0),
    "red screen": Rate(0.50, 0.02, "the screen hides inside the plate", 20.0),
    "hot": Rate(0.70, 0.05, "warm from the resistor beside it, or touched too early", 90.0),
    "rings": Rate(0.80, 0.10, "every tube rings a little", 15.0),
    "backward": Rate(0.85, 0.03, "a reverse taper feels so, too", 15.0),
    "hum": Rate(0.85, 0.10, "cords, fields and lamps outside the circuit hum, too", 10.0),
    "howl": Rate(0.90, 0.03, "a guitar before a loudspeaker howls of itself", 15.0),
    "silent": Rate(0.95, 0.03, "the cord, or the guitar's own volume", 10.0),
    "faint": Rate(0.70, 0.07, "a matter of taste, and of the guitar", 10.0),
}
# Of two signs of one thing, the eye takes one for the other: this often where the other is there.
CONFUSED = {("heater dark", "heater dim"): 0.3, ("heater dim", "heater dark"): 0.2, ("silent", "faint"): 0.3,
            ("faint", "silent"): 0.2}  # fmt: skip
UNLISTED = 0.3  # of what is told where it is there: how often a fault that is not listed shows just this sign
UNKNOWN = 0.5  # the same where a circuit could not be computed
HEARD_HUM_V = 0.02  # at the loudspeaker: 50 microwatts into 8 ohm, about 55 dB at a meter, clear in a quiet room
HUM_DECADES = 0.3  # how far rooms, ears and loudspeakers differ
SILENT_SHARE, SILENT_DECADES = 0.02, 0.4  # of the signal of a good build: from there up somebody hears a guitar
FAINT_SHARE, FAINT_DECADES = 0.35, 0.2  # from there up nobody minds


def hum_share(volts: Array) -> Array:
    """Return how many builders hear a hum.

    Parameters
    ----------
    volts : Array
        Ripple and hum at the loudspeaker. [V]

    Returns
    -------
    Array
        Share. [-]

    Valid
    -----
    Guitar loudspeakers of some 97 dB for a watt at a meter.

    Source
    ------
    The figures above, from memory of amplifiers in quiet rooms.
    """
    return below(0.0, -np.log10(np.maximum(volts, 1e-9) / HEARD_HUM_V), np.full(np.shape(volts), HUM_DECADES))


def silent_share(share: Array) -> Array:
    """Return how many builders call it silent.

    Parameters
    ----------
    share : Array
        Signal at the loudspeaker, of that of a good build. [-]

    Returns
    -------
    Array
        Share. [-]

    Source
    ------
    The figures above.
    """
    decades = np.log10(np.maximum(share, 1e-12) / SILENT_SHARE)
    return below(0.0, decades, np.full(np.shape(share), SILENT_DECADES))


def faint_share(share: Array) -> Array:
    """Return how many builders call it far too faint.

    Parameters
    ----------
    share : Array
        Signal at the loudspeaker, of that of a good build. [-]

    Returns
    -------
    Array
        Share. [-]

    Source
    ------
    The figures above.
    """
    decades = np.log10(np.maximum(share, 1e-12) / FAINT_SHARE)
    return below(0.0, decades, np.full(np.shape(share), FAINT_DECADES)) * (1.0 - silent_share(share))
