"""How far a reading may be off beyond what part tolerances explain: the model, stray currents, the meter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.even_scale import shown

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Doubt:
    """One standard deviation: a share of the value, and something in the unit whatever the value is."""

    share: float
    least: float


# What the model of the build is off by, from experience with it and from memory of amplifiers on the bench:
# tube laws are fitted curves; a transformer is not its label; ripple hangs on electrolytics (-20 to +50 %);
# stray coupling and hum lie under every signal; contacts and leads under every ohm.
MODEL = {
    "ohm": Doubt(0.005, 0.1),
    "V dc": Doubt(0.006, 0.004),
    "V ac": Doubt(0.02, 0.02),
    "ripple V ac": Doubt(0.15, 0.003),
    "signal V ac": Doubt(0.06, 0.001),
    "lamp": Doubt(0.15, 0.05),
    "sign": Doubt(0.0, 0.2),
}
JUNCTION_DOUBT = Doubt(0.6, 0.1)  # an ohm reading through silicon depends on the meter
NEAR_TOP_SHARE = 0.7  # a hand meter's last range ends somewhere between 20 and 60 Mohm; leaks and moisture are no part
NEAR_TOP_OHM = 15e6
# What hand meters state for DC volts, AC volts and ohms, from memory of their booklets: percent of reading, and digits
# of a display of 6000 counts on the range the reading falls in.
METER = {
    "ohm": (0.008, 2.0),
    "V dc": (0.008, 2.0),
    "V ac": (0.008, 3.0),
    "ripple V ac": (0.008, 3.0),
    "signal V ac": (0.008, 3.0),
    "lamp": (0.1, 0.0),
    "sign": (0.0, 0.0),
}
COUNTS = 6000.0
_LOWEST_RANGE = {"ohm": 600.0, "V dc": 0.6, "V ac": 0.6, "ripple V ac": 0.6, "signal V ac": 0.6}


def own_doubt(quantity: str, value: Array) -> Array:
    """Return one standard deviation of what the model is off by at values.

    Parameters
    ----------
    quantity : str
        As in `Probe`.
    value : array
        Predictions. [ohm or V]

    Returns
    -------
    array
        In the same unit. [ohm or V]

    Source
    ------
    The table above: impressions, from memory.
    """
    doubt = MODEL[quantity]
    size = np.abs(shown(quantity, value))
    spread = np.hypot(doubt.share * size, doubt.least)
    if quantity == "ohm":
        spread = np.where(size > NEAR_TOP_OHM, NEAR_TOP_SHARE * size, spread)
    return np.asarray(spread)


def meter_error(quantity: str, value: float) -> float:
    """Return one standard deviation of an ordinary hand meter at a reading.

    Parameters
    ----------
    quantity : str
        As in `Probe`.
    value : float
        What it shows; infinite for over range. [ohm or V]

    Returns
    -------
    float
        In the same unit. [ohm or V]

    Source
    ------
    The table above, from memory of makers' booklets; a rounded figure is off evenly within its last digit.
    """
    if not np.isfinite(value):
        return 0.0
    share, digits = METER[quantity]
    return float(np.hypot(share * value, digits * display_step(quantity, value) / np.sqrt(12.0)))


def display_step(quantity: str, value: float) -> float:
    """Return the last digit of a display of 6000 counts on the range that a value falls in.

    Parameters
    ----------
    quantity : str
        As in `Probe`.
    value : float
        What is read. [ohm or V]

    Returns
    -------
    float
        One count. [ohm or V]

    Source
    ------
    Ranges of 6, 60, 600 ... as ordinary meters have them, from memory.
    """
    top = _LOWEST_RANGE.get(quantity, 1.0)
    while abs(value) >= top and np.isfinite(value):
        top *= 10.0
    return top / COUNTS
