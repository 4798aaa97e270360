"""At which volts an output tube stands at the limits of its type."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict

from lugwright.circuit.elements import PentodeTube
from lugwright.circuit.tubes.pentode import pentode_currents_a

DEEPEST_V = -300.0  # no grid of a receiving tube needs more to be cut off
CLOSE_V = 0.05


def grid_at_plate_limit_v(tube: PentodeTube, *, plate_v: float, screen_v: float, limit_w: float) -> float | None:
    """Return the grid volts at which the plate of an average tube takes its limit.

    Parameters
    ----------
    tube : PentodeTube
        The tube.
    plate_v, screen_v : float
        Against its cathode. [V]
    limit_w : float
        Plate limit of its type. [W]

    Returns
    -------
    float or None
        Less negative than this is too much; None where no grid volts from -300 to 0 do it. [V]

    Valid
    -----
    Plate and screen keep their volts: a real supply sags, which errs to the safe side.

    Source
    ------
    The type's law in the catalogue; watts are volts times amperes.
    """

    def over(grid_v: float) -> float:
        return plate_v * _currents(tube, plate_v, screen_v, grid_v)[0] - limit_w

    return _crossing(over, DEEPEST_V, 0.0)


def plate_at_screen_limit_v(tube: PentodeTube, *, screen_v: float, grid_v: float, limit_w: float) -> float | None:
    """Return the plate volts below which the screen of an average tube takes more than its limit.

    Parameters
    ----------
    tube : PentodeTube
        The tube.
    screen_v, grid_v : float
        Against its cathode. [V]
    limit_w : float
        Screen limit of its type. [W]

    Returns
    -------
    float or None
        None where the screen stays below its limit even with nothing on the plate. [V]

    Valid
    -----
    The screen keeps its volts; its resistor drops some of them, which errs to the safe side.

    Source
    ------
    The type's law in the catalogue: with the plate's volts gone its current goes to the screen.
    """

    def over(plate_v: float) -> float:
        return limit_w - screen_v * _currents(tube, plate_v, screen_v, grid_v)[1]

    return _crossing(over, 0.0, screen_v)


def _currents(tube: PentodeTube, plate_v: float, screen_v: float, grid_v: float) -> tuple[float, float]:
    law = asdict(tube.law)
    law.pop("grid_gain")
    found = pentode_currents_a(plate_v, screen_v, grid_v, **law)
    return float(found.plate_a), float(found.screen_a)


def _crossing(over: Callable[[float], float], low: float, high: float) -> float | None:
    """Return where something that rises passes zero, None where it does not between these."""
    if over(low) >= 0.0 or over(high) <= 0.0:
        return None
    while high - low > CLOSE_V:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if over(middle) > 0.0 else (middle, high)
    return 0.5 * (low + high)
