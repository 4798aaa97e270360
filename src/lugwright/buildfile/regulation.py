"""A power transformer from its label: no-load volts and copper from rated volts, amperes and regulation."""

from __future__ import annotations


def regulation(*, no_load_v: float, full_load_v: float) -> float:
    """Return the regulation of a winding.

    Parameters
    ----------
    no_load_v : float
        Without load. [V]
    full_load_v : float
        With its rated load. [V]

    Returns
    -------
    float
        Rise of the volts when the load goes. [-]

    Source
    ------
    Makers' definition: (no load - full load) / full load. To divide by the no-load volts gives a smaller figure.

    Examples
    --------
    >>> round(regulation(no_load_v=11.0, full_load_v=10.0), 3)
    0.1
    """
    return (no_load_v - full_load_v) / full_load_v


def no_load_v(*, rated_v: float, regulation: float) -> float:
    """Return the volts of a winding without load.

    Parameters
    ----------
    rated_v : float
        With its rated load, as the label says. [V]
    regulation : float
        Of the transformer. [-]

    Returns
    -------
    float
        Volts. [V]

    Source
    ------
    `regulation`, solved for the no-load volts.
    """
    return rated_v * (1.0 + regulation)


def secondary_ohm(*, rated_v: float, rated_a: float, regulation: float) -> float:
    """Return the copper resistance of a secondary that goes with the regulation.

    Parameters
    ----------
    rated_v : float
        With its rated load. [V]
    rated_a : float
        Rated current. [A]
    regulation : float
        Of the transformer. [-]

    Returns
    -------
    float
        Half of the drop; the primary has the other half. [ohm]

    Valid
    -----
    Resistive load. Measured copper is better: of two halves of a winding the outer one has more.

    Source
    ------
    Derived: copper losses shared evenly between primary and secondaries, the usual design.
    """
    return 0.5 * regulation * rated_v / rated_a


def primary_ohm(*, mains_v: float, volt_amperes: float, regulation: float) -> float:
    """Return the copper resistance of the primary that goes with the regulation.

    Parameters
    ----------
    mains_v : float
        Rated primary volts. [V]
    volt_amperes : float
        Of all secondaries together. [VA]
    regulation : float
        Of the transformer. [-]

    Returns
    -------
    float
        The other half of the drop. [ohm]

    Source
    ------
    As `secondary_ohm`, with the primary current volt-amperes over volts.
    """
    return 0.5 * regulation * mains_v**2 / volt_amperes
