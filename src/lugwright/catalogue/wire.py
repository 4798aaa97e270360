"""Round copper wire by American gauge number."""

from __future__ import annotations

COPPER_OHM_M = 1.7241e-8  # annealed copper at 20 C
COPPER_PER_C = 0.00393  # rise of resistance per degree, about 20 C
_SQUARE_MM = 7.853981633974483e-07  # area of a circle 1 mm across, in m^2


def awg_diameter_mm(awg: float) -> float:
    """Return the diameter of a solid wire of this gauge.

    Parameters
    ----------
    awg : float
        Gauge number; 0, -1, -2 and -3 stand for 1/0 to 4/0. [-]

    Returns
    -------
    float
        Bare diameter. [mm]

    Valid
    -----
    4/0 to 40 AWG.

    Source
    ------
    ASTM B258-02 (title and scope read): 0.127 mm at gauge 36, and 39 equal ratios up to 92 times that.

    Examples
    --------
    >>> round(awg_diameter_mm(22), 4)
    0.6438
    """
    return float(0.127 * 92.0 ** ((36.0 - awg) / 39.0))


def awg_resistance_ohm_per_m(awg: float, *, temperature_c: float = 20.0) -> float:
    """Return the resistance of one meter of copper wire of this gauge.

    Parameters
    ----------
    awg : float
        Gauge number, as in `awg_diameter_mm`. [-]
    temperature_c : float
        Temperature of the copper. [C]

    Returns
    -------
    float
        Resistance of one conductor, one way. [ohm/m]

    Valid
    -----
    Solid annealed copper, -50 C to 200 C. A stranded wire of the same gauge lies up to 5 % above.

    Source
    ------
    Ohm's law, area from ASTM B258, 1.7241e-8 ohm m at 20 C and 0.00393 per degree (international
    annealed copper standard, from memory).

    Examples
    --------
    >>> round(awg_resistance_ohm_per_m(20), 5)
    0.0333
    """
    area_m2 = _SQUARE_MM * awg_diameter_mm(awg) ** 2
    return COPPER_OHM_M / area_m2 * (1.0 + COPPER_PER_C * (temperature_c - 20.0))
