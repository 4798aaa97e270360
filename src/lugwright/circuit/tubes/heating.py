"""How a heater warms up, and how much of its emission the cathode it heats has.

Temperatures are shares of the working temperature: 1 is hot, `ROOM` is cold.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.circuit.tubes.drive import Array, ArrayLike

COLD_RATIO = 4.0  # hot over cold resistance
_POWER = 1.2  # tungsten: resistance goes with temperature to this power
ROOM = COLD_RATIO ** (-1.0 / _POWER)
_RICHARDSON = 12.2  # work function of an oxide cathode over k T: 1.1 eV at 1050 K
_RESERVE = 20.0  # emission of a hot cathode against the current asked of it


@dataclass(frozen=True)
class WarmingTimes:
    """How slow a kind of tube is. [s]

    ``heater_s``: heat stored in the hot heater over its power; ``cathode_s``: lag of what emits behind the heater.
    """

    heater_s: float
    cathode_s: float


# A filament is its own cathode and light; a heater has a coating and a sleeve to warm. Set so that a heater at
# constant voltage is at 90 % in 6.7 s, a filament tube draws after a few seconds and the others after 10 to 30 s.
HEATER = WarmingTimes(15.9, 4.0)
FILAMENT = WarmingTimes(5.0, 0.2)


def heater_ohm(temperature: ArrayLike, *, hot_ohm: ArrayLike) -> Array:
    """Return the resistance of a heater.

    Parameters
    ----------
    temperature : float or array
        Share of the working temperature. [-]
    hot_ohm : float or array
        Rated volts over rated amps. [ohm]

    Returns
    -------
    array
        Resistance; a fourth of the hot one when cold. [ohm]

    Valid
    -----
    Makers' and measured types start at 1/2.7 to 1/7.2 of the hot resistance, directly heated power types lowest.

    Source
    ------
    Tungsten, resistance with absolute temperature to the power 1.2 (from memory). Inrush of 2.7 to 7.2 times the
    rated current: measurements quoted in a reader's note, audioXpress, September 2004.

    Doubt
    -----
    The middle of that range is 4.4. Four is taken because the ends of a heater stay cooler than its middle, and
    because with more the warm-up times at constant current leave the published ones by over a quarter.
    """
    return np.asarray(hot_ohm * np.asarray(temperature, dtype=float) ** _POWER)


def heating_rate(temperature: ArrayLike, *, power: ArrayLike, heater_s: ArrayLike) -> Array:
    """Return how fast a heater's temperature rises.

    Parameters
    ----------
    temperature : float or array
        Share of the working temperature. [-]
    power : float or array
        Watts in it as a share of its rated watts. [-]
    heater_s : float or array
        Stored heat over rated watts, see `WarmingTimes`. [s]

    Returns
    -------
    array
        Shares of the working temperature a second. [1/s]

    Valid
    -----
    Radiation only; from room temperature up.

    Source
    ------
    Stefan-Boltzmann law. The time is set so that it takes 6.7 s to 90 % at constant voltage, as a published filament
    model has it (J. A. Harper, web page on filament heating, quoted figures).
    """
    t = np.asarray(temperature, dtype=float)
    loss = (t**4 - ROOM**4) / (1.0 - ROOM**4)
    return np.asarray((power - loss) / heater_s)


def emission_share(cathode_temperature: ArrayLike) -> Array:
    """Return how much of its full current a tube gives while its cathode warms.

    Parameters
    ----------
    cathode_temperature : float or array
        Share of the working temperature. [-]

    Returns
    -------
    array
        0 cold, 1 hot. [-]

    Valid
    -----
    Between saturation (a cool cathode gives what it emits) and space charge (a hot one gives what the volts ask for)
    the two add like conductances.

    Source
    ------
    Richardson's law, T^2 exp(-w / k T) with 1.1 eV at 1050 K for an oxide cathode, and a hot emission of twenty times
    the current asked for (both from memory).
    """
    t = np.maximum(np.asarray(cathode_temperature, dtype=float), 0.5 * ROOM)
    emission = t**2 * np.exp(_RICHARDSON * (1.0 - 1.0 / t))
    return np.asarray((1.0 + _RESERVE) * emission / (1.0 + _RESERVE * emission))
